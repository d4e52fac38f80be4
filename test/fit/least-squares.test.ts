/** The solver by itself: what must hold for any problem, by identities and by published test functions. */
import { describe, expect, it } from "vitest";
import { conditionOf, type LeastSquaresProblem, minimise } from "../../src/fit/least-squares.js";
import { TriangularFactor } from "../../src/fit/triangular-factor.js";
import { seededRandom } from "../../src/simulate/random.js";

/** A problem from a function that gives residuals and their slopes. */
function problemOf(
  size: number,
  rows: number,
  row: (x: Float64Array, i: number) => { residual: number; slopes: readonly number[] },
): LeastSquaresProblem & { calls: { partials: number; residuals: number } } {
  const calls = { partials: 0, residuals: 0 };
  return {
    size,
    rows,
    calls,
    evaluate(parameters, first, count, block, partials) {
      if (first === 0) calls[partials ? "partials" : "residuals"]++;
      for (let i = 0; i < count; i++) {
        const { residual, slopes } = row(parameters, first + i);
        for (let j = 0; j < size; j++) block[i * (size + 1) + j] = partials ? slopes[j]! : Number.NaN;
        block[i * (size + 1) + size] = residual;
      }
    },
  };
}

/** Rosenbrock's valley as residuals: 10 (y − x²) and 1 − x (Moré, Garbow and Hillstrom 1981, problem 1). */
const valley = problemOf(2, 2, ([x, y], i) =>
  i === 0 ? { residual: 10 * (y! - x! * x!), slopes: [-20 * x!, 10] } : { residual: 1 - x!, slopes: [-1, 0] },
);

describe("minimise", () => {
  it("solves a linear problem in one full step and what damping left of it, its sum of squares and uncertainties those of the algebra", () => {
    // A straight line through (i, y): the textbook's normal equations of two unknowns, by hand. 300 rows: three blocks.
    const random = seededRandom(5);
    const ROWS = 300;
    const y = Array.from({ length: ROWS }, (_, i) => 3 - 0.02 * i + random() - 0.5);
    const line = problemOf(2, ROWS, ([a, b], i) => ({ residual: a! + b! * i - y[i]!, slopes: [1, i] }));
    const solution = minimise(line, new Float64Array([100, -50]));
    let [s, sx, sxx, sy, sxy] = [0, 0, 0, 0, 0];
    y.forEach((value, i) => {
      s += 1;
      sx += i;
      sxx += i * i;
      sy += value;
      sxy += i * value;
    });
    const determinant = s * sxx - sx * sx;
    const a = (sxx * sy - sx * sxy) / determinant;
    const b = (s * sxy - sx * sy) / determinant;
    expect(solution.stop).toBe("converged");
    expect(solution.iterations).toBeLessThanOrEqual(3);
    expect(solution.parameters[0]).toBeCloseTo(a, 11);
    expect(solution.parameters[1]).toBeCloseTo(b, 13);
    const left = y.reduce((sum, value, i) => sum + (a + b * i - value) ** 2, 0);
    expect(solution.sumOfSquares).toBeCloseTo(left, 9);
    const inverse = solution.factor.inverseInformation();
    expect(inverse[0]).toBeCloseTo(sxx / determinant, 13);
    expect(inverse[1]).toBeCloseTo(-sx / determinant, 15);
    expect(inverse[3]).toBeCloseTo(s / determinant, 17);
  });

  it("says rightly what is left when it stops after the first step, as exact as asked", () => {
    // y = 2 i + 1 and ± 1 in turn: least squares of the plain line, by hand, leave what the algebra says.
    const y = [2, 2, 6, 6];
    const line = problemOf(2, 4, ([a, b], i) => ({ residual: a! + b! * i - y[i]!, slopes: [1, i] }));
    const solution = minimise(line, new Float64Array(2), { tolerance: 1e3 });
    expect([solution.stop, solution.iterations]).toEqual(["converged", 1]);
    // Slope 1.6, height 1.6; residuals −0.4, 1.2, −1.2, 0.4.
    expect(solution.parameters[0]).toBeCloseTo(1.6, 7);
    expect(solution.parameters[1]).toBeCloseTo(1.6, 7);
    expect(solution.sumOfSquares).toBeCloseTo(3.2, 7);
  });

  it("finds an unknown of any size", () => {
    for (const size of [1e-12, 1, 1e12]) {
      const one = problemOf(1, 2, ([x], i) => ({
        residual: (x! / size - 3) * (i + 1),
        slopes: [(i + 1) / size],
      }));
      const solution = minimise(one, new Float64Array(1));
      expect(solution.stop).toBe("converged");
      expect(solution.parameters[0]! / size).toBeCloseTo(3, 8);
    }
  });

  it("goes down Rosenbrock's valley from its published start to (1, 1)", () => {
    const solution = minimise(valley, new Float64Array([-1.2, 1]));
    expect(solution.stop).toBe("converged");
    expect(solution.parameters[0]).toBeCloseTo(1, 8);
    expect(solution.parameters[1]).toBeCloseTo(1, 8);
    expect(solution.sumOfSquares).toBeLessThan(1e-12);
    // Common practice, no source: a score of steps, or two.
    expect(solution.iterations).toBeLessThan(30);
  });

  it("stops at the limit of iterations and says so", () => {
    const solution = minimise(valley, new Float64Array([-1.2, 1]), { iterationLimit: 3 });
    expect(solution.stop).toBe("iteration-limit");
    expect(solution.iterations).toBe(3);
    // What it has is never worse than where it began: 24.2 at the published start.
    expect(solution.sumOfSquares).toBeLessThan(24.2);
    const [x, y] = solution.parameters as unknown as [number, number];
    expect(solution.sumOfSquares).toBeCloseTo(100 * (y - x * x) ** 2 + (1 - x) ** 2, 12);
  });

  it("says that it gets no further where the residuals are no numbers", () => {
    const nothing = problemOf(1, 2, () => ({ residual: Number.NaN, slopes: [1] }));
    expect(minimise(nothing, new Float64Array([0])).stop).toBe("no-progress");
  });

  it("turns back from a step into where the residuals are no numbers", () => {
    // ln x from 20: Newton's full step would go to −40.
    const root = problemOf(1, 1, ([x]) => ({
      residual: Math.log(x!),
      slopes: [1 / x!],
    }));
    const solution = minimise(root, new Float64Array([20]));
    expect(solution.stop).toBe("converged");
    expect(solution.parameters[0]).toBeCloseTo(1, 8);
  });

  it("leaves an unknown that no row depends on where it was", () => {
    const half = problemOf(2, 3, ([x], i) => ({ residual: x! - i, slopes: [1, 0] }));
    const solution = minimise(half, new Float64Array([7, 5]));
    expect(solution.parameters[0]).toBeCloseTo(1, 8);
    expect(solution.parameters[1]).toBe(5);
  });
});

describe("the triangular factor", () => {
  const rows = [
    [1, 2, 0],
    [0, 1, -1],
    [4, 0, 1],
    [-2, 3, 5],
    [0.5, -1, 2],
  ];
  const right = [3, -1, 2, 0, 7];

  function factorOf(blocks: readonly number[]): TriangularFactor {
    const factor = new TriangularFactor(3);
    let first = 0;
    for (const count of blocks) {
      const block = new Float64Array(4 * count);
      for (let i = 0; i < count; i++) block.set([...rows[first + i]!, right[first + i]!], 4 * i);
      factor.append(block, count);
      first += count;
    }
    return factor;
  }
  const product = (j: number, k: number) => rows.reduce((sum, row) => sum + row[j]! * row[k]!, 0);

  it("holds RᵀR = AᵀA and Rᵀ(Qᵀb) = Aᵀb, in whatever blocks the rows come (exact identity)", () => {
    for (const blocks of [[5], [1, 1, 1, 1, 1], [2, 3], [4, 1]]) {
      const factor = factorOf(blocks);
      for (let j = 0; j < 3; j++) {
        for (let k = 0; k < 3; k++) {
          let sum = 0;
          for (let i = 0; i <= Math.min(j, k); i++) sum += factor.entry(i, j) * factor.entry(i, k);
          expect(sum).toBeCloseTo(product(j, k), 12);
        }
        let onRight = 0;
        for (let i = 0; i <= j; i++) onRight += factor.entry(i, j) * factor.rightSide(i);
        expect(onRight).toBeCloseTo(
          rows.reduce((sum, row, i) => sum + row[j]! * right[i]!, 0),
          12,
        );
        expect(factor.columnLengths()[j]).toBeCloseTo(Math.sqrt(product(j, j)), 13);
      }
      // ‖b‖² = ‖Qᵀb‖² + what is left.
      const explained = [0, 1, 2].reduce((sum, i) => sum + factor.rightSide(i) ** 2, 0);
      expect(explained + factor.residualSquare()).toBeCloseTo(63, 12);
      const x = factor.solve();
      const left = rows.map((row, i) => row.reduce((sum, entry, j) => sum + entry * x[j]!, -right[i]!));
      for (let j = 0; j < 3; j++) {
        expect(left.reduce((sum, value, i) => sum + value * rows[i]![j]!, 0)).toBeCloseTo(0, 12);
      }
      expect(left.reduce((sum, value) => sum + value * value, 0)).toBeCloseTo(factor.residualSquare(), 12);
    }
  });

  it("solves with R and with Rᵀ, and gives (AᵀA)⁻¹ (exact identities)", () => {
    const factor = factorOf([3, 2]);
    const y = Float64Array.of(1, -2, 0.5);
    const x = factor.solve(y);
    const z = factor.solveTransposed(y);
    expect([...y]).toEqual([1, -2, 0.5]);
    const among = Float64Array.of(9, ...y, 9);
    factor.solveTransposedInPlace(among, 1);
    expect([...among]).toEqual([9, ...z, 9]);
    for (let i = 0; i < 3; i++) {
      let along = 0;
      for (let j = i; j < 3; j++) along += factor.entry(i, j) * x[j]!;
      expect(along).toBeCloseTo(y[i]!, 13);
      let down = 0;
      for (let j = 0; j <= i; j++) down += factor.entry(j, i) * z[j]!;
      expect(down).toBeCloseTo(y[i]!, 13);
    }
    const inverse = factor.inverseInformation();
    for (let i = 0; i < 3; i++) {
      for (let k = 0; k < 3; k++) {
        let sum = 0;
        for (let j = 0; j < 3; j++) sum += product(i, j) * inverse[3 * j + k]!;
        expect(sum).toBeCloseTo(i === k ? 1 : 0, 12);
      }
    }
  });

  it("takes up a row too small to change a length, and the largest after the smallest", () => {
    for (const [head, tail] of [
      [0.5, 1e-12],
      [3, 1e-12],
      [1e-12, 3],
    ] as const) {
      const factor = new TriangularFactor(1);
      factor.append(Float64Array.of(head, 2 * head), 1);
      factor.append(Float64Array.of(tail, 2 * tail), 1);
      expect(factor.solve()[0]).toBeCloseTo(2, 14);
      expect(Math.abs(factor.entry(0, 0))).toBeCloseTo(Math.hypot(head, tail), 15);
    }
  });

  it("forgets its rows, and is nothing for no rows", () => {
    const factor = factorOf([5]);
    factor.clear();
    expect(factor.residualSquare()).toBe(0);
    factor.append(new Float64Array(0), 0);
    expect([...factor.columnLengths()]).toEqual([0, 0, 0]);
  });

  it("knows the condition of two columns at an angle: √((1 + cos) / (1 − cos)), whatever their lengths", () => {
    // The singular values of two unit vectors at an angle: √(1 ± cos) (exact identity).
    for (const angle of [0.001, 0.3, 1, Math.PI / 2]) {
      const factor = new TriangularFactor(2);
      factor.append(Float64Array.of(1000, 0.1 * Math.cos(angle), 0, 0, 0.1 * Math.sin(angle), 0), 2);
      const { condition, rank } = conditionOf(factor);
      expect(condition / Math.sqrt((1 + Math.cos(angle)) / (1 - Math.cos(angle)))).toBeCloseTo(1, 8);
      expect(rank).toBe(2);
    }
    const same = new TriangularFactor(3);
    same.append(Float64Array.of(1, 2, 0, 0, 1, 2, 3, 0), 2);
    expect(conditionOf(same)).toEqual({ condition: Number.POSITIVE_INFINITY, rank: 2 });
    const empty = new TriangularFactor(3);
    empty.append(Float64Array.of(1, 2, 0, 0, 1, 3, 0, 0), 2);
    expect(conditionOf(empty)).toEqual({ condition: Number.POSITIVE_INFINITY, rank: 2 });
    expect(conditionOf(new TriangularFactor(0))).toEqual({ condition: 1, rank: 0 });
  });
});
