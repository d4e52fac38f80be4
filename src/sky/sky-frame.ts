/**
 * Everything that is the same for all stars at one moment and one site.
 */
import { DEGREE, wrapTurn } from "../angles.js";
import type { Vector } from "../vectors.js";
import { daysSinceJ2000, type EarthState, earthState, greenwichMeanSiderealTime } from "./earth.js";
import { type RefractionConstants, refractionConstants } from "./refraction.js";
import type { Site } from "./site.js";

/** One moment at one site; made by {@link skyFrame} or by a night's {@link skyOverNight}. */
export interface SkyFrame {
  /** Milliseconds of UTC since 1970. */
  readonly timeMs: number;
  readonly site: Site;
  /** Julian years of Terrestrial Time since J2000.0. */
  readonly years: number;
  /** Local apparent sidereal time, radians, [0, 2π). */
  readonly siderealTime: number;
  readonly sinLatitude: number;
  readonly cosLatitude: number;
  /** Where ICRS puts the hour-angle frame's X (the meridian at the equator), Y (east) and Z (north pole of date). */
  readonly meridian: Vector;
  readonly east: Vector;
  readonly pole: Vector;
  /** The Earth from the solar system's barycentre, ICRS, astronomical units. */
  readonly earth: Vector;
  /** The observer's velocity, orbit and rotation, ICRS, in units of the speed of light. */
  readonly velocity: Vector;
  /** Of the site's own air. */
  readonly refraction: RefractionConstants;
}

/** What does not change with time. */
export interface SiteConstants {
  readonly site: Site;
  readonly sinLatitude: number;
  readonly cosLatitude: number;
  /** The site's eastward velocity by the Earth's rotation, in units of the speed of light. */
  readonly spin: number;
  readonly refraction: RefractionConstants;
}

const EQUATOR_KM = 6378.137;
const FLATTENING = 1 / 298.257223563;
/** Radians a second, IERS Conventions 2010, 1.1. */
const SPIN_RADIANS_SECOND = 7.292115e-5;
const LIGHT_KM_SECOND = 299_792.458;

export function siteConstants(site: Site): SiteConstants {
  // The cosine of exactly 90° is 6e-17 in floating point: harmless, and no division by it follows.
  const latitude = site.latitude * DEGREE;
  const sinLatitude = Math.sin(latitude);
  const cosLatitude = Math.cos(latitude);
  const eccentricity = FLATTENING * (2 - FLATTENING);
  const prime = EQUATOR_KM / Math.sqrt(1 - eccentricity * sinLatitude * sinLatitude);
  const fromAxisKm = (prime + site.heightM / 1000) * cosLatitude;
  return {
    site,
    sinLatitude,
    cosLatitude,
    spin: (fromAxisKm * SPIN_RADIANS_SECOND) / LIGHT_KM_SECOND,
    refraction: refractionConstants(site),
  };
}

/** The frame, from the Earth's state at that moment. */
export function frameFromEarth(timeMs: number, constants: SiteConstants, state: EarthState): SkyFrame {
  const { site } = constants;
  const days = daysSinceJ2000(timeMs);
  const terrestrialDays = days + state[16]!;
  const mean = greenwichMeanSiderealTime(days + site.dut1S / 86_400, terrestrialDays);
  const sidereal = wrapTurn(mean + state[15]! + site.longitude * DEGREE);

  // Turn by sidereal time inside the equator of date. The rows are made exactly perpendicular, whatever interpolation left.
  let poleX = state[6]!;
  let poleY = state[7]!;
  let poleZ = state[8]!;
  const poleLength = Math.sqrt(poleX * poleX + poleY * poleY + poleZ * poleZ);
  poleX /= poleLength;
  poleY /= poleLength;
  poleZ /= poleLength;
  const cos = Math.cos(sidereal);
  const sin = Math.sin(sidereal);
  let meridianX = cos * state[0]! + sin * state[3]!;
  let meridianY = cos * state[1]! + sin * state[4]!;
  let meridianZ = cos * state[2]! + sin * state[5]!;
  const lean = meridianX * poleX + meridianY * poleY + meridianZ * poleZ;
  meridianX -= lean * poleX;
  meridianY -= lean * poleY;
  meridianZ -= lean * poleZ;
  const meridianLength = Math.sqrt(meridianX * meridianX + meridianY * meridianY + meridianZ * meridianZ);
  meridianX /= meridianLength;
  meridianY /= meridianLength;
  meridianZ /= meridianLength;
  const eastX = poleY * meridianZ - poleZ * meridianY;
  const eastY = poleZ * meridianX - poleX * meridianZ;
  const eastZ = poleX * meridianY - poleY * meridianX;

  const { spin } = constants;
  return {
    timeMs,
    site,
    years: terrestrialDays / 365.25,
    siderealTime: sidereal,
    sinLatitude: constants.sinLatitude,
    cosLatitude: constants.cosLatitude,
    meridian: [meridianX, meridianY, meridianZ],
    east: [eastX, eastY, eastZ],
    pole: [poleX, poleY, poleZ],
    earth: [state[9]!, state[10]!, state[11]!],
    velocity: [state[12]! + spin * eastX, state[13]! + spin * eastY, state[14]! + spin * eastZ],
    refraction: constants.refraction,
  };
}

/**
 * Everything that is the same for all stars at one moment: then {@link observeIn} takes about a microsecond a star.
 *
 * Precession and nutation, the Earth's motion and sidereal time are astronomy-engine's; UT1 by the site's `dut1S`.
 * Polar motion (0.3″ at most) is not known here.
 *
 * @param timeMs - milliseconds of UTC since 1970, from {@link parseTime}
 * @throws {@link InputError} `air-out-of-range`
 */
export function skyFrame(timeMs: number, site: Site): SkyFrame {
  return frameFromEarth(timeMs, siteConstants(site), earthState(daysSinceJ2000(timeMs)));
}
