/**
 * The axis's place, the gain of each means and what is the same every night (sags, cone), followed together from night to
 * night (an extended Kalman filter: R. E. Kalman, Journal of Basic Engineering 82 (1960) 35, from memory).
 *
 * The state is altitude and east of the axis, a gain for each way of the base, and the true value of each term that a
 * tolerance holds: a night's pole is off by the same part of it every time, so that many nights do not average it away.
 */

import { Matrix, solve } from "#matrices";
import type { Estimate } from "../fit/fit-result.js";
import type { Base } from "../mount/mount.js";
import type { Way } from "./adjusters/adjuster.js";
import { type AxisPlace, moveAxis } from "./axis-motion.js";
import { expectedMotion, type Gains } from "./gains.js";
import type { RoundGiven, RoundsResult } from "./rounds-result.js";
import { settingVariance, type TurnMade, type TurnsEffect } from "./turns-made.js";

/** A hundredth of an arcminute, radians: below it nothing was asked. */
const NOTHING_ASKED = 3e-6;
/** How much a gain may change from one round to the next (another stretch of thread and floor), 1σ. */
const GAIN_CHANGES = 0.01;

/** What is followed: after altitude and east the gains of these ways, then these terms. */
export interface Followed {
  readonly ways: readonly Way[];
  readonly terms: readonly string[];
}

/** The state with its covariance. */
export interface Knowledge extends Followed {
  readonly state: readonly number[];
  readonly covariance: Matrix;
}

/** Index of a way's gain in the state. */
export function gainPlace({ ways }: Followed, axis: string, by: string): number {
  return 2 + ways.findIndex((way) => way.axis === axis && way.by === by);
}

/** The gains out of a state; without a covariance as if known exactly. */
export function gainsOf({ ways }: Followed, state: readonly number[], covariance: Matrix | null): Gains {
  const gains: Record<"altitude" | "east", Record<string, Estimate>> = { altitude: {}, east: {} };
  ways.forEach((way, index) => {
    const variance = covariance === null ? 0 : covariance.get(2 + index, 2 + index);
    gains[way.axis][way.by] = { value: state[2 + index]!, uncertainty: Math.sqrt(variance) };
  });
  return gains;
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

/** How a night's pole hangs on the state, and its own errors besides. */
function sighting(known: Followed, night: RoundGiven): { readonly rows: Matrix; readonly noise: Matrix } {
  const size = 2 + known.ways.length + known.terms.length;
  const rows = Matrix.zeros(2, size);
  rows.set(0, 0, 1);
  rows.set(1, 1, 1);
  const whole = poleCovariance(night.pole);
  let noise = whole.clone();
  for (const part of night.shared ?? []) {
    const column = 2 + known.ways.length + known.terms.indexOf(part.term);
    rows.set(0, column, part.altitude);
    rows.set(1, column, part.east);
    const own = Matrix.columnVector([part.altitude, part.east]);
    noise = Matrix.sub(noise, own.mmul(own.transpose()).mul(part.tolerance ** 2));
  }
  const isProper =
    noise.get(0, 0) > 0 && noise.get(0, 0) * noise.get(1, 1) > noise.get(0, 1) ** 2 && noise.get(1, 1) > 0;
  // Where all of it seems shared the night still has some errors of its own.
  return { rows, noise: isProper ? noise : whole.mul(0.1) };
}

/** What is known after the first night. */
export function beginning(
  followed: Followed,
  night: RoundGiven,
  before: Estimate,
  tolerances: readonly number[],
): Knowledge {
  const size = 2 + followed.ways.length + followed.terms.length;
  const covariance = Matrix.zeros(size, size);
  for (let index = 2; index < 2 + followed.ways.length; index++) {
    covariance.set(index, index, before.uncertainty ** 2);
  }
  tolerances.forEach((tolerance, index) => {
    const place = 2 + followed.ways.length + index;
    covariance.set(place, place, tolerance ** 2);
  });
  const state = [0, 0, ...followed.ways.map(() => before.value), ...followed.terms.map(() => 0)];
  return startedAgain({ ...followed, state, covariance }, night);
}

/** The place as sighted, the rest as it was known. */
export function startedAgain(known: Knowledge, night: RoundGiven): Knowledge {
  const { rows, noise } = sighting(known, night);
  const size = known.state.length;
  // The place is the sighted one less what the terms make of it, less the night's own errors.
  const keep = Matrix.eye(size);
  for (let column = 0; column < size; column++) {
    for (const row of [0, 1]) keep.set(row, column, column < 2 ? 0 : -rows.get(row, column));
  }
  const state = keep.mmul(Matrix.columnVector([...known.state])).to1DArray();
  state[0] = state[0]! + night.pole.altitude.value;
  state[1] = state[1]! + night.pole.east.value;
  const covariance = keep.mmul(known.covariance).mmul(keep.transpose());
  return { ...known, state, covariance: withPlace(covariance, noise) };
}

/** A covariance with so much more on the place. */
function withPlace(covariance: Matrix, noise: Matrix): Matrix {
  const more = covariance.clone();
  for (const row of [0, 1]) {
    for (const column of [0, 1]) more.set(row, column, more.get(row, column) + noise.get(row, column));
  }
  return more;
}

/** Where turns take the place, with what is known of the gains. */
export function carried(
  known: Knowledge,
  effect: TurnsEffect,
  latitudeDeg: number,
  noise: Matrix,
): Knowledge {
  const place = (state: readonly number[]): AxisPlace =>
    moveAxis(
      { altitude: state[0]!, east: state[1]! },
      expectedMotion(effect, gainsOf(known, state, null)),
      latitudeDeg,
    );
  const now = place(known.state);
  const size = known.state.length;
  const slopes = Matrix.eye(size);
  for (let column = 0; column < 2 + known.ways.length; column++) {
    const small = 1e-3;
    const shifted = (by: number): AxisPlace =>
      place(known.state.map((value, index) => value + (index === column ? by : 0)));
    const plus = shifted(small);
    const minus = shifted(-small);
    slopes.set(0, column, (plus.altitude - minus.altitude) / (2 * small));
    slopes.set(1, column, (plus.east - minus.east) / (2 * small));
  }
  const before = known.covariance.clone();
  for (const index of excitedGains(known, effect)) {
    before.set(index, index, before.get(index, index) + GAIN_CHANGES ** 2);
  }
  const covariance = slopes.mmul(before).mmul(slopes.transpose());
  return {
    ...known,
    state: [now.altitude, now.east, ...known.state.slice(2)],
    covariance: withPlace(covariance, noise),
  };
}

/** Found minus expected on a night, and the covariance of that. */
export function surpriseOf(
  known: Knowledge,
  night: RoundGiven,
): { readonly off: [number, number]; readonly spread: Matrix } {
  const { rows, noise } = sighting(known, night);
  const expected = rows.mmul(Matrix.columnVector([...known.state]));
  return {
    off: [night.pole.altitude.value - expected.get(0, 0), night.pole.east.value - expected.get(1, 0)],
    spread: Matrix.add(rows.mmul(known.covariance).mmul(rows.transpose()), noise),
  };
}

/** ln of the chance of what was found, less a constant; a χ² above `most` counts as `most`. */
export function logLikelihood({ off, spread }: ReturnType<typeof surpriseOf>, most: number): number {
  const determinant = spread.get(0, 0) * spread.get(1, 1) - spread.get(0, 1) * spread.get(1, 0);
  return -0.5 * (Math.min(most, chiSquare(off, spread)) + Math.log(determinant));
}

/** What a night of sightings makes of it. */
export function corrected(known: Knowledge, night: RoundGiven): Knowledge {
  const { rows, noise } = sighting(known, night);
  const { off, spread } = surpriseOf(known, night);
  const weight = solve(spread, rows.mmul(known.covariance)).transpose();
  const change = weight.mmul(Matrix.columnVector([...off])).to1DArray();
  const keep = Matrix.sub(Matrix.eye(known.state.length), weight.mmul(rows));
  // Joseph's form: stays symmetric and positive whatever the rounding.
  const covariance = Matrix.add(
    keep.mmul(known.covariance).mmul(keep.transpose()),
    weight.mmul(noise).mmul(weight.transpose()),
  );
  return { ...known, state: known.state.map((value, index) => value + change[index]!), covariance };
}

/** What a set of turns and so much rest adds to the place's covariance: setting by hand, and a floor that settles. */
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

/** Indices of the gains that a set of turns calls upon: not those that a star showed. */
export function excitedGains(known: Followed, effect: TurnsEffect): number[] {
  return known.ways.flatMap((way, index) => {
    const asked = effect.amounts
      .filter((amount) => !amount.seen && amount.axis === way.axis && amount.by === way.by)
      .reduce((sum, { amount }) => sum + amount, 0);
    return Math.abs(asked) > NOTHING_ASKED ? [2 + index] : [];
  });
}

/** The same knowledge with the gains of some ways turned round. */
export function reversed(known: Knowledge, indices: readonly number[]): Knowledge {
  const flip = Matrix.eye(known.state.length);
  for (const index of indices) flip.set(index, index, -1);
  return {
    ...known,
    state: known.state.map((value, index) => (indices.includes(index) ? -value : value)),
    covariance: flip.mmul(known.covariance).mmul(flip),
  };
}

/** Several courses of the same nights taken together by their odds: means and covariances. */
export function together(
  courses: readonly { readonly known: Knowledge; readonly odds: number }[],
): Knowledge {
  const first = courses[0]!.known;
  const state = first.state.map((_, index) =>
    courses.reduce((sum, { known, odds }) => sum + odds * known.state[index]!, 0),
  );
  let covariance = Matrix.zeros(state.length, state.length);
  for (const { known, odds } of courses) {
    const off = Matrix.columnVector(known.state.map((value, index) => value - state[index]!));
    covariance = Matrix.add(covariance, Matrix.add(known.covariance, off.mmul(off.transpose())).mul(odds));
  }
  return { ...first, state, covariance };
}

/** The place out of what is known. */
export function placeNow({ state, covariance }: Knowledge): RoundsResult["now"] {
  const [altitude, east] = [state[0]!, state[1]!];
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
