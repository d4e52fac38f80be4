/**
 * How the polar axis moves when the base moves: exact rotations, and their first order.
 *
 * A base raised by α per unit length towards the east and β towards the north turns the mount by the rotation vector
 * (β, −α, 0) in (east, north, up); turned after that by ψ clockwise as seen from above, by (0, 0, −ψ). The order is that
 * of the steps at the base: first the tilt, then the azimuth, then the lower bearing. To first order, with σ the sign of
 * the latitude φ,
 *
 *     altitude of the axis += σ β
 *     east of the axis     += −α |sin φ| + σ ψ cos φ
 *     hour-angle zero      += −α cos φ − ψ sin φ
 *
 * and a lower bearing moved east by s and up by u over an axis of length L adds −u cos(altitude)/L and −s/L.
 * Whether the rise per unit length is counted along the base or in plan matters from the third order on only.
 */
import { ARCMINUTE, DEGREE } from "../angles.js";
import { add, cross, length, rotate, scale, separation, unit, type Vector } from "../vectors.js";

/** What the base and the lower bearing do. Slopes and radians, millimetres. */
export interface BaseMotion {
  /** α: rise towards the east per unit length. */
  readonly slopeEast: number;
  /** β: rise towards the north per unit length. */
  readonly slopeNorth: number;
  /** ψ: turn clockwise as seen from above, radians. */
  readonly turn: number;
  /** The lower bearing's way east, as a part of the axis's length. */
  readonly bearingEast: number;
  /** The lower bearing's way up, as a part of the axis's length. */
  readonly bearingUp: number;
}

/** Nothing moves. */
export const stillBase: BaseMotion = { slopeEast: 0, slopeNorth: 0, turn: 0, bearingEast: 0, bearingUp: 0 };

/** Where the axis points, from the true pole: arcminutes, as in the fit. */
export interface AxisPlace {
  readonly altitude: number;
  readonly east: number;
}

/** Where the axis points after a motion, and by how much the hour-angle readings have shifted, arcminutes. */
export interface MovedAxis extends AxisPlace {
  /** By how much the hour-angle readings have shifted, westward positive. */
  readonly hourAngleZero: number;
}

const Z: Vector = [0, 0, 1];
const X: Vector = [1, 0, 0];

/** East, north, up → the hour-angle frame (X to the meridian at the equator, Y east, Z the north pole). */
function hourAngleFrameFromHorizon(v: Vector, latitude: number): Vector {
  const [east, north, up] = v;
  return [
    -Math.sin(latitude) * north + Math.cos(latitude) * up,
    east,
    Math.cos(latitude) * north + Math.sin(latitude) * up,
  ];
}

/** The rotation by which the mount stands off, as the mount model has it. */
function standing(place: AxisPlace, sign: number): Vector {
  return [-sign * place.east * ARCMINUTE, sign * place.altitude * ARCMINUTE, 0];
}

/**
 * Moves the axis exactly.
 *
 * @param from - where the axis points now, arcminutes from the true pole
 * @param motion - what the base does
 * @param latitudeDeg - latitude, degrees, north positive
 * @returns where it points then, and the shift of the hour-angle readings, arcminutes
 * @example
 * ```ts
 * moveAxis({ altitude: 0, east: 0 }, { ...stillBase, slopeNorth: 0.001 }, -30).altitude // -3.44: southern pole lower
 * ```
 */
export function moveAxis(from: AxisPlace, motion: BaseMotion, latitudeDeg: number): MovedAxis {
  const { stands, carry, bearing, axis, place } = axisMoved(from, motion, latitudeDeg);
  const meridian = rotate(rotate(carry(rotate(X, stands)), bearing), scale(swing(Z, axis), -1));
  return { ...place, hourAngleZero: Math.atan2(meridian[1], meridian[0]) / ARCMINUTE + 0 };
}

/** Where the axis points after a motion: {@link moveAxis} for those who do not ask for the hour-angle zero. */
export function movedPlace(from: AxisPlace, motion: BaseMotion, latitudeDeg: number): AxisPlace {
  return axisMoved(from, motion, latitudeDeg).place;
}

function axisMoved(from: AxisPlace, motion: BaseMotion, latitudeDeg: number) {
  const latitude = latitudeDeg * DEGREE;
  const sign = latitudeDeg < 0 ? -1 : 1;
  const stands = standing(from, sign);
  const carry = baseRotation(motion, latitude);
  const shift = hourAngleFrameFromHorizon([motion.bearingEast, 0, motion.bearingUp], latitude);
  const tilted = carry(rotate(Z, stands));
  const elevated = scale(tilted, sign);
  const bearing = swing(elevated, unit(add(elevated, shift, -1)));
  const axis = rotate(tilted, bearing);
  const now = swing(Z, axis);
  // Adding nothing turns a negative zero, which JSON does not have, into zero.
  const place = { altitude: (sign * now[1]) / ARCMINUTE + 0, east: (-sign * now[0]) / ARCMINUTE + 0 };
  return { stands, carry, bearing, axis, place };
}

/** The base's own rotation of whatever stands on it, hour-angle frame: tilted, then turned. */
function baseRotation(motion: BaseMotion, latitude: number): (v: Vector) => Vector {
  const tilt = hourAngleFrameFromHorizon([motion.slopeNorth, -motion.slopeEast, 0], latitude);
  const turn = hourAngleFrameFromHorizon([0, 0, -motion.turn], latitude);
  return (v) => rotate(rotate(v, tilt), turn);
}

/**
 * How a motion carries a direction that is fixed to the mount: the tube, with both axes locked.
 *
 * @param from - where the axis points before: the lower bearing swings the axis the shortest way
 * @param motion - what the base and the lower bearing do
 * @param latitudeDeg - latitude, degrees
 * @returns a function of a unit vector in the hour-angle frame, and `back`, its inverse
 */
export function carriedBy(
  from: AxisPlace,
  motion: BaseMotion,
  latitudeDeg: number,
): { readonly forth: (v: Vector) => Vector; readonly back: (v: Vector) => Vector } {
  const { carry, bearing } = axisMoved(from, motion, latitudeDeg);
  const latitude = latitudeDeg * DEGREE;
  const tilt = hourAngleFrameFromHorizon([-motion.slopeNorth, motion.slopeEast, 0], latitude);
  const turn = hourAngleFrameFromHorizon([0, 0, motion.turn], latitude);
  return {
    forth: (v) => rotate(carry(v), bearing),
    back: (v) => rotate(rotate(rotate(v, scale(bearing, -1)), turn), tilt),
  };
}

/** A sum of motions. */
export function sumOfMotions(parts: readonly BaseMotion[]): BaseMotion {
  const sum = (key: keyof BaseMotion): number => parts.reduce((total, part) => total + part[key], 0);
  return {
    slopeEast: sum("slopeEast"),
    slopeNorth: sum("slopeNorth"),
    turn: sum("turn"),
    bearingEast: sum("bearingEast"),
    bearingUp: sum("bearingUp"),
  };
}

/** The smallest rotation that takes one direction to another. */
function swing(a: Vector, b: Vector): Vector {
  const across = cross(a, b);
  const sine = length(across);
  return sine < 1e-300 ? [0, 0, 0] : scale(across, separation(a, b) / sine);
}

/**
 * The first order of {@link moveAxis}: the change of the axis and the shift of the hour-angle readings, arcminutes.
 *
 * @param motion - what the base does
 * @param latitudeDeg - latitude, degrees
 */
export function firstOrderMotion(motion: BaseMotion, latitudeDeg: number): MovedAxis {
  const latitude = latitudeDeg * DEGREE;
  const sign = latitudeDeg < 0 ? -1 : 1;
  const cos = Math.cos(latitude);
  const sin = Math.sin(latitude);
  return {
    altitude: (sign * motion.slopeNorth - motion.bearingUp * cos) / ARCMINUTE,
    east: (-motion.slopeEast * Math.abs(sin) + sign * motion.turn * cos - motion.bearingEast) / ARCMINUTE,
    hourAngleZero: (-motion.slopeEast * cos - motion.turn * sin) / ARCMINUTE,
  };
}
