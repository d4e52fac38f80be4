/**
 * A list for a class evening: what to show, when each is best placed, and the readings to set then.
 */

import { DEGREE } from "../angles.js";
import { InputError } from "../errors.js";
import { brokenLimits, insideLimits } from "../mount/limits.js";
import type { Mount } from "../mount/mount.js";
import type { Side } from "../night/sighting.js";
import { type Guidance, sunGuidance } from "../pointing/guidance.js";
import {
  type KnownMount,
  knownMount,
  type MountStanding,
  outOfReach,
  type PredictedReadings,
  predictReadings,
  unsightedMount,
  usualSide,
  zerosNote,
} from "../pointing/known-mount.js";
import { degreesFromSun, SUN_AVOIDANCE_DEG, type SunWatch, sunWatch } from "../pointing/sun-safety.js";
import { deepSkyObjects } from "../sky/deep-sky.js";
import type { SkyFrame } from "../sky/sky-frame.js";
import { skyOverNight } from "../sky/sky-over-night.js";
import type { ObservedDirection } from "../sky/star.js";
import { formatTime } from "../sky/time.js";
import { deepSkyTarget, type Target, type TargetKind, targetsNamed } from "./target.js";
import { formatSecond, refuseOutside } from "./times.js";

/** One line of the list. */
export interface ClassEntry {
  readonly target: string;
  readonly kind: TargetKind;
  readonly description: string;
  /** Visual magnitude; null where none is known. */
  readonly vMag: number | null;
  /** When it is best placed, ISO 8601, and the same in milliseconds of UTC. */
  readonly best: string;
  readonly bestMs: number;
  /** From when until when in the evening the mount may point there, ISO 8601. */
  readonly from: string;
  readonly until: string;
  readonly untilMs: number;
  /** Where it stands at the best time, observed. */
  readonly altitudeDeg: number;
  readonly azimuthDeg: number;
  readonly side: Side;
  /** Readings at the best time. */
  readonly predicted: PredictedReadings;
}

/** A target that cannot be shown this evening, and why. */
export interface NotShown {
  readonly target: string;
  readonly why: string;
  /** There is no such target. */
  readonly unknown?: true;
}

/** The list for a class evening. */
export interface ClassList {
  readonly mount: string;
  readonly from: string;
  readonly until: string;
  /** The zone of the site's clocks, IANA; null where the mount file names none. */
  readonly timeZone: string | null;
  readonly zerosKnown: boolean;
  /** In the order in which they are best placed. */
  readonly entries: readonly ClassEntry[];
  readonly notShown: readonly NotShown[];
  /** By how much the hour-angle reading of a tracked target changes in a minute of time, in the mount file's unit. */
  readonly hourAngleAMinute: number;
  readonly notes: readonly Guidance[];
}

/** Messier's list, or that and the showpieces outside it. */
export type WholeList = "messier" | "showpieces";

const SAMPLE_MS = 5 * 60_000;
const LONGEST_MS = 24 * 3_600_000;
/** The sky's rate: a turn in a sidereal day of 1436.07 minutes. */
const SIDEREAL_DAY_MINUTES = 1436.0682;

/**
 * Lists targets for a class evening in the order in which they are best placed: each at its highest inside the mount's
 * limits while the Sun is down; what goes down first comes first.
 *
 * @param standing - a fit or a kept model, or null
 * @param fromMs - when the evening begins, milliseconds of UTC since 1970
 * @param toMs - when it ends
 * @param targets - names or coordinates, or `"messier"` for all of Messier's list, or `"showpieces"` for that and the
 *   showpieces outside it, most of them southern
 * @throws {@link InputError} `evening-times` when the times are out of order or a day apart, and a fault for every target
 *   where none is known
 * @example
 * ```ts
 * classList(mount, kept, parseTime("2026-03-14T18:00:00Z"), parseTime("2026-03-14T20:00:00Z"), ["M 42", "Jupiter", "Moon"])
 * ```
 */
export function classList(
  mount: Mount,
  standing: MountStanding | null,
  fromMs: number,
  toMs: number,
  targets: readonly string[] | WholeList,
): ClassList {
  refuseOutside([fromMs, toMs]);
  if (!(toMs > fromMs) || toMs - fromMs > LONGEST_MS) {
    throw new InputError({
      code: "evening-times",
      found: `${formatTime(fromMs)} to ${formatTime(toMs)}`,
      allowed: "an end after the beginning, at most a day later",
      message: "These are not the beginning and the end of an evening.",
    });
  }
  const known = standing === null ? unsightedMount(mount) : knownMount({ ...standing, mount });
  const sky = skyOverNight(fromMs, toMs, mount.site);
  const count = Math.max(1, Math.ceil((toMs - fromMs) / SAMPLE_MS));
  const moments = Array.from({ length: count + 1 }, (_, index): Moment => {
    const frame = sky.at(fromMs + (index / count) * (toMs - fromMs));
    return { frame, sun: sunWatch(frame.timeMs, mount.site) };
  });
  const entries: ClassEntry[] = [];
  const notShown: NotShown[] = [];
  const asked =
    typeof targets === "string" ? { targets: wholeList(targets), faults: [] } : targetsNamed(targets);
  for (const target of asked.targets) {
    const outcome = place(target, moments, known);
    if ("why" in outcome) notShown.push(outcome);
    else entries.push(outcome);
  }
  for (const { found, message, allowed } of asked.faults) {
    notShown.push({ target: found ?? "", why: `${message} Allowed: ${allowed}`, unknown: true });
  }
  entries.sort(
    (a, b) => a.bestMs - b.bestMs || a.untilMs - b.untilMs || a.target.localeCompare(b.target, "en"),
  );
  const notes: Guidance[] = [];
  if (moments.some((moment) => moment.sun.up)) {
    notes.push(sunGuidance("Nothing is listed for the part of the evening in which the Sun is up."));
  }
  notes.push(...known.cautions, ...zerosNote(known));
  const { hourAngle } = mount.readings;
  return {
    mount: mount.name,
    from: formatTime(fromMs),
    until: formatTime(toMs),
    timeZone: mount.site.timeZone ?? null,
    zerosKnown: known.fromSightings,
    entries,
    notShown,
    hourAngleAMinute:
      hourAngle.as === "rightAscension" ? 0 : (hourAngle.sense * hourAngle.perTurn) / SIDEREAL_DAY_MINUTES,
    notes,
  };
}

/** The targets of a whole list. */
export function wholeList(list: WholeList): Target[] {
  const objects = deepSkyObjects().filter(({ messier }) => list === "showpieces" || messier !== null);
  return objects.map(deepSkyTarget);
}

interface Moment {
  readonly frame: SkyFrame;
  readonly sun: SunWatch;
}

function place(target: Target, moments: readonly Moment[], known: KnownMount): ClassEntry | NotShown {
  const { mount } = known;
  let best: { moment: Moment; direction: ObservedDirection } | null = null;
  let first: Moment | null = null;
  let last: Moment | null = null;
  let highest: ObservedDirection | null = null;
  let nearSun = false;
  let beyondReach: string | null = null;
  let byDay = 0;
  for (const moment of moments) {
    const direction = target.observe(moment.frame);
    if (highest === null || direction.altitude > highest.altitude) highest = direction;
    if (moment.sun.up) {
      byDay++;
      continue;
    }
    if (degreesFromSun(direction, moment.sun) < SUN_AVOIDANCE_DEG) {
      nearSun = true;
      continue;
    }
    if (direction.altitude <= 0 || !insideLimits(direction, mount.limits)) continue;
    beyondReach = outOfReach(known, direction);
    if (beyondReach !== null) continue;
    first ??= moment;
    last = moment;
    if (best === null || direction.altitude > best.direction.altitude) best = { moment, direction };
  }
  if (best === null || first === null || last === null) {
    const why =
      byDay === moments.length
        ? "the Sun is up all the time"
        : nearSun
          ? `within ${SUN_AVOIDANCE_DEG}° of the Sun`
          : highest === null || highest.altitude <= 0
            ? "below the horizon"
            : (beyondReach ??
              brokenLimits(highest, mount.limits)[0]?.text ??
              "outside the limits while the Sun is down");
    return { target: target.label, why };
  }
  const { frame } = best.moment;
  const side = usualSide(mount, best.direction.hourAngle);
  return {
    target: target.label,
    kind: target.kind,
    description: target.description,
    vMag: target.magnitude(frame.timeMs),
    best: formatSecond(frame.timeMs),
    bestMs: frame.timeMs,
    from: formatSecond(first.frame.timeMs),
    until: formatSecond(last.frame.timeMs),
    untilMs: last.frame.timeMs,
    altitudeDeg: best.direction.altitude / DEGREE,
    azimuthDeg: best.direction.azimuth / DEGREE,
    side,
    predicted: predictReadings(known, best.direction, frame.siderealTime, side),
  };
}
