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
