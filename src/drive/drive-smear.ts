/**
 * What the drive's errors smear in an exposure: how far a star on the equator goes to and fro between any two moments of it, at the
 * worst beginning.
 */
import { SIDEREAL_ARCSEC } from "./predicted-course.js";

/** One periodic error of the drive, at the equator. */
export interface Wave {
  readonly periodS: number;
  readonly amplitudeArcsec: number;
  /** Of the cosine and the sine, counted from the same moment for all waves. */
  readonly cosine: number;
  readonly sine: number;
}

/** A smear for an exposure. */
export interface SmearAt {
  readonly seconds: number;
  /** At the worst beginning, the rate as it is. */
  readonly arcsec: number;
  /** The same with the rate corrected: the periodic error alone. */
  readonly periodicArcsec: number;
}

/** What people set on a shutter, seconds. */
export const SMEAR_SECONDS = [1, 2, 5, 10, 15, 20, 30, 60, 120, 180, 300, 600, 1200, 1800, 3600] as const;

const MOST_SAMPLES = 4000;

/** West of the star by the waves alone, sampled over the time in which they come together in all ways that matter. */
function sampled(waves: readonly Wave[], longestS: number): { values: Float64Array; stepS: number } {
  const shortest = Math.min(...waves.map((wave) => wave.periodS));
  const longest = Math.max(...waves.map((wave) => wave.periodS));
  const span = Math.max(3 * longest, 1.5 * longestS);
  const stepS = Math.max(shortest / 24, span / MOST_SAMPLES);
  const count = Math.ceil(span / stepS) + 1;
  const values = new Float64Array(count);
  for (const wave of waves) {
    const angular = (2 * Math.PI) / wave.periodS;
    for (let i = 0; i < count; i++)
      values[i]! += wave.cosine * Math.cos(angular * i * stepS) + wave.sine * Math.sin(angular * i * stepS);
  }
  return { values, stepS };
}

/** From the lowest to the highest of all waves together, arcseconds at the equator. */
export function peakToPeak(waves: readonly Wave[]): number {
  if (waves.length === 0) return 0;
  const { values } = sampled(waves, 0);
  return values.reduce((a, b) => Math.max(a, b)) - values.reduce((a, b) => Math.min(a, b));
}

/** The largest difference between any two moments of a window, over all windows of one length. */
function worstRange(values: Float64Array, width: number): number {
  // Highest and lowest of a sliding window by two queues (monotone, as in every textbook of algorithms).
  const high: number[] = [];
  const low: number[] = [];
  let [highAt, lowAt, worst] = [0, 0, 0];
  for (let i = 0; i < values.length; i++) {
    while (high.length > highAt && values[high.at(-1)!]! <= values[i]!) high.pop();
    while (low.length > lowAt && values[low.at(-1)!]! >= values[i]!) low.pop();
    high.push(i);
    low.push(i);
    if (high[highAt]! < i - width) highAt += 1;
    if (low[lowAt]! < i - width) lowAt += 1;
    worst = Math.max(worst, values[high[highAt]!]! - values[low[lowAt]!]!);
  }
  return worst;
}

/**
 * The smear of an exposure at the equator, at its worst beginning, arcseconds.
 *
 * @param errorPpm - how much too fast the drive runs
 */
export function driveSmear(waves: readonly Wave[], errorPpm: number, seconds: number): number {
  const rate = -errorPpm * 1e-6 * SIDEREAL_ARCSEC;
  if (waves.length === 0) return Math.abs(rate) * seconds;
  const { values, stepS } = sampled(waves, seconds);
  for (let i = 0; i < values.length; i++) values[i]! += rate * i * stepS;
  // A window between two samples' widths: in proportion.
  const width = seconds / stepS;
  const whole = Math.floor(width);
  const below = whole === 0 ? 0 : worstRange(values, whole);
  const above = worstRange(values, whole + 1);
  return below + (width - whole) * (above - below);
}

/** Smears for usual exposures. */
export function smearTable(waves: readonly Wave[], errorPpm: number): SmearAt[] {
  return SMEAR_SECONDS.map((seconds) => ({
    seconds,
    arcsec: driveSmear(waves, errorPpm, seconds),
    periodicArcsec: driveSmear(waves, 0, seconds),
  }));
}

const LONGEST_S = 4 * 3600;

/** The longest exposure whose smear stays within a limit, seconds; four hours where it always does. */
export function longestWithin(waves: readonly Wave[], errorPpm: number, limitArcsec: number): number {
  if (driveSmear(waves, errorPpm, LONGEST_S) <= limitArcsec) return LONGEST_S;
  let [inside, outside] = [0, LONGEST_S];
  for (let k = 0; k < 40 && outside - inside > 1e-3 * outside; k++) {
    const middle = inside === 0 ? outside / 4 : Math.sqrt(inside * outside);
    if (driveSmear(waves, errorPpm, middle) <= limitArcsec) inside = middle;
    else outside = middle;
    if (outside < 0.05) break;
  }
  return inside;
}
