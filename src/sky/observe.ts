/**
 * Where a star is seen, and back: ICRS to the observed direction and the observed direction to ICRS.
 */
import { DEGREE, wrapHalfTurn, wrapTurn } from "../angles.js";
import { dot, fromSpherical, toSpherical } from "../vectors.js";
import { aberrated, withoutAberration } from "./aberration.js";
import type { HourAngleDirection } from "./horizon-frame.js";
import {
  type RefractionConstants,
  refractionConstants,
  refractionFromObserved,
  refractionFromTrue,
} from "./refraction.js";
import type { Air, Site } from "./site.js";
import { type SkyFrame, skyFrame } from "./sky-frame.js";
import { directionFromEarth } from "./space-motion.js";
import type { IcrsPosition, ObservedDirection } from "./star.js";

/** No air: where a star would be seen without refraction. */
export const NO_AIR: Air = { pressureHPa: 0, temperatureC: 0 };

/** What both ways need of a frame. */
type Vertical = Pick<SkyFrame, "sinLatitude" | "cosLatitude">;

function constantsOf(frame: SkyFrame, air: Air | undefined): RefractionConstants {
  return air === undefined ? frame.refraction : refractionConstants(air);
}

/**
 * The observed direction of what stands at x, y, z (hour-angle frame, no air).
 */
export function liftedDirection(
  x: number,
  y: number,
  z: number,
  vertical: Vertical,
  refraction: RefractionConstants,
): ObservedDirection {
  const { sinLatitude, cosLatitude } = vertical;
  const north = -sinLatitude * x + cosLatitude * z;
  const up = cosLatitude * x + sinLatitude * z;
  const level = Math.sqrt(north * north + y * y);
  const trueAltitude = Math.atan2(up, level);
  const azimuth = wrapTurn(Math.atan2(y, north));
  if (refraction.a === 0) {
    return {
      hourAngle: wrapHalfTurn(Math.atan2(-y, x)),
      declination: Math.atan2(z, Math.sqrt(x * x + y * y)),
      azimuth,
      altitude: trueAltitude,
    };
  }
  const altitude = trueAltitude + refractionFromTrue(trueAltitude, refraction);
  // In the zenith (and nadir) there is no level part to stretch, and no refraction.
  const stretch = level === 0 ? 1 : Math.cos(altitude) / level;
  const seenNorth = north * stretch;
  const seenEast = y * stretch;
  const seenUp = Math.sin(altitude);
  const seenX = -sinLatitude * seenNorth + cosLatitude * seenUp;
  const seenZ = cosLatitude * seenNorth + sinLatitude * seenUp;
  return {
    hourAngle: wrapHalfTurn(Math.atan2(-seenEast, seenX)),
    declination: Math.atan2(seenZ, Math.sqrt(seenX * seenX + seenEast * seenEast)),
    azimuth,
    altitude,
  };
}

/**
 * Where a star is seen at the frame's moment and site, refraction included.
 *
 * Within 0.2″ of ERFA's `atco13` without air from 1900 to 2100, save within 20° of the Sun, whose bending of light
 * is left out; within 0.5″ with air above 15°.
 *
 * @param frame - from {@link skyFrame} or {@link skyOverNight}
 * @param position - ICRS, epoch J2000.0, with its motion where known
 * @param air - the air of the moment; the site's own where not given; pressure 0 for none
 * @throws {@link InputError} `air-out-of-range`
 */
export function observeIn(frame: SkyFrame, position: IcrsPosition, air?: Air): ObservedDirection {
  const direction = aberrated(directionFromEarth(position, frame.years, frame.earth), frame.velocity);
  return liftedDirection(
    dot(direction, frame.meridian),
    dot(direction, frame.east),
    dot(direction, frame.pole),
    frame,
    constantsOf(frame, air),
  );
}

/**
 * Where a star is seen at a time and site. Many stars of one night are quicker by `skyOverNight` and `observeIn`.
 *
 * @param timeMs - milliseconds of UTC since 1970
 * @throws {@link InputError} `air-out-of-range`
 * @example
 * ```ts
 * const site = { latitude: -30, longitude: 20, heightM: 1000, pressureHPa: 900, temperatureC: 12, dut1S: 0 };
 * const seen = observe(findStar("Canopus"), parseTime("2026-03-14T19:22:10Z"), site);
 * (seen.altitude * 180) / Math.PI; // 60.0
 * ```
 */
export function observe(position: IcrsPosition, timeMs: number, site: Site, air?: Air): ObservedDirection {
  return observeIn(skyFrame(timeMs, site), position, air);
}

/**
 * The ICRS direction that is seen at an hour angle and declination at the frame's moment: the exact inverse of
 * {@link observeIn} for a position without motion and parallax.
 *
 * @param direction - observed hour angle and declination, radians
 * @returns right ascension in [0, 360) and declination, degrees
 * @throws {@link InputError} `air-out-of-range`
 */
export function icrsFromObservedIn(frame: SkyFrame, direction: HourAngleDirection, air?: Air): IcrsPosition {
  const refraction = constantsOf(frame, air);
  const { sinLatitude, cosLatitude } = frame;
  const [cosCos, cosSin, sin] = fromSpherical(direction.hourAngle, direction.declination);
  const east = -cosSin;
  const north = -sinLatitude * cosCos + cosLatitude * sin;
  const up = cosLatitude * cosCos + sinLatitude * sin;
  const level = Math.sqrt(north * north + east * east);
  const altitude = Math.atan2(up, level);
  const trueAltitude = altitude - refractionFromObserved(altitude, refraction);
  const stretch = level === 0 ? 1 : Math.cos(trueAltitude) / level;
  const trueNorth = north * stretch;
  const y = east * stretch;
  const trueUp = Math.sin(trueAltitude);
  const x = -sinLatitude * trueNorth + cosLatitude * trueUp;
  const z = cosLatitude * trueNorth + sinLatitude * trueUp;
  const { meridian, east: eastward, pole } = frame;
  const icrs = withoutAberration(
    [
      x * meridian[0] + y * eastward[0] + z * pole[0],
      x * meridian[1] + y * eastward[1] + z * pole[1],
      x * meridian[2] + y * eastward[2] + z * pole[2],
    ],
    frame.velocity,
  );
  const { longitude, latitude } = toSpherical(icrs);
  return { raDeg: wrapTurn(longitude) / DEGREE, decDeg: latitude / DEGREE };
}
