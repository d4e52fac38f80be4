/**
 * Civil time where the telescope stands: what a clock on the wall shows, and back.
 *
 * Rules of the zones: the IANA time zone database, as the JavaScript engine carries it.
 */
import { tzOffset } from "@date-fns/tz/tzOffset";

const MINUTE_MS = 60_000;
const DAY_MS = 86_400_000;

/** Whether a name is that of a zone: an IANA name, not hours from UTC. */
export function isTimeZone(name: string): boolean {
  return /^[A-Za-z][A-Za-z0-9_+/-]*$/.test(name) && Number.isFinite(tzOffset(name, new Date(0)));
}

/** How far a zone's clocks are ahead of UTC at a moment, minutes. */
export function zoneOffsetMinutes(timeZone: string, timeMs: number): number {
  return tzOffset(timeZone, new Date(timeMs));
}

/**
 * The moments at which clocks of a zone show a time: one; none where they were put forward over it; two where they were put back.
 *
 * @param wallMs - what the clocks show, as milliseconds of a clock that shows UTC
 * @returns milliseconds of UTC, in order
 */
export function momentsOfClock(timeZone: string, wallMs: number): number[] {
  // A zone changes its offset at most once in two days.
  const offsets = [wallMs - DAY_MS, wallMs + DAY_MS].map((timeMs) => zoneOffsetMinutes(timeZone, timeMs));
  const moments = [...new Set(offsets)].map((minutes) => wallMs - minutes * MINUTE_MS);
  return moments
    .filter((timeMs) => timeMs + zoneOffsetMinutes(timeZone, timeMs) * MINUTE_MS === wallMs)
    .sort((a, b) => a - b);
}

/** What a clock on the wall shows. */
export interface WallClock {
  /** `2026-03-14`. */
  readonly date: string;
  /** `21:22:10`. */
  readonly time: string;
  /** `+02:00`. */
  readonly offset: string;
}

/**
 * What the clocks of a zone show at a moment, to the second.
 *
 * @param timeMs - milliseconds of UTC since 1970
 * @param timeZone - an IANA name; null for UTC
 * @example
 * ```ts
 * wallClock(parseTime("2026-03-14T19:22:10Z"), "Africa/Johannesburg").time; // "21:22:10"
 * ```
 */
export function wallClock(timeMs: number, timeZone: string | null): WallClock {
  const minutes = timeZone === null ? 0 : zoneOffsetMinutes(timeZone, timeMs);
  const shown = new Date(1000 * Math.round((timeMs + minutes * MINUTE_MS) / 1000)).toISOString();
  return { date: shown.slice(0, 10), time: shown.slice(11, 19), offset: offsetText(minutes) };
}

/** `+02:00`, `-03:30`. */
export function offsetText(minutes: number): string {
  const size = Math.round(Math.abs(minutes));
  const two = (value: number): string => String(value).padStart(2, "0");
  return `${minutes < 0 ? "-" : "+"}${two(Math.floor(size / 60))}:${two(size % 60)}`;
}
