/**
 * A world with a true telescope in it, for driving whole jobs: sighted, advised, turned by true gains and hands, sighted
 * again. Rotations by plain matrices in east, north, up, apart from src/base.
 */
import { ARCMINUTE, DEGREE } from "../../src/angles.js";
import type { UnderStar } from "../../src/base/under-star.js";
import { modelOfMount } from "../../src/fit/bench.js";
import type { MountFit } from "../../src/fit/fit-result.js";
import { fitMount } from "../../src/fit/mount-fit.js";
import { normalStance } from "../../src/mount/model.js";
import type { Mount } from "../../src/mount/mount.js";
import { readingAngle } from "../../src/mount/readings.js";
import { termNames } from "../../src/mount/terms.js";
import { simulateNight } from "../../src/simulate/simulate-night.js";
import { findStar } from "../../src/sky/find-star.js";
import { observe } from "../../src/sky/observe.js";
import { skyFrame } from "../../src/sky/sky-frame.js";
import { parseTime } from "../../src/sky/time.js";

type Row = readonly [number, number, number];
type Grid = readonly [Row, Row, Row];

/** What is true of the telescope: the axis, arcminutes from the pole, and its other errors. */
export interface Truth {
  readonly altitude: number;
  readonly east: number;
  readonly terms: Readonly<Record<string, number>>;
}

/** A rotation matrix about an axis by the textbook formula. */
function matrix([x, y, z]: Row, angle: number): Grid {
  const [c, s] = [Math.cos(angle), Math.sin(angle)];
  const t = 1 - c;
  return [
    [c + t * x * x, t * x * y - s * z, t * x * z + s * y],
    [t * x * y + s * z, c + t * y * y, t * y * z - s * x],
    [t * x * z - s * y, t * y * z + s * x, c + t * z * z],
  ];
}

const dot = (a: Row, b: Row): number => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
const times = (m: Grid, v: Row): Row => [dot(m[0], v), dot(m[1], v), dot(m[2], v)];

/** The base tilted (slopes east and north), then turned clockwise as seen from above, radians. */
export interface TrueMotion {
  readonly slopeEast: number;
  readonly slopeNorth: number;
  readonly turn: number;
}

function carry({ slopeEast, slopeNorth, turn }: TrueMotion, v: Row): Row {
  const size = Math.hypot(slopeNorth, slopeEast);
  const tilted = size === 0 ? v : times(matrix([slopeNorth / size, -slopeEast / size, 0], size), v);
  return times(matrix([0, 0, -1], turn), tilted);
}

function frame(latitude: number): { readonly meridian: Row; readonly pole: Row } {
  const phi = latitude * DEGREE;
  return { meridian: [0, -Math.sin(phi), Math.cos(phi)], pole: [0, Math.cos(phi), Math.sin(phi)] };
}

/** The hour-angle frame's direction in east, north, up. */
function horizon(
  latitude: number,
  { hourAngle, declination }: { hourAngle: number; declination: number },
): Row {
  const { meridian, pole } = frame(latitude);
  const [x, y, z] = [
    Math.cos(declination) * Math.cos(hourAngle),
    -Math.cos(declination) * Math.sin(hourAngle),
    Math.sin(declination),
  ];
  return [y + x * meridian[0], x * meridian[1] + z * pole[1], x * meridian[2] + z * pole[2]];
}

/** Where the axis points after the base has moved, arcminutes from the pole. */
export function axisAfter(
  latitude: number,
  from: Truth,
  motion: TrueMotion,
): { altitude: number; east: number } {
  const sign = latitude < 0 ? -1 : 1;
  const { meridian, pole } = frame(latitude);
  // The axis as the model has it: the pole turned by (−σ east, σ altitude, 0) in the hour-angle frame (X, Y east, Z).
  const size = Math.hypot(from.altitude, from.east);
  const vector: Row = [
    (sign * from.altitude) / (size || 1),
    (-sign * from.east * meridian[1]) / (size || 1),
    (-sign * from.east * meridian[2]) / (size || 1),
  ];
  const axis = carry(motion, size === 0 ? pole : times(matrix(vector, size * ARCMINUTE), pole));
  // The rotation vector from the pole to it, read back the same way.
  const across: Row = [
    pole[1] * axis[2] - pole[2] * axis[1],
    pole[2] * axis[0] - pole[0] * axis[2],
    pole[0] * axis[1] - pole[1] * axis[0],
  ];
  const sine = Math.hypot(...across);
  const angle = Math.atan2(sine, dot(pole, axis)) / ARCMINUTE;
  return sine === 0
    ? { altitude: 0, east: 0 }
    : {
        altitude: (sign * across[0] * angle) / sine,
        east: (-sign * dot(across, meridian) * angle) / sine,
      };
}

/** A night of the telescope. */
export function nightOf(mount: Mount, truth: Truth, seed: number, targets = 24, day = 14): MountFit {
  const night = simulateNight({
    seed,
    mount,
    terms: { ...truth.terms, polarAltitude: truth.altitude, polarEast: truth.east },
    targets,
    fromMs: Date.UTC(2026, 2, day, 19),
    toMs: Date.UTC(2026, 2, day + 1, 1),
  });
  return fitMount({ mount: night.mount, sightings: night.sightings });
}

/**
 * Turning under a star as it really goes: the axes set to whole counts, the star brought to the middle by two means, each
 * moving the base one way whatever its gain; the centring is off as given.
 *
 * @returns the true motion of the base
 */
export function turnUnderStar(
  mount: Mount,
  truth: Truth,
  under: UnderStar,
  motion: (first: number, second: number) => TrueMotion,
  centring: readonly [number, number],
  minute = 10,
): TrueMotion {
  const { latitude } = mount.site;
  const reading = under.readings[minute]!;
  const timeMs = parseTime(reading.time);
  const model = modelOfMount(mount);
  const coefficients = new Float64Array(model.size);
  const all: Record<string, number> = {
    ...truth.terms,
    polarAltitude: truth.altitude,
    polarEast: truth.east,
  };
  termNames.forEach((name, index) => {
    coefficients[index] = (all[name] ?? 0) * ARCMINUTE;
  });
  const siderealTime = skyFrame(timeMs, mount.site).siderealTime;
  const { readings } = mount;
  const set = model.inverse(
    coefficients,
    readingAngle(Math.round(reading.hourAngle), readings.hourAngle, { siderealTime }),
    readingAngle(Math.round(reading.declination), readings.declination),
    normalStance,
  );
  const tube = horizon(latitude, set);
  const star = horizon(latitude, observe(findStar(under.star), timeMs, mount.site));
  const off = (first: number, second: number): [number, number] => {
    const middle = carry(motion(first, second), tube);
    const { pole } = frame(latitude);
    const east: Row = [
      pole[1] * middle[2] - pole[2] * middle[1],
      pole[2] * middle[0] - pole[0] * middle[2],
      pole[0] * middle[1] - pole[1] * middle[0],
    ];
    const size = Math.hypot(...east);
    const north: Row = [
      (middle[1] * east[2] - middle[2] * east[1]) / size,
      (middle[2] * east[0] - middle[0] * east[2]) / size,
      (middle[0] * east[1] - middle[1] * east[0]) / size,
    ];
    const along = dot(star, middle) * ARCMINUTE;
    return [-dot(star, east) / size / along - centring[0], dot(star, north) / along - centring[1]];
  };
  let [first, second] = [0, 0];
  for (let round = 0; round < 8; round++) {
    const now = off(first, second);
    const small = 1e-6;
    const a = off(first + small, second).map((value, index) => (value - now[index]!) / small);
    const b = off(first, second + small).map((value, index) => (value - now[index]!) / small);
    const determinant = a[0]! * b[1]! - a[1]! * b[0]!;
    first -= (now[0] * b[1]! - now[1] * b[0]!) / determinant;
    second -= (a[0]! * now[1] - a[1]! * now[0]) / determinant;
  }
  return motion(first, second);
}
