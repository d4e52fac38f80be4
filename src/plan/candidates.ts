/**
 * Which stars may be proposed at all, and why the others not.
 */
import { ARCMINUTE, DEGREE } from "../angles.js";
import { insideLimits } from "../mount/limits.js";
import { expectedError } from "../night/reduce.js";
import type { Side } from "../night/sighting.js";
import { type KnownMount, skyPartials, stanceOf, usualSide } from "../pointing/known-mount.js";
import { degreesFromSun, SUN_AVOIDANCE_DEG, type SunWatch, sunWatch } from "../pointing/sun-safety.js";
import { catalogueStars } from "../sky/catalogue.js";
import { hourAngleVector } from "../sky/horizon-frame.js";
import { observeIn } from "../sky/observe.js";
import type { SkyFrame } from "../sky/sky-frame.js";
import type { ObservedDirection, Star } from "../sky/star.js";
import { starsNear } from "../sky/stars-near.js";
import { moonDirection } from "../sky/sun-and-moon.js";
import { faintestMagnitude } from "../sky/variable-stars.js";
import { separation, type Vector } from "../vectors.js";
import type { FullPlanOptions } from "./options.js";

/** A star that may be sighted, and what it would teach. */
export interface Candidate {
  readonly star: Star;
  readonly direction: ObservedDirection;
  readonly vector: Vector;
  readonly side: Side;
  /** Where its two weighted rows begin in the pool's `rows`. */
  readonly at: number;
}

/** How many of the catalogue's stars were left out, by the first reason that met. */
export interface LeftOut {
  readonly tooFaint: number;
  readonly outsideLimits: number;
  readonly nearSun: number;
  readonly nearMoon: number;
  readonly nearZenith: number;
  readonly nearPole: number;
  readonly likeNeighbour: number;
  readonly sightedAlready: number;
}

export interface CandidatePool {
  readonly candidates: readonly Candidate[];
  /** Two weighted rows for each candidate: partials over expected error, per arcminute. */
  readonly rows: Float64Array;
  /** The same for choosing, with faint stars counting less: see {@link FAINT_COST}. */
  readonly choiceRows: Float64Array;
  readonly leftOut: LeftOut;
}

/**
 * A faint star takes longer to find and is more easily mistaken. In choosing, its expected error squared counts this
 * much more for every magnitude beyond the first: of two stars that teach about the same, the brighter is taken. What
 * is said about the uncertainty afterwards does not know of it.
 */
const FAINT_COST = 0.15;

/** A moment at which a star must be allowed, with what stands in the way then. */
export interface Moment {
  readonly frame: SkyFrame;
  readonly sun: SunWatch;
  /** The Moon's direction, or null when it is down. */
  readonly moon: Vector | null;
}

export function momentAt(frame: SkyFrame): Moment {
  const moon = moonDirection(frame.timeMs, frame.site);
  return {
    frame,
    sun: sunWatch(frame.timeMs, frame.site),
    moon: moon.altitude > -DEGREE ? hourAngleVector(moon) : null,
  };
}

/** Why a star may not be sighted at a moment; null when it may. */
export function barrier(
  direction: ObservedDirection,
  moment: Moment,
  known: KnownMount,
  options: FullPlanOptions,
): Exclude<keyof LeftOut, "tooFaint" | "likeNeighbour" | "sightedAlready"> | null {
  if (!insideLimits(direction, known.mount.limits) || direction.altitude <= 0) return "outsideLimits";
  if (degreesFromSun(direction, moment.sun) < SUN_AVOIDANCE_DEG) return "nearSun";
  if (moment.sun.up && !options.daylight) return "nearSun";
  if (
    moment.moon !== null &&
    separation(hourAngleVector(direction), moment.moon) < options.moonDeg * DEGREE
  ) {
    return "nearMoon";
  }
  if (direction.altitude > (90 - options.zenithDeg) * DEGREE) return "nearZenith";
  if (Math.abs(direction.declination) > (90 - options.poleDeg) * DEGREE) return "nearPole";
  return null;
}

/** Another star so near is taken for it when it is at most so many magnitudes fainter: a finder shows both at once. */
const ALIKE_MAGNITUDES = 1;
/** Seen together in the telescope itself, an even fainter one is. */
const CLOSE_DEG = 0.5;
const CLOSE_ALIKE_MAGNITUDES = 2;
/** Closer than this the two are one star to an eye at the telescope. */
const SAME_STAR_DEG = 1 / 60;

/**
 * The star of the catalogue that could be taken for this one, or null.
 *
 * @param radiusDeg - how wide to look
 * @example
 * ```ts
 * alikeNeighbour(findStar("Mizar"), 2.5)?.label // "Alcor"
 * ```
 */
export function alikeNeighbour(star: Star, radiusDeg: number): Star | null {
  for (const near of starsNear(star, Math.max(radiusDeg, CLOSE_DEG) * DEGREE)) {
    if (near.star.hip === star.hip || near.separation < SAME_STAR_DEG * DEGREE) continue;
    const fainter = near.star.vMag - star.vMag;
    const close = near.separation < CLOSE_DEG * DEGREE;
    if (
      close
        ? fainter <= CLOSE_ALIKE_MAGNITUDES
        : fainter <= ALIKE_MAGNITUDES && near.separation <= radiusDeg * DEGREE
    ) {
      return near.star;
    }
  }
  return null;
}

/**
 * The stars that may be sighted at all of some moments, with what each would teach at the middle one.
 *
 * @param moments - the session's moments; the one in the middle is where the partials are taken
 * @param sighted - Hipparcos numbers of stars that are not to be proposed again
 */
export function candidatePool(
  known: KnownMount,
  moments: readonly Moment[],
  options: FullPlanOptions,
  sighted: ReadonlySet<number>,
): CandidatePool {
  const middle = moments[Math.floor(moments.length / 2)]!;
  const count = {
    tooFaint: 0,
    outsideLimits: 0,
    nearSun: 0,
    nearMoon: 0,
    nearZenith: 0,
    nearPole: 0,
    likeNeighbour: 0,
    sightedAlready: 0,
  };
  const kept: { star: Star; direction: ObservedDirection }[] = [];
  for (const star of catalogueStars()) {
    if (faintestMagnitude(star) > options.faintest) {
      count.tooFaint++;
      continue;
    }
    const direction = observeIn(middle.frame, star);
    let why: keyof LeftOut | null = barrier(direction, middle, known, options);
    for (const moment of moments) {
      if (why !== null) break;
      if (moment !== middle) why = barrier(observeIn(moment.frame, star), moment, known, options);
    }
    if (why === null && sighted.has(star.hip)) why = "sightedAlready";
    if (why === null && alikeNeighbour(star, options.neighbourDeg) !== null) why = "likeNeighbour";
    if (why === null) kept.push({ star, direction });
    else count[why]++;
  }
  const width = 2 * known.names.length;
  const rows = new Float64Array(width * kept.length);
  const choiceRows = new Float64Array(width * kept.length);
  const scratch = new Float64Array(2 + 2 * known.model.size);
  const candidates = kept.map(({ star, direction }, index): Candidate => {
    const side = usualSide(known.mount, direction.hourAngle);
    const at = index * width;
    weightedRows(known, direction, side, rows.subarray(at, at + width), scratch);
    const bright = 1 / Math.sqrt(1 + FAINT_COST * Math.max(0, faintestMagnitude(star) - 1));
    for (let place = at; place < at + width; place++) choiceRows[place] = rows[place]! * bright;
    return { star, direction, vector: hourAngleVector(direction), side, at };
  });
  return { candidates, rows, choiceRows, leftOut: count };
}

/** The two rows that a sighting adds, over their expected errors, per arcminute. */
export function weightedRows(
  known: KnownMount,
  direction: ObservedDirection,
  side: Side,
  out: Float64Array,
  scratch: Float64Array,
  centringArcmin: number | null = null,
): void {
  skyPartials(known, direction, stanceOf(side), out, scratch);
  const expected = expectedError(known.mount, direction.declination, centringArcmin);
  const count = known.names.length;
  for (let index = 0; index < count; index++) {
    out[index]! *= ARCMINUTE / expected.west;
    out[count + index]! *= ARCMINUTE / expected.north;
  }
}
