/**
 * Jumps of the zeros: where along the night an axis's zero changed.
 */
import { wrapHalfTurn } from "../angles.js";
import { circularMedian } from "./circular.js";
import { comparisons } from "./comparisons.js";
import { jumpPrice, outlierPrice } from "./explanation.js";
import type { Workbench } from "./mount-problem.js";
import type { Outcome } from "./outcome.js";

/** A change of an explanation: zeros that begin anew at some places. */
export interface JumpProposal {
  readonly hourAngleBreaks: readonly number[];
  readonly declinationBreaks: readonly number[];
  /** By how much the cost should fall, all prices paid. */
  readonly gain: number;
}

/** At most so many places are tried as the ends of a stretch. */
const PLACE_LIMIT = 60;
/** So many sightings speak for a long stretch; what is proposed is refitted with all of them. */
const STRETCH_SAMPLE = 200;

function sampled(values: Float64Array, from: number, to: number, stride: number): Float64Array {
  if (stride === 1) return values.subarray(from, to);
  return Float64Array.from({ length: Math.ceil((to - from) / stride) }, (_, k) => values[from + k * stride]!);
}

/**
 * Looks for a stretch of sightings that would fit with zeros of its own, the model otherwise as it is: finds large
 * jumps, also where one side of them has been set aside whole.
 */
export function stretchProposal(bench: Workbench, outcome: Outcome): JumpProposal | null {
  const { night } = bench;
  const found = comparisons(bench, outcome);
  const rows: number[] = [];
  for (let i = 0; i < night.count; i++) if (night.sightings[i]!.use) rows.push(i);
  const count = rows.length;
  if (count < 4) return null;
  const price = outlierPrice(count);
  const jump = jumpPrice(count);
  const scaleSquared = outcome.scale ** 2;
  const deltaH = Float64Array.from(rows, (i) => found.deltaHourAngle[i]!);
  const deltaD = Float64Array.from(rows, (i) => found.deltaDeclination[i]!);
  const weightH = Float64Array.from(rows, (i) => found.cosDeclination[i]! / night.sigmaWest[i]!);
  const weightD = Float64Array.from(rows, (i) => 1 / night.sigmaNorth[i]!);
  const costAt = (k: number, offsetH: number, offsetD: number): number =>
    Math.min(
      price,
      ((wrapHalfTurn(deltaH[k]! - offsetH) * weightH[k]!) ** 2 +
        (wrapHalfTurn(deltaD[k]! - offsetD) * weightD[k]!) ** 2) /
        scaleSquared,
    );
  const now = Float64Array.from(rows, (i, k) => (found.comparable[i] ? costAt(k, 0, 0) : price));

  const steps = new Float64Array(count);
  for (let k = 1; k < count; k++) {
    steps[k] = Math.max(
      Math.abs(wrapHalfTurn(deltaH[k]! - deltaH[k - 1]!)) * Math.min(weightH[k]!, weightH[k - 1]!),
      Math.abs(wrapHalfTurn(deltaD[k]! - deltaD[k - 1]!)) * Math.min(weightD[k]!, weightD[k - 1]!),
    );
  }
  const threshold = 3 * Math.SQRT2 * outcome.scale;
  let places = Array.from({ length: count - 1 }, (_, k) => k + 1).filter((k) => steps[k]! > threshold);
  if (places.length > PLACE_LIMIT) {
    places = places
      .sort((a, b) => steps[b]! - steps[a]!)
      .slice(0, PLACE_LIMIT)
      .sort((a, b) => a - b);
  }
  const ends = [0, ...places, count];
  let best: JumpProposal | null = null;
  for (let p = 0; p < ends.length - 1; p++) {
    for (let q = p + 1; q < ends.length; q++) {
      const from = ends[p]!;
      const to = ends[q]!;
      if ((from === 0 && to === count) || to - from < 2) continue;
      const stride = Math.ceil((to - from) / STRETCH_SAMPLE);
      const medianH = circularMedian(sampled(deltaH, from, to, stride));
      const medianD = circularMedian(sampled(deltaD, from, to, stride));
      const breaks = (from > 0 ? 1 : 0) + (to < count ? 1 : 0);
      for (const [useH, useD] of [
        [true, false],
        [false, true],
        [true, true],
      ] as const) {
        let gain = -breaks * jump * ((useH ? 1 : 0) + (useD ? 1 : 0));
        for (let k = from; k < to; k += stride)
          gain += stride * (now[k]! - costAt(k, useH ? medianH : 0, useD ? medianD : 0));
        if (gain > (best?.gain ?? 0)) {
          const places = [from, to].filter((k) => k > 0 && k < count).map((k) => rows[k]!);
          best = { hourAngleBreaks: useH ? places : [], declinationBreaks: useD ? places : [], gain };
        }
      }
    }
  }
  return best;
}

/**
 * Looks for one more jump among the used sightings, however small: for every place and axis the exact fall of χ² by
 * a step there, all other unknowns refitted (the added-variable test, by projection on the triangular factor).
 *
 * @param scale - by how much the errors are thought to be larger than expected; 1 where a refit will judge
 * @returns the best step of one axis and the best of both together, where they pay their price
 */
export function stepProposals(bench: Workbench, outcome: Outcome, scale = 1): JumpProposal[] {
  const { problem, explanation } = outcome;
  const { stepGainHourAngle, stepGainDeclination } = comparisons(bench, outcome);
  const scaleSquared = scale ** 2;
  const price = jumpPrice(problem.usedRows.length);
  let best: JumpProposal | null = null;
  let both: JumpProposal | null = null;
  for (let k = problem.usedRows.length - 1; k >= 1; k--) {
    const i = problem.usedRows[k]!;
    const free = [!explanation.hourAngleBreaks.includes(i), !explanation.declinationBreaks.includes(i)];
    const gains = [
      stepGainHourAngle[i]! / scaleSquared - price,
      stepGainDeclination[i]! / scaleSquared - price,
    ];
    for (const axis of [0, 1]) {
      if (!free[axis] || gains[axis]! <= (best?.gain ?? 0)) continue;
      best = {
        hourAngleBreaks: axis === 0 ? [i] : [],
        declinationBreaks: axis === 1 ? [i] : [],
        gain: gains[axis]!,
      };
    }
    // A power failure moves both zeros at one place, and each alone leaves the fit as bad as before.
    const sum = gains[0]! + gains[1]!;
    if (free[0] && free[1] && sum > (both?.gain ?? 0)) {
      both = { hourAngleBreaks: [i], declinationBreaks: [i], gain: sum };
    }
  }
  return [best, both].filter((proposal): proposal is JumpProposal => proposal !== null);
}
