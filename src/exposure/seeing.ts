/**
 * The seeing as the measure of a smear: a trail that hardly widens a star that the air has widened already is not seen.
 */
import { type Fault, shown } from "../errors.js";
import type { ImageField } from "../pointing/field.js";

/** A star may be widened by a tenth along its trail: common practice, no source. */
const WIDENED_BY = 0.1;
/** The variance of a Gauss curve of the same full width at half maximum, 1 / (8 ln 2), and of an even trail, 1/12. */
const GAUSS = 1 / (8 * Math.LN2);
const EVEN = 1 / 12;

/**
 * The trail that widens a star by a tenth, in the unit of the smear. The variances along the trail add: that of the seeing's Gauss
 * curve, of the pixel, and of the trail itself, which is even along its length.
 *
 * @param seeingArcsec - full width of a star at half its height, arcseconds
 * @example
 * ```ts
 * smearOfSeeing(3, fieldOfEyepiece(0.5)); // 2.02
 * ```
 */
export function smearOfSeeing(
  seeingArcsec: number,
  { pixelArcsec }: Pick<ImageField, "pixelArcsec">,
): number {
  const variance = seeingArcsec ** 2 * GAUSS + (pixelArcsec ?? 0) ** 2 * EVEN;
  const trail = Math.sqrt((((1 + WIDENED_BY) ** 2 - 1) * variance) / EVEN);
  return trail / (pixelArcsec ?? 1);
}

/** What is wrong with a seeing; nothing where none is told. */
export function seeingFaults(seeingArcsec: number | undefined): Fault[] {
  if (seeingArcsec === undefined || (seeingArcsec > 0 && seeingArcsec <= 60)) return [];
  return [
    {
      code: "seeing-out-of-range",
      path: "seeingArcsec",
      found: shown(seeingArcsec),
      allowed: "arcseconds, more than 0 and at most 60",
      message: "The seeing has no usable size.",
    },
  ];
}
