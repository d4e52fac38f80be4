/**
 * Our least squares against the NIST Statistical Reference Datasets (StRD, www.itl.nist.gov/div898/strd, public
 * domain): certified values and standard deviations, from both of NIST's starting points.
 * The files in test/reference/nist are NIST's own text files; Filip.csv carries the same figures as a table.
 */
import { readFileSync } from "node:fs";
import { describe, expect, it } from "vitest";
import { type LeastSquaresProblem, minimise } from "../../src/fit/least-squares.js";

const FOLDER = new URL("../reference/nist/", import.meta.url);
const read = (name: string): string[] => readFileSync(new URL(name, FOLDER), "utf8").split(/\r?\n/);
const numbersOf = (line: string): number[] =>
  line
    .trim()
    .split(/[\s,]+/)
    .map(Number);

/** What nights are fitted with (src/fit/core-fit.ts). */
const NIGHT_SETTINGS = { tolerance: 1e-3, iterationLimit: 60 };

/** Digits that agree: −log10 of the relative error. */
function digits(found: number, certified: number): number {
  return found === certified ? 16 : -Math.log10(Math.abs(found - certified) / Math.abs(certified));
}

describe("linear NIST datasets", () => {
  const DIGITS_NORRIS = 10; // NIST certifies 15 digits
  const DIGITS_LONGLEY = 7; // columns of condition 5e9, and a first step damped by 1e-9 as a night's is
  const DIGITS_FILIP = 7; // condition of the powers about 1e10: seven digits is what double precision holds

  function check(rows: number[][], y: number[], values: number[], deviations: number[], need: number): void {
    const size = values.length;
    const left = rows.reduce(
      (sum, row, i) => sum + (row.reduce((at, x, j) => at + x * values[j]!, 0) - y[i]!) ** 2,
      0,
    );
    const unit = Math.sqrt(left / (rows.length - size));
    const problem: LeastSquaresProblem = {
      size,
      rows: rows.length,
      evaluate(parameters, first, count, block) {
        for (let i = 0; i < count; i++) {
          const at = i * (size + 1);
          const row = rows[first + i]!;
          row.forEach((x, j) => {
            block[at + j] = x / unit;
          });
          block[at + size] = (row.reduce((sum, x, j) => sum + x * parameters[j]!, 0) - y[first + i]!) / unit;
        }
      },
    };
    const solution = minimise(problem, new Float64Array(size), NIGHT_SETTINGS);
    expect(solution.stop).toBe("converged");
    const inverse = solution.factor.inverseInformation();
    values.forEach((value, j) => {
      expect(digits(solution.parameters[j]!, value)).toBeGreaterThan(need);
      const deviation = Math.sqrt(inverse[j * size + j]!);
      expect(digits(deviation, deviations[j]!)).toBeGreaterThan(need);
    });
  }

  it.each([
    ["Norris", DIGITS_NORRIS],
    ["Longley", DIGITS_LONGLEY],
  ] as const)("%s", (name, need) => {
    const lines = read(`${name}.dat`);
    const certified = lines
      .slice(25, 45)
      .filter((line) => /^\s*B\d/.test(line))
      .map((line) => numbersOf(line.replace(/^\s*B\d+/, "")));
    const data = lines
      .slice(60)
      .filter((line) => /\d/.test(line))
      .map(numbersOf);
    check(
      data.map((row) => [1, ...row.slice(1)]),
      data.map((row) => row[0]!),
      certified.map((row) => row[0]!),
      certified.map((row) => row[1]!),
      need,
    );
  });

  it("Filip", () => {
    const lines = read("Filip.csv");
    const afterColon = (line: string): number[] => numbersOf(line.slice(line.lastIndexOf(":") + 1));
    const data = lines.slice(4).filter(Boolean).map(numbersOf);
    check(
      data.map(([x]) => Array.from({ length: 11 }, (_, power) => x! ** power)),
      data.map((row) => row[1]!),
      afterColon(lines[1]!),
      afterColon(lines[2]!),
      DIGITS_FILIP,
    );
  });
});

type Model = (x: number, b: Float64Array) => { value: number; partials: number[] };

const rational =
  (degree: number): Model =>
  (x, b) => {
    let top = 0;
    let bottom = 1;
    for (let k = 0; k <= degree; k++) top += b[k]! * x ** k;
    for (let k = 1; k <= degree; k++) bottom += b[degree + k]! * x ** k;
    const partials: number[] = [];
    for (let k = 0; k <= degree; k++) partials.push(x ** k / bottom);
    for (let k = 1; k <= degree; k++) partials.push((-top * x ** k) / (bottom * bottom));
    return { value: top / bottom, partials };
  };

const saturating: Model = (x, b) => {
  const decay = Math.exp(-b[1]! * x);
  return { value: b[0]! * (1 - decay), partials: [1 - decay, b[0]! * x * decay] };
};

const models: Record<string, Model> = {
  Misra1a: saturating,
  BoxBOD: saturating,
  Thurber: rational(3),
  Hahn1: rational(3),
  MGH09: (x, b) => {
    const top = x * x + x * b[1]!;
    const bottom = x * x + x * b[2]! + b[3]!;
    const value = (b[0]! * top) / bottom;
    return { value, partials: [top / bottom, (b[0]! * x) / bottom, (-value * x) / bottom, -value / bottom] };
  },
  Gauss1: (x, b) => {
    const decay = Math.exp(-b[1]! * x);
    let value = b[0]! * decay;
    const partials = [decay, -b[0]! * x * decay];
    for (const k of [2, 5]) {
      const offset = x - b[k + 1]!;
      const width = b[k + 2]!;
      const bell = Math.exp(-(offset * offset) / (width * width));
      value += b[k]! * bell;
      partials.push(
        bell,
        (b[k]! * bell * 2 * offset) / width ** 2,
        (b[k]! * bell * 2 * offset ** 2) / width ** 3,
      );
    }
    return { value, partials };
  },
};

/** A dataset's file: certified lines (two starts, value, standard deviation) and data (y, x). */
function nonlinear(name: string): { certified: number[][]; data: number[][] } {
  const lines = read(`${name}.dat`);
  return {
    certified: lines
      .filter((line) => /^\s*b\d\s*=/.test(line))
      .map((line) => numbersOf(line.replace(/^\s*b\d\s*=/, ""))),
    data: lines
      .slice(60)
      .filter((line) => /^\s*[-\d.]/.test(line))
      .map(numbersOf),
  };
}

function problemOf(model: Model, data: number[][], size: number, unit: number): LeastSquaresProblem {
  return {
    size,
    rows: data.length,
    evaluate(parameters, first, count, block, partials) {
      for (let i = 0; i < count; i++) {
        const [y, x] = data[first + i]! as [number, number];
        const at = i * (size + 1);
        const { value, partials: slopes } = model(x, parameters);
        if (partials) for (let j = 0; j < size; j++) block[at + j] = slopes[j]! / unit;
        block[at + size] = (value - y) / unit;
      }
    },
  };
}

describe("nonlinear NIST datasets with a night's settings, rows in units of their errors as a night's are", () => {
  // A night is settled when a step is shorter than a thousandth of a standard deviation.
  const SIGMAS = 1e-3;
  it.each(Object.entries(models))("%s", (name, model) => {
    const { certified, data } = nonlinear(name);
    const size = certified.length;
    const values = Float64Array.from(certified, (row) => row[2]!);
    const left = data.reduce((sum, [y, x]) => sum + (model(x!, values).value - y!) ** 2, 0);
    const unit = Math.sqrt(left / (data.length - size));
    // The nearer of NIST's starts: a night starts within a degree or two.
    const start = Float64Array.from(certified, (row) => row[1]!);
    const solution = minimise(problemOf(model, data, size, unit), start, NIGHT_SETTINGS);
    expect(solution.stop).toBe("converged");
    const inverse = solution.factor.inverseInformation();
    certified.forEach(([, , value, deviation], j) => {
      expect(Math.abs(solution.parameters[j]! - value!) / deviation!).toBeLessThan(SIGMAS);
      expect(Math.sqrt(inverse[j * size + j]!) / deviation!).toBeCloseTo(1, 3);
    });
  });
});

describe("nonlinear NIST datasets", () => {
  const DIGITS = 7; // NIST certifies 11
  for (const [name, model] of Object.entries(models)) {
    it.each([1, 2])(`${name}, start %i`, (start) => {
      const { certified, data } = nonlinear(name);
      const size = certified.length;
      const solution = minimise(
        problemOf(model, data, size, 1),
        Float64Array.from(certified, (row) => row[start - 1]!),
        { tolerance: 1e-14, iterationLimit: 2000, firstDamping: 100 },
      );
      expect(solution.stop).toBe("converged");
      const unit = Math.sqrt(solution.sumOfSquares / (data.length - size));
      const inverse = solution.factor.inverseInformation();
      certified.forEach((row, j) => {
        expect(digits(solution.parameters[j]!, row[2]!)).toBeGreaterThan(DIGITS);
        expect(digits(unit * Math.sqrt(inverse[j * size + j]!), row[3]!)).toBeGreaterThan(DIGITS);
      });
    });
  }
});
