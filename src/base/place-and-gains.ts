/**
 * The axis's place and the gain of each means, followed together from night to night (an extended Kalman filter:
 * R. E. Kalman, Journal of Basic Engineering 82 (1960) 35, from memory).
 */

import { Matrix, solve } from "#matrices";
import type { Estimate } from "../fit/fit-result.js";
import type { Base } from "../mount/mount.js";
import { type AxisPlace, moveAxis } from "./axis-motion.js";
import { expectedMotion, type Gains, type MotionParts } from "./gains.js";
import type { RoundGiven, RoundsResult } from "./rounds-result.js";
import type { AltitudeMeans, AzimuthMeans } from "./turn-advice.js";
import { settingVariance, type TurnMade } from "./turns-made.js";

/** The gains that are followed, in their order after the place's altitude and east. */
export const gainStates: readonly {
  readonly axis: "altitude" | "east";
  readonly by: AltitudeMeans | AzimuthMeans;
}[] = [
  { axis: "altitude", by: "jacks" },
  { axis: "altitude", by: "lowerBearing" },
  { axis: "east", by: "tilt" },
  { axis: "east", by: "bolts" },
  { axis: "east", by: "lowerBearing" },
  { axis: "east", by: "slide" },
];
const STATES = 2 + gainStates.length;
/** A hundredth of an arcminute, radians: below it nothing was asked. */
const NOTHING_ASKED = 3e-6;

/** Place and gains with their covariance. */
export interface Knowledge {
  readonly state: readonly number[];
  readonly covariance: Matrix;
}

/** The gains out of a state; without a covariance as if known exactly. */
export function gainsOf(state: readonly number[], covariance: Matrix | null): Gains {
  const estimate = (axis: string, by: string): Estimate => {
    const index = 2 + gainStates.findIndex((one) => one.axis === axis && one.by === by);
    return {
      value: state[index]!,
      uncertainty: covariance === null ? 0 : Math.sqrt(covariance.get(index, index)),
    };
  };
  return {
    altitude: { jacks: estimate("altitude", "jacks"), lowerBearing: estimate("altitude", "lowerBearing") },
    east: {
      tilt: estimate("east", "tilt"),
      bolts: estimate("east", "bolts"),
      lowerBearing: estimate("east", "lowerBearing"),
      slide: estimate("east", "slide"),
    },
  };
}

/** Covariance of a night's altitude and east, arcmin². */
export function poleCovariance(pole: RoundGiven["pole"]): Matrix {
  return new Matrix([
    [pole.altitude.uncertainty ** 2, pole.covariance],
    [pole.covariance, pole.east.uncertainty ** 2],
  ]);
}

/** vᵀ M⁻¹ v. */
export function chiSquare(v: readonly number[], covariance: Matrix): number {
  const column = Matrix.columnVector([...v]);
  return column.transpose().mmul(solve(covariance, column)).get(0, 0);
}

/** Where turns take the place, with what is known of the gains. */
export function carried(
  known: Knowledge,
  effect: MotionParts,
  latitudeDeg: number,
  noise: Matrix,
): Knowledge {
  const place = (state: readonly number[]): AxisPlace =>
    moveAxis(
      { altitude: state[0]!, east: state[1]! },
      expectedMotion(effect, gainsOf(state, null)),
      latitudeDeg,
    );
  const now = place(known.state);
  const slopes = Matrix.eye(STATES);
  for (let column = 0; column < STATES; column++) {
    const small = 1e-3;
    const shifted = (by: number): AxisPlace =>
      place(known.state.map((value, index) => value + (index === column ? by : 0)));
    const plus = shifted(small);
    const minus = shifted(-small);
    slopes.set(0, column, (plus.altitude - minus.altitude) / (2 * small));
    slopes.set(1, column, (plus.east - minus.east) / (2 * small));
  }
  const covariance = slopes.mmul(known.covariance).mmul(slopes.transpose());
  for (const row of [0, 1]) {
    for (const column of [0, 1])
      covariance.set(row, column, covariance.get(row, column) + noise.get(row, column));
  }
  return { state: [now.altitude, now.east, ...known.state.slice(2)], covariance };
}

/** What a night of sightings makes of it. */
export function corrected(known: Knowledge, pole: RoundGiven["pole"]): Knowledge {
  const innovation = [pole.altitude.value - known.state[0]!, pole.east.value - known.state[1]!];
  const columns = known.covariance.subMatrix(0, STATES - 1, 0, 1);
  const spread = Matrix.add(known.covariance.subMatrix(0, 1, 0, 1), poleCovariance(pole));
  const weight = solve(spread, columns.transpose()).transpose();
  const change = weight.mmul(Matrix.columnVector(innovation)).to1DArray();
  const keep = Matrix.eye(STATES);
  for (let row = 0; row < STATES; row++) {
    for (const column of [0, 1]) keep.set(row, column, keep.get(row, column) - weight.get(row, column));
  }
  // Joseph's form: stays symmetric and positive whatever the rounding.
  const covariance = Matrix.add(
    keep.mmul(known.covariance).mmul(keep.transpose()),
    weight.mmul(poleCovariance(pole)).mmul(weight.transpose()),
  );
  return { state: known.state.map((value, index) => value + change[index]!), covariance };
}

/** The place as sighted, the gains as they were known. */
export function startedAnew(known: Knowledge, pole: RoundGiven["pole"]): Knowledge {
  const covariance = Matrix.zeros(STATES, STATES);
  for (let row = 2; row < STATES; row++) {
    for (let column = 2; column < STATES; column++)
      covariance.set(row, column, known.covariance.get(row, column));
  }
  covariance.setSubMatrix(poleCovariance(pole), 0, 0);
  return { state: [pole.altitude.value, pole.east.value, ...known.state.slice(2)], covariance };
}

/** What is known after the first night. */
export function beginning(pole: RoundGiven["pole"], before: Estimate): Knowledge {
  const covariance = Matrix.zeros(STATES, STATES);
  covariance.setSubMatrix(poleCovariance(pole), 0, 0);
  for (let index = 2; index < STATES; index++) covariance.set(index, index, before.uncertainty ** 2);
  return { state: [pole.altitude.value, pole.east.value, ...gainStates.map(() => before.value)], covariance };
}

/** What a set of turns adds to the place's covariance: setting by hand, and a floor that settles. */
export function noiseOf(
  base: Base,
  turns: readonly TurnMade[],
  latitudeDeg: number,
  settling: number,
): Matrix {
  const set = settingVariance(base, turns, latitudeDeg);
  return new Matrix([
    [set.altitude + settling ** 2, set.covariance],
    [set.covariance, set.east + settling ** 2],
  ]);
}

/** Indices of the gains that a set of turns calls upon. */
export function excitedGains(effect: MotionParts): number[] {
  const parts: readonly number[] = [
    effect.tilt.slopeNorth,
    effect.lowerBearing.bearingUp,
    effect.tilt.slopeEast,
    effect.bolts.turn,
    effect.lowerBearing.bearingEast,
    effect.slide.turn,
  ];
  return parts.flatMap((part, index) => (Math.abs(part) > NOTHING_ASKED ? [2 + index] : []));
}

/** The place out of what is known. */
export function placeNow(known: Knowledge): RoundsResult["now"] {
  const [altitude, east] = [known.state[0]!, known.state[1]!];
  const { covariance } = known;
  const distance = Math.hypot(altitude, east);
  const [a, e] = distance > 0 ? [altitude / distance, east / distance] : [1, 0];
  const variance =
    a * a * covariance.get(0, 0) + 2 * a * e * covariance.get(0, 1) + e * e * covariance.get(1, 1);
  return {
    altitude: { value: altitude, uncertainty: Math.sqrt(covariance.get(0, 0)) },
    east: { value: east, uncertainty: Math.sqrt(covariance.get(1, 1)) },
    distance: { value: distance, uncertainty: Math.sqrt(Math.max(0, variance)) },
    covariance: covariance.get(0, 1),
  };
}
