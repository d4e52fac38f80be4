/**
 * Finding things: the readings to set for a target, through the model.
 */

import { ARCMINUTE, DEGREE, HOUR } from "../angles.js";
import type { Fault } from "../errors.js";
import { brokenLimits } from "../mount/limits.js";
import type { Mount } from "../mount/mount.js";
import { readingStep } from "../night/reduce.js";
import type { Side } from "../night/sighting.js";
import { type AxisMove, moveTo, type PresentReadings } from "../pointing/axis-move.js";
import { fieldOfCamera, halfFieldArcmin } from "../pointing/field.js";
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
import {
  degreesFromSun,
  SUN_AVOIDANCE_DEG,
  SUN_CAUTION,
  type SunWatch,
  sunWatch,
} from "../pointing/sun-safety.js";
import { hourAngleVector } from "../sky/horizon-frame.js";
import type { SkyFrame } from "../sky/sky-frame.js";
import { type SkyOverNight, skyOverNight } from "../sky/sky-over-night.js";
import type { ObservedDirection } from "../sky/star.js";
import { moonDirection } from "../sky/sun-and-moon.js";
import { DAY_MS, formatTime } from "../sky/time.js";
import { separation } from "../vectors.js";
import { type Target, type TargetKind, targetsNamed } from "./target.js";
import { aboveProfile, changesOf, formatSecond, refuseOutside, riseAndSet } from "./times.js";

/** What finding may be told. */
export interface FindOptions {
  /** What the axes read now, in the mount file's units: then the way to each target is given. */
  readonly present?: PresentReadings | null;
  /** Readings are given while the Sun is up (never within 30° of it); false. */
  readonly daylight?: boolean;
  /** The zeros and the tube position in force, where a fit has several; the last ones. */
  readonly sets?: { readonly zeroSet?: string; readonly tubeSet?: string };
}

/** Why no readings are given. */
export interface Refusal {
  readonly code: "near-sun" | "sun-up" | "below-horizon" | "outside-limits" | "out-of-reach";
  readonly message: string;
  /** When nothing will stand against the readings, ISO 8601; null where that does not come within a day. */
  readonly readyAt: string | null;
}

/** How sure the pointing is against the camera's field. */
export interface FieldAnswer {
  /** Half the field's shorter side, arcminutes. */
  readonly halfFieldArcmin: number;
  /** Whether it stays inside 19 times in 20; false too where tonight's sightings do not allow such a promise. */
  readonly inField: boolean;
}

/** What was found for a target. */
export interface Found {
  readonly target: string;
  readonly kind: TargetKind;
  readonly description: string;
  /** Visual magnitude; null where none is known. */
  readonly vMag: number | null;
  readonly altitudeDeg: number;
  readonly azimuthDeg: number;
  /** Observed, refraction included. */
  readonly hourAngleHours: number;
  readonly declinationDeg: number;
  readonly side: Side;
  /** Readings to set; null where they are refused. */
  readonly predicted: PredictedReadings | null;
  readonly refused: Refusal | null;
  readonly move: AxisMove | null;
  /** The limits that it breaks, in words; none when the mount may point there. */
  readonly limits: readonly string[];
  /** Whether it stands above the horizon's profile now. */
  readonly up: boolean;
  /** When it next rises above and sets below the profile, ISO 8601; null where it does not within a day. */
  readonly rises: string | null;
  readonly sets: string | null;
  /** 19 times in 20 the target stands nearer to the middle than this, arcminutes; null without readings or zeros. */
  readonly within95Arcmin: number | null;
  readonly field: FieldAnswer | null;
  /** From the Sun. */
  readonly sunDeg: number;
  /** From the Moon; null while it is down, and for the Moon itself. */
  readonly moonDeg: number | null;
}

/** The answer to a search. */
export interface Finding {
  readonly mount: string;
  /** The moment asked about, ISO 8601 and milliseconds of UTC since 1970. */
  readonly time: string;
  readonly timeMs: number;
  /** The zone of the site's clocks, IANA; null where the mount file names none. */
  readonly timeZone: string | null;
  /** Whether sightings stand behind the readings. */
  readonly zerosKnown: boolean;
  /** Whether tonight's sightings allow a promise. */
  readonly promises: boolean;
  readonly found: readonly Found[];
  /** What was asked for and is not known, with what to write instead. */
  readonly unknown: readonly Fault[];
  readonly notes: readonly Guidance[];
}

/**
 * Finds targets: readings through the model, the way there, limits, rising and setting, and whether they will be in
 * the field.
 *
 * @param mount - the mount
 * @param standing - a fit or a kept model; null where there is none yet: then readings hold but for the zeros
 * @param timeMs - milliseconds of UTC since 1970
 * @param targets - names or coordinates, see {@link targetNamed}
 * @throws {@link InputError} with one fault for every target where none is known (`sun-refused` for the Sun);
 *   `time-out-of-range`; `unknown-set` where `options.sets` names none of the standing's
 * @example
 * ```ts
 * findTargets(fit.mount, fit, parseTime("2026-03-14T20:00:00Z"), ["M 42"]).found[0]?.predicted?.hourAngleText
 * ```
 */
export function findTargets(
  mount: Mount,
  standing: MountStanding | null,
  timeMs: number,
  targets: readonly string[],
  options: FindOptions = {},
): Finding {
  refuseOutside([timeMs]);
  const known = standing === null ? unsightedMount(mount) : knownMount({ ...standing, mount }, options.sets);
  const sky = skyOverNight(timeMs, timeMs + 86_400_000, mount.site);
  const scene = sceneAt(known, sky, timeMs, options);
  const { sun } = scene;
  const named = targetsNamed(targets);
  const found = named.targets.map((target): Found => {
    const now = foundNow(target, scene);
    const times = riseAndSet(target, sky, mount.limits, timeMs);
    return {
      ...now,
      refused: now.refused === null ? null : { ...now.refused, readyAt: readyAt(target, scene, sky) },
      rises: times.risesMs === null ? null : formatSecond(times.risesMs),
      sets: times.setsMs === null ? null : formatSecond(times.setsMs),
    };
  });
  const notes: Guidance[] = [];
  if (sun.up) notes.push(sunGuidance());
  notes.push(...known.cautions, ...zerosNote(known));
  if (found.some((one) => one.side === "beyond")) {
    notes.push({
      code: "side-beyond",
      message:
        "For a German mount, targets east of the meridian are given with the tube turned over the pole (side: beyond).",
      remedy: "Turn the tube over the pole before you set them.",
    });
  }
  if (mount.kind === "german" && options.present && saysNoSide(options.present, mount)) {
    notes.push({
      code: "side-not-said",
      message: "The ways are calculated with the tube on its normal side now.",
      remedy: "Where it is turned over, say so (beyond).",
    });
  }
  return {
    mount: mount.name,
    time: formatTime(timeMs),
    timeMs,
    timeZone: mount.site.timeZone ?? null,
    zerosKnown: known.fromSightings,
    promises: known.promises,
    found,
    unknown: named.faults,
    notes,
  };
}

/** A dial shows a declination on either side of the pole alike. */
function saysNoSide(present: PresentReadings, mount: Mount): boolean {
  return present.side === undefined && mount.readings.declination.as !== "counts";
}

/** A moment at a mount: what every target found then has in common. */
export interface Scene {
  readonly known: KnownMount;
  readonly frame: SkyFrame;
  readonly sun: SunWatch;
  readonly moon: ObservedDirection;
  readonly options: FindOptions;
}

/** The scene of a moment, milliseconds of UTC since 1970. */
export function sceneAt(known: KnownMount, sky: SkyOverNight, timeMs: number, options: FindOptions): Scene {
  const { site } = known.mount;
  return {
    known,
    frame: sky.at(timeMs),
    sun: sunWatch(timeMs, site),
    moon: moonDirection(timeMs, site),
    options,
  };
}

/** What stands against pointing at a target at a moment. */
export type Barrier = Omit<Refusal, "readyAt">;

/** What is found of a target without looking ahead, which takes longer than all the rest. */
export type FoundNow = Omit<Found, "rises" | "sets" | "refused"> & { readonly refused: Barrier | null };

/** Finds a target at the scene's moment. */
export function foundNow(target: Target, scene: Scene): FoundNow {
  const { known, frame, sun, moon, options } = scene;
  const { mount } = known;
  const direction = target.observe(frame);
  const side = usualSide(mount, direction.hourAngle);
  const sunDeg = degreesFromSun(direction, sun);
  const up = aboveProfile(direction, mount.limits);
  const refused = barrierTo(known, direction, sun, options.daylight === true);
  const predicted = refused === null ? predictReadings(known, direction, frame.siderealTime, side) : null;
  const within95Arcmin = predicted === null ? null : within95(mount, predicted);
  const moonUp = moon.altitude > 0 && target.kind !== "Moon";
  return {
    target: target.label,
    kind: target.kind,
    description: target.description,
    vMag: target.magnitude(frame.timeMs),
    altitudeDeg: direction.altitude / DEGREE,
    azimuthDeg: direction.azimuth / DEGREE,
    hourAngleHours: direction.hourAngle / HOUR,
    declinationDeg: direction.declination / DEGREE,
    side,
    predicted,
    refused,
    move:
      predicted === null || !options.present
        ? null
        : moveTo(known, direction, side, frame.siderealTime, options.present, sun),
    limits: brokenLimits(direction, mount.limits).map((broken) => broken.text),
    up,
    within95Arcmin,
    field: within95Arcmin === null ? null : fieldAnswer(known, within95Arcmin),
    sunDeg,
    moonDeg: moonUp ? separation(hourAngleVector(direction), hourAngleVector(moon)) / DEGREE : null,
  };
}

/** When nothing will stand against the readings any more, ISO 8601; null where that does not come within a day. */
function readyAt(target: Target, { known, frame, options }: Scene, sky: SkyOverNight): string | null {
  const isFree = (timeMs: number): boolean => {
    const direction = target.observe(sky.at(timeMs));
    return (
      barrierTo(known, direction, sunWatch(timeMs, known.mount.site), options.daylight === true) === null
    );
  };
  const begins = changesOf(isFree, frame.timeMs, frame.timeMs + DAY_MS).find((change) => change.begins);
  return begins === undefined ? null : formatSecond(begins.timeMs);
}

/**
 * What stands against pointing there at a moment; null where nothing does.
 *
 * @param sun - the Sun of that moment
 * @param daylight - readings are wanted while the Sun is up, too
 */
export function barrierTo(
  known: KnownMount,
  direction: ObservedDirection,
  sun: SunWatch,
  daylight: boolean,
): Barrier | null {
  const sunDeg = degreesFromSun(direction, sun);
  if (sunDeg < SUN_AVOIDANCE_DEG) {
    return {
      code: "near-sun",
      message: `${sunDeg.toFixed(1)}° from the Sun: refused within ${SUN_AVOIDANCE_DEG}°. ${SUN_CAUTION}`,
    };
  }
  if (sun.up && !daylight) {
    return { code: "sun-up", message: "The Sun is up: no readings unless daylight is asked for." };
  }
  if (direction.altitude <= 0) return { code: "below-horizon", message: "Below the horizon now." };
  const broken = brokenLimits(direction, known.mount.limits);
  if (broken.length > 0) {
    return {
      code: "outside-limits",
      message: `Outside the mount's limits now: ${broken.map(({ text }) => text).join("; ")}.`,
    };
  }
  const why = outOfReach(known, direction);
  return why === null ? null : { code: "out-of-reach", message: `It stands ${why}.` };
}

/** How far off a target may be, model and setting together. */
function within95({ readings }: Mount, { uncertaintyArcmin }: PredictedReadings): number | null {
  if (uncertaintyArcmin === null) return null;
  // Setting the axes is as coarse as their steps: half of each is lost at most.
  const setting =
    Math.hypot(readingStep(readings.hourAngle), readingStep(readings.declination)) / Math.sqrt(12);
  return 2 * Math.hypot(uncertaintyArcmin, setting / ARCMINUTE);
}

function fieldAnswer({ mount, promises }: KnownMount, within95Arcmin: number): FieldAnswer | null {
  if (mount.camera === null) return null;
  const half = halfFieldArcmin(fieldOfCamera(mount.camera));
  return { halfFieldArcmin: half, inField: promises && within95Arcmin <= half };
}
