/**
 * A start that up to half of the night cannot spoil: zeros and axis from pairs of sightings, and the pair with which
 * most others agree (random sample consensus, Fischler and Bolles 1981, with the pairs taken in order instead of at
 * random, and the truncated cost of Torr and Zisserman 2000). From there sightings that agree are taken in while the slack
 * is drawn in.
 */
import { ARCMINUTE, DEGREE } from "../angles.js";
import { fromSpherical, separation } from "../vectors.js";
import { ERROR_SCALE_SPREAD } from "./beliefs.js";
import { type Bench, benchFor } from "./bench.js";
import { fittedCoefficients, layOut } from "./columns.js";
import { type CoreFit, fitCore, type Start, startingPoint } from "./core-fit.js";
import { exclusionPrice } from "./faults/excluded.js";
import { minimise } from "./least-squares.js";
import { read, rowsOf } from "./rows.js";
import { type Fault, type Story, storyOf } from "./story.js";

/** What cone, squareness and sags of the usual sizes do to a model that has only zeros and the axis. */
const ROUGH_SLACK = 25 * ARCMINUTE;
/** Agreement in the rough search: within three times the slack. */
const ROUGH_CUT = 9;
/** Two stars of a pair stand at least so far apart. */
const LEAST_SEPARATION = 12 * DEGREE;
/** From an axis as far off as any, so many steps bring a pair to within the slack. */
const PAIR_STEPS = 5;
/** Sightings that judge a pair: enough to tell, few enough for a season's plate-solved pictures. */
const JUDGES = 200;
/** The slack is drawn in by this factor, down to this, and then only the expected errors count. */
const DRAW_IN = 3;
const LEAST_SLACK = 1 * ARCMINUTE;
const ROUNDS = 14;

/** A rough model of a story and how badly the night disagrees with it. */
export interface RoughStart {
  readonly story: Story;
  /** In the model's order, radians; the zeros of the pair's set. */
  readonly coefficients: Float64Array;
  /** Truncated cost a judging sighting, between 0 (all agree) and 9 (none does). */
  readonly disagreement: number;
}

/** Pairs of usable sightings of one zero set, neighbours in time first. */
function pairsOf(bench: Bench, limit: number): [number, number][] {
  const { night } = bench;
  const rows: number[] = [];
  for (let i = 0; i < night.count; i++)
    if (night.sightings[i]!.use && night.hasHourAngle[i] && night.hasDeclination[i]) rows.push(i);
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
 * The best few rough starts of a story.
 *
 * @param pairLimit - how many pairs to try
 * @param keep - how many to return, best first
 * @param limit - only those that disagree less than this
 */
export function roughStarts(
  root: Bench,
  faults: readonly Fault[],
  pairLimit: number,
  keep: number,
  limit = Number.POSITIVE_INFINITY,
): RoughStart[] {
  const story = storyOf(root.night, faults);
  const bench = benchFor(root, story);
  const { night } = bench;
  const usable = Array.from({ length: night.count }, (_, i) => i).filter((i) => story.used[i]);
  const stride = Math.max(1, Math.floor(usable.length / JUDGES));
  const judges = usable.filter((_, k) => k % stride === 0);
  const layout = layOut(bench, story, true);
  const none = new Float64Array(layout.columns.length);
  const difference = new Float64Array(3);
  const starts: RoughStart[] = [];
  for (const pair of pairsOf(bench, pairLimit)) {
    const rows = rowsOf(bench, story, layout, none, Int32Array.from(pair));
    const { parameters } = minimise(rows, startingPoint(rows, null), {
      tolerance: 1e-2,
      iterationLimit: PAIR_STEPS,
    });
    const set = layout.hourAngleZero[pair[0]];
    const most = Math.min(limit, starts[keep - 1]?.disagreement ?? limit) * Math.max(1, judges.length);
    let cost = 0;
    for (const i of judges) {
      if (cost >= most) break;
      // Other zero sets have no zero here: they are judged after theirs are found.
      if (layout.hourAngleZero[i] !== set) continue;
      rows.compare(parameters, i, difference);
      const west = read(difference[0]!) * difference[2]!;
      const north = read(difference[1]!);
      cost += Math.min(ROUGH_CUT, (west * west + north * north) / (ROUGH_SLACK * ROUGH_SLACK));
    }
    if (cost >= most) continue;
    starts.push({
      story,
      coefficients: fittedCoefficients(layout, parameters, bench.model.size),
      disagreement: cost / Math.max(1, judges.length),
    });
    starts.sort((x, y) => x.disagreement - y.disagreement).splice(keep);
  }
  return starts;
}

/** A story whose far sightings are excluded, and what it costs by its core alone. */
export interface RefinedStart {
  readonly faults: readonly Fault[];
  readonly start: Start;
  readonly cost: number;
}

/** From a rough start to a story: sightings that agree are taken in while the slack is drawn in. */
export function refineStart(root: Bench, rough: RoughStart): RefinedStart | null {
  const base = rough.story.faults.filter(({ kind }) => kind !== "excluded");
  const plain = storyOf(root.night, base);
  const bench = benchFor(root, plain);
  const layout = layOut(bench, plain, false);
  let before: Start = rough.coefficients;
  let slack = ROUGH_SLACK;
  let fit: CoreFit | null = null;
  let scale = 1;
  let key = "";
  let faults: Fault[] = base;
  for (let round = 0; round < ROUNDS; round++) {
    // Zeros by their medians first: of sets, too, that the rough pair did not have.
    const from: CoreFit = fit ?? fitCore(bench, plain, layout, before, 0);
    const out = disagreeing(bench, plain, from, slack, scale);
    if (plain.usedCount - out.length < 2) return null;
    const now = out.join();
    if (slack === 0 && now === key) break;
    key = now;
    faults = [...base, ...out.map((place): Fault => ({ kind: "excluded", place }))];
    const story = storyOf(root.night, faults);
    const drawn = layOut(bench, story);
    fit = fitCore(bench, story, drawn, before);
    before = { layout: drawn, parameters: fit.parameters };
    scale = profileOf(fit, story).scale;
    slack = slack > LEAST_SLACK ? slack / DRAW_IN : 0;
  }
  return fit === null ? null : { faults, start: before, cost: coreCost(fit, storyOf(root.night, faults)) };
}

/** Usable sightings that do not agree with a fit of the core, within a slack or, where that is 0, their expected errors. */
function disagreeing(bench: Bench, story: Story, fit: CoreFit, slack: number, scale: number): number[] {
  const { night } = bench;
  const difference = new Float64Array(3);
  const price = exclusionPrice(story.usedCount) * scale * scale;
  const out: number[] = [];
  for (let i = 0; i < night.count; i++) {
    if (!story.used[i]) continue;
    if (!fit.rows.compare(fit.parameters, i, difference)) continue;
    const west = read(difference[0]!) * difference[2]!;
    const north = read(difference[1]!);
    const far =
      slack > 0
        ? (west * west + north * north) / (slack * slack) >= ROUGH_CUT
        : (west / night.sigmaWest[i]!) ** 2 + (north / night.sigmaNorth[i]!) ** 2 >= price;
    if (far) out.push(i);
  }
  return out;
}

/** What a story costs by its core alone: for comparing starts, before anything else is averaged. */
export function coreCost(fit: CoreFit, story: Story): number {
  const price = exclusionPrice(story.usedCount + story.excludedCount);
  return profileOf(fit, story).cost + story.excludedCount * price;
}

/** The scale profile of all used sightings, where the core saw a few of them only too. */
function profileOf({ solution, rows }: CoreFit, { usedCount }: Story): { scale: number; cost: number } {
  return scaleProfile((solution.sumOfSquares * usedCount) / rows.usedRows.length, 2 * usedCount);
}

/**
 * The factor by which the expected errors seem too small, and −2 ln of the likelihood that goes with it, from the
 * sum of squares: the scale s ≥ 1 that makes x / s² + 2 m ln s + (ln s / spread)² smallest.
 */
function scaleProfile(sumOfSquares: number, rows: number): { scale: number; cost: number } {
  const x = Math.max(0, sumOfSquares);
  const value = (u: number): number => x * Math.exp(-2 * u) + 2 * rows * u + (u / ERROR_SCALE_SPREAD) ** 2;
  if (x <= rows) return { scale: 1, cost: x };
  let low = 0;
  let high = 0.5 * Math.log(x / rows) + 1e-9;
  // The derivative −2x e^(−2u) + 2m + 2u/spread² rises through zero once.
  for (let k = 0; k < 60; k++) {
    const u = (low + high) / 2;
    if (-2 * x * Math.exp(-2 * u) + 2 * rows + (2 * u) / ERROR_SCALE_SPREAD ** 2 < 0) low = u;
    else high = u;
  }
  return { scale: Math.exp(low), cost: value(low) };
}
