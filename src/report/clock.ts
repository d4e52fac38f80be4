/**
 * Times as a builder's clock shows them: local first, UTC small beside it.
 */
import { offsetText, wallClock, zoneOffsetMinutes } from "../sky/zone.js";

/** How the times of a report are written. */
export interface Clock {
  /** The time of day, `21:22:10`, or `21:22` where every time of the report is a whole minute. */
  time(iso: string): string;
  /** The same with the date before it where it is another one than that of `now`. */
  timeFrom(iso: string, now: string): string;
  /** The date, `2026-03-14`. */
  date(iso: string): string;
  /** Date and time of day, with UTC behind it where the clocks show another time. */
  moment(iso: string): string;
  /** The time of day in UTC; an empty string where the clocks show UTC. */
  utc(iso: string): string;
  /** One sentence: which clocks. */
  readonly sentence: string;
  readonly isLocal: boolean;
}

/**
 * Writes times for a site.
 *
 * @param timeZone - the IANA name of the site's zone; null for UTC
 * @param at - a time of the report, ISO 8601: whose hours from UTC are stated
 * @param inMinutes - whether seconds are left out
 */
export function clockOf(timeZone: string | null, at: string, inMinutes = false): Clock {
  const shownAt = (iso: string) => wallClock(Date.parse(iso), timeZone);
  const time = (iso: string): string => shownAt(iso).time.slice(0, inMinutes ? 5 : 8);
  const utcTime = (iso: string): string => iso.slice(11, inMinutes ? 16 : 19);
  const isLocal = timeZone !== null;
  return {
    isLocal,
    time,
    timeFrom: (iso, now) => {
      const { date } = shownAt(iso);
      return date === shownAt(now).date ? time(iso) : `${date.slice(5)} ${time(iso)}`;
    },
    date: (iso) => shownAt(iso).date,
    moment: (iso) => {
      const { date } = shownAt(iso);
      return isLocal ? `${date} ${time(iso)} (${utcTime(iso)} UTC)` : `${date} ${time(iso)} UTC`;
    },
    utc: (iso) => (isLocal ? utcTime(iso) : ""),
    sentence: isLocal
      ? `Times are local, ${timeZone} (UTC${offsetText(zoneOffsetMinutes(timeZone, Date.parse(at)))}).`
      : "Times are UTC.",
  };
}

/** Whether all times are whole minutes. */
export function inWholeMinutes(times: readonly string[]): boolean {
  return times.every((iso) => iso.slice(17, 19) === "00");
}
