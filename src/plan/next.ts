/**
 * The next star, live: after each sighting the one that teaches most for its time.
 */
import { DEGREE, HOUR } from "../angles.js";
import type { MountFit } from "../fit/fit-result.js";
import { type BuiltInTermName, termDescriptions } from "../mount/terms.js";
import type { Night } from "../night/night.js";
import type { Side } from "../night/sighting.js";
import {
  type KnownMount,
  type MountStanding,
  type PredictedReadings,
  predictReadings,
} from "../pointing/known-mount.js";
import { shaftsTowards, shaftWayDegrees } from "../pointing/shafts.js";
import { refuseDaylight } from "../pointing/sun-safety.js";
import { skyOverNight } from "../sky/sky-over-night.js";
import type { ObservedDirection } from "../sky/star.js";
import { formatTime } from "../sky/time.js";
import { faintestMagnitude } from "../sky/variable-stars.js";
import { arcminText } from "../words/numbers.js";
import { type Candidate, candidatePool, momentAt } from "./candidates.js";
import { rankStars, targetsOf } from "./choice.js";
import { isEnough, smallestSetting } from "./enough.js";
import { addSighting, type Information, informationFrom, varianceOf, varianceSaved } from "./information.js";
import { type FullPlanOptions, fullPlanOptions, type PlanOptions } from "./options.js";
import { type AxisUncertainty, axisOf, knowledge, lastShafts, sightedStars, withSightings } from "./plan.js";

/** The star to sight next. */
export interface NextStar {
  readonly star: string;
  /** Hipparcos number. */
  readonly hip: number;
  /** Visual magnitude; of a variable star its faintest. */
  readonly vMag: number;
  /** When it will be in the eyepiece, ISO 8601; the figures are for then. */
  readonly time: string;
  /** The zone of the site's clocks, IANA; null where the mount file names none. */
  readonly timeZone: string | null;
  readonly side: Side;
  readonly altitudeDeg: number;
  readonly azimuthDeg: number;
  readonly hourAngleHours: number;
  readonly declinationDeg: number;
  readonly predicted: PredictedReadings;
  /** From where the telescope was at the last sighting, degrees of both shafts; null before the first. */
  readonly slewDeg: number | null;
  /** What is known of the axis now and what would be after it, 1σ, arcminutes; `before` null while next to nothing is. */
  readonly before: AxisUncertainty | null;
  readonly after: AxisUncertainty;
  /** More stars would not change the turns: this one is not needed. */
  readonly enough: boolean;
  /** Why this star, in one sentence. */
  readonly reason: string;
  /** The next best, where cloud stands before it. */
  readonly others: readonly string[];
}

/** How fast an observer brings the telescope over by hand, degrees a minute. */
const SLEW_DEG_A_MINUTE = 60;
const VAGUE_ARCMIN = 300;

/**
 * The star to sight next, or null when none of the catalogue's may be sighted now.
 *
 * @param night - the mount and tonight's sightings so far
 * @param standing - their fit, a kept model, or null: then what the sightings teach is computed without their readings
 * @param nowMs - milliseconds of UTC since 1970
 * @param options - as for {@link planStars}
 * @throws {@link InputError} `sun-up` while the Sun is up and daylight was not asked for, and the faults of the options
 * @example
 * ```ts
 * nextStar(night, fitMount(night), parseTime("2026-03-14T19:30:00Z"))?.reason
 * ```
 */
export function nextStar(
  night: Night,
  standing: MountFit | MountStanding | null,
  nowMs: number,
  options: PlanOptions = {},
): NextStar | null {
  const { mount } = night;
  const full = fullPlanOptions(options, mount, nowMs);
  refuseDaylight(nowMs, mount.site, full.daylight);
  const basis = { standing: standing !== null && standing.terms.length > 0 ? standing : null, night };
  const known = knowledge(mount, basis);
  const targets = targetsOf(known, full.toLearn);
  const thenMs = nowMs + full.minutesBetween * 60_000;
  const moment = momentAt(skyOverNight(nowMs, thenMs, mount.site).at(thenMs));
  const first = !known.fromSightings && night.sightings.length === 0;
  const pool = poolFor(known, moment, full, night);
  if (pool === null) return null;

  const before = withSightings(known, basis);
  const start = lastShafts(night);
  const now = varianceOf(before, targets);
  const wayTo = ({ direction, side }: Candidate): number | null =>
    start === null ? null : shaftWayDegrees(start, shaftsTowards(mount, direction, side));
  const worth = (candidate: Candidate): number => {
    const saved = varianceSaved(before, pool.choiceRows, candidate.at, targets);
    const slew = wayTo(candidate) ?? 0;
    const gain = Math.log(now / Math.max(now - saved, now * 1e-12));
    return gain / (full.minutesBetween + slew / SLEW_DEG_A_MINUTE);
  };
  // While the zeros are unknown a star must be unmistakable: the brightest.
  const [best, ...others] = rankStars(
    pool,
    first ? (candidate) => -faintestMagnitude(candidate.star) : worth,
    3,
  );
  if (best === undefined) return null; // a pool is never empty
  const after = informationFrom(before.covariance);
  addSighting(after, pool.rows, best.at);
  const setting = smallestSetting(mount, full.goalArcmin);
  const { enough } = isEnough(known, before, pool, new Set(), setting);
  const axisBefore = axisOf(known, before);
  const axisAfter = axisOf(known, after);
  const beforeShown = axisBefore.axis > VAGUE_ARCMIN ? null : axisBefore;
  return {
    star: best.star.label,
    hip: best.star.hip,
    vMag: faintestMagnitude(best.star),
    time: formatTime(thenMs),
    timeZone: mount.site.timeZone ?? null,
    side: best.side,
    altitudeDeg: best.direction.altitude / DEGREE,
    azimuthDeg: best.direction.azimuth / DEGREE,
    hourAngleHours: best.direction.hourAngle / HOUR,
    declinationDeg: best.direction.declination / DEGREE,
    predicted: predictReadings(known, best.direction, moment.frame.siderealTime, best.side),
    slewDeg: wayTo(best),
    before: beforeShown,
    after: axisAfter,
    enough,
    reason: reasonFor(best, {
      first,
      enough,
      known,
      before,
      after,
      axisBefore: beforeShown,
      axisAfter,
      full,
    }),
    others: others.map((candidate) => candidate.star.label),
  };
}

function poolFor(
  known: KnownMount,
  moment: ReturnType<typeof momentAt>,
  options: FullPlanOptions,
  night: Night,
) {
  const pool = candidatePool(known, [moment], options, sightedStars(night));
  if (pool.candidates.length > 0) return pool;
  // Every star has been sighted: the same ones again, elsewhere in their course, still teach.
  const again = candidatePool(known, [moment], options, new Set());
  return again.candidates.length > 0 ? again : null;
}

interface Reasons {
  readonly first: boolean;
  readonly enough: boolean;
  readonly known: KnownMount;
  readonly before: Information;
  readonly after: Information;
  readonly axisBefore: AxisUncertainty | null;
  readonly axisAfter: AxisUncertainty;
  readonly full: FullPlanOptions;
}

function reasonFor(best: Candidate, reasons: Reasons): string {
  const { first, enough, axisBefore, axisAfter, full } = reasons;
  const where = `${best.star.label}, ${placeText(best.direction)}`;
  if (first) {
    return `Begin with ${where}: it is the brightest star that stands well now, and the first one sets the encoder zeros.`;
  }
  if (enough && full.toLearn === "pole") {
    return `More stars would not change the turns; if you go on all the same, ${where}, teaches most for its time.`;
  }
  if (full.toLearn !== "pole") {
    const [target] = targetsOf(reasons.known, full.toLearn);
    const sigma = (information: Information): string =>
      arcmin(Math.sqrt(information.covariance[target! * information.size + target!]!));
    return `${where}, takes the uncertainty of ${labelOf(full.toLearn, reasons.known)} from ${sigma(reasons.before)} to ${sigma(reasons.after)}, the most of all for its time.`;
  }
  if (axisBefore === null) {
    return `${where}, lies where the axis still is unknown; after it the axis is known to about ${arcmin(axisAfter.axis)}.`;
  }
  const altitudeGain = axisBefore.altitude - axisAfter.altitude;
  const eastGain = axisBefore.east - axisAfter.east;
  const most = altitudeGain >= eastGain ? "altitude" : "east–west place";
  return `${where}, measures most of the axis's ${most} for its time: the axis would be known to ${arcmin(axisAfter.axis)} instead of ${arcmin(axisBefore.axis)}.`;
}

function labelOf(name: string, { mount }: KnownMount): string {
  const own = mount.customTerms.find((term) => term.name === name);
  return own?.label ?? termDescriptions[name as BuiltInTermName].label;
}

function arcmin(value: number): string {
  return arcminText(value, value < 10 ? 2 : 0);
}

const winds = [
  "north",
  "north-east",
  "east",
  "south-east",
  "south",
  "south-west",
  "west",
  "north-west",
] as const;

/** Where a direction lies, as one points at it: `low in the south-east`. */
function placeText(direction: ObservedDirection): string {
  const wind = winds[Math.round(direction.azimuth / (45 * DEGREE)) % 8]!;
  const altitude = direction.altitude / DEGREE;
  return altitude > 75
    ? `almost overhead in the ${wind}`
    : `${altitude < 30 ? "low" : altitude < 55 ? "half up" : "high"} in the ${wind}`;
}
