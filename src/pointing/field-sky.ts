/**
 * Places spread over the sky that a telescope can reach, for maps and for the worst case.
 */
import { DEGREE } from "../angles.js";
import { insideLimits } from "../mount/limits.js";
import type { Limits } from "../mount/mount.js";
import { horizonFromHourAngle, hourAngleFromHorizon } from "../sky/horizon-frame.js";

/** A place on the sky, degrees. */
export interface SkyPoint {
  readonly azimuthDeg: number;
  readonly altitudeDeg: number;
  readonly hourAngleDeg: number;
  readonly declinationDeg: number;
}

/** The lowest altitude taken where a mount gives no limits, degrees. */
export const LOWEST_ALTITUDE_DEG = 15;
/** Nearer the pole than this the hour angle of an equatorial mount has little meaning, degrees. */
const POLAR_CAP_DEG = 1;

/** Whether the telescope may point there. Without limits: from 15° up. */
export function isWithinLimits(place: SkyPoint, limits: Limits | null): boolean {
  if (limits === null) return place.altitudeDeg >= LOWEST_ALTITUDE_DEG;
  return insideLimits(
    {
      hourAngle: place.hourAngleDeg * DEGREE,
      declination: place.declinationDeg * DEGREE,
      azimuth: place.azimuthDeg * DEGREE,
      altitude: place.altitudeDeg * DEGREE,
    },
    limits,
  );
}

/** A place by its azimuth and altitude, degrees. */
export function skyPoint(azimuthDeg: number, altitudeDeg: number, latitudeDeg: number): SkyPoint {
  const { hourAngle, declination } = hourAngleFromHorizon(
    azimuthDeg * DEGREE,
    altitudeDeg * DEGREE,
    latitudeDeg * DEGREE,
  );
  return { azimuthDeg, altitudeDeg, hourAngleDeg: hourAngle / DEGREE, declinationDeg: declination / DEGREE };
}

/** A place by its hour angle and declination, degrees. */
export function skyPointAt(hourAngleDeg: number, declinationDeg: number, latitudeDeg: number): SkyPoint {
  const { azimuth, altitude } = horizonFromHourAngle(
    hourAngleDeg * DEGREE,
    declinationDeg * DEGREE,
    latitudeDeg * DEGREE,
  );
  return { azimuthDeg: azimuth / DEGREE, altitudeDeg: altitude / DEGREE, hourAngleDeg, declinationDeg };
}

/**
 * Places evenly spread over what the telescope can reach, a degree round the pole left out.
 *
 * @param latitudeDeg - degrees, north positive
 * @param limits - where the telescope may point; null: from 15° up
 * @param stepDeg - from one to the next, degrees; 10 when not given
 */
export function skyPoints(latitudeDeg: number, limits: Limits | null, stepDeg = 10): SkyPoint[] {
  const lowest = Math.max(0, limits?.altitudeDeg ?? LOWEST_ALTITUDE_DEG);
  const rings = Math.max(1, Math.round((90 - lowest) / stepDeg));
  const points: SkyPoint[] = [];
  for (let ring = 0; ring <= rings; ring++) {
    const altitudeDeg = lowest + ((90 - lowest) * ring) / rings;
    const count = Math.max(1, Math.round((360 * Math.cos(altitudeDeg * DEGREE)) / stepDeg));
    for (let k = 0; k < count; k++) {
      const point = skyPoint((360 * k) / count, altitudeDeg, latitudeDeg);
      if (Math.abs(point.declinationDeg) > 90 - POLAR_CAP_DEG) continue;
      if (isWithinLimits(point, limits)) points.push(point);
    }
  }
  return points;
}
