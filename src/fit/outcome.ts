/**
 * Fitting one explanation: unknowns, their factor, and how well each sighting goes with it.
 */

import { DECLINATION_ZERO, HOUR_ANGLE_ZERO, type ModelDirection } from "../mount/model.js";
import type { ReducedNight } from "../night/reduce.js";
import { circularMedian } from "./circular.js";
import { type Explanation, penalisedCost, scaleProfile } from "./explanation.js";
import { type Hold, type Layout, layOut, termIndex } from "./layout.js";
import { type LeastSquaresSolution, minimise } from "./least-squares.js";
import { type MountProblem, mountProblem, type Workbench } from "./mount-problem.js";
import type { TriangularFactor } from "./triangular-factor.js";

/** A fitted explanation. */
export interface Outcome {
  readonly explanation: Explanation;
  readonly layout: Layout;
  readonly problem: MountProblem;
  readonly solution: LeastSquaresSolution;
  /** −2 ln posterior odds but for a constant. */
  readonly cost: number;
  /** By how much the expected errors seem too small, at least 1. */
  readonly scale: number;
}

/** How one sighting goes with an outcome. */
export interface Comparison {
  /** Reading minus model, radians. */
  readonly deltaHourAngle: number;
  readonly deltaDeclination: number;
  /** |cos D| of the mount. */
  readonly cosDeclination: number;
  /**
   * Squared distance in units of its covariance, 2 degrees of freedom: for a used sighting as if it had been left
   * out (closed form), for another as a prediction.
   */
  readonly distanceSquared: number;
  /** Fraction of each row's variance that the fit absorbed: west, north. */
  readonly absorbedWest: number;
  readonly absorbedNorth: number;
  /** False where the sighting has no zero of its own to be compared with. */
  readonly comparable: boolean;
}

/** First guesses: terms as before, zeros by the circular median of what is left. */
function startingPoint(
  problem: MountProblem,
  previous: Outcome | ArrayLike<number> | undefined,
): Float64Array {
  const { layout } = problem;
  const start = new Float64Array(layout.unknowns.length);
  if (previous && "solution" in previous) {
    layout.unknowns.forEach((unknown, j) => {
      const before = previous.layout.unknowns.findIndex((other) => other.index === unknown.index);
      if (before >= 0) start[j] = previous.solution.parameters[before]!;
    });
  } else if (previous) {
    layout.unknowns.forEach((unknown, j) => {
      start[j] = previous[unknown.index]!;
    });
  }
  const difference = new Float64Array(3);
  const zeroColumns = new Map<number, number[]>();
  layout.unknowns.forEach((unknown, j) => {
    if (unknown.index === HOUR_ANGLE_ZERO || unknown.index === DECLINATION_ZERO) {
      zeroColumns.set(j, []);
      start[j] = 0;
    }
  });
  for (const i of problem.usedRows) {
    problem.compare(start, i, difference);
    zeroColumns.get(layout.hourAngleZero[i]!)?.push(difference[0]!);
    zeroColumns.get(layout.declinationZero[i]!)?.push(difference[1]!);
  }
  for (const [column, values] of zeroColumns) {
    if (values.length > 0) start[column] = circularMedian(values);
  }
  return start;
}

/** An outcome is near enough to start from where at most this part of its sightings has come or gone. */
const LIKE_BEFORE = 0.1;

/** The solution of an outcome that has the same unknowns and nearly the same sightings. */
function samePlace(
  layout: Layout,
  explanation: Explanation,
  previous: Outcome | ArrayLike<number> | undefined,
): Float64Array | null {
  if (previous === undefined || !("solution" in previous)) return null;
  const before = previous.explanation;
  if (
    before.hourAngleFactor !== explanation.hourAngleFactor ||
    before.declinationFactor !== explanation.declinationFactor ||
    before.exchanged !== explanation.exchanged
  ) {
    return null;
  }
  const known = previous.layout.unknowns;
  if (known.length !== layout.unknowns.length) return null;
  if (known.some(({ index }, j) => index !== layout.unknowns[j]!.index)) return null;
  let used = 0;
  let changed = 0;
  for (let i = 0; i < explanation.used.length; i++) {
    if (!explanation.used[i] && !before.used[i]) continue;
    used++;
    if (
      explanation.used[i] !== before.used[i] ||
      layout.hourAngleZero[i] !== previous.layout.hourAngleZero[i] ||
      layout.declinationZero[i] !== previous.layout.declinationZero[i] ||
      layout.cone[i] !== previous.layout.cone[i]
    ) {
      changed++;
    }
  }
  return changed <= LIKE_BEFORE * used ? previous.solution.parameters : null;
}

/** From so many sightings on, a few of them are fitted first. */
const MANY = 8000;
const FEW = 2000;

/** The fit of a few among very many sightings: the first passes over all of them are spared. */
function startFromFew(
  bench: Workbench,
  explanation: Explanation,
  layout: Layout,
  problem: MountProblem,
  previous: Outcome | ArrayLike<number> | undefined,
  iterationLimit: number,
): Float64Array | null {
  const { usedRows } = problem;
  if (usedRows.length < MANY || iterationLimit === 0) return null;
  const stride = Math.floor(usedRows.length / FEW);
  const few = mountProblem(
    bench,
    explanation,
    layout,
    usedRows.filter((_, k) => k % stride === 0),
  );
  const { parameters, stop } = minimise(few, startingPoint(few, previous), { tolerance: 1e-2 });
  return stop === "converged" ? parameters : null;
}

/**
 * Fits an explanation.
 *
 * @param previous - an outcome, or a full set of model coefficients, to start from
 * @param hold - how the free unknowns are held
 * @param iterationLimit - 0 leaves the terms as they are and only sets the zeros to their medians
 */
export function fitExplanation(
  bench: Workbench,
  explanation: Explanation,
  previous?: Outcome | ArrayLike<number>,
  hold: Hold = "free",
  iterationLimit = hold === "rough-axis" ? 8 : 60,
): Outcome {
  const layout = layOut(bench, explanation, hold);
  const problem = mountProblem(bench, explanation, layout);
  const start =
    samePlace(layout, explanation, previous) ??
    startFromFew(bench, explanation, layout, problem, previous, iterationLimit) ??
    startingPoint(problem, previous);
  const solution = minimise(problem, start, {
    tolerance: hold === "rough-axis" ? 1e-2 : 1e-3,
    iterationLimit,
  });
  const used = problem.usedRows.length;
  // Too few or too similar sightings: keep what they cannot tell finite instead of dividing by nothing.
  if (hold === "free" && iterationLimit > 0 && isSingular(solution.factor))
    return fitExplanation(bench, explanation, previous, "finite");
  return {
    explanation,
    layout,
    problem,
    solution,
    cost: penalisedCost(explanation, bench.night, solution.sumOfSquares),
    scale: scaleProfile(solution.sumOfSquares, 2 * used).scale,
  };
}

/** A pivot so much shorter than its column is rounding. */
const SINGULAR = 1e-9;

function isSingular(factor: TriangularFactor): boolean {
  const lengths = factor.columnLengths();
  for (let j = 0; j < factor.size; j++) {
    if (Math.abs(factor.entry(j, j)) <= SINGULAR * lengths[j]!) return true;
  }
  return false;
}

/**
 * Compares sightings with an outcome; keeps its working space.
 *
 * @returns from a sighting, and another direction (radians) to hold its readings against, if wanted
 */
export function comparer(
  bench: Workbench,
  outcome: Outcome,
): (sighting: number, seen?: ModelDirection) => Comparison {
  const { problem, solution, explanation } = outcome;
  const { night } = bench;
  const size = problem.size;
  const difference = new Float64Array(3);
  const partials = new Float64Array(2 * size);
  const single = new Float64Array(3);
  return (i, seen) => {
    const comparable = problem.compare(solution.parameters, i, difference, partials, seen);
    solution.factor.solveTransposedInPlace(partials, 0);
    solution.factor.solveTransposedInPlace(partials, size);
    const west = (difference[0]! * difference[2]!) / night.sigmaWest[i]!;
    const north = difference[1]! / night.sigmaNorth[i]!;
    leaveOneOut(partials, size, west, north, explanation.used[i] === 1, single);
    return {
      deltaHourAngle: difference[0]!,
      deltaDeclination: difference[1]!,
      cosDeclination: difference[2]!,
      distanceSquared: comparable ? single[0]! : Number.POSITIVE_INFINITY,
      absorbedWest: single[1]!,
      absorbedNorth: single[2]!,
      comparable,
    };
  };
}

/**
 * The squared distance of a sighting from a fit, in units of its covariance.
 *
 * @param solved - R⁻ᵀ times the slopes of its two rows
 * @param west - its weighted residuals
 * @param used - whether it is one of those fitted: then as if it had been left out
 * @param out - receives the squared distance and what the fit absorbed of each row's variance
 */
export function leaveOneOut(
  solved: Float64Array,
  size: number,
  west: number,
  north: number,
  used: boolean,
  out: Float64Array,
): void {
  let uu = 0;
  let uv = 0;
  let vv = 0;
  for (let j = 0; j < size; j++) {
    const u = solved[j]!;
    const v = solved[size + j]!;
    uu += u * u;
    uv += u * v;
    vv += v * v;
  }
  const sign = used ? -1 : 1;
  const a = Math.max(1 + sign * uu, 1e-9);
  const c = Math.max(1 + sign * vv, 1e-9);
  const b = sign * uv;
  const determinant = Math.max(a * c - b * b, 1e-12);
  out[0] = (c * west * west - 2 * b * west * north + a * north * north) / determinant;
  out[1] = uu;
  out[2] = vv;
}

/** The value of a term in an outcome, radians; of its first set where it has several; 0 where it is not fitted. */
export function termValue(
  outcome: Outcome,
  night: ReducedNight,
  name: Parameters<typeof termIndex>[0],
): number {
  const index = termIndex(name, night.mount);
  const column = outcome.layout.unknowns.findIndex((unknown) => unknown.index === index);
  return column < 0 ? 0 : outcome.solution.parameters[column]!;
}
