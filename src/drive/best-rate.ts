/**
 * The rate that follows a star best: the sidereal one, but for the air, which the star sinks into, and the axis as it stands
 * (King 1902, Annals of Harvard College Observatory 41, 153; King 1931, A Manual of Celestial Photography). Computed from the
 * project's own refraction and model, not from King's series.
 */
import { DEGREE } from "../angles.js";
import { normalStance } from "../mount/model.js";
import type { Limits } from "../mount/mount.js";
import { skyPoints } from "../pointing/field-sky.js";
import { type MountStand, type TrackingMount, trackingMount } from "../pointing/field-stand.js";
import { SIDEREAL_RATE, seenThroughAir, withoutAir } from "../pointing/field-track.js";
import { type HourAngleDirection, hourAngleVector } from "../sky/horizon-frame.js";
import { rotate } from "../vectors.js";

/** Over which a rate is taken: short against the sky's turning, long against rounding, seconds. */
const OVER_S = 60;

/**
 * The hour-angle shaft's rate that follows a star at this moment, parts per million above the sidereal rate (below it negative).
 *
 * @param direction - where the star is seen now, radians
 */
function shaftRate(mount: TrackingMount, direction: HourAngleDirection, beyond: boolean): number {
  const star = withoutAir(mount, hourAngleVector(direction));
  const stance = { ...normalStance, beyond };
  const angles = new Float64Array(2);
  const shaftAt = (seconds: number): number => {
    const seen = seenThroughAir(mount, rotate(star, [0, 0, -SIDEREAL_RATE * seconds]));
    mount.model.forward(mount.coefficients, seen.hourAngle, seen.declination, stance, angles);
    return angles[0]!;
  };
  const turned = shaftAt(OVER_S / 2) - shaftAt(-OVER_S / 2);
  const wrapped = turned - 2 * Math.PI * Math.round(turned / (2 * Math.PI));
  return (wrapped / (SIDEREAL_RATE * OVER_S) - 1) * 1e6;
}

/**
 * The rate that follows a target best over a stretch of time: the mean over it.
 *
 * @param stand - how the mount stands, and its air
 * @param direction - where the target is seen when the stretch begins, radians
 * @param seconds - how long; 0 for the moment
 * @returns parts per million above the sidereal rate
 * @example
 * ```ts
 * // On the meridian, 60° high, an axis on the true pole, in ordinary air: about 0.25 s a thousand seconds too slow.
 * bestRate(standOfMount(mount, {}), { hourAngle: 0, declination: 0 }, 0); // -249
 * ```
 */
export function bestRate(
  stand: MountStand,
  direction: HourAngleDirection,
  seconds: number,
  beyond = false,
): number {
  const mount = trackingMount(stand);
  const star = withoutAir(mount, hourAngleVector(direction));
  const moments = seconds === 0 ? [0] : Array.from({ length: 9 }, (_, k) => (seconds * k) / 8);
  const rates = moments.map((at) => {
    const seen = seenThroughAir(mount, rotate(star, [0, 0, -SIDEREAL_RATE * at]));
    return shaftRate(mount, seen, beyond);
  });
  return rates.reduce((sum, rate) => sum + rate, 0) / rates.length;
}

/** Lower than this the rate for one star spoils it for all others, degrees: common practice, no source. */
const LOWEST_FOR_MEAN_DEG = 30;
/** Nearer the pole a rate has little meaning, degrees. */
const POLE_CAP_DEG = 25;

/**
 * The mean best rate over the sky above 30°: for a drive that has one rate for everything.
 *
 * @returns parts per million above the sidereal rate
 */
export function meanBestRate(stand: MountStand, limits: Limits | null): number {
  const mount = trackingMount(stand);
  const lowest = Math.max(LOWEST_FOR_MEAN_DEG, limits?.altitudeDeg ?? 0);
  const places = skyPoints(
    stand.site.latitude,
    limits === null ? null : { ...limits, altitudeDeg: lowest },
  ).filter((place) => place.altitudeDeg >= lowest && Math.abs(place.declinationDeg) <= 90 - POLE_CAP_DEG);
  if (places.length === 0) return 0;
  const rates = places.map((place) =>
    shaftRate(
      mount,
      { hourAngle: place.hourAngleDeg * DEGREE, declination: place.declinationDeg * DEGREE },
      false,
    ),
  );
  return rates.reduce((sum, rate) => sum + rate, 0) / rates.length;
}
