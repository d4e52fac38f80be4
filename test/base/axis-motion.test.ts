import { describe, expect, test } from "vitest";
import { ARCMINUTE, DEGREE } from "../../src/angles.js";
import {
  type BaseMotion,
  carriedBy,
  firstOrderMotion,
  moveAxis,
  stillBase,
} from "../../src/base/axis-motion.js";
import { createMountModel } from "./model-of-mount.js";

/** Double precision through a dozen rotations, arcminutes. */
const EXACT_ARCMIN = 1e-8;
/** Second order of one-arcminute motions: ARCMINUTE² is 3e-4 of an arcminute. */
const SECOND_ORDER_ARCMIN = 2e-3;
const latitudes = [-90, -75, -52.3, -30, -12, -1, 0, 12, 30, 51.5, 75, 90];

type Row = readonly [number, number, number];
type Grid = readonly [Row, Row, Row];

/** A rotation matrix about an axis by the textbook formula (cos I + sin [n]× + (1 − cos) n nᵀ), apart from src/vectors. */
function matrix(axis: Row, angle: number): Grid {
  const [x, y, z] = axis;
  const c = Math.cos(angle);
  const s = Math.sin(angle);
  const t = 1 - c;
  return [
    [c + t * x * x, t * x * y - s * z, t * x * z + s * y],
    [t * x * y + s * z, c + t * y * y, t * y * z - s * x],
    [t * x * z - s * y, t * y * z + s * x, c + t * z * z],
  ];
}
function times(m: Grid, v: Row): Row {
  const line = (row: Row): number => row[0] * v[0] + row[1] * v[1] + row[2] * v[2];
  return [line(m[0]), line(m[1]), line(m[2])];
}

/** The elevated end of a true axis in east, north, up. */
function elevated(latitudeDeg: number): Row {
  const sign = latitudeDeg < 0 ? -1 : 1;
  return [0, sign * Math.cos(latitudeDeg * DEGREE), sign * Math.sin(latitudeDeg * DEGREE)];
}

describe("small motions by explicit matrices in east, north, up", () => {
  const cases: readonly (readonly [string, BaseMotion, Row])[] = [
    // z = αx: the east side rises, which is a right-handed turn about −north (thumb south lifts the east).
    ["east side up", { ...stillBase, slopeEast: ARCMINUTE }, [0, -1, 0]],
    // z = βy: the north side rises, a right-handed turn about east.
    ["north side up", { ...stillBase, slopeNorth: ARCMINUTE }, [1, 0, 0]],
    // Clockwise from above: a right-handed turn about down.
    ["clockwise from above", { ...stillBase, turn: ARCMINUTE }, [0, 0, -1]],
  ];
  for (const latitude of latitudes) {
    test.each(cases)(`latitude ${latitude}: %s`, (_, motion, axis) => {
      const before = elevated(latitude);
      const after = times(matrix(axis, ARCMINUTE), before);
      const moved = moveAxis({ altitude: 0, east: 0 }, motion, latitude);
      // At the pole itself "up" along the meridian is toward the meridian's south (north) point: the change along
      // the direction of growing altitude, X = (0, −sin φ, cos φ).
      const upward: Row = [0, -Math.sin(latitude * DEGREE), Math.cos(latitude * DEGREE)];
      const change = after.map((value, index) => value - before[index]!) as unknown as Row;
      const altitude = (change[1] * upward[1] + change[2] * upward[2]) / ARCMINUTE;
      expect(moved.altitude).toBeCloseTo(altitude, 6);
      expect(moved.east).toBeCloseTo(change[0] / ARCMINUTE, 6);
      const first = firstOrderMotion(motion, latitude);
      expect(Math.abs(first.altitude - moved.altitude)).toBeLessThan(SECOND_ORDER_ARCMIN);
      expect(Math.abs(first.east - moved.east)).toBeLessThan(SECOND_ORDER_ARCMIN);
      expect(Math.abs(first.hourAngleZero - moved.hourAngleZero)).toBeLessThan(SECOND_ORDER_ARCMIN);
    });
  }
});

test("the base really lifts where it says: the rotation raises an eastern point for a slope to the east", () => {
  const raised = times(matrix([0, -1, 0], ARCMINUTE), [1000, 0, 0]);
  expect(raised[2]).toBeGreaterThan(0);
  const north = times(matrix([1, 0, 0], ARCMINUTE), [0, 1000, 0]);
  expect(north[2]).toBeGreaterThan(0);
  const clockwise = times(matrix([0, 0, -1], ARCMINUTE), [0, 1000, 0]);
  expect(clockwise[0]).toBeGreaterThan(0);
});

test("moving the far end of a 1 m base by 1 mm turns it 3.44′ (common practice, no source)", () => {
  const moved = moveAxis({ altitude: 0, east: 0 }, { ...stillBase, slopeNorth: 1 / 1000 }, 40);
  expect(moved.altitude).toBeCloseTo(3.44, 2);
  const turned = moveAxis({ altitude: 0, east: 0 }, { ...stillBase, turn: 1 / 1000 }, 0);
  expect(turned.east).toBeCloseTo(3.44, 2);
});

test("at 12° latitude ten arcminutes of azimuth cost 48′ of tilt, 14 mm across a metre (derived: 10 / sin 12°)", () => {
  const moved = moveAxis({ altitude: 0, east: 0 }, { ...stillBase, slopeEast: 48.1 * ARCMINUTE }, 12);
  expect(moved.east).toBeCloseTo(-10, 1);
  expect(1000 * Math.tan(48.1 * ARCMINUTE)).toBeCloseTo(14, 0);
});

describe("against the mount model: the telescope clamped, the base turned, the model's zero and pole follow", () => {
  // A clamped telescope turned bodily with the base points elsewhere; the model with the new pole and the old readings less
  // the shift of the zero must say where.
  for (const latitude of [-52.3, -30, 12, 51.5]) {
    for (const scale of [1, 60, 300]) {
      test(`latitude ${latitude}, motions of ${scale}′`, () => {
        const motion: BaseMotion = {
          slopeEast: 0.6 * scale * ARCMINUTE,
          slopeNorth: -0.5 * scale * ARCMINUTE,
          turn: 0.4 * scale * ARCMINUTE,
          bearingEast: 0,
          bearingUp: 0,
        };
        const from = { altitude: -0.3 * scale, east: 0.7 * scale };
        const to = moveAxis(from, motion, latitude);
        const readings = { hourAngle: 0.7, declination: -0.35 };
        const before = createMountModel(latitude, from, 0).pointing(readings);
        // In the order of the steps at the base: tilted, then turned about the vertical.
        const axis: Row = [motion.slopeNorth, -motion.slopeEast, 0];
        const angle = Math.hypot(...axis);
        const tilted = times(matrix(axis.map((part) => part / angle) as unknown as Row, angle), before);
        const turned = times(matrix([0, 0, -1], motion.turn), tilted);
        const after = createMountModel(latitude, to, to.hourAngleZero).pointing(readings);
        const apart = Math.hypot(...turned.map((part, index) => part - after[index]!)) / ARCMINUTE;
        expect(apart).toBeLessThan(EXACT_ARCMIN);
      });
    }
  }
});

describe("the lower bearing", () => {
  for (const latitude of [-60, -30, 5, 48]) {
    test(`latitude ${latitude}: east sends the elevated end west, up sends it down`, () => {
      const length = 1200;
      const up = Math.sin(Math.abs(latitude) * DEGREE);
      const low = elevated(latitude).map((part) => -length * part) as unknown as Row;
      const shifted: Row = [low[0] + 3, low[1], low[2] + 2];
      const size = Math.hypot(...shifted);
      const axis = shifted.map((part) => -part / size) as unknown as Row;
      const moved = moveAxis(
        { altitude: 0, east: 0 },
        { ...stillBase, bearingEast: 3 / length, bearingUp: 2 / length },
        latitude,
      );
      expect(moved.east).toBeCloseTo(axis[0] / ARCMINUTE, 4);
      expect(moved.altitude).toBeCloseTo((Math.asin(axis[2]) - Math.asin(up)) / ARCMINUTE, 1);
      expect(moved.east).toBeLessThan(0);
      expect(moved.altitude).toBeLessThan(0);
    });
  }
});

test("the first order of the lower bearing is the exact motion's, everywhere", () => {
  for (const latitude of latitudes) {
    const motion: BaseMotion = { ...stillBase, bearingEast: 0.7 * ARCMINUTE, bearingUp: -0.9 * ARCMINUTE };
    const moved = moveAxis({ altitude: 0, east: 0 }, motion, latitude);
    const first = firstOrderMotion(motion, latitude);
    expect(Math.abs(first.altitude - moved.altitude)).toBeLessThan(SECOND_ORDER_ARCMIN);
    expect(Math.abs(first.east - moved.east)).toBeLessThan(SECOND_ORDER_ARCMIN);
    expect(Math.abs(first.hourAngleZero - moved.hourAngleZero)).toBeLessThan(SECOND_ORDER_ARCMIN);
    expect(moved.east).toBeCloseTo(-0.7, 2);
  }
});

test("where nothing moves the axis stays, without a negative zero; a motion and its opposite undo each other", () => {
  for (const latitude of latitudes) {
    const still = moveAxis({ altitude: 0, east: 0 }, stillBase, latitude);
    for (const value of Object.values(still)) expect(Object.is(value, 0)).toBe(true);
    const from = { altitude: 37, east: -52 };
    const stays = moveAxis(from, stillBase, latitude);
    expect(stays.altitude).toBeCloseTo(37, 10);
    expect(stays.east).toBeCloseTo(-52, 10);
    expect(stays.hourAngleZero).toBeCloseTo(0, 10);
    // A rotation and the rotation by the negated vector (exact identity); tilts and turns each by themselves.
    for (const [there, back] of [
      [
        { ...stillBase, slopeEast: 0.02, slopeNorth: -0.03 },
        { ...stillBase, slopeEast: -0.02, slopeNorth: 0.03 },
      ],
      [
        { ...stillBase, turn: 0.01 },
        { ...stillBase, turn: -0.01 },
      ],
    ] as const) {
      const again = moveAxis(moveAxis(from, there, latitude), back, latitude);
      expect(again.altitude).toBeCloseTo(37, 8);
      expect(again.east).toBeCloseTo(-52, 8);
    }
  }
});

test("the base and what stands on it are carried there and back", () => {
  const motion: BaseMotion = {
    slopeEast: 0.02,
    slopeNorth: -0.03,
    turn: 0.01,
    bearingEast: 0.004,
    bearingUp: -0.003,
  };
  for (const latitude of latitudes) {
    const carried = carriedBy({ altitude: 20, east: -50 }, motion, latitude);
    const tube: Row = [0.6, -0.48, 0.64];
    const again = carried.back(carried.forth(tube));
    expect(Math.hypot(...again.map((part, index) => part - tube[index]!))).toBeLessThan(1e-12);
  }
});
