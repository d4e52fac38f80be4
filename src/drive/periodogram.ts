/**
 * Which periods a course holds: at every trial period the sum of squares that a sine and a cosine would take away, offsets and rate
 * being free (Lomb 1976; Scargle 1982; with free offsets Zechmeister and Kürster 2009), and the chance that noise alone would
 * make so high a peak anywhere (Baluev 2008, equation 6 for large samples).
 */

/** The range of trial frequencies. */
export interface FrequencyRange {
  /** Cycles a second. */
  readonly from: number;
  readonly to: number;
  readonly step: number;
}

/** Of one trial frequency. */
export interface PeriodogramPoint {
  readonly frequency: number;
  /** Half the sum of squares taken away, in units of the noise: e to its negative is the chance at this frequency alone. */
  readonly power: number;
}

const OVERSAMPLING = 5;
const MOST_FREQUENCIES = 2500;

/**
 * Trial frequencies from one cycle in the course to two and a half moments a cycle.
 *
 * @param seconds - the moments, ascending
 * @param step - usual distance between moments, seconds
 */
export function frequencyRange(seconds: ArrayLike<number>, step: number): FrequencyRange {
  const span = seconds[seconds.length - 1]! - seconds[0]!;
  const from = 1 / span;
  const spacing = 1 / (OVERSAMPLING * span);
  const highest = Math.min(1 / (2.5 * step), from + MOST_FREQUENCIES * spacing);
  return { from, to: Math.max(highest, 2 * from), step: spacing };
}

/**
 * The periodogram of independent rows.
 *
 * @param seconds - the moments
 * @param whiten - makes a column's rows independent
 * @param base - whitened columns that are free at every frequency (offsets, rate, terms known)
 * @param data - whitened
 */
export function periodogram(
  seconds: Float64Array,
  whiten: (column: Float64Array, out: Float64Array) => void,
  base: readonly Float64Array[],
  data: Float64Array,
  range: FrequencyRange,
): PeriodogramPoint[] {
  const count = seconds.length;
  const frame = orthonormal(base);
  const left = Float64Array.from(data);
  for (const axis of frame) takeOff(left, axis);
  const square = dotOf(left, left);
  const free = Math.max(1, count - frame.length - 2);
  const points: PeriodogramPoint[] = [];
  const cosine = new Float64Array(count);
  const sine = new Float64Array(count);
  // From one frequency to the next every moment's angle grows by the same step: a rotation, cheaper than a new sine.
  const angle = (i: number, frequency: number): number =>
    2 * Math.PI * frequency * (seconds[i]! - seconds[0]!);
  const rawCosine = Float64Array.from(seconds, (_, i) => Math.cos(angle(i, range.from)));
  const rawSine = Float64Array.from(seconds, (_, i) => Math.sin(angle(i, range.from)));
  const stepCosine = Float64Array.from(seconds, (_, i) => Math.cos(angle(i, range.step)));
  const stepSine = Float64Array.from(seconds, (_, i) => Math.sin(angle(i, range.step)));
  const steps = Math.floor((range.to - range.from) / range.step + 1e-9);
  for (let k = 0; k <= steps; k++) {
    const frequency = range.from + k * range.step;
    if (k > 0) {
      for (let i = 0; i < count; i++) {
        const turned = rawCosine[i]! * stepCosine[i]! - rawSine[i]! * stepSine[i]!;
        rawSine[i] = rawSine[i]! * stepCosine[i]! + rawCosine[i]! * stepSine[i]!;
        rawCosine[i] = turned;
      }
    }
    whiten(rawCosine, cosine);
    whiten(rawSine, sine);
    const [before, after] = [dotOf(cosine, cosine), dotOf(sine, sine)];
    for (const axis of frame) {
      takeOff(cosine, axis);
      takeOff(sine, axis);
    }
    const cc = dotOf(cosine, cosine);
    const cs = dotOf(cosine, sine);
    const ss = dotOf(sine, sine);
    const determinant = cc * ss - cs * cs;
    // Where offsets and rate leave next to nothing of the sine, it cannot be seen.
    if (!(determinant > 1e-6 * before * after)) {
      points.push({ frequency, power: 0 });
      continue;
    }
    const a = dotOf(cosine, left);
    const b = dotOf(sine, left);
    const taken = Math.min(square, (ss * a * a - 2 * cs * a * b + cc * b * b) / determinant);
    points.push({ frequency, power: ((free / 2) * taken) / Math.max(square - taken, 1e-300) });
  }
  return points;
}

/**
 * The chance that noise alone makes a peak of this power or a higher one among all frequencies tried.
 *
 * @param power - as {@link PeriodogramPoint} has it
 */
export function falseAlarm(power: number, seconds: ArrayLike<number>, range: FrequencyRange): number {
  const count = seconds.length;
  let sum = 0;
  for (let i = 0; i < count; i++) sum += seconds[i]!;
  const middle = sum / count;
  let spread = 0;
  for (let i = 0; i < count; i++) spread += (seconds[i]! - middle) ** 2;
  const width = (range.to - range.from) * Math.sqrt((4 * Math.PI * spread) / count);
  const alone = Math.exp(-power);
  const anywhere = width * alone * Math.sqrt(power);
  return Math.min(1, 1 - (1 - alone) * Math.exp(-anywhere));
}

/** The power whose chance of a false alarm is this: the inverse of {@link falseAlarm}. */
export function powerAt(chance: number, seconds: ArrayLike<number>, range: FrequencyRange): number {
  let [low, high] = [1, 700];
  for (let k = 0; k < 60; k++) {
    const middle = (low + high) / 2;
    if (falseAlarm(middle, seconds, range) > chance) low = middle;
    else high = middle;
  }
  return (low + high) / 2;
}

/** The highest separate peaks. */
export function peaksOf(points: readonly PeriodogramPoint[], most: number): PeriodogramPoint[] {
  const peaks = points.filter(
    (point, k) =>
      point.power > 0 &&
      point.power >= (points[k - 1]?.power ?? 0) &&
      point.power >= (points[k + 1]?.power ?? 0),
  );
  return peaks.sort((a, b) => b.power - a.power).slice(0, most);
}

function dotOf(a: Float64Array, b: Float64Array): number {
  let sum = 0;
  for (let i = 0; i < a.length; i++) sum += a[i]! * b[i]!;
  return sum;
}

function takeOff(column: Float64Array, axis: Float64Array): void {
  const along = dotOf(column, axis);
  for (let i = 0; i < column.length; i++) column[i]! -= along * axis[i]!;
}

/** An orthonormal frame of the columns (Gram and Schmidt, twice for rounding's sake); columns without anything new are left out. */
function orthonormal(columns: readonly Float64Array[]): Float64Array[] {
  const frame: Float64Array[] = [];
  for (const column of columns) {
    const left = Float64Array.from(column);
    const before = Math.sqrt(dotOf(left, left));
    for (let pass = 0; pass < 2; pass++) for (const axis of frame) takeOff(left, axis);
    const size = Math.sqrt(dotOf(left, left));
    if (!(size > 1e-9 * before)) continue;
    for (let i = 0; i < left.length; i++) left[i]! /= size;
    frame.push(left);
  }
  return frame;
}
