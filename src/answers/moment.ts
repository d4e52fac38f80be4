import { parseTime } from "../sky/time.js";

/** A moment: ISO 8601 with a zone, `now`, a Date, or milliseconds of UTC since 1970. */
export type Moment = string | Date | number;

/**
 * A moment as milliseconds of UTC since 1970.
 *
 * @throws InputError for a text that is no time, or has no zone
 */
export function momentMs(moment: Moment): number {
  if (moment === "now") return Date.now();
  if (typeof moment === "string") return parseTime(moment);
  return typeof moment === "number" ? moment : moment.getTime();
}
