/**
 * When a target stands where: above the horizon's profile, inside the limits, highest.
 */
import { DEGREE } from "../angles.js";
import { InputError } from "../errors.js";
import { horizonAltitude } from "../mount/limits.js";
import type { Limits } from "../mount/mount.js";
import type { SkyOverNight } from "../sky/sky-over-night.js";
import type { ObservedDirection } from "../sky/star.js";
import { DAY_MS, formatTime, TIME_RANGE_MS } from "../sky/time.js";
import type { Target } from "./target.js";

/** Samples are this far apart, milliseconds; what lasts shorter may be missed. */
const SAMPLE_MS = 4 * 60_000;
/** Times are found to this, milliseconds. */
const EXACT_MS = 250;

/** A change from not holding to holding, or back. */
export interface Change {
  readonly timeMs: number;
  readonly begins: boolean;
}

/**
 * When something begins and ceases to hold in a span of time.
 *
 * @param holds - at a time, milliseconds
 * @param sampleMs - how often to look
 * @param exactMs - how exactly the changes are found
 * @returns in order of time
 */
export function changesOf(
  holds: (timeMs: number) => boolean,
  fromMs: number,
  toMs: number,
  sampleMs = SAMPLE_MS,
  exactMs = EXACT_MS,
): Change[] {
  const changes: Change[] = [];
  let before = fromMs;
  let held = holds(fromMs);
  while (before < toMs) {
    const after = Math.min(toMs, before + sampleMs);
    const holdsAfter = holds(after);
    if (holdsAfter !== held) {
      let low = before;
      let high = after;
      while (high - low > exactMs) {
        const middle = (low + high) / 2;
        if (holds(middle) === held) low = middle;
        else high = middle;
      }
      changes.push({ timeMs: (low + high) / 2, begins: holdsAfter });
      held = holdsAfter;
    }
    before = after;
  }
  return changes;
}

/** Whether a direction stands above the horizon's profile (a free horizon where there is none). */
export function aboveProfile(direction: ObservedDirection, limits: Limits): boolean {
  return direction.altitude > horizonAltitude(limits.horizon, direction.azimuth / DEGREE) * DEGREE;
}

/** When a target rises above and sets below the horizon's profile. */
export interface RiseAndSet {
  /** Whether it is above the profile at the beginning. */
  readonly up: boolean;
  /** The next time that it rises, milliseconds of UTC; null where it does not within a day. */
  readonly risesMs: number | null;
  /** The next time that it sets; null where it does not within a day. */
  readonly setsMs: number | null;
}

/**
 * When a target next rises above and sets below the horizon's profile, within a day.
 *
 * @param sky - frames around that time
 * @example
 * ```ts
 * riseAndSet(targetNamed("Canopus"), skyOverNight(timeMs, timeMs + 86_400_000, site), mount.limits, timeMs)
 * ```
 */
export function riseAndSet(target: Target, sky: SkyOverNight, limits: Limits, timeMs: number): RiseAndSet {
  const up = (at: number): boolean => aboveProfile(target.observe(sky.at(at)), limits);
  const changes = changesOf(up, timeMs, timeMs + DAY_MS);
  return {
    up: up(timeMs),
    risesMs: changes.find((change) => change.begins)?.timeMs ?? null,
    setsMs: changes.find((change) => !change.begins)?.timeMs ?? null,
  };
}

/** ISO 8601 to the second. */
export function formatSecond(timeMs: number): string {
  return formatTime(1000 * Math.round(timeMs / 1000));
}

/**
 * Refuses times for which no place in the sky is computed.
 *
 * @throws {@link InputError} `time-out-of-range`
 */
export function refuseOutside(timesMs: readonly number[]): void {
  // A day is left for what rises and sets after it.
  const [first, end] = [TIME_RANGE_MS[0], TIME_RANGE_MS[1] - DAY_MS];
  const faults = timesMs
    .filter((timeMs) => !(timeMs >= first && timeMs < end))
    .map((timeMs) => ({
      code: "time-out-of-range",
      found: Number.isNaN(new Date(timeMs).getTime()) ? `${timeMs} ms` : formatTime(timeMs),
      allowed: `a time from ${formatTime(first)} to ${formatTime(end)}`,
      message: "The time is outside the years that are covered.",
    }));
  if (faults.length > 0) throw new InputError(faults);
}
