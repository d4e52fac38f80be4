/**
 * Times: ISO 8601 text with a zone, and milliseconds of UTC since 1970-01-01T00:00:00Z (86 400 000 to a day,
 * as POSIX and JavaScript count).
 */
import { type Fault, InputError, shown } from "../errors.js";
import { momentsOfClock, offsetText, zoneOffsetMinutes } from "./zone.js";

/** The first and the last year that are taken: the apparent places are tested over these. */
const FIRST_YEAR = 1900;
const LAST_YEAR = 2100;

const START_MS = Date.UTC(FIRST_YEAR, 0, 1);
const END_MS = Date.UTC(LAST_YEAR + 1, 0, 1);
const MINUTE_MS = 60_000;
/** A day, milliseconds. */
export const DAY_MS = 86_400_000;
/** The zones in use reach from −12:00 to +14:00. */
const MOST_OFFSET_MINUTES = 14 * 60;

const DATE = /(\d{4})-(\d{2})-(\d{2})|(\d{4})(\d{2})(\d{2})/;
const CLOCK = /(\d{2}):(\d{2})(?::(\d{2})(?:[.,](\d+))?)?|(\d{2})(\d{2})(?:(\d{2})(?:[.,](\d+))?)?/;
const ZONE = /Z|([+-])(\d{2})(?::?(\d{2}))?/;
const ISO = new RegExp(`^(?:${DATE.source})(?:T| )(?:${CLOCK.source})(.*)$`, "is");
const WHOLE_ZONE = new RegExp(`^(?:${ZONE.source})$`, "i");

const ALLOWED =
  "ISO 8601 with date, time and zone, for instance 2026-03-14T19:22:10Z or 2026-03-14T21:22:10+02:00";

function notIso(text: string, message: string): Fault {
  return { code: "time-not-iso", found: shown(text), allowed: ALLOWED, message };
}

function withoutZone(text: string, message: string): Fault {
  return {
    code: "time-without-zone",
    found: shown(text),
    allowed: `${ALLOWED}; or name the site's timeZone in the mount file. The zone is never guessed: an hour's error is 15° of hour angle`,
    message,
  };
}

function outOfRange(found: string): Fault {
  return {
    code: "time-out-of-range",
    found,
    allowed: `the years ${FIRST_YEAR} to ${LAST_YEAR}`,
    message: "The time is outside the years that are covered.",
  };
}

/** A time of the zone that its clocks do not show, or show twice. */
function notOnce(text: string, timeZone: string, moments: readonly number[]): Fault {
  const spelt = moments.map((timeMs) => offsetText(zoneOffsetMinutes(timeZone, timeMs)));
  return moments.length === 0
    ? {
        code: "time-missing",
        found: shown(text),
        allowed: `a time that the clocks of ${timeZone} show, or a time with its hours from UTC`,
        message: `The clocks of ${timeZone} were put forward over this time, so it never was.`,
      }
    : {
        code: "time-doubled",
        found: shown(text),
        allowed: `the same with ${spelt.join(" (before the clocks were put back) or ")} (after)`,
        message: `The clocks of ${timeZone} showed this time twice, for they were put back.`,
      };
}

/**
 * Reads a time, giving the fault as data where it cannot be read.
 * Takes and gives what {@link parseTime} does.
 *
 * @returns milliseconds of UTC since 1970, or the fault
 */
export function readTime(text: string, timeZone: string | null = null): number | Fault {
  const trimmed = text.trim();
  const match = ISO.exec(trimmed);
  if (match === null) {
    if (/^\d{4}-?\d{2}-?\d{2}$/.test(trimmed)) return notIso(text, "The date has no time of day.");
    return notIso(text, "This is not a time in ISO 8601.");
  }
  const field = (extended: number, basic: number) => match[extended] ?? match[basic] ?? "";
  const year = Number(field(1, 4));
  const month = Number(field(2, 5));
  const day = Number(field(3, 6));
  const hour = Number(field(7, 11));
  const minute = Number(field(8, 12));
  const second = Number(field(9, 13) || 0);
  const fraction = Number(`0.${field(10, 14) || 0}`);

  const zoneText = (match[15] ?? "").trim().replace(/\u2212/g, "-");
  if (zoneText === "" && timeZone === null) return withoutZone(text, "The time has no zone.");
  const zone = WHOLE_ZONE.exec(zoneText);
  if (zone === null && zoneText !== "") {
    return /^[a-z/_]+$/i.test(zoneText)
      ? withoutZone(text, "The name of a zone is ambiguous; give Z or the hours from UTC.")
      : notIso(text, "What follows the time is not a zone.");
  }
  const zoneHours = Number(zone?.[2] ?? 0);
  const zoneMinutes = Number(zone?.[3] ?? 0);
  let offsetMinutes = (zone?.[1] === "-" ? -1 : 1) * (zoneHours * 60 + zoneMinutes);
  if (zoneMinutes > 59 || Math.abs(offsetMinutes) > MOST_OFFSET_MINUTES) {
    return notIso(text, "There is no such zone.");
  }

  if (month < 1 || month > 12) return notIso(text, "There is no such month.");
  if (day < 1 || day > daysInMonth(year, month)) return notIso(text, "There is no such day in that month.");
  const endOfDay = hour === 24 && minute === 0 && second === 0 && fraction === 0;
  if ((hour > 23 && !endOfDay) || minute > 59 || second > 60) {
    return notIso(text, "There is no such time of day.");
  }
  if (zone === null && timeZone !== null) {
    const wallMs = utcOf(year, month, day) + (hour * 60 + minute) * MINUTE_MS;
    const moments = momentsOfClock(timeZone, wallMs);
    if (moments.length !== 1) return notOnce(text, timeZone, moments);
    offsetMinutes = (wallMs - moments[0]!) / MINUTE_MS;
  }
  const minuteMs = utcOf(year, month, day) + (hour * 60 + minute - offsetMinutes) * MINUTE_MS;
  if (second === 60 && !endsMonth(minuteMs)) {
    return notIso(text, "A 60th second comes only at 23:59 UTC on the last day of a month.");
  }
  const timeMs = minuteMs + 1000 * (second + fraction);
  if (timeMs < START_MS || timeMs >= END_MS) return outOfRange(shown(text));
  return timeMs;
}

/** Date.UTC takes the years 0 to 99 as 1900 to 1999; this does not. */
function utcOf(year: number, month: number, day: number): number {
  const date = new Date(0);
  date.setUTCFullYear(year, month - 1, day);
  return date.getTime();
}

function daysInMonth(year: number, month: number): number {
  return new Date(utcOf(year, month + 1, 1) - 1).getUTCDate();
}

/** Whether that minute is the last one of a month, UTC: only there a leap second is put in. */
function endsMonth(minuteMs: number): boolean {
  const next = new Date(minuteMs + MINUTE_MS);
  return next.getUTCDate() === 1 && next.getUTCHours() === 0 && next.getUTCMinutes() === 0;
}

/**
 * Milliseconds of UTC from a time in ISO 8601. A zone is required (`Z`, `+02:00`, `+0200`, `+02`) and never guessed; a time
 * without one is that of `timeZone`, where the site names it, and is refused where its clocks show it twice or never.
 * The extended (`2026-03-14T19:22:10Z`) and the basic format (`20260314T192210Z`) are taken; a space may stand for
 * the `T`, a comma for the decimal point, seconds may be missing. A leap second (23:59:60 UTC) counts as the second
 * that follows it: the two share their milliseconds, as in POSIX time.
 *
 * @param timeZone - the IANA name of the site's zone, or null
 * @returns milliseconds since 1970-01-01T00:00:00Z
 * @throws {@link InputError} with one fault: `time-without-zone`, `time-doubled`, `time-missing`, `time-not-iso` or
 * `time-out-of-range` (before 1900, after 2100)
 * @example
 * ```ts
 * parseTime("2026-03-14T21:22:10+02:00"); // 1773516130000
 * ```
 */
export function parseTime(text: string, timeZone: string | null = null): number {
  const time = readTime(text, timeZone);
  if (typeof time !== "number") throw new InputError(time);
  return time;
}

/**
 * A time as ISO 8601 in UTC, to the millisecond where it has a fraction of a second.
 *
 * @param timeMs - milliseconds since 1970-01-01T00:00:00Z
 * @throws {@link InputError} with the fault `time-out-of-range` for what is no time between 1900 and 2100
 * @example
 * ```ts
 * formatTime(1773516130000); // "2026-03-14T19:22:10Z"
 * ```
 */
export function formatTime(timeMs: number): string {
  const whole = Math.round(timeMs);
  if (!(whole >= START_MS && whole <= END_MS)) throw new InputError(outOfRange(`${timeMs} ms`));
  return new Date(whole).toISOString().replace(".000Z", "Z");
}

/** The start of the years covered and their end, milliseconds of UTC. */
export const TIME_RANGE_MS: readonly [number, number] = [START_MS, END_MS];
