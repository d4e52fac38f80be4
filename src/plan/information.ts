/**
 * What a star would teach: the covariance of the terms, and how one more sighting would shrink it.
 *
 * A sighting adds two rows to the least squares, the partials of west and north over their expected errors. Adding
 * two rows G to a problem with covariance P gives P − P Gᵀ (1 + G P Gᵀ)⁻¹ G P (the matrix inversion lemma of Sherman,
 * Morrison and Woodbury), so a candidate is judged in a few hundred multiplications, without inverting anything.
 */

/** The covariance of the terms while sightings are added to it. */
export interface Information {
  readonly size: number;
  /** Row by row, arcminutes squared. */
  readonly covariance: Float64Array;
}

export function informationFrom(covariance: Float64Array): Information {
  return { size: Math.round(Math.sqrt(covariance.length)), covariance: Float64Array.from(covariance) };
}

/**
 * By how much a sighting would lessen the sum of the variances of some terms.
 *
 * @param rows - two weighted rows, one after the other: partials over expected error, per arcminute
 * @param at - where in `rows` they begin
 * @param targets - places of the terms
 * @returns arcminutes squared, never negative
 */
export function varianceSaved(
  information: Information,
  rows: Float64Array,
  at: number,
  targets: readonly number[],
): number {
  const { size, covariance } = information;
  // G P Gᵀ + 1
  let aa = 1;
  let ab = 0;
  let bb = 1;
  for (let i = 0; i < size; i++) {
    let pa = 0;
    let pb = 0;
    const start = i * size;
    for (let j = 0; j < size; j++) {
      const p = covariance[start + j]!;
      pa += p * rows[at + j]!;
      pb += p * rows[at + size + j]!;
    }
    aa += rows[at + i]! * pa;
    ab += rows[at + i]! * pb;
    bb += rows[at + size + i]! * pb;
  }
  const determinant = aa * bb - ab * ab;
  let saved = 0;
  for (const target of targets) {
    let a = 0;
    let b = 0;
    const start = target * size;
    for (let j = 0; j < size; j++) {
      const p = covariance[start + j]!;
      a += p * rows[at + j]!;
      b += p * rows[at + size + j]!;
    }
    saved += (bb * a * a - 2 * ab * a * b + aa * b * b) / determinant;
  }
  return Math.max(0, saved);
}

/** Adds a sighting: changes the covariance in place. */
export function addSighting(information: Information, rows: Float64Array, at: number): void {
  const { size, covariance } = information;
  // One row after the other: each is P − p pᵀ / (1 + g·p) with p = P g.
  const p = new Float64Array(size);
  for (let row = 0; row < 2; row++) {
    const first = at + row * size;
    let spread = 1;
    for (let i = 0; i < size; i++) {
      let sum = 0;
      for (let j = 0; j < size; j++) sum += covariance[i * size + j]! * rows[first + j]!;
      p[i] = sum;
      spread += rows[first + i]! * sum;
    }
    for (let i = 0; i < size; i++) {
      const factor = p[i]! / spread;
      for (let j = 0; j <= i; j++) {
        const value = covariance[i * size + j]! - factor * p[j]!;
        covariance[i * size + j] = value;
        covariance[j * size + i] = value;
      }
    }
  }
}

/** The sum of the variances of some terms, arcminutes squared. */
export function varianceOf(information: Information, targets: readonly number[]): number {
  let sum = 0;
  for (const target of targets) sum += information.covariance[target * information.size + target]!;
  return sum;
}
