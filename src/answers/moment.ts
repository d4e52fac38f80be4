import { parseTime } from "../sky/time.js";

/**
 * A moment: ISO 8601 with a zone (without one only where the mount file names the site's), `now`, a Date, or
 * milliseconds of UTC since 1970.
 */
export type Moment = string | Date | number;

/**
 * A moment as milliseconds of UTC since 1970.
 *
 * @param moment - the moment
 * @param site - where it is meant; its zone is that of a time without one
 * @throws InputError for a text that is no time, or has no zone where the site names none
 */
export function momentMs(moment: Moment, site: { readonly timeZone?: string | null } = {}): number {
  if (moment === "now") return Date.now();
  if (typeof moment === "string") return parseTime(moment, site.timeZone ?? null);
  return typeof moment === "number" ? moment : moment.getTime();
}
