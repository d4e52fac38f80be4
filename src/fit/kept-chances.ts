/**
 * The chances that causes keep in what is quoted: a cause that tonight's sightings do not call for may act all the same.
 */
import { chanceOf, KEPT_CHANCE } from "./beliefs.js";
import type { CauseColumns, Causes } from "./cause-sets.js";

/** The causes' odds are set one after the other, so many times at most: a few times are enough. */
const MOST_ROUNDS = 40;
/** Odds this near to what they should be, as a factor's logarithm, are there. */
const NEAR = 0.005;

const logOdds = (probability: number): number => Math.log(probability / (1 - probability));

/** The probability that a cause acts, from the weights of sets. */
export function actsAmong(weights: Float64Array, sets: readonly Causes[], cause: number): number {
  let acts = 0;
  let all = 0;
  for (let s = 0; s < sets.length; s++) {
    all += weights[s]!;
    if (sets[s]![cause]) acts += weights[s]!;
  }
  return Math.min(1, acts / all);
}

/**
 * By what the weights of sets are multiplied so that each cause acts with {@link KEPT_CHANCE} of its chance before the night,
 * if not more. Of all weights that do so they are the nearest to the given ones in relative entropy (Csiszár 1975): the odds of
 * a cause are raised by one factor wherever it acts.
 */
export function keptChances(
  weights: Float64Array,
  sets: readonly Causes[],
  causes: readonly CauseColumns[],
): Float64Array {
  const kept = Float64Array.from(weights);
  const raised = new Float64Array(causes.length);
  for (let round = 0; round < MOST_ROUNDS; round++) {
    let settled = true;
    causes.forEach(({ name }, c) => {
      const acts = actsAmong(kept, sets, c);
      if (acts === 0 || acts === 1) return;
      // Raised before for itself, a cause comes down again where others' odds have raised it further.
      const wanted = Math.max(0, raised[c]! + logOdds(KEPT_CHANCE * chanceOf(name)) - logOdds(acts));
      const step = wanted - raised[c]!;
      if (Math.abs(step) < NEAR) return;
      settled = false;
      raised[c] = wanted;
      for (let s = 0; s < sets.length; s++) if (sets[s]![c]) kept[s]! *= Math.exp(step);
    });
    if (settled) break;
  }
  const sum = kept.reduce((sofar, weight) => sofar + weight, 0);
  return kept.map((weight, s) => (weights[s] === 0 ? 0 : weight / sum / weights[s]!));
}
