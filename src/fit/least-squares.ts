/**
 * Least squares: linear by a streamed triangular factor, nonlinear by Levenberg's and Marquardt's method on it.
 *
 * Sources: Levenberg 1944; Marquardt 1963; the damping rule is Nielsen's (1999, IMM-REP-1999-05); the scaling by
 * column lengths is Moré's (1978).
 */
import { Matrix, SingularValueDecomposition } from "#matrices";
import { TriangularFactor } from "./triangular-factor.js";

/** Rows of residuals and their partial derivatives, in whatever block the solver asks for. */
export interface LeastSquaresProblem {
  /** Number of unknowns. */
  readonly size: number;
  /** Number of rows. */
  readonly rows: number;
  /**
   * Writes a block of rows.
   *
   * @param parameters - the unknowns
   * @param first - the first row wanted
   * @param count - how many rows
   * @param block - receives, row-major with `size + 1` entries a row, ∂residual/∂parameter and the residual
   * @param partials - false when only the residuals are wanted
   */
  evaluate(
    parameters: Float64Array,
    first: number,
    count: number,
    block: Float64Array,
    partials: boolean,
  ): void;
}

/** Why the solver stopped. */
type SolverStop = "converged" | "iteration-limit" | "no-progress";

export interface LeastSquaresSolution {
  readonly parameters: Float64Array;
  /** Sum of squared residuals at the solution. */
  readonly sumOfSquares: number;
  /** The triangular factor of the partial derivatives at (or one last tiny step before) the solution. */
  readonly factor: TriangularFactor;
  readonly iterations: number;
  readonly stop: SolverStop;
}

export interface LeastSquaresOptions {
  /** Stops when a step changes the fit by less than this many standard deviations of the rows. Default 1e-5. */
  readonly tolerance?: number;
  /** Default 60. */
  readonly iterationLimit?: number;
  /** First damping relative to the squared column lengths; near zero for nearly linear problems. Default 1e-9. */
  readonly firstDamping?: number;
}

/** With less damping than this, relative to the squared column lengths, a step is Gauss's and Newton's. */
const UNDAMPED = 1e-6;

/** Rows in a block: a block and the factor stay in the processor's cache. */
const BLOCK_ROWS = 128;

function scan(
  problem: LeastSquaresProblem,
  parameters: Float64Array,
  block: Float64Array,
  factor: TriangularFactor | null,
): number {
  const width = problem.size + 1;
  let sum = 0;
  factor?.clear();
  for (let first = 0; first < problem.rows; first += BLOCK_ROWS) {
    const count = Math.min(BLOCK_ROWS, problem.rows - first);
    problem.evaluate(parameters, first, count, block, factor !== null);
    for (let i = 0, at = problem.size; i < count; i++, at += width) sum += block[at]! * block[at]!;
    factor?.append(block, count);
  }
  return sum;
}

/**
 * Finds the unknowns that make the sum of squares smallest.
 *
 * @param problem - at least as many rows as unknowns, counting prior rows
 * @param start - where to begin
 */
export function minimise(
  problem: LeastSquaresProblem,
  start: Float64Array,
  options: LeastSquaresOptions = {},
): LeastSquaresSolution {
  const tolerance = options.tolerance ?? 1e-5;
  const iterationLimit = options.iterationLimit ?? 60;
  const size = problem.size;
  const width = size + 1;
  const block = new Float64Array(BLOCK_ROWS * width);
  let parameters = Float64Array.from(start);
  let factor = new TriangularFactor(size);
  let spare = new TriangularFactor(size);
  const damped = new TriangularFactor(size);
  const dampingBlock = new Float64Array(width * width);
  let sum = scan(problem, parameters, block, factor);
  const scales = factor.columnLengths();
  let damping = options.firstDamping ?? 1e-9;
  let growth = 2;
  let restful = 0;
  const finish = (stop: SolverStop, iterations: number): LeastSquaresSolution => ({
    parameters,
    sumOfSquares: sum,
    factor,
    iterations,
    stop,
  });
  for (let iteration = 1; iteration <= iterationLimit; iteration++) {
    // min ‖R step + Qᵀr‖² + damping ‖D step‖²
    damped.values.set(factor.values);
    dampingBlock.fill(0);
    const root = Math.sqrt(damping);
    for (let j = 0; j < size; j++) dampingBlock[j * width + j] = root * (scales[j]! || 1);
    damped.append(dampingBlock, size);
    const step = damped.solve();
    let predicted = 0;
    let stepLength = 0;
    for (let i = 0; i < size; i++) {
      let along = 0;
      for (let j = i; j < size; j++) along += factor.entry(i, j) * step[j]!;
      predicted += along * (2 * factor.rightSide(i) - along);
      stepLength += along * along;
    }
    if (!Number.isFinite(predicted)) return finish("no-progress", iteration);
    const next = new Float64Array(size);
    let relative = 0;
    for (let j = 0; j < size; j++) {
      next[j] = parameters[j]! - step[j]!;
      relative = Math.max(relative, Math.abs(step[j]!) / (Math.abs(next[j]!) + Number.MIN_VALUE));
    }
    if (relative < 4e-16) return finish("converged", iteration);
    const small = Math.sqrt(stepLength) <= tolerance * Math.min(1, Math.sqrt(sum) + Number.MIN_VALUE);
    if (small && damping < UNDAMPED) {
      // A full step so small is as exact as the slopes: no need to pass over the rows once more.
      parameters = next;
      sum -= predicted;
      return finish("converged", iteration);
    }
    const nextSum = scan(problem, next, block, spare);
    // Close to the minimum the sum of squares no longer shows what a step gains: trust the step, a few times.
    const belowRounding = predicted < 1e-11 * sum && Math.abs(nextSum - sum) < 1e-11 * sum;
    if (belowRounding && ++restful > 40) return finish("converged", iteration);
    if ((nextSum <= sum || belowRounding) && Number.isFinite(nextSum)) {
      const gain = predicted > 0 ? (sum - nextSum) / predicted : 1;
      [factor, spare] = [spare, factor];
      parameters = next;
      sum = nextSum;
      const lengths = factor.columnLengths();
      for (let j = 0; j < size; j++) scales[j] = Math.max(scales[j]!, lengths[j]!);
      damping *= Math.max(1 / 10, 1 - (2 * Math.min(gain, 1) - 1) ** 3);
      growth = 2;
      if (small) return finish("converged", iteration);
    } else {
      if (small) return finish("converged", iteration);
      damping = Math.max(damping, 1e-12) * growth * (damping < 1e-6 ? 100 : 1);
      growth *= 2;
      if (damping > 1e20) return finish("no-progress", iteration);
    }
  }
  return finish("iteration-limit", iterationLimit);
}

/** Condition and rank of the columns, each scaled to unit length, from the singular values of the factor. */
export function conditionOf(factor: TriangularFactor): { condition: number; rank: number } {
  const n = factor.size;
  if (n === 0) return { condition: 1, rank: 0 };
  const lengths = factor.columnLengths();
  const scaled = new Matrix(n, n);
  for (let i = 0; i < n; i++) {
    for (let j = i; j < n; j++) scaled.set(i, j, lengths[j] ? factor.entry(i, j) / lengths[j]! : 0);
  }
  const values = new SingularValueDecomposition(scaled, {
    computeLeftSingularVectors: false,
    computeRightSingularVectors: false,
  }).diagonal;
  const largest = values[0]!;
  const rank = values.filter((value) => value > largest * n * 1e-13).length;
  return { condition: rank < n ? Number.POSITIVE_INFINITY : largest / values[n - 1]!, rank };
}
