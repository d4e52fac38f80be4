/**
 * One more measurement taken into what is known.
 */

/**
 * Takes two measured offsets into the values and their covariance (Kalman 1960: weighted least squares, one sighting at
 * a time).
 *
 * @param rows - how west and north change with each value: one row after the other
 * @param sigma - 1σ of west and north; infinite for one that was not measured
 * @returns the offsets' square over what was expected of them
 */
export function absorb(
  values: Float64Array,
  covariance: Float64Array,
  rows: Float64Array,
  offset: readonly [number, number],
  sigma: readonly [number, number],
): number {
  const size = values.length;
  const spreadOf = (row: number): Float64Array => {
    const out = new Float64Array(size);
    for (let i = 0; i < size; i++) {
      for (let j = 0; j < size; j++) out[i]! += covariance[i * size + j]! * rows[row * size + j]!;
    }
    return out;
  };
  const [pa, pb] = [spreadOf(0), spreadOf(1)];
  let aa = sigma[0] ** 2;
  let bb = sigma[1] ** 2;
  let ab = 0;
  for (let i = 0; i < size; i++) {
    aa += rows[i]! * pa[i]!;
    ab += rows[i]! * pb[i]!;
    bb += rows[size + i]! * pb[i]!;
  }
  const determinant = aa * bb - ab * ab;
  const weighted = [
    (bb * offset[0] - ab * offset[1]) / determinant,
    (aa * offset[1] - ab * offset[0]) / determinant,
  ] as const;
  for (let i = 0; i < size; i++) values[i]! += pa[i]! * weighted[0] + pb[i]! * weighted[1];
  for (let i = 0; i < size; i++) {
    for (let j = 0; j <= i; j++) {
      const taken =
        (bb * pa[i]! * pa[j]! - ab * (pa[i]! * pb[j]! + pb[i]! * pa[j]!) + aa * pb[i]! * pb[j]!) /
        determinant;
      const value = covariance[i * size + j]! - taken;
      covariance[i * size + j] = value;
      covariance[j * size + i] = value;
    }
  }
  return offset[0] * weighted[0] + offset[1] * weighted[1];
}
