import { wrapHalfTurn } from "../angles.js";

/** So many values are enough to find the half of the circle that holds most of them. */
const SAMPLE = 32;

/**
 * The circular median: the angle from which the mean distance round the circle is least, so that up to half of the
 * values may be anywhere.
 *
 * @param values - angles, radians, not necessarily wrapped; at least one
 * @returns radians, (−π, π]
 */
export function circularMedian(values: ArrayLike<number>): number {
  const count = values.length;
  const stride = Math.max(1, Math.ceil(count / SAMPLE));
  let best = values[0]!;
  let least = Number.POSITIVE_INFINITY;
  for (let i = 0; i < count; i += stride) {
    let sum = 0;
    for (let j = 0; j < count; j += stride) sum += Math.abs(wrapHalfTurn(values[j]! - values[i]!));
    if (sum < least) {
      least = sum;
      best = values[i]!;
    }
  }
  // Around that value the circle is as good as a line.
  const offsets = new Float64Array(count);
  for (let i = 0; i < count; i++) offsets[i] = wrapHalfTurn(values[i]! - best);
  offsets.sort();
  const middle = (offsets[(count - 1) >> 1]! + offsets[count >> 1]!) / 2;
  return wrapHalfTurn(best + middle);
}
