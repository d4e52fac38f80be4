import { expect, it } from "vitest";
import { ARCMINUTE, ARCSECOND, DEGREE, HOUR, TURN, wrapHalfTurn, wrapTurn } from "../src/angles.js";

// Exact identities throughout: where a half-open range ends is its definition.

it("wraps into (−π, π]: half a turn is +π from either side", () => {
  expect(wrapHalfTurn(-Math.PI)).toBe(Math.PI);
  expect(wrapHalfTurn(Math.PI)).toBe(Math.PI);
  expect(wrapHalfTurn(-0.75 * TURN)).toBe(0.25 * TURN);
  expect(wrapHalfTurn(2.25 * TURN)).toBe(0.25 * TURN);
  // What lies inside the range comes back to the last bit, small angles too.
  for (const angle of [1e-300, -1e-9, 0.1, -3, 3]) expect(wrapHalfTurn(angle)).toBe(angle);
});

it("wraps into [0, 2π), also what is less below zero than a double can divide", () => {
  expect(wrapTurn(TURN)).toBe(0);
  expect(wrapTurn(-1e-20)).toBe(0);
  expect(wrapTurn(-Number.MIN_VALUE)).toBe(0);
  expect(wrapTurn(-0.25 * TURN)).toBe(0.75 * TURN);
  expect(wrapTurn(1.25 * TURN)).toBe(0.25 * TURN);
});

it("divides the turn as everyone does", () => {
  expect(360 * DEGREE).toBe(TURN);
  expect(24 * HOUR).toBe(TURN);
  expect(60 * ARCMINUTE).toBe(DEGREE);
  expect(3600 * ARCSECOND).toBeCloseTo(DEGREE, 17);
});
