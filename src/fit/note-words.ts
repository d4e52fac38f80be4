import { decimalsFor, fixed, signed } from "../words/numbers.js";

export { fixed, signed };

/** A value and its uncertainty, with the decimals that the uncertainty warrants: `+32.0 ± 5.6`. */
export function withUncertainty(value: number, uncertainty: number): string {
  const decimals = decimalsFor(uncertainty);
  return `${signed(value, decimals)} ± ${fixed(uncertainty, decimals)}`;
}
