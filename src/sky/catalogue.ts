/**
 * The star catalogue: 436 stars, brighter than magnitude 3.5 or named by the IAU.
 */
import { starRows } from "./catalogue-data.js";
import type { Star } from "./star.js";

let cached: readonly Star[] | undefined;

/**
 * All stars of the catalogue, in order of Hipparcos number. Position: ICRS, epoch J2000.0.
 * Sources: Hipparcos (ESA 1997), the new reduction (van Leeuwen 2007); IAU Catalog of Star Names.
 *
 * @example
 * ```ts
 * catalogueStars().length; // 436
 * ```
 */
export function catalogueStars(): readonly Star[] {
  cached ??= starRows.map((row) => ({
    hip: row[0],
    name: row[1],
    bayer: row[2],
    flamsteed: row[3],
    constellation: row[4],
    vMag: row[5],
    raDeg: row[6],
    decDeg: row[7],
    pmRaCosDecMasYr: row[8],
    pmDecMasYr: row[9],
    parallaxMas: row[10],
    radialVelocityKmS: row[11],
    label: row[1] || row[2] || row[3] || `HIP ${row[0]}`,
  }));
  return cached;
}
