/**
 * What befalls a course besides the drive: a tube that was bumped, a picture that was misread, play that is taken up after the
 * drive was reversed. Found by medians of neighbours, so that one fault does not hide another.
 */
import type { CourseSegment } from "./drive-track.js";
import { SIDEREAL_ARCSEC } from "./predicted-course.js";
import { median } from "./wander.js";

/** Both ways of a course, predicted course taken off; not a number where a way was not seen. */
export interface BothWays {
  readonly west: Float64Array;
  readonly north: Float64Array;
}

/** The faults by the points' places in the whole course. */
export interface CourseFaults {
  /** Places at which the star jumped: a new offset begins there. */
  readonly bumps: readonly number[];
  readonly misread: ReadonlySet<number>;
  readonly play: readonly FoundPlay[];
}

/** Play taken up at the beginning of a stretch: the axis stands still and the star runs west at the full rate. */
interface FoundPlay {
  /** Index of the stretch. */
  readonly segment: number;
  /** How long the axis stood, seconds. */
  readonly seconds: number;
  /** Places of the moments in it: not part of the fit. */
  readonly places: readonly number[];
}

/** Neighbours on each side that a jump is judged by. */
const NEIGHBOURS = 4;
/** A jump or a misread moment stands out by so many standard deviations of the medians. */
const STANDS_OUT = 7;
/** Across a gap the course is only extrapolated: there more is asked. */
const STANDS_OUT_AT_GAP = 20;
const GAP = 3;
/** Play longer than this is no play, seconds (half a degree). */
const LONGEST_PLAY_S = 120;

/** A robust standard deviation: 1.4826 times the median distance (Hampel 1974). */
function spreadOf(values: readonly number[]): number {
  return 1.4826 * median(values.map(Math.abs));
}

/**
 * Looks through a course for what is not the drive's.
 *
 * @param segments - the stretches
 * @param ways - the course, predicted course taken off
 */
export function courseFaults(segments: readonly CourseSegment[], ways: BothWays): CourseFaults {
  const bumps = new Set<number>();
  const misread = new Set<number>();
  const play: FoundPlay[] = [];
  let from = 0;
  segments.forEach((segment, index) => {
    const count = segment.points.length;
    const seconds = segment.points.map((point) => point.seconds);
    const found = playOf(segment, ways.west.subarray(from, from + count), index, from);
    const skip = found === null ? 0 : found.places.length;
    if (found !== null) play.push(found);
    for (const way of [ways.west, ways.north]) {
      const values = Array.from(way.subarray(from, from + count));
      if (values.some(Number.isNaN)) continue;
      const jumps = jumpsOf(seconds.slice(skip), values.slice(skip));
      for (const at of jumps) bumps.add(from + skip + at);
      for (const at of misreadOf(values.slice(skip), new Set(jumps))) misread.add(from + skip + at);
    }
    from += count;
  });
  // Both ways see the same jump a moment apart at most.
  const places = [...bumps].sort((a, b) => a - b);
  return { bumps: places.filter((place, k) => k === 0 || place - places[k - 1]! > 1), misread, play };
}

function jumpsOf(seconds: readonly number[], values: readonly number[]): number[] {
  const count = values.length;
  if (count < 4 * NEIGHBOURS) return [];
  const step = median(seconds.slice(1).map((at, i) => at - seconds[i]!));
  const sizes: number[] = new Array(count).fill(0);
  for (let k = NEIGHBOURS; k + NEIGHBOURS <= count; k++) {
    // The slope from both sides' own pairs together: one misread moment among them does not matter, the jump is in none.
    const slope = median([
      ...slopesOf(seconds, values, k - NEIGHBOURS, k),
      ...slopesOf(seconds, values, k, k + NEIGHBOURS),
    ]);
    const before = median(range(k - NEIGHBOURS, k).map((i) => values[i]! - slope * seconds[i]!));
    const after = median(range(k, k + NEIGHBOURS).map((i) => values[i]! - slope * seconds[i]!));
    sizes[k] = after - before;
  }
  const spread = Math.max(spreadOf(sizes.slice(NEIGHBOURS, count - NEIGHBOURS + 1)), 1e-3);
  const jumps: number[] = [];
  for (let k = NEIGHBOURS; k + NEIGHBOURS <= count; k++) {
    const limit = seconds[k]! - seconds[k - 1]! > GAP * step ? STANDS_OUT_AT_GAP : STANDS_OUT;
    const size = Math.abs(sizes[k]!);
    if (size < limit * spread) continue;
    const around = range(Math.max(0, k - NEIGHBOURS), Math.min(count, k + NEIGHBOURS + 1));
    if (around.some((i) => Math.abs(sizes[i]!) > size)) continue;
    // Among equals the place where neighbours differ most.
    const place = around
      .filter((i) => i > 0 && Math.abs(sizes[i]!) > 0.6 * size)
      .reduce((best, i) =>
        Math.abs(values[i]! - values[i - 1]!) > Math.abs(values[best]! - values[best - 1]!) ? i : best,
      );
    if (jumps.at(-1) !== place && Math.abs(values[place]! - values[place - 1]!) > size / 2) jumps.push(place);
  }
  return jumps;
}

/** The slopes between all pairs of moments (Theil 1950). */
function slopesOf(seconds: readonly number[], values: readonly number[], from: number, to: number): number[] {
  const slopes: number[] = [];
  for (let i = from; i < to; i++) {
    for (let j = i + 1; j < to; j++) slopes.push((values[j]! - values[i]!) / (seconds[j]! - seconds[i]!));
  }
  return slopes;
}

function misreadOf(values: readonly number[], jumps: ReadonlySet<number>): number[] {
  const count = values.length;
  if (count < 4 * NEIGHBOURS) return [];
  const off = values.map((value, i) => {
    const near = [i - 2, i - 1, i + 1, i + 2].filter((k) => k >= 0 && k < count);
    return value - median(near.map((k) => values[k]!));
  });
  const spread = Math.max(spreadOf(off.slice(2, count - 2)), 1e-3);
  return range(2, count - 2).filter(
    (i) => Math.abs(off[i]!) > STANDS_OUT * spread && ![-2, -1, 0, 1, 2].some((near) => jumps.has(i + near)),
  );
}

/** Play at the beginning of a stretch: the first moments lie east of the later course by the way still to run. */
function playOf(segment: CourseSegment, west: Float64Array, index: number, first: number): FoundPlay | null {
  const { points } = segment;
  const rate = SIDEREAL_ARCSEC * Math.cos(segment.start.declination);
  const begin = points[0]!.seconds;
  const late = points.flatMap((point, i) =>
    Number.isFinite(west[i]!) && (point.seconds - begin > LONGEST_PLAY_S || i >= 6) ? [i] : [],
  );
  // Judged by the next moments only, so that periodic errors do not matter.
  const judges = late.slice(0, 10);
  if (judges.length < 6 || rate < 1) return null;
  const seconds = points.map((point) => point.seconds);
  const slopes: number[] = [];
  for (const i of judges)
    for (const j of judges) if (j > i) slopes.push((west[j]! - west[i]!) / (seconds[j]! - seconds[i]!));
  const slope = median(slopes);
  const height = median(judges.map((i) => west[i]! - slope * seconds[i]!));
  const spread = Math.max(spreadOf(judges.map((i) => west[i]! - slope * seconds[i]! - height)), 0.05);
  // Extrapolating backwards is unsure by the slope's own spread.
  const reach = seconds[judges.at(-1)!]! - seconds[judges[0]!]!;
  const told: number[] = [];
  const places: number[] = [];
  for (let i = 0; i < judges[0]!; i++) {
    const behind = height + slope * seconds[i]! - west[i]!;
    const unsure = spread * (1 + (seconds[judges[0]!]! - seconds[i]!) / reach);
    if (!(behind > STANDS_OUT * unsure)) break;
    told.push(seconds[i]! - begin + behind / rate);
    places.push(first + i);
  }
  if (told.length === 0) return null;
  const length = median(told);
  if (length > LONGEST_PLAY_S) return null;
  // Several moments in it must lie on a line of the full rate.
  if (told.some((one) => Math.abs(one - length) > (STANDS_OUT * spread) / rate + 0.1 * length)) return null;
  return { segment: index, seconds: length, places };
}

function range(from: number, to: number): number[] {
  return Array.from({ length: Math.max(0, to - from) }, (_, k) => from + k);
}
