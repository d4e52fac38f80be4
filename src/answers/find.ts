/** Readings for tonight's objects, one by one or as a list for the evening. */
import { InputError, shown } from "../errors.js";
import { type ClassList, classList as plainClassList, type WholeList } from "../find/class-list.js";
import { type Finding, type FindOptions, findTargets as plainFindTargets } from "../find/find.js";
import { timetable as plainTimetable, type Timetable } from "../find/timetable.js";
import type { Mount } from "../mount/mount.js";
import { readingFromText } from "../mount/readings.js";
import type { SkyTarget } from "../plots/targets-sky.js";
import type { PresentReadings } from "../pointing/axis-move.js";
import type { MountStanding } from "../pointing/known-mount.js";
import { classListCsv, classListReport } from "../report/class-list-report.js";
import { findReport } from "../report/find-report.js";
import { timetableCsv, timetableReport } from "../report/timetable-report.js";
import { question, WrongUsage } from "./answer.js";
import { type Moment, momentMs } from "./moment.js";
import { mountOption, nightPlace } from "./night.js";
import { printable } from "./printable.js";
import { knownTonight } from "./standing.js";
import { flag, needed, onlyWith, onlyWithout, places, positive, text, time } from "./takes.js";

/**
 * Finds targets: the readings to set, how high they stand, and whether they will be in the field.
 *
 * @param standing - how the mount stands: a fit or a kept model
 * @param at - when
 * @param targets - names (`M 42`, `Jupiter`, `Canopus`) or coordinates
 * @throws InputError with a fault for every target that is not known; `sun-refused` for the Sun
 * @example
 * ```ts
 * findTargets(fit, "2026-03-21T19:30:00Z", ["M 42", "Jupiter"]).found.length // 2
 * ```
 */
export function findTargets(
  standing: MountStanding,
  at: Moment,
  targets: readonly string[],
  options: FindOptions = {},
): Finding {
  const finding = plainFindTargets(
    standing.mount,
    standing,
    momentMs(at, standing.mount.site),
    targets,
    options,
  );
  return printable({ ...finding }, () => findReport(finding));
}

/**
 * A list for a class evening: what can be shown, when each is best placed, the readings to set then.
 *
 * @param standing - how the mount stands: a fit or a kept model
 * @param from - when the evening begins
 * @param to - when it ends
 * @param targets - names or coordinates, or `"messier"` for all of Messier's list, or `"showpieces"` for that and the
 *   showpieces outside it, most of them southern
 * @throws InputError `evening-times`, and a fault for every target that is not known
 * @example
 * ```ts
 * classList(fit, "2026-03-21T18:00:00Z", "2026-03-21T20:00:00Z", ["M 42", "M 41"]).entries.length // 2
 * ```
 */
export function classList(
  standing: MountStanding,
  from: Moment,
  to: Moment,
  targets: readonly string[] | WholeList,
): ClassList {
  const list = plainClassList(
    standing.mount,
    standing,
    momentMs(from, standing.mount.site),
    momentMs(to, standing.mount.site),
    targets,
  );
  return printable({ ...list }, () => classListReport(list));
}

/**
 * A timetable for a class evening: an object for each slot, the readings at the slot's middle, what to look for.
 *
 * @param standing - how the mount stands: a fit or a kept model
 * @param from - when the first slot begins
 * @param to - when the last one ends at the latest
 * @param targets - as for {@link classList}
 * @param minutesEach - how long each object has
 * @throws InputError `evening-times`, `slot-length`, and a fault for every target where none is known
 * @example
 * ```ts
 * timetable(fit, "2026-03-21T18:00:00Z", "2026-03-21T20:00:00Z", ["M 42", "M 41"], 10).slots.length // 12
 * ```
 */
export function timetable(
  standing: MountStanding,
  from: Moment,
  to: Moment,
  targets: readonly string[] | WholeList,
  minutesEach = 10,
): Timetable {
  const { mount } = standing;
  const [fromMs, toMs] = [momentMs(from, mount.site), momentMs(to, mount.site)];
  const table = plainTimetable(mount, standing, fromMs, toMs, targets, minutesEach);
  return printable({ ...table }, () => timetableReport(table));
}

/** `polewright find NIGHT.csv --at TIME TARGET…`; with `--until` the list for an evening. */
export const find = question({
  name: "find",
  asks: "readings for stars, planets, the Moon, clusters, nebulae, galaxies or coordinates",
  example: 'polewright find my-telescope/night.csv "M 42" Jupiter --at 2026-03-14T20:00:00Z',
  takes: {
    night: nightPlace,
    targets: places("targets", "names, or coordinates"),
    mount: mountOption,
    at: needed(time("when, ISO 8601 with its zone (or the site's), or now")),
    until: time("a list for the evening from --at to this time; without targets, of every showpiece"),
    model: text("file", "a kept model; the night then only sets the zeros"),
    csv: text("file", "write the evening's list as CSV (with --until)"),
    ...onlyWith("until", {
      minutesEach: positive("minutes", "a timetable: so long for each object, with what to look for"),
    }),
    ...onlyWithout("until", {
      now: text(
        "readings",
        "both axes' present readings, with a comma between; and ,beyond where the tube is turned over",
      ),
      daylight: flag("while the Sun is up, never within 30° of it"),
    }),
  },
  ask({ night, targets, mount: mountPath, at, until, model, csv, minutesEach, now, daylight }, read) {
    if (until === undefined && csv !== undefined) {
      throw new WrongUsage("error: option --csv writes the evening's list, so it needs --until as well");
    }
    if (until === undefined && targets.length === 0) {
      throw new WrongUsage("error: name a target, or give --until for the evening's list");
    }
    const { mount, standing, notes } = knownTonight(read, mountPath, night, model);
    if (until !== undefined) {
      const wanted = targets.length > 0 ? targets : "showpieces";
      const [fromMs, untilMs] = [momentMs(at, mount.site), momentMs(until, mount.site)];
      if (minutesEach !== undefined) {
        const table = plainTimetable(mount, standing, fromMs, untilMs, wanted, minutesEach);
        const shown = table.slots.flatMap(({ entry, middle }) =>
          entry === null ? [] : [seen(entry, `shown at ${middle}`)],
        );
        return {
          notes,
          mount,
          shown,
          toDraw: table.slots.flatMap(({ entry }) => (entry === null ? [] : [shortName(entry.target)])),
          json: table,
          report: timetableReport(table),
          csv: () => timetableCsv(table),
        };
      }
      const list = plainClassList(mount, standing, fromMs, untilMs, wanted);
      const shown = list.entries.map((entry) => seen(entry, `best at ${entry.best}`));
      return {
        notes,
        mount,
        shown,
        json: list,
        report: classListReport(list),
        csv: () => classListCsv(list),
      };
    }
    const present = now === undefined ? null : presentReadings(now, mount);
    const finding = plainFindTargets(mount, standing, momentMs(at, mount.site), targets, {
      present,
      daylight,
    });
    const shown = finding.found.map((one) => seen(one, one.description, one.limits.length === 0));
    return { notes, mount, shown, json: finding, report: findReport(finding) };
  },
  say: ({ report }) => [report],
  draw: async ({ mount: { name, site, limits }, shown, toDraw = [] }) => {
    const { targetsSky } = await import("../plots/plots.js");
    const sky = targetsSky(shown, { name, latitudeDeg: site.latitude, limits });
    if (toDraw.length === 0) return [sky];
    const { sketchFields } = await import("../plots/sketch-fields.js");
    return [sky, sketchFields(toDraw)];
  },
  json: ({ json }) => ({ ...json }),
  notes: ({ notes }) => notes,
  writes: ({ csv: made }, { csv: path }) =>
    path === undefined || made === undefined
      ? []
      : [{ path, text: made(), kind: "class list", option: "--csv" }],
});

/** The name without what stands in brackets behind it. */
const shortName = (name: string): string => name.split(" (")[0]!;

/** An object as the picture of the sky shows it. */
function seen(
  one: { readonly target: string; readonly altitudeDeg: number; readonly azimuthDeg: number },
  says: string,
  reached = true,
): SkyTarget {
  const { target, altitudeDeg, azimuthDeg } = one;
  return { name: target, altitudeDeg, azimuthDeg, says, reached };
}

/** What the axes read now, from `--now HOURANGLE,DECLINATION`, with `,beyond` where the tube is turned over. */
function presentReadings(given: string, mount: Mount): PresentReadings {
  const parts = given.split(",").map((part) => part.trim());
  const [hourAngle, declination, side = "normal"] = parts;
  if (
    hourAngle === undefined ||
    declination === undefined ||
    parts.length > 3 ||
    (side !== "normal" && side !== "beyond")
  ) {
    throw new InputError({
      code: "present-readings",
      path: "--now",
      found: shown(given),
      allowed:
        "both readings with a comma between, for instance --now 3121,-1591, and after another comma the side (normal or beyond) where the tube may be turned over",
      message: "These are not two readings.",
    });
  }
  return {
    hourAngle: readingFromText(hourAngle, mount.readings.hourAngle),
    declination: readingFromText(declination, mount.readings.declination),
    ...(parts.length === 3 ? { side } : {}),
  };
}
