/**
 * How all sightings of a night go with an outcome: one pass over them, kept for as long as the outcome is.
 */
import type { Workbench } from "./mount-problem.js";
import { leaveOneOut, type Outcome } from "./outcome.js";

/** One place in each array for each sighting; as {@link Comparison} has it for one. */
export interface Comparisons {
  /** Reading minus model, radians. */
  readonly deltaHourAngle: Float64Array;
  readonly deltaDeclination: Float64Array;
  /** |cos D| of the mount. */
  readonly cosDeclination: Float64Array;
  /** Squared distance in units of its covariance, 2 degrees of freedom; infinite where nothing can be compared. */
  readonly distanceSquared: Float64Array;
  /** Fraction of each row's variance that the fit absorbed. */
  readonly absorbedWest: Float64Array;
  readonly absorbedNorth: Float64Array;
  /** 1 where the sighting has a zero of its own to be compared with. */
  readonly comparable: Uint8Array;
  /**
   * By how much χ² would fall if the zero of an axis were another from a used sighting on, all other unknowns
   * refitted (the added-variable test, by projection on the triangular factor). 0 for the first and the unused.
   */
  readonly stepGainHourAngle: Float64Array;
  readonly stepGainDeclination: Float64Array;
}

const kept = new WeakMap<Outcome, Comparisons>();

/** Compares all sightings with an outcome. */
export function comparisons(bench: Workbench, outcome: Outcome): Comparisons {
  let known = kept.get(outcome);
  if (known === undefined) {
    known = compareAll(bench, outcome);
    kept.set(outcome, known);
  }
  return known;
}

/** What is left of a new column after the others, less than this, is rounding. */
const INDISTINCT = 1e-6;

function compareAll(bench: Workbench, outcome: Outcome): Comparisons {
  const { night } = bench;
  const { problem, solution, explanation } = outcome;
  const { size } = problem;
  const column = (): Float64Array => new Float64Array(night.count);
  const all = {
    deltaHourAngle: column(),
    deltaDeclination: column(),
    cosDeclination: column(),
    distanceSquared: column(),
    absorbedWest: column(),
    absorbedNorth: column(),
    comparable: new Uint8Array(night.count),
    stepGainHourAngle: column(),
    stepGainDeclination: column(),
  };
  const first = problem.usedRows[0] ?? -1;
  const difference = new Float64Array(3);
  const partials = new Float64Array(2 * size);
  const single = new Float64Array(3);
  // From the last used sighting back: for each axis xᵀx, xᵀr and R⁻ᵀJᵀx, x the column of a new zero.
  const towards = new Float64Array(2 * size);
  let squareH = 0;
  let squareD = 0;
  let productH = 0;
  let productD = 0;
  for (let i = night.count - 1; i >= 0; i--) {
    const comparable = problem.compare(solution.parameters, i, difference, partials);
    solution.factor.solveTransposedInPlace(partials, 0);
    solution.factor.solveTransposedInPlace(partials, size);
    const used = explanation.used[i] === 1;
    const weightH = difference[2]! / night.sigmaWest[i]!;
    const weightD = 1 / night.sigmaNorth[i]!;
    const west = difference[0]! * weightH;
    const north = difference[1]! * weightD;
    leaveOneOut(partials, size, west, north, used, single);
    all.deltaHourAngle[i] = difference[0]!;
    all.deltaDeclination[i] = difference[1]!;
    all.cosDeclination[i] = difference[2]!;
    all.distanceSquared[i] = comparable ? single[0]! : Number.POSITIVE_INFINITY;
    all.absorbedWest[i] = single[1]!;
    all.absorbedNorth[i] = single[2]!;
    all.comparable[i] = comparable ? 1 : 0;
    if (!used || i === first) continue;
    squareH += weightH * weightH;
    squareD += weightD * weightD;
    productH += weightH * west;
    productD += weightD * north;
    let explainedH = 0;
    let explainedD = 0;
    for (let j = 0; j < size; j++) {
      const h = towards[j]! + weightH * partials[j]!;
      const d = towards[size + j]! + weightD * partials[size + j]!;
      towards[j] = h;
      towards[size + j] = d;
      explainedH += h * h;
      explainedD += d * d;
    }
    const freeH = squareH - explainedH;
    const freeD = squareD - explainedD;
    if (freeH >= INDISTINCT * squareH) all.stepGainHourAngle[i] = (productH * productH) / freeH;
    if (freeD >= INDISTINCT * squareD) all.stepGainDeclination[i] = (productD * productD) / freeD;
  }
  return all;
}
