/** Values measured several times: mean ± s/√N. */
import type { Estimate } from "../fit/fit-result.js";

/**
 * The mean of repeated measurements and its uncertainty, s/√N; of a single one the uncertainty is the smallest step's, step/√12.
 *
 * @param step - the smallest step that can be read: the uncertainty is never smaller than this, spread evenly, over √N
 */
export function meanOf(values: readonly number[], step: number): Estimate {
  const count = values.length;
  const mean = values.reduce((sum, value) => sum + value, 0) / count;
  const reading = step / Math.sqrt(12 * count);
  if (count < 2) return { value: mean, uncertainty: reading };
  const square = values.reduce((sum, value) => sum + (value - mean) ** 2, 0) / (count - 1);
  return { value: mean, uncertainty: Math.max(reading, Math.sqrt(square / count)) };
}

/** a − b, not correlated. */
export function difference(a: Estimate, b: Estimate): Estimate {
  return { value: a.value - b.value, uncertainty: Math.hypot(a.uncertainty, b.uncertainty) };
}

/** A value times an exact factor. */
export function times(a: Estimate, factor: number): Estimate {
  return { value: a.value * factor, uncertainty: a.uncertainty * Math.abs(factor) };
}
