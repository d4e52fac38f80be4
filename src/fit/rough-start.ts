/**
 * A start that up to half of the night cannot spoil: zeros and axis from pairs of sightings, and the pair with which
 * most others agree (random sample consensus, Fischler and Bolles 1981, with the pairs taken in order instead of at
 * random, and the truncated cost of Torr and Zisserman 2000).
 */
import { ARCMINUTE, DEGREE } from "../angles.js";
import { fromSpherical, separation } from "../vectors.js";
import { comparisons } from "./comparisons.js";
import type { Explanation } from "./explanation.js";
import { outlierPrice } from "./explanation.js";
import { fittedCoefficients } from "./layout.js";
import type { Workbench } from "./mount-problem.js";
import { fitExplanation, type Outcome } from "./outcome.js";

/** What cone, squareness and sags of the usual sizes do to a model that has only zeros and the axis. */
const ROUGH_SLACK = 25 * ARCMINUTE;
/** Agreement in the rough search: within three times the slack. */
const ROUGH_CUT = 9;
/** Two stars of a pair stand at least so far apart. */
const LEAST_SEPARATION = 12 * DEGREE;
/** Sightings that judge a pair: enough to tell, few enough for a season's plate-solved pictures. */
const JUDGES = 200;

/** A rough model and how badly the night disagrees with it. */
export interface RoughStart {
  readonly outcome: Outcome;
  /** Truncated cost a judging sighting, between 0 (all agree) and 9 (none does). */
  readonly disagreement: number;
}

const ROUGH_TERMS = ["hourAngleZero", "declinationZero", "polarAltitude", "polarEast"] as const;

/** Pairs of usable sightings of one zero set, neighbours in time first. */
function pairsOf(bench: Workbench, limit: number): [number, number][] {
  const { night } = bench;
  const rows: number[] = [];
  for (let i = 0; i < night.count; i++) if (night.sightings[i]!.use) rows.push(i);
  const direction = (i: number) => fromSpherical(-night.hourAngle[i]!, night.declination[i]!);
  const pairs: [number, number][] = [];
  // A long night is sampled: every lag takes its share along the whole of it.
  const stride = Math.max(1, Math.floor(rows.length / Math.max(1, limit / 3)));
  for (let lag = 1; lag < rows.length && pairs.length < limit; lag++) {
    for (let k = lag % stride; k + lag < rows.length && pairs.length < limit; k += stride) {
      const a = rows[k]!;
      const b = rows[k + lag]!;
      if (night.sightings[a]!.zeroSet !== night.sightings[b]!.zeroSet) continue;
      if (separation(direction(a), direction(b)) < LEAST_SEPARATION) continue;
      pairs.push([a, b]);
    }
  }
  return pairs;
}

/**
 * The best few rough starts.
 *
 * @param pairLimit - how many pairs to try
 * @param keep - how many to return, best first
 */
export function roughStarts(
  bench: Workbench,
  explanation: Explanation,
  pairLimit: number,
  keep: number,
): RoughStart[] {
  const { night } = bench;
  const judges: number[] = [];
  const usable = Array.from({ length: night.count }, (_, i) => i).filter((i) => night.sightings[i]!.use);
  const stride = Math.max(1, Math.floor(usable.length / JUDGES));
  for (let k = 0; k < usable.length; k += stride) judges.push(usable[k]!);
  const difference = new Float64Array(3);
  const starts: RoughStart[] = [];
  for (const [a, b] of pairsOf(bench, pairLimit)) {
    const used = new Uint8Array(night.count);
    used[a] = 1;
    used[b] = 1;
    const outcome = fitExplanation(
      bench,
      { ...explanation, used, terms: ROUGH_TERMS, hourAngleBreaks: [], declinationBreaks: [] },
      undefined,
      "rough-axis",
    );
    let cost = 0;
    for (const i of judges) {
      // Other zero sets have no zero here: they are judged after theirs are found.
      const comparable = outcome.problem.compare(outcome.solution.parameters, i, difference);
      if (!comparable) continue;
      const west = difference[0]! * difference[2]!;
      const square = (west * west + difference[1]! * difference[1]!) / (ROUGH_SLACK * ROUGH_SLACK);
      cost += Math.min(ROUGH_CUT, square);
    }
    starts.push({ outcome, disagreement: cost / judges.length });
  }
  return starts.sort((x, y) => x.disagreement - y.disagreement).slice(0, keep);
}

/**
 * From a rough start to a full fit: sightings that agree are taken in while the slack is drawn in, until only the
 * expected errors are left.
 */
export function refineStart(bench: Workbench, explanation: Explanation, rough: RoughStart): Outcome {
  const { night } = bench;
  let outcome = rough.outcome;
  let slack = ROUGH_SLACK;
  let before = "";
  for (let round = 0; round < 14; round++) {
    const used = agreeing(bench, outcome, slack, round === 0);
    const full: Explanation = { ...explanation, used };
    let count = 0;
    for (const flag of used) count += flag;
    if (count < 2) break;
    const key = slack > 0 ? "" : Array.from(used).join("");
    if (slack === 0 && key === before) break;
    before = key;
    const coefficients = fittedCoefficients(outcome.layout, outcome.solution.parameters, bench.model.size);
    outcome = fitExplanation(bench, full, coefficients);
    slack = slack > 1 * ARCMINUTE ? slack / 3 : 0;
  }
  // Sightings of zero sets that the rough pair did not have must be offered once.
  return outcome.explanation.terms.length === explanation.terms.length
    ? outcome
    : fitExplanation(bench, { ...explanation, used: agreeing(bench, outcome, 0, false) }, outcome);

  function agreeing(b: Workbench, from: Outcome, width: number, first: boolean): Uint8Array {
    const found = comparisons(b, from);
    const price = outlierPrice(night.count);
    const flags = new Uint8Array(night.count);
    for (let i = 0; i < night.count; i++) {
      if (!night.sightings[i]!.use) continue;
      if (!found.comparable[i]) {
        flags[i] = first ? 1 : 0;
        continue;
      }
      if (width > 0) {
        const west = found.deltaHourAngle[i]! * found.cosDeclination[i]!;
        const north = found.deltaDeclination[i]!;
        const square = (west * west + north * north) / (width * width);
        flags[i] = square < ROUGH_CUT ? 1 : 0;
      } else flags[i] = found.distanceSquared[i]! < price * from.scale * from.scale ? 1 : 0;
    }
    return flags;
  }
}
