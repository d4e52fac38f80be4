/**
 * Numbers with their units as a builder reads them.
 */

/** A value and its uncertainty, 1σ. */
interface Measured {
  readonly value: number;
  readonly uncertainty: number;
}

const MINUS = "−";
/** Beyond this many arcminutes an angle is written in degrees and arcminutes. */
const DEGREES_FROM_ARCMIN = 120;

/** A number with so many decimals, a true minus sign, and no minus before zero. */
export function fixed(value: number, decimals: number): string {
  if (!Number.isFinite(value)) return "unknown";
  const text = Math.abs(value).toFixed(decimals);
  return value < 0 && Number(text) !== 0 ? `${MINUS}${text}` : text;
}

/** The same with a sign before positive numbers too. */
export function signed(value: number, decimals: number): string {
  const text = fixed(value, decimals);
  return value > 0 && Number(text) !== 0 ? `+${text}` : text;
}

/** How many decimals an uncertainty warrants: two figures of it below one, else one decimal, none from ten up. */
export function decimalsFor(uncertainty: number): number {
  if (!Number.isFinite(uncertainty) || uncertainty <= 0) return 1;
  return uncertainty < 0.095 ? 2 : uncertainty < 9.95 ? 1 : 0;
}

/**
 * An angle in arcminutes as text, `14.2′`, or `50° 12.4′` when it is large.
 *
 * @param arcmin - arcminutes
 */
export function arcminText(arcmin: number, decimals = 1, sign = false): string {
  if (!Number.isFinite(arcmin)) return "unknown";
  const size = Math.abs(arcmin);
  const rounded = Number(size.toFixed(decimals));
  const mark = arcmin < 0 && rounded !== 0 ? MINUS : sign && rounded !== 0 ? "+" : "";
  if (rounded < DEGREES_FROM_ARCMIN) return `${mark}${size.toFixed(decimals)}′`;
  const degrees = Math.floor(rounded / 60);
  return `${mark}${degrees}° ${(rounded - 60 * degrees).toFixed(decimals)}′`;
}

/** How well readings are known: `0.8′`, whole arcminutes from ten up, `unknown` where nothing is. */
export function withinText(arcmin: number | null): string {
  return arcmin === null ? "unknown" : arcminText(arcmin, arcmin < 10 ? 1 : 0);
}

/** `14.2′ ± 0.5′`: a size and its uncertainty, in arcminutes, without a sign. */
export function sizeText(estimate: Measured): string {
  const decimals = decimalsFor(estimate.uncertainty);
  return `${arcminText(Math.abs(estimate.value), decimals)} ± ${arcminText(estimate.uncertainty, decimals)}`;
}

/** `+14.2′ ± 0.5′`: a value and its uncertainty, with its sign. */
export function estimateText(estimate: Measured, unit: "arcmin" | "arcmin/rad" = "arcmin"): string {
  const decimals = decimalsFor(estimate.uncertainty);
  const per = unit === "arcmin" ? "" : "/rad";
  return `${arcminText(estimate.value, decimals, true)}${per} ± ${arcminText(estimate.uncertainty, decimals)}${per}`;
}
