/**
 * Values over time: change points by cumulative sums (Page 1954, Biometrika 41, 100) and a slope that one bad night does not
 * carry away (Sen 1968, Journal of the American Statistical Association 63, 1379).
 */

/** A value of one night. */
export interface DatedValue {
  /** In whatever unit of time the slope is wanted. */
  readonly time: number;
  readonly value: number;
  /** 1σ. */
  readonly sigma: number;
}

/** Half the shift that is looked for, in standard deviations, and how far the sum may rise: an alarm in some 500 values by chance. */
const REFERENCE = 0.5;
const DECISION = 5;

/**
 * The last place at which the values changed for good; null where they did not. The sums run over each value's distance from the mean
 * of those before it since the last change.
 *
 * @returns index of the first value after the change
 */
export function changePoint(values: readonly DatedValue[]): number | null {
  let changed: number | null = null;
  let from = 0;
  let up = 0;
  let down = 0;
  let upFrom = 0;
  let downFrom = 0;
  let i = 1;
  while (i < values.length) {
    // Up to where a sum began to rise: the mean that is left behind.
    const until = Math.min(up > 0 ? upFrom : i, down > 0 ? downFrom : i);
    const { mean, variance } = weightedMean(values.slice(from, Math.max(until, from + 1)));
    const z = (values[i]!.value - mean) / Math.sqrt(variance + values[i]!.sigma ** 2);
    if (up === 0) upFrom = i;
    if (down === 0) downFrom = i;
    up = Math.max(0, up + z - REFERENCE);
    down = Math.max(0, down - z - REFERENCE);
    if (up > DECISION || down > DECISION) {
      changed = up > DECISION ? upFrom : downFrom;
      from = changed;
      i = from + 1;
      up = 0;
      down = 0;
      continue;
    }
    i += 1;
  }
  return changed;
}

function weightedMean(values: readonly DatedValue[]): { mean: number; variance: number } {
  let weight = 0;
  let sum = 0;
  for (const { value, sigma } of values) {
    weight += 1 / sigma ** 2;
    sum += value / sigma ** 2;
  }
  return { mean: sum / weight, variance: 1 / weight };
}

/** The median of the slopes between all pairs; null with fewer than two times. */
export function senSlope(values: readonly DatedValue[]): number | null {
  const slopes: number[] = [];
  for (let i = 0; i < values.length; i++) {
    for (let j = i + 1; j < values.length; j++) {
      const time = values[j]!.time - values[i]!.time;
      if (time !== 0) slopes.push((values[j]!.value - values[i]!.value) / time);
    }
  }
  if (slopes.length === 0) return null;
  slopes.sort((a, b) => a - b);
  const middle = slopes.length >> 1;
  return slopes.length % 2 === 1 ? slopes[middle]! : (slopes[middle - 1]! + slopes[middle]!) / 2;
}

/** χ² of values about a line through columns, weighted. */
export function chiSquareAbout(
  values: readonly DatedValue[],
  columns: readonly (readonly number[])[],
): number {
  // Small problems: elimination on the normal equations is enough.
  const size = columns.length;
  const a = Array.from({ length: size }, () => new Array<number>(size + 1).fill(0));
  values.forEach(({ value, sigma }, i) => {
    for (let r = 0; r < size; r++) {
      for (let c = 0; c < size; c++) a[r]![c]! += (columns[r]![i]! * columns[c]![i]!) / sigma ** 2;
      a[r]![size]! += (columns[r]![i]! * value) / sigma ** 2;
    }
  });
  for (let p = 0; p < size; p++) {
    const pivot = a[p]![p]!;
    if (Math.abs(pivot) < 1e-12) continue;
    for (let r = 0; r < size; r++) {
      if (r === p) continue;
      const factor = a[r]![p]! / pivot;
      for (let c = p; c <= size; c++) a[r]![c]! -= factor * a[p]![c]!;
    }
  }
  const x = a.map((row, p) => (Math.abs(row[p]!) < 1e-12 ? 0 : row[size]! / row[p]!));
  return values.reduce((sum, { value, sigma }, i) => {
    const fitted = columns.reduce((inner, column, k) => inner + x[k]! * column[i]!, 0);
    return sum + ((value - fitted) / sigma) ** 2;
  }, 0);
}
