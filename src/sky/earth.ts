/**
 * The Earth at one moment: how its equator lies, where it is and how fast it goes. From astronomy-engine.
 *
 * Its nutation keeps the five largest terms: the true equator lies within 0.09″ of IAU 2000A/2006 from 1900 to 2100
 * (measured against ERFA's pnm06a); the equinox is off by up to 0.23″, which cancels in every hour angle. Its velocity of the Earth
 * leaves 0.0013″ of aberration.
 */
import { BaryState, Body, e_tilt, MakeTime, Rotation_EQJ_EQD } from "astronomy-engine";
import { ARCSECOND, HOUR, TURN, wrapTurn } from "../angles.js";
import { DAY_MS } from "./time.js";

/** 2000 January 1, 12 h UTC: where days are counted from. */
const J2000_MS = Date.UTC(2000, 0, 1, 12);
/** Speed of light, astronomical units a day: 299 792.458 km/s · 86 400 s / 149 597 870.7 km. */
const LIGHT_AU_DAY = (299_792.458 * 86_400) / 149_597_870.7;

/** Days of UTC since 2000 January 1, 12 h. */
export function daysSinceJ2000(timeMs: number): number {
  return (timeMs - J2000_MS) / DAY_MS;
}

/**
 * The places in an {@link EarthState}: what changes slowly, packed so that it can be interpolated.
 * 0–8 the rotation from ICRS to the true equator and equinox of date, by rows; 9–11 the Earth from the solar system's barycentre,
 * astronomical units; 12–14 its velocity, in units of the speed of light; 15 the equation of the equinoxes, radians;
 * 16 Terrestrial Time less UTC, days.
 */
export const EARTH_STATE_LENGTH = 17;
export type EarthState = Float64Array;

/**
 * ICRS against the mean equator and equinox of J2000.0 (frame bias, IERS Conventions 2003, 5.5.2): the offsets of the pole
 * ξ₀, η₀ and of the equinox dα₀.
 */
const BIAS_XI = -0.016617 * ARCSECOND;
const BIAS_ETA = -0.0068192 * ARCSECOND;
const BIAS_EQUINOX = -0.0146 * ARCSECOND;

/** The Earth's state at that many days since J2000.0. */
export function earthState(days: number): EarthState {
  const time = MakeTime(days);
  const state = new Float64Array(EARTH_STATE_LENGTH);
  const { rot } = Rotation_EQJ_EQD(time);
  for (let row = 0; row < 3; row++) {
    // astronomy-engine keeps a rotation by columns.
    const x = rot[0]![row]!;
    const y = rot[1]![row]!;
    const z = rot[2]![row]!;
    state[3 * row] = x - y * BIAS_EQUINOX + z * BIAS_XI;
    state[3 * row + 1] = y + x * BIAS_EQUINOX + z * BIAS_ETA;
    state[3 * row + 2] = z - x * BIAS_XI - y * BIAS_ETA;
  }
  const earth = BaryState(Body.Earth, time);
  state[9] = earth.x;
  state[10] = earth.y;
  state[11] = earth.z;
  state[12] = earth.vx / LIGHT_AU_DAY;
  state[13] = earth.vy / LIGHT_AU_DAY;
  state[14] = earth.vz / LIGHT_AU_DAY;
  state[15] = equationOfEquinoxes(days);
  state[16] = time.tt - time.ut;
  return state;
}

/** Apparent less mean sidereal time, radians. */
export function equationOfEquinoxes(days: number): number {
  return (e_tilt(MakeTime(days)).ee / 3600) * HOUR;
}

/** Terrestrial Time less UTC, days. */
export function terrestrialTimeOffset(days: number): number {
  const time = MakeTime(days);
  return time.tt - time.ut;
}

/**
 * Greenwich mean sidereal time, IAU 2006 (Capitaine, Wallace and Chapront 2003, Astronomy and Astrophysics 412, 567), radians, [0, 2π).
 *
 * @param universalDays - days of UT1 since J2000.0
 * @param terrestrialDays - days of Terrestrial Time since J2000.0
 */
export function greenwichMeanSiderealTime(universalDays: number, terrestrialDays: number): number {
  const rotation = TURN * (0.779057273264 + 0.00273781191135448 * universalDays + (universalDays % 1));
  const t = terrestrialDays / 36525;
  const precession =
    0.014506 +
    t * (4612.156534 + t * (1.3915817 + t * (-0.00000044 + t * (-0.000029956 - t * 0.0000000368))));
  return wrapTurn(rotation + precession * ARCSECOND);
}
