/**
 * The hour-angle frame and the horizon frame.
 *
 * Hour-angle frame, right-handed: X to the meridian at the equator, Y east, Z north pole; a direction is
 * (cos δ cos h, −cos δ sin h, sin δ) with h the hour angle, west positive.
 * Horizon frame: N north, E east, U up (left-handed in that order): N = −sin φ X + cos φ Z, E = Y,
 * U = cos φ X + sin φ Z. Azimuth from north through east.
 */
import { wrapHalfTurn, wrapTurn } from "../angles.js";
import type { Vector } from "../vectors.js";

/** Azimuth from north through east and altitude, radians. */
export interface HorizonDirection {
  readonly azimuth: number;
  readonly altitude: number;
}

/** Hour angle, west positive, and declination, radians. */
export interface HourAngleDirection {
  readonly hourAngle: number;
  readonly declination: number;
}

/**
 * Azimuth in [0, 2π) and altitude from hour angle and declination, all radians.
 *
 * @param latitude - radians, north positive
 * @example
 * ```ts
 * // On the meridian at the equator: due south from the northern hemisphere.
 * horizonFromHourAngle(0, 0, 0.8).azimuth; // 3.14159
 * horizonFromHourAngle(0, 0, 0.8).altitude; // 0.7708
 * ```
 */
export function horizonFromHourAngle(
  hourAngle: number,
  declination: number,
  latitude: number,
): HorizonDirection {
  const cosDeclination = Math.cos(declination);
  const x = cosDeclination * Math.cos(hourAngle);
  const z = Math.sin(declination);
  const north = -Math.sin(latitude) * x + Math.cos(latitude) * z;
  const east = -cosDeclination * Math.sin(hourAngle);
  const up = Math.cos(latitude) * x + Math.sin(latitude) * z;
  return {
    azimuth: wrapTurn(Math.atan2(east, north)),
    altitude: Math.atan2(up, Math.hypot(north, east)),
  };
}

/**
 * Hour angle in (−π, π] and declination from azimuth and altitude, all radians: the inverse of
 * {@link horizonFromHourAngle}.
 *
 * @param latitude - radians, north positive
 */
export function hourAngleFromHorizon(
  azimuth: number,
  altitude: number,
  latitude: number,
): HourAngleDirection {
  const cosAltitude = Math.cos(altitude);
  const north = cosAltitude * Math.cos(azimuth);
  const up = Math.sin(altitude);
  const x = -Math.sin(latitude) * north + Math.cos(latitude) * up;
  const y = cosAltitude * Math.sin(azimuth);
  const z = Math.cos(latitude) * north + Math.sin(latitude) * up;
  return { hourAngle: wrapHalfTurn(Math.atan2(-y, x)), declination: Math.atan2(z, Math.hypot(x, y)) };
}

/** The unit vector of an hour angle and a declination, radians, in the hour-angle frame. */
export function hourAngleVector(direction: HourAngleDirection): Vector {
  const cosDeclination = Math.cos(direction.declination);
  return [
    cosDeclination * Math.cos(direction.hourAngle),
    -cosDeclination * Math.sin(direction.hourAngle),
    Math.sin(direction.declination),
  ];
}
