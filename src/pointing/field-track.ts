/**
 * What the field of view does while the mount tracks.
 *
 * The drive turns the hour-angle axis at the sidereal rate, the declination axis rests; the telescope then looks where
 * the rigorous model says, sags included. The stars turn about the true pole at the sidereal rate and are lifted by the air.
 * Both are exact rotations: nothing here is expanded in the size of an error.
 *
 * The telescope is carried as three axes (hour-angle frame): its line of sight, and two at right angles to it that
 * point to the east and the north of the picture as the mount's own axes make them, which is how a cross-wire or a
 * camera squared to the mount shows them. With the tube turned over the pole the two are turned with it, and are
 * given here with the signs of the sky.
 */
import { ARCSECOND, DEGREE } from "../angles.js";
import {
  BUILT_IN_COUNT,
  CONE,
  type ModelDirection,
  type MountModel,
  mountModel,
  normalStance,
  POLAR_ALTITUDE,
  POLAR_EAST,
  SQUARENESS,
  type Stance,
} from "../mount/model.js";
import { termPlace } from "../mount/terms.js";
import { hourAngleVector } from "../sky/horizon-frame.js";
import { liftedDirection } from "../sky/observe.js";
import { refractionFromObserved } from "../sky/refraction.js";
import type { ObservedDirection } from "../sky/star.js";
import { add, cross, dot, length, rotate, scale, unit, type Vector } from "../vectors.js";
import type { TrackingMount } from "./field-stand.js";

/** How fast the sky turns, radians a second: IERS Conventions 2010, 1.1. */
export const SIDEREAL_RATE = 7.292115e-5;

/** The telescope as three unit vectors in the hour-angle frame. */
export interface TelescopeAxes {
  readonly line: Vector;
  readonly east: Vector;
  readonly north: Vector;
}

/** A place in the picture: tangents of the angles from its middle, east and north positive. */
export interface FieldPlace {
  readonly east: number;
  readonly north: number;
}

const untwisted = { hourAngleApproach: 0, declinationApproach: 0 };
const rigidModels = new WeakMap<MountModel, MountModel>();

/** The model at the same latitude without the builder's own terms. */
function rigidModel(model: MountModel): MountModel {
  let rigid = rigidModels.get(model);
  if (rigid === undefined) {
    rigid = mountModel(model.latitude);
    rigidModels.set(model, rigid);
  }
  return rigid;
}

/**
 * The telescope's axes when the shafts stand at these angles.
 *
 * @param mount - what tracks
 * @param hourAngle - of the hour-angle shaft, radians
 * @param declination - of the declination shaft, radians; beyond ±90° with the tube over the pole
 */
export function telescopeAxes(mount: TrackingMount, hourAngle: number, declination: number): TelescopeAxes {
  const { model, coefficients } = mount;
  const seen = model.inverse(coefficients, hourAngle, declination, normalStance);
  const line = hourAngleVector(seen);
  // The same direction reached without sag of ring and trunnions says how far the axes are really turned.
  const rigid = Float64Array.from(coefficients.subarray(0, BUILT_IN_COUNT));
  rigid[termPlace("ringSag")] = 0;
  rigid[termPlace("trunnionSag")] = 0;
  const stance: Stance = { beyond: seen.beyond, ...untwisted };
  const turned = new Float64Array(2);
  rigidModel(model).forward(rigid, seen.hourAngle, seen.declination, stance, turned);
  const elevated = model.latitude >= 0 ? 1 : -1;
  const carry = (v: Vector): Vector => {
    const offSquare = rotate(rotate(rotate(v, [0, 0, rigid[CONE]!]), [0, -turned[1]!, 0]), [
      -rigid[SQUARENESS]!,
      0,
      0,
    ]);
    const aboutAxis = rotate(offSquare, [0, 0, -turned[0]!]);
    return rotate(aboutAxis, [-elevated * rigid[POLAR_EAST]!, elevated * rigid[POLAR_ALTITUDE]!, 0]);
  };
  const unbent = carry([1, 0, 0]);
  const side = seen.beyond ? -1 : 1;
  const bend = smallestRotation(unbent, line);
  return {
    line,
    east: scale(rotate(carry([0, 1, 0]), bend), side),
    north: scale(rotate(carry([0, 0, 1]), bend), side),
  };
}

/** The rotation by the smallest angle that takes one direction to another near it. */
function smallestRotation(from: Vector, to: Vector): Vector {
  const axis = cross(from, to);
  const sine = length(axis);
  return sine < 1e-15 ? [0, 0, 0] : scale(axis, Math.atan2(sine, dot(from, to)) / sine);
}

/** Where a direction stands in the picture. */
export function placeInField(axes: TelescopeAxes, direction: Vector): FieldPlace {
  const ahead = dot(direction, axes.line);
  return { east: dot(direction, axes.east) / ahead, north: dot(direction, axes.north) / ahead };
}

/** The inverse of {@link placeInField}. */
export function directionInField(axes: TelescopeAxes, place: FieldPlace): Vector {
  return unit(add(add(axes.line, axes.east, place.east), axes.north, place.north));
}

/** The direction without air of what is seen there: the inverse of {@link seenThroughAir}. */
export function withoutAir(mount: TrackingMount, direction: Vector): Vector {
  const { latitude, refraction } = mount;
  const zenith: Vector = [Math.cos(latitude), 0, Math.sin(latitude)];
  const up = dot(direction, zenith);
  const level = add(direction, zenith, -up);
  const sine = length(level);
  if (sine < 1e-15) return direction;
  const altitude = Math.atan2(up, sine);
  const lower = altitude - refractionFromObserved(altitude, refraction);
  return add(scale(level, Math.cos(lower) / sine), zenith, Math.sin(lower));
}

/** Where what stands there without air is seen. */
export function seenThroughAir(mount: TrackingMount, direction: Vector): ObservedDirection {
  const vertical = { sinLatitude: Math.sin(mount.latitude), cosLatitude: Math.cos(mount.latitude) };
  return liftedDirection(direction[0], direction[1], direction[2], vertical, mount.refraction);
}

/** A telescope that was set on a target and now tracks it. */
export interface Track {
  /** The telescope's axes so many seconds after the start. */
  axesAt(seconds: number): TelescopeAxes;
  /** Where the stars that stood at the given places at the start stand in the picture, seconds after the start. */
  placesAt(seconds: number): FieldPlace[];
  /** Where the first of these stars is seen, seconds after the start. */
  targetAt(seconds: number): ObservedDirection;
}

/** How a target moves among the stars, arcseconds a minute on the sky. */
export interface OwnMotion {
  readonly west: number;
  readonly north: number;
}

/** East and north on the sky at a direction, as unit vectors of the hour-angle frame; at a pole any two at right angles. */
export function skyAxesAt(direction: Vector): { readonly east: Vector; readonly north: Vector } {
  const level = cross([0, 0, 1], direction);
  const east = length(level) < 1e-12 ? ([0, 1, 0] as const) : unit(level);
  return { east, north: cross(direction, east) };
}

/** How a target is followed. */
export interface TrackOptions {
  /** Of the Moon or a planet; nil for stars. All that is followed moves with it. */
  readonly ownMotion?: OwnMotion;
  /** The tube is turned over the pole. */
  readonly beyond?: boolean;
  /** The target is kept in the middle by turning both shafts, as a hand or a guiding camera does. */
  readonly guided?: boolean;
  /** The drive's rate over the sidereal one less 1, parts per million; 0 when not given. Guided, it does not count. */
  readonly ratePpm?: number;
}

/**
 * Sets the telescope on a target and lets it track.
 *
 * @param mount - what tracks
 * @param target - observed hour angle and declination, radians, where the telescope points at the start
 * @param places - the stars to follow, by their places in the picture at the start; the target itself is put first
 */
export function trackTarget(
  mount: TrackingMount,
  target: ModelDirection,
  places: readonly FieldPlace[] = [],
  options: TrackOptions = {},
): Track {
  const stance: Stance = { beyond: options.beyond ?? false, ...untwisted };
  const shafts = new Float64Array(2);
  mount.model.forward(mount.coefficients, target.hourAngle, target.declination, stance, shafts);
  const held = new Float64Array(2);
  const rate = SIDEREAL_RATE * (1 + 1e-6 * (options.ratePpm ?? 0));
  const axesAt = (seconds: number): TelescopeAxes => {
    if (!options.guided) return telescopeAxes(mount, shafts[0]! + rate * seconds, shafts[1]!);
    const seen = seconds === 0 ? target : starAt(stars[0]!, seconds);
    mount.model.forward(mount.coefficients, seen.hourAngle, seen.declination, stance, held);
    return telescopeAxes(mount, held[0]!, held[1]!);
  };
  const own = ownRotation(hourAngleVector(target), options.ownMotion);
  const starAt = (star: Vector, seconds: number): ObservedDirection => {
    const moved = own === null ? star : rotate(star, scale(own, seconds));
    return seenThroughAir(mount, rotate(moved, [0, 0, -SIDEREAL_RATE * seconds]));
  };
  const start = axesAt(0);
  const stars = [{ east: 0, north: 0 }, ...places].map((place) =>
    withoutAir(mount, directionInField(start, place)),
  );
  return {
    axesAt,
    placesAt: (seconds) => {
      const axes = axesAt(seconds);
      return stars.map((star) => placeInField(axes, hourAngleVector(starAt(star, seconds))));
    },
    targetAt: (seconds) => starAt(stars[0]!, seconds),
  };
}

/** The rotation a second by which a direction moves so among the stars. */
function ownRotation(direction: Vector, motion: OwnMotion | undefined): Vector | null {
  if (motion === undefined) return null;
  const { east, north } = skyAxesAt(direction);
  const velocity = add(scale(north, motion.north), east, -motion.west);
  return scale(cross(direction, velocity), ARCSECOND / 60);
}

/** An hour angle and declination from degrees to radians. */
export function directionFromDegrees(hourAngleDeg: number, declinationDeg: number): ModelDirection {
  return { hourAngle: hourAngleDeg * DEGREE, declination: declinationDeg * DEGREE };
}
