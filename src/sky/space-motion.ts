/**
 * From the catalogue's position at J2000.0 to where the star stands at another time, seen from the Earth: proper
 * motion, its foreshortening by radial velocity, and annual parallax.
 */
import { ARCSECOND, DEGREE } from "../angles.js";
import type { Vector } from "../vectors.js";
import type { IcrsPosition } from "./star.js";

const MILLIARCSECOND = ARCSECOND / 1000;
/** Kilometres a second in one astronomical unit a Julian year: 149 597 870.7 km / 31 557 600 s. */
const KM_S_PER_AU_YEAR = 149_597_870.7 / 31_557_600;
/** Light travel over one astronomical unit, Julian years. */
const LIGHT_YEARS_PER_AU = 149_597_870.7 / 299_792.458 / 31_557_600;

/**
 * The direction of a star from the Earth, ICRS, straight uniform motion through space (Explanatory Supplement to the
 * Astronomical Almanac, 3rd ed. 2012, 7.2.2), light travel over the Earth's orbit included.
 * Light's bending by the Sun is left out: 0.015″ at 30° from it.
 *
 * @param years - Julian years since J2000.0
 * @param earth - the Earth from the solar system's barycentre, astronomical units, ICRS
 * @returns unit vector
 */
export function directionFromEarth(position: IcrsPosition, years: number, earth: Vector): Vector {
  const rightAscension = position.raDeg * DEGREE;
  const declination = position.decDeg * DEGREE;
  const sinRa = Math.sin(rightAscension);
  const cosRa = Math.cos(rightAscension);
  const sinDec = Math.sin(declination);
  const cosDec = Math.cos(declination);
  const x = cosDec * cosRa;
  const y = cosDec * sinRa;
  const z = sinDec;
  const parallax = Math.max(0, position.parallaxMas ?? 0) * MILLIARCSECOND;
  const east = (position.pmRaCosDecMasYr ?? 0) * MILLIARCSECOND;
  const north = (position.pmDecMasYr ?? 0) * MILLIARCSECOND;
  if (parallax === 0 && east === 0 && north === 0) return [x, y, z];

  const outward = ((position.radialVelocityKmS ?? 0) / KM_S_PER_AU_YEAR) * parallax;
  const time = years + (x * earth[0] + y * earth[1] + z * earth[2]) * LIGHT_YEARS_PER_AU;
  const movedX = x + time * (-east * sinRa - north * sinDec * cosRa + outward * x) - parallax * earth[0];
  const movedY = y + time * (east * cosRa - north * sinDec * sinRa + outward * y) - parallax * earth[1];
  const movedZ = z + time * (north * cosDec + outward * z) - parallax * earth[2];
  const distance = Math.sqrt(movedX * movedX + movedY * movedY + movedZ * movedZ);
  return [movedX / distance, movedY / distance, movedZ / distance];
}
