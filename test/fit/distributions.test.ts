/** Percentage points of χ²: Abramowitz and Stegun, Handbook of Mathematical Functions, table 26.8 (from memory). */
import { expect, it } from "vitest";
import { chiSquareLimit, chiSquareProbability } from "../../src/fit/distributions.js";

const TABLE: readonly [degrees: number, probability: number, value: number][] = [
  [1, 0.05, 3.84146],
  [1, 0.001, 10.8276],
  [2, 0.01, 9.21034],
  [5, 0.5, 4.35146],
  [10, 0.05, 18.307],
  [30, 0.95, 18.4926],
  [100, 0.01, 135.807],
];
const RELATIVE = 3e-5; // six digits in the table

it.each(TABLE)("χ² with %i degrees of freedom at %f", (degrees, probability, value) => {
  expect(Math.abs(chiSquareLimit(probability, degrees) / value - 1)).toBeLessThan(RELATIVE);
  expect(Math.abs(chiSquareProbability(value, degrees) / probability - 1)).toBeLessThan(1e-3);
});

it("has the closed form exp(−x/2) for two degrees of freedom", () => {
  for (const x of [0.001, 1, 10, 100, 600]) {
    expect(Math.abs(chiSquareProbability(x, 2) / Math.exp(-x / 2) - 1)).toBeLessThan(1e-12);
  }
});

it("has the closed forms of every number of degrees of freedom, far into both tails (A. & S. 26.4.4 and 26.4.5)", () => {
  // Even: e^(−x/2) Σ (x/2)^k / k!. Odd: erfc(√(x/2)) and the same sum over half-integer factorials.
  // erfc to 15 digits at 0.5, 1, 2 and 3 (Abramowitz and Stegun, table 7.1, and mpmath).
  const ERFC: readonly [argument: number, value: number][] = [
    [0.5, 0.479500122186953],
    [1, 0.157299207050285],
    [2, 0.00467773498104727],
    [3, 2.20904969985854e-5],
  ];
  for (const [argument, erfc] of ERFC) {
    const half = argument * argument;
    let even = Math.exp(-half);
    let evenTerm = even;
    let odd = erfc;
    // e^(−y) y^(1/2) / Γ(3/2)
    let oddTerm = (Math.exp(-half) * argument * 2) / Math.sqrt(Math.PI);
    for (let k = 1; k <= 30; k++) {
      const relative = (found: number, value: number) => Math.abs(found / value - 1);
      expect(relative(chiSquareProbability(2 * half, 2 * k), even)).toBeLessThan(1e-12);
      expect(relative(chiSquareProbability(2 * half, 2 * k - 1), odd)).toBeLessThan(1e-12);
      evenTerm *= half / k;
      even += evenTerm;
      odd += oddTerm;
      oddTerm *= half / (k + 0.5);
    }
  }
});

it("is a probability at the ends: certain at zero and below, and without degrees of freedom", () => {
  expect(chiSquareProbability(0, 3)).toBe(1);
  expect(chiSquareProbability(-1, 3)).toBe(1);
  expect(chiSquareProbability(5, 0)).toBe(1);
  expect(chiSquareProbability(1e5, 3)).toBe(0);
  expect(chiSquareProbability(1e-9, 40)).toBe(1);
});

it("is inverted to the last digits, from near certainty to one in a billion", () => {
  for (const degrees of [1, 2, 7, 100]) {
    for (const probability of [0.999, 0.5, 0.05, 1e-9]) {
      const limit = chiSquareLimit(probability, degrees);
      expect(Math.abs(chiSquareProbability(limit, degrees) / probability - 1)).toBeLessThan(1e-12);
    }
  }
});
