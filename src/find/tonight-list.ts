/**
 * How well things stand tonight: since when and until when the mount may point at them, and which come first.
 */
import { DEGREE } from "../angles.js";
import { type KnownMount, outOfReach } from "../pointing/known-mount.js";
import { brokenLimits, insideLimits } from "../pointing/limits.js";
import { degreesFromSun, SUN_AVOIDANCE_DEG, type SunWatch, sunWatch } from "../pointing/sun-safety.js";
import { catalogueStars } from "../sky/catalogue.js";
import { deepSkyObjects } from "../sky/deep-sky.js";
import type { SkyFrame } from "../sky/sky-frame.js";
import type { SkyOverNight } from "../sky/sky-over-night.js";
import type { ObservedDirection } from "../sky/star.js";
import { deepSkyTarget, starTarget, type Target, targetsNamed } from "./target.js";
import { changesOf } from "./times.js";

/** How a target stands. */
export interface Stand {
  /** `now`: the mount may point there; `later`: it may within the hours looked at; `not tonight`. */
  readonly when: "now" | "later" | "not tonight";
  readonly altitudeDeg: number;
  /** When it comes within the limits, milliseconds of UTC; null where it is there already, or does not come. */
  readonly fromMs: number | null;
  /** When it leaves them again; null where it stays for the hours looked at. */
  readonly untilMs: number | null;
  /** Why the mount may not point there now; empty where it may. */
  readonly why: string;
}

/** A moment for many targets: the frame and the Sun. */
interface Moment {
  readonly frame: SkyFrame;
  readonly sun: SunWatch;
}

/** So far ahead is looked, milliseconds. */
export const LOOK_AHEAD_MS = 12 * 3_600_000;
const SAMPLE_MS = 10 * 60_000;
const FAINTEST_STAR = 2;

/**
 * What a class may be shown: Messier's list and the showpieces, the Moon and the planets, and the brightest stars.
 *
 * @example
 * ```ts
 * tonightTargets().some(({ label }) => label === "Jupiter") // true
 * ```
 */
export function tonightTargets(): readonly Target[] {
  const stars = catalogueStars().filter(({ name, vMag }) => name !== "" && vMag <= FAINTEST_STAR);
  return [
    ...targetsNamed(["Moon", "Mercury", "Venus", "Mars", "Jupiter", "Saturn", "Uranus", "Neptune"]),
    ...deepSkyObjects().map(deepSkyTarget),
    ...stars.map(starTarget),
  ];
}

/**
 * How targets stand from a moment on, over the twelve hours after it.
 *
 * @param known - what is known of the mount: its limits, and how near to its pole the tube can be brought
 * @param sky - frames of the night
 * @param fromMs - milliseconds of UTC since 1970
 * @param daylight - the Sun may be up (never within 30° of it)
 * @returns a function of a target; the moments that it looks at are made once
 * @example
 * ```ts
 * const standOf = standsTonight(knownMount(fit), skyOverNight(nowMs, nowMs + LOOK_AHEAD_MS, site), nowMs, false);
 * standOf(targetNamed("M 42")).when // "now"
 * ```
 */
export function standsTonight(
  known: KnownMount,
  sky: SkyOverNight,
  fromMs: number,
  daylight: boolean,
): (target: Target) => Stand {
  const { site } = known.mount;
  const moments = new Map<number, Moment>();
  const momentAt = (timeMs: number): Moment => {
    let moment = moments.get(timeMs);
    if (moment === undefined) {
      moment = { frame: sky.at(timeMs), sun: sunWatch(timeMs, site) };
      moments.set(timeMs, moment);
    }
    return moment;
  };
  return (target) => {
    const mayPoint = (timeMs: number): boolean => {
      const moment = momentAt(timeMs);
      return isOpen(known, target.observe(moment.frame), moment.sun, daylight);
    };
    const now = momentAt(fromMs);
    const direction = target.observe(now.frame);
    const isNow = isOpen(known, direction, now.sun, daylight);
    const changes = changesOf(mayPoint, fromMs, fromMs + LOOK_AHEAD_MS, SAMPLE_MS, TO_THE_MINUTE_MS);
    const begins = changes.find((change) => change.begins)?.timeMs ?? null;
    const from = isNow ? null : begins;
    const ends = changes.find((change) => !change.begins && change.timeMs > (from ?? fromMs))?.timeMs ?? null;
    return {
      when: isNow ? "now" : from === null ? "not tonight" : "later",
      altitudeDeg: direction.altitude / DEGREE,
      fromMs: from,
      untilMs: isNow || from !== null ? ends : null,
      why: isNow ? "" : whyNot(known, direction, now.sun, daylight),
    };
  };
}

const TO_THE_MINUTE_MS = 20_000;

/** Whether the mount may point there: inside its limits and reach, clear of the Sun. */
function isOpen(known: KnownMount, direction: ObservedDirection, sun: SunWatch, daylight: boolean): boolean {
  return (
    direction.altitude > 0 &&
    insideLimits(direction, known.mount.limits) &&
    (daylight || !sun.up) &&
    degreesFromSun(direction, sun) >= SUN_AVOIDANCE_DEG &&
    outOfReach(known, direction) === null
  );
}

function whyNot(known: KnownMount, direction: ObservedDirection, sun: SunWatch, daylight: boolean): string {
  if (degreesFromSun(direction, sun) < SUN_AVOIDANCE_DEG) return `within ${SUN_AVOIDANCE_DEG}° of the Sun`;
  if (direction.altitude <= 0) return "below the horizon";
  const broken = brokenLimits(direction, known.mount.limits)[0];
  if (broken !== undefined) return broken.text;
  if (sun.up && !daylight) return "the Sun is up";
  return outOfReach(known, direction) ?? "";
}

/**
 * Which of two stands comes first: what may be looked at now before what comes later; of the first the higher one, of the
 * others the one that comes sooner.
 */
export function compareStands(a: Stand, b: Stand): number {
  const order = { now: 0, later: 1, "not tonight": 2 };
  return (
    order[a.when] - order[b.when] ||
    (a.when === "later" ? (a.fromMs ?? 0) - (b.fromMs ?? 0) : b.altitudeDeg - a.altitudeDeg)
  );
}
