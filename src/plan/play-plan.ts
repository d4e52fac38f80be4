/**
 * A plan that is to teach an axis's play: each star is sighted twice in a row, the axis brought to it from one side and then from
 * the other. The difference of both readings is the play, whatever else the mount errs by.
 */
import { ARCMINUTE, DEGREE, HOUR } from "../angles.js";
import { toleranceOf } from "../fit/columns.js";
import type { Mount } from "../mount/mount.js";
import { expectedError } from "../night/reduce.js";
import type { Guidance } from "../pointing/guidance.js";
import { type KnownMount, predictReadings } from "../pointing/known-mount.js";
import { findStar } from "../sky/find-star.js";
import { observeIn } from "../sky/observe.js";
import { skyOverNight } from "../sky/sky-over-night.js";
import { formatTime } from "../sky/time.js";
import type { FullPlanOptions, PlanOptions } from "./options.js";
import type { Plan, PlannedStar } from "./plan.js";

/** From which side an axis comes to a star last. */
export interface Approach {
  readonly axis: "hourAngle" | "declination";
  /** `+`: its angle grew, westward or northward. */
  readonly from: "+" | "-";
}

/** Which way an axis goes as its angle grows, and as it falls. */
export function waysOf(axis: Approach["axis"]): Readonly<Record<Approach["from"], string>> {
  return axis === "hourAngle" ? { "+": "westward", "-": "eastward" } : { "+": "northward", "-": "southward" };
}

/** The play that a goal names; null for any other goal. */
export function playOf(toLearn: string | undefined): Approach["axis"] | null {
  if (toLearn === "hourAngleBacklash") return "hourAngle";
  return toLearn === "declinationBacklash" ? "declination" : null;
}

/** Nearer to the pole an hour angle is too vague to show its play, degrees. */
const NEAR_POLE_DEG = 30;

/** What the stars of such a plan are chosen with: half as many, for twice the time each, spread as for the axis. */
export function starsOfPairs(full: FullPlanOptions): PlanOptions {
  const hourAngle = playOf(full.toLearn) === "hourAngle";
  return {
    ...full,
    toLearn: "pole",
    stars: Math.ceil(full.stars / 2),
    minutesBetween: Math.min(60, 2 * full.minutesBetween),
    poleDeg: hourAngle ? Math.max(NEAR_POLE_DEG, full.poleDeg) : full.poleDeg,
  };
}

/**
 * Each star of a plan twice, from both sides. The play's uncertainty counts the pairs' differences and the tolerance; that of the
 * axis is what one sighting of each star leaves, so it is not better than it will be.
 */
export function inPairs(plan: Plan, full: FullPlanOptions, known: KnownMount): Plan {
  const { mount } = known;
  const axis = playOf(full.toLearn)!;
  const step = full.minutesBetween * 60_000;
  let information = 1 / toleranceOf(full.toLearn as never, mount)! ** 2;
  const stars = plan.stars.flatMap((star): PlannedStar[] => {
    const first = {
      ...star,
      place: 2 * star.place - 1,
      termAfter: 1 / Math.sqrt(information),
      enough: false,
    };
    information += 1 / (2 * spread(mount, axis, star.declinationDeg) ** 2);
    const second = { ...again(star, star.timeMs + step, known), termAfter: 1 / Math.sqrt(information) };
    return [
      { ...first, approach: { axis, from: "+" } },
      { ...second, approach: { axis, from: "-" } },
    ];
  });
  const last = stars.at(-1)!;
  const doubled = (count: number | null): number | null => (count === null ? null : 2 * count);
  return {
    ...plan,
    toLearn: full.toLearn,
    minutesBetween: full.minutesBetween,
    until: last.time,
    stars,
    enoughAfter: doubled(plan.enoughAfter),
    moreForEnough: doubled(plan.moreForEnough),
    notes: [...plan.notes, bothSides(axis)],
  };
}

/** How well one sighting tells an axis's angle, 1σ, arcminutes of the axis. */
function spread(mount: Mount, axis: Approach["axis"], declinationDeg: number): number {
  const declination = declinationDeg * DEGREE;
  const { west, north } = expectedError(mount, declination, null);
  return (axis === "hourAngle" ? west / Math.cos(declination) : north) / ARCMINUTE;
}

/** The same star some minutes later. */
function again(star: PlannedStar, timeMs: number, known: KnownMount): PlannedStar {
  const frame = skyOverNight(timeMs, timeMs, known.mount.site).at(timeMs);
  const direction = observeIn(frame, findStar(`HIP ${star.hip}`));
  return {
    ...star,
    place: 2 * star.place,
    time: formatTime(timeMs),
    timeMs,
    altitudeDeg: direction.altitude / DEGREE,
    azimuthDeg: direction.azimuth / DEGREE,
    hourAngleHours: direction.hourAngle / HOUR,
    declinationDeg: direction.declination / DEGREE,
    predicted: predictReadings(known, direction, frame.siderealTime, star.side),
    slewDeg: 0,
  };
}

function bothSides(axis: Approach["axis"]): Guidance {
  const ways = waysOf(axis);
  return {
    code: "both-sides",
    message: `Each star is sighted twice: come to it ${ways["+"]} (+), then go a degree past it and come back ${ways["-"]} (-).`,
    remedy: `Never turn back over the star while you centre it. Write + or - into the column ${axis}Approach.`,
  };
}
