/**
 * When it is night.
 */
import { DEGREE } from "../angles.js";
import type { Site } from "../sky/site.js";
import { sunDirection } from "../sky/sun-and-moon.js";
import { DAY_MS } from "../sky/time.js";

/** Nautical twilight ends: the catalogue's stars are seen in a finder (common practice). */
const DARK_SUN_ALTITUDE_DEG = -12;

const STEP_MS = 600_000;

/** A span of time, milliseconds of UTC since 1970. */
export interface TimeSpan {
  readonly fromMs: number;
  readonly toMs: number;
}

/**
 * The first night after a moment: while the Sun is lower than 12° under the horizon, to ten minutes.
 *
 * @param site - the place
 * @param afterMs - milliseconds of UTC since 1970; choose noon or so, for a night that has begun counts from then on
 * @returns null where the Sun does not go so low within the next day
 */
export function darkSpan(site: Site, afterMs: number): TimeSpan | null {
  const dark = (timeMs: number): boolean =>
    sunDirection(timeMs, site).altitude < DARK_SUN_ALTITUDE_DEG * DEGREE;
  let fromMs = afterMs;
  while (!dark(fromMs)) {
    fromMs += STEP_MS;
    if (fromMs > afterMs + DAY_MS) return null;
  }
  let toMs = fromMs;
  while (toMs < fromMs + DAY_MS && dark(toMs + STEP_MS)) toMs += STEP_MS;
  return { fromMs, toMs };
}
