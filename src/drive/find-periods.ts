/**
 * Looks for periodic errors that no part in the mount file accounts for: one after the other, each against noise that remembers.
 */
import { type FrequencyRange, falseAlarm, peaksOf, periodogram } from "./periodogram.js";
import {
  fitUnder,
  likeliest,
  median,
  NO_WANDER,
  type NoiseShape,
  noiseShapes,
  type TimedRows,
  whitener,
} from "./wander.js";

/** A period that was found. */
export interface FoundPeriod {
  /** Cycles a second. */
  readonly frequency: number;
  /** The chance that noise alone would show such a period. */
  readonly falseAlarm: number;
}

/** What the search looks at. */
export interface SearchedCourse {
  readonly rows: TimedRows;
  /** Arcseconds, west. */
  readonly data: Float64Array;
  /** Columns that are free whatever the period: offsets, rate, known parts. */
  readonly base: readonly Float64Array[];
  /** The cosine of the declination at each row. */
  readonly cosDeclination: Float64Array;
  readonly range: FrequencyRange;
  readonly leastScale: number;
  /** Moments are counted from here, seconds. */
  readonly middleS: number;
}

/**
 * A period counts when noise alone would show it less often than this. The noise's own shape is found from the same course, which
 * makes the true share of false alarms several times as large (some in a hundred courses of noise).
 */
export const SEEN_BELOW = 0.001;
const MOST_PERIODS = 6;
/** Peaks that are looked at for each shape of noise. */
const PEAKS = 2;
const PRIOR = { rows: [], values: [] };

/** A sine and a cosine at a frequency, as they show on the sky. */
export function waveColumns(course: SearchedCourse, frequency: number): [Float64Array, Float64Array] {
  const { seconds } = course.rows;
  const angular = 2 * Math.PI * frequency;
  return [
    seconds.map((at, i) => course.cosDeclination[i]! * Math.cos(angular * (at - course.middleS))),
    seconds.map((at, i) => course.cosDeclination[i]! * Math.sin(angular * (at - course.middleS))),
  ];
}

/** The periods that the course holds beyond its base columns. */
export function findPeriods(course: SearchedCourse): FoundPeriod[] {
  const { rows, data, range, leastScale } = course;
  const shapes = noiseShapes(rows);
  const span = rows.seconds.at(-1)! - rows.seconds[0]!;
  const found: FoundPeriod[] = [];
  const columns = [...course.base];
  let without = likeliest(rows, columns, data, leastScale, shapes);
  while (found.length < MOST_PERIODS && rows.seconds.length >= columns.length + 8) {
    const looks = [without.fit.shape, ...(without.fit.shape.wander > 0 ? [NO_WANDER] : [])];
    let best: { frequency: number; cost: number } | null = null;
    for (const shape of looks) {
      for (const peak of peaksOf(spectrum(course, columns, shape), PEAKS)) {
        const refined = refine(course, columns, peak.frequency, 0.4 / span, shape);
        const taken = found.some((one) => Math.abs(one.frequency - refined.frequency) < 0.3 / span);
        if (refined.frequency < range.from || taken) continue;
        if (best === null || refined.cost < best.cost) best = refined;
      }
    }
    if (best === null) break;
    const withIt = likeliest(
      rows,
      [...columns, ...waveColumns(course, best.frequency)],
      data,
      leastScale,
      shapes,
    );
    const free = rows.seconds.length - columns.length - 2;
    const power = (((without.cost - withIt.cost) / 2) * free) / rows.seconds.length;
    const chance = power > 0 ? falseAlarm(power, rows.seconds, range) : 1;
    if (chance > SEEN_BELOW) break;
    found.push({ frequency: best.frequency, falseAlarm: chance });
    columns.push(...waveColumns(course, best.frequency));
    without = withIt;
  }
  return found;
}

/** The periodogram of a course under one shape of noise. */
export function spectrum(course: SearchedCourse, base: readonly Float64Array[], shape: NoiseShape) {
  const white = whitener(course.rows, shape);
  const count = course.data.length;
  const whitened = (column: Float64Array): Float64Array => {
    const out = new Float64Array(count);
    white.apply(column, out);
    return out;
  };
  const scaled = new Float64Array(count);
  return periodogram(
    course.rows.seconds,
    (column, out) => {
      for (let i = 0; i < count; i++) scaled[i] = column[i]! * course.cosDeclination[i]!;
      white.apply(scaled, out);
    },
    base.map(whitened),
    whitened(course.data),
    course.range,
  );
}

/** The frequency near a peak that fits best: golden section. */
function refine(
  course: SearchedCourse,
  columns: readonly Float64Array[],
  frequency: number,
  reach: number,
  shape: NoiseShape,
): { frequency: number; cost: number } {
  const cost = (at: number): number =>
    fitUnder(
      course.rows,
      shape,
      [...columns, ...waveColumns(course, at)],
      course.data,
      PRIOR,
      course.leastScale,
    ).likelihood;
  const golden = (Math.sqrt(5) - 1) / 2;
  let low = frequency - reach;
  let high = frequency + reach;
  let [a, b] = [high - golden * (high - low), low + golden * (high - low)];
  let [atA, atB] = [cost(a), cost(b)];
  for (let k = 0; k < 14; k++) {
    if (atA < atB) {
      [high, b, atB] = [b, a, atA];
      a = high - golden * (high - low);
      atA = cost(a);
    } else {
      [low, a, atA] = [a, b, atB];
      b = low + golden * (high - low);
      atB = cost(b);
    }
  }
  return atA < atB ? { frequency: a, cost: atA } : { frequency: b, cost: atB };
}

/** The usual distance between moments, seconds. */
export function usualStep(rows: TimedRows): number {
  const isStart = new Set(rows.starts);
  const steps: number[] = [];
  for (let i = 1; i < rows.seconds.length; i++)
    if (!isStart.has(i)) steps.push(rows.seconds[i]! - rows.seconds[i - 1]!);
  return median(steps);
}
