/**
 * Numbers in the messages of notes, written as the reports write them. What is to be typed into a file keeps its hyphen.
 */

const MINUS = "−";

/** A number with so many decimals, a true minus sign, and no minus before zero. */
export function fixed(value: number, decimals: number): string {
  const text = Math.abs(value).toFixed(decimals);
  return value < 0 && Number(text) !== 0 ? `${MINUS}${text}` : text;
}

/** The same with a sign before positive numbers too. */
export function signed(value: number, decimals: number): string {
  const text = fixed(value, decimals);
  return value > 0 && Number(text) !== 0 ? `+${text}` : text;
}

/** A value and its uncertainty, with the decimals that the uncertainty warrants: `+32.0 ± 5.6`. */
export function withUncertainty(value: number, uncertainty: number): string {
  const decimals = uncertainty < 0.095 ? 2 : uncertainty < 9.95 ? 1 : 0;
  return `${signed(value, decimals)} ± ${fixed(uncertainty, decimals)}`;
}
