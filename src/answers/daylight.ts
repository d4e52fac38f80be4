/** Tilt, true north by the shadow and by compass, before the first star. */
import { type Daylight, type DaylightOptions, daylight as plainDaylight } from "../daylight/daylight.js";
import type { Mount } from "../mount/mount.js";
import { clockOf } from "../report/clock.js";
import { daylightReport } from "../report/daylight-report.js";
import { setOut } from "../report/report.js";
import { question } from "./answer.js";
import { given } from "./given.js";
import { type Moment, momentMs } from "./moment.js";
import { printable } from "./printable.js";
import { flag, needed, number, onlyWith, onlyWithout, positive, text, time } from "./takes.js";

/**
 * What can be set by daylight: the axis's tilt, north by the Sun's shadow, north by a compass.
 *
 * @param mount - the mount
 * @param at - a time of the day in question
 * @param options - the tilt as measured, and the finder's field
 * @throws InputError with every option that is out of range
 * @example
 * ```ts
 * daylight(mount, "2026-03-14T09:00:00Z", { measuredTiltDeg: 30.2 }).tilt.tiltDeg // 30
 * ```
 */
export function daylight(mount: Mount, at: Moment, options: DaylightOptions = {}): Daylight {
  const answer = plainDaylight(mount, momentMs(at, mount.site), options);
  return printable({ ...answer }, () => daylightReport(answer));
}

/** `polewright daylight --at TIME`. */
export const byDaylight = question({
  name: "daylight",
  asks: "tilt, true north by the shadow and by compass, before the first star",
  example: "polewright daylight --at 2026-03-14T09:00:00Z --tilt 29.6 --mount my-telescope/mount.json",
  takes: {
    mount: text("file", "the mount file (default: mount.json in this folder)"),
    at: needed(time("the day, ISO 8601 with its zone (or the site's), or now")),
    tilt: number("degrees", "the axis's tilt as measured"),
    finder: positive("degrees", "the finder's field"),
    ...onlyWith(
      "tilt",
      onlyWithout("json", { why: flag("the reasons of the turns, and the cautions in full") }),
    ),
  },
  ask({ mount: mountPath, at, tilt, finder }, read) {
    const mount = read.mount(mountPath);
    const options = given({ measuredTiltDeg: tilt, finderFieldDeg: finder });
    return plainDaylight(mount, momentMs(at, mount.site), options);
  },
  draw: async ({ timeZone, shadow }) => {
    if (shadow.table.length === 0) return [];
    const { shadowByHour } = await import("../plots/plots.js");
    const clock = clockOf(timeZone, shadow.localNoon, true);
    return [shadowByHour(shadow.table, (at) => clock.time(at))];
  },
  say: (answer, { why }) => [why ? setOut(daylightReport(answer)) : daylightReport(answer)],
  json: (answer) => ({ ...answer }),
});
