import { expect, test } from "vitest";
import { ARCMINUTE, DEGREE } from "../../src/angles.js";
import { SHIM_STEP_MM } from "../../src/base/adjusters/lower-bearing.js";
import { settingVariance, type TurnMade } from "../../src/base/turns-made.js";
import { exampleBase, lowBearing } from "./example-base.js";

const LATITUDE = 45;

function moved(...directions: TurnMade["direction"][]): TurnMade[] {
  return directions.map((direction) => ({ adjuster: "lower bearing", turns: 1, direction, mm: null }));
}

/** A step that is uniform within itself, on an axis 1.2 m long, arcminutes². */
function uniform(stepMm: number): number {
  return (stepMm / 1200 / ARCMINUTE) ** 2 / 12;
}

test("a lower bearing is uncertain the way it was moved, and only that way", () => {
  const base = exampleBase({ lowerBearing: lowBearing });
  const [east, altitude] = [uniform(0.125), uniform(0.125) * Math.cos(LATITUDE * DEGREE) ** 2];
  const eastward = settingVariance(base, moved("west"), LATITUDE);
  expect(eastward.east).toBeCloseTo(east, 9);
  expect(eastward.altitude).toBe(0);
  const upward = settingVariance(base, moved("up"), LATITUDE);
  expect(upward.altitude).toBeCloseTo(altitude, 9);
  expect(upward.east).toBe(0);
  const both = settingVariance(base, moved("east", "down"), LATITUDE);
  expect([both.altitude, both.east]).toEqual([upward.altitude, eastward.east]);
});

test("a bearing without a screw is set as finely as shims go", () => {
  const base = exampleBase({ lowerBearing: { ...lowBearing, eastWestPitchMm: null } });
  const shimmed: TurnMade[] = [{ adjuster: "lower bearing", turns: 0, direction: "east", mm: 2 }];
  expect(settingVariance(base, shimmed, LATITUDE).east).toBeCloseTo(uniform(SHIM_STEP_MM), 12);
});
