/**
 * How well things stand tonight: since when and until when the mount may point at them, and which come first.
 */
import { DEGREE } from "../angles.js";
import type { KnownMount } from "../pointing/known-mount.js";
import { type SunWatch, sunWatch } from "../pointing/sun-safety.js";
import { catalogueStars } from "../sky/catalogue.js";
import { deepSkyObjects } from "../sky/deep-sky.js";
import type { SkyFrame } from "../sky/sky-frame.js";
import type { SkyOverNight } from "../sky/sky-over-night.js";
import { barrierTo } from "./find.js";
import { deepSkyTarget, starTarget, type Target, targetNamed } from "./target.js";
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
    ...["Moon", "Mercury", "Venus", "Mars", "Jupiter", "Saturn", "Uranus", "Neptune"].map(targetNamed),
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
      return barrierTo(known, target.observe(moment.frame), moment.sun, daylight) === null;
    };
    const now = momentAt(fromMs);
    const direction = target.observe(now.frame);
    const barrier = barrierTo(known, direction, now.sun, daylight);
    const isNow = barrier === null;
    const changes = changesOf(mayPoint, fromMs, fromMs + LOOK_AHEAD_MS, SAMPLE_MS, TO_THE_MINUTE_MS);
    const begins = changes.find((change) => change.begins)?.timeMs ?? null;
    const from = isNow ? null : begins;
    const ends = changes.find((change) => !change.begins && change.timeMs > (from ?? fromMs))?.timeMs ?? null;
    return {
      when: isNow ? "now" : from === null ? "not tonight" : "later",
      altitudeDeg: direction.altitude / DEGREE,
      fromMs: from,
      untilMs: isNow || from !== null ? ends : null,
      why: barrier?.message ?? "",
    };
  };
}

const TO_THE_MINUTE_MS = 20_000;

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
