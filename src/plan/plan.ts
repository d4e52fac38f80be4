/**
 * Which stars to sight tonight, in which order, and what each will have taught.
 */

import { DEGREE, HOUR } from "../angles.js";
import { InputError } from "../errors.js";
import type { Mount } from "../mount/mount.js";
import type { TermName } from "../mount/terms.js";
import type { Night } from "../night/night.js";
import type { Side } from "../night/sighting.js";
import { type Guidance, sunGuidance } from "../pointing/guidance.js";
import {
  type KnownMount,
  knownMount,
  type MountStanding,
  type PredictedReadings,
  plannableTerms,
  predictReadings,
  unsightedMount,
  zerosNote,
} from "../pointing/known-mount.js";
import { shaftsTowards, shaftWayDegrees } from "../pointing/shafts.js";
import { CIVIL_TWILIGHT_DEG, refuseDaylight } from "../pointing/sun-safety.js";
import type { HourAngleDirection } from "../sky/horizon-frame.js";
import { observeIn } from "../sky/observe.js";
import { skyOverNight } from "../sky/sky-over-night.js";
import { formatTime } from "../sky/time.js";
import { faintestMagnitude, isVariable } from "../sky/variable-stars.js";
import {
  barrier,
  type Candidate,
  type CandidatePool,
  candidatePool,
  type LeftOut,
  momentAt,
  weightedRows,
} from "./candidates.js";
import { chooseStars, targetsOf } from "./choice.js";
import {
  axisUncertainty,
  isEnough,
  moreUntilEnough,
  type SmallestSetting,
  smallestSetting,
} from "./enough.js";
import { addSighting, type Information, informationFrom, varianceOf } from "./information.js";
import { type FullPlanOptions, fullPlanOptions, type LearningGoal, type PlanOptions } from "./options.js";
import { orderedWay, shortestOrder, type Visit } from "./order.js";
import { type Approach, inPairs, playOf, starsOfPairs } from "./play-plan.js";

/** How sure the axis is, 1σ, arcminutes. */
export interface AxisUncertainty {
  readonly altitude: number;
  readonly east: number;
  /** Both together: the square root of the sum of squares. */
  readonly axis: number;
}

/** One star of the plan. */
export interface PlannedStar {
  /** Its place in the order, from 1. */
  readonly place: number;
  readonly star: string;
  /** Hipparcos number. */
  readonly hip: number;
  /** Visual magnitude; of a variable star its faintest. */
  readonly vMag: number;
  readonly variable: boolean;
  /** When it is to be sighted, ISO 8601 and milliseconds of UTC. */
  readonly time: string;
  readonly timeMs: number;
  readonly side: Side;
  readonly altitudeDeg: number;
  readonly azimuthDeg: number;
  readonly hourAngleHours: number;
  readonly declinationDeg: number;
  readonly predicted: PredictedReadings;
  /** From which side the axis comes to it, where the plan is to teach that axis's play; else null. */
  readonly approach: Approach | null;
  /** From the star before (the first: from the last sighting): both shafts, degrees; null when not known. */
  readonly slewDeg: number | null;
  /** What is then expected to be known, 1σ, arcminutes. */
  readonly after: AxisUncertainty;
  /** The uncertainty of the term that the plan is to teach, 1σ; null for the pole. */
  readonly termAfter: number | null;
  /** After this star more would not change the turns. */
  readonly enough: boolean;
}

/** A plan for an evening. */
export interface Plan {
  readonly mount: string;
  readonly from: string;
  readonly until: string;
  /** The zone of the site's clocks, IANA; null where the mount file names none. */
  readonly timeZone: string | null;
  readonly toLearn: LearningGoal;
  /** From one sighting to the next. */
  readonly minutesBetween: number;
  /** Whether sightings stand behind the predicted readings. */
  readonly zerosKnown: boolean;
  /** What is known before the first star, 1σ, arcminutes; null while next to nothing is. */
  readonly before: AxisUncertainty | null;
  readonly stars: readonly PlannedStar[];
  readonly smallestSetting: SmallestSetting;
  /** After which star more will not change the turns; null when this plan does not reach that. */
  readonly enoughAfter: number | null;
  /** How many more stars that would take; null when the plan reaches it, or when thirty more would not. */
  readonly moreForEnough: number | null;
  /** How far both shafts turn from star to star, degrees, and how far they would in the order of teaching. */
  readonly slewDeg: number;
  readonly slewAsTaughtDeg: number;
  /** How many stars could have been chosen. */
  readonly candidates: number;
  readonly leftOut: LeftOut;
  readonly notes: readonly Guidance[];
}

/** What a plan starts from. */
export interface PlanBasis {
  /** A fit of tonight or a kept model; without it the tolerances alone. */
  readonly standing?: MountStanding | null;
  /** Tonight's sightings so far: their stars are not proposed again. */
  readonly night?: Night | null;
}

/**
 * Plans an evening's sightings: chooses the stars that together tell most of the polar axis (or of one term), away from
 * the Sun, the Moon, the zenith, the pole and stars that look alike, inside the mount's limits for the whole session;
 * orders them for a short way; and says what is expected to be known after each.
 *
 * @param mount - the mount
 * @param fromMs - when the first star is sighted, milliseconds of UTC since 1970
 * @param options - how many stars and how they are chosen
 * @param basis - what is known already
 * @throws {@link InputError} `sun-up` while the Sun is up and daylight was not asked for, `no-stars` when none may be
 *   sighted, and the faults of the options
 * @example
 * ```ts
 * const plan = planStars(mount, parseTime("2026-03-14T18:30:00Z"), { stars: 10 });
 * plan.stars.map((star) => star.star);
 * ```
 */
export function planStars(
  mount: Mount,
  fromMs: number,
  options: PlanOptions = {},
  basis: PlanBasis = {},
): Plan {
  const full = fullPlanOptions(options, mount, fromMs);
  if (playOf(full.toLearn) === null) return chosenStars(mount, fromMs, full, basis);
  const plan = chosenStars(mount, fromMs, fullPlanOptions(starsOfPairs(full), mount, fromMs), basis);
  return inPairs(plan, full, knowledge(mount, basis));
}

/** The plan, each star sighted once. */
function chosenStars(mount: Mount, fromMs: number, full: FullPlanOptions, basis: PlanBasis): Plan {
  refuseDaylight(fromMs, mount.site, full.daylight);
  const known = knowledge(mount, basis);
  const targets = targetsOf(known, full.toLearn);
  if (targets.length === 0) refuseUnknownTarget(full.toLearn, known);
  const step = full.minutesBetween * 60_000;
  const untilMs = fromMs + (full.stars - 1) * step;
  const sky = skyOverNight(fromMs, untilMs, mount.site);
  const slots = Array.from({ length: full.stars }, (_, slot) => momentAt(sky.at(fromMs + slot * step)));
  const middle = momentAt(sky.at((fromMs + untilMs) / 2));
  const sighted = sightedStars(basis.night ?? null);
  const pool = candidatePool(known, [slots[0]!, middle, slots[slots.length - 1]!], full, sighted);
  if (pool.candidates.length === 0) refuseEmpty(pool, fromMs);

  const before = withSightings(known, basis);
  // Many stars cannot stand far from each other without standing where they teach little.
  const apart = full.apartDeg * DEGREE * Math.min(1, STARS_FAR_APART / full.stars);
  const bright = known.fromSightings ? [] : pool.candidates.filter(isUnmistakable);
  const begin = Math.min(BRIGHT_FIRST, full.stars, bright.length);
  const chosen = chooseStars(pool, before, targets, full.stars, apart, begin, bright);
  const directions = chosen.map(({ star }) => slots.map((slot) => observeIn(slot.frame, star)));
  const visits = chosen.map(
    ({ side }, index): Visit => ({
      shafts: directions[index]!.map((direction) => shaftsTowards(mount, direction, side)),
      allowed: directions[index]!.map(
        (direction, place) => barrier(direction, slots[place]!, known, full) === null,
      ),
    }),
  );
  const start = lastShafts(basis.night ?? null);
  const asTaught = chosen.map((_, index) => index);
  const order =
    full.order === "teach" ? asTaught : shortestOrder(visits, brightFirst(chosen, begin, known), start);

  const setting = smallestSetting(mount, full.goalArcmin);
  const information = informationFrom(before.covariance);
  const scratch = new Float64Array(2 + 2 * known.model.size);
  const row = new Float64Array(2 * known.names.length);
  const used = new Set<number>();
  let enoughAfter: number | null = null;
  let previous = start;
  const stars = order.map((index, slot): PlannedStar => {
    const candidate = chosen[index]!;
    const { frame } = slots[slot]!;
    const direction = directions[index]![slot]!;
    const shafts = visits[index]!.shafts[slot]!;
    weightedRows(known, direction, candidate.side, row, scratch);
    addSighting(information, row, 0);
    used.add(candidate.at);
    const { enough } = isEnough(known, information, pool, used, setting);
    if (enough && enoughAfter === null) enoughAfter = slot + 1;
    const slewDeg = previous === null ? null : shaftWayDegrees(previous, shafts);
    previous = shafts;
    return {
      place: slot + 1,
      star: candidate.star.label,
      hip: candidate.star.hip,
      vMag: faintestMagnitude(candidate.star),
      variable: isVariable(candidate.star),
      time: formatTime(frame.timeMs),
      timeMs: frame.timeMs,
      side: candidate.side,
      altitudeDeg: direction.altitude / DEGREE,
      azimuthDeg: direction.azimuth / DEGREE,
      hourAngleHours: direction.hourAngle / HOUR,
      declinationDeg: direction.declination / DEGREE,
      predicted: predictReadings(known, direction, frame.siderealTime, candidate.side),
      approach: null,
      slewDeg,
      after: axisOf(known, information),
      termAfter: full.toLearn === "pole" ? null : Math.sqrt(varianceOf(information, targets)),
      enough,
    };
  });
  const sets = order.flatMap((index, slot) =>
    visits[index]!.allowed[slot] ? [] : [chosen[index]!.star.label],
  );
  return {
    mount: mount.name,
    from: formatTime(fromMs),
    until: stars[stars.length - 1]!.time,
    timeZone: mount.site.timeZone ?? null,
    toLearn: full.toLearn,
    minutesBetween: full.minutesBetween,
    zerosKnown: known.fromSightings,
    before: isVague(before, known) ? null : axisOf(known, before),
    stars,
    smallestSetting: setting,
    enoughAfter,
    moreForEnough: enoughAfter === null ? moreUntilEnough(known, information, pool, used, setting) : null,
    slewDeg: orderedWay(order, visits, start),
    slewAsTaughtDeg: orderedWay(asTaught, visits, start),
    candidates: pool.candidates.length,
    leftOut: pool.leftOut,
    notes: notesOf(full, known, stars, slots[0]!.sun, sets),
  };
}

/** What is known: the standing given, or the tolerances. */
export function knowledge(mount: Mount, basis: PlanBasis): KnownMount {
  return basis.standing ? knownMount({ ...basis.standing, mount }) : unsightedMount(mount, plannableTerms);
}

/**
 * The covariance before the next star. Sightings without a fit count too: what a star teaches does not depend on its
 * readings.
 */
export function withSightings(known: KnownMount, basis: PlanBasis): Information {
  const information = informationFrom(known.covariance);
  if (basis.standing || !basis.night) return information;
  const scratch = new Float64Array(2 + 2 * known.model.size);
  const row = new Float64Array(2 * known.names.length);
  const { site } = basis.night.mount;
  for (const sighting of basis.night.sightings) {
    if (!sighting.use) continue;
    const direction = observeIn(
      skyOverNight(sighting.timeMs, sighting.timeMs, site).at(sighting.timeMs),
      sighting.position,
    );
    weightedRows(known, direction, sighting.side, row, scratch, sighting.centringArcmin);
    addSighting(information, row, 0);
  }
  return information;
}

/** Stars that have been sighted tonight. */
export function sightedStars(night: Night | null): Set<number> {
  const hips = (night?.sightings ?? []).flatMap((sighting) =>
    sighting.use && sighting.catalogueStar !== null ? [sighting.catalogueStar.hip] : [],
  );
  return new Set(hips);
}

/** How the shafts stood at the last sighting, or null. */
export function lastShafts(night: Night | null): HourAngleDirection | null {
  const last = night?.sightings.reduce<Night["sightings"][number] | null>(
    (latest, sighting) => (latest === null || sighting.timeMs >= latest.timeMs ? sighting : latest),
    null,
  );
  if (!night || !last) return null;
  const frame = skyOverNight(last.timeMs, last.timeMs, night.mount.site).at(last.timeMs);
  return shaftsTowards(night.mount, observeIn(frame, last.position), last.side);
}

export function axisOf(known: KnownMount, information: Information): AxisUncertainty {
  const { altitude, east } = axisUncertainty(known, information);
  return { altitude, east, axis: Math.hypot(altitude, east) };
}

/** An axis less sure than this is said to be unknown, arcminutes. */
const VAGUE_ARCMIN = 300;

function isVague(information: Information, known: KnownMount): boolean {
  return axisOf(known, information).axis > VAGUE_ARCMIN;
}

/** So many stars may stand as far apart as the option says. */
const STARS_FAR_APART = 10;
/** Without zeros so many stars come first that nobody takes for others. */
const BRIGHT_FIRST = 2;
const UNMISTAKABLE_MAGNITUDE = 2;

function isUnmistakable({ star }: Candidate): boolean {
  return faintestMagnitude(star) <= UNMISTAKABLE_MAGNITUDE;
}

/** The bright stars that were chosen to begin with, the brightest first; where there are none the brightest of all. */
function brightFirst(chosen: readonly Candidate[], begin: number, known: KnownMount): number[] {
  if (known.fromSightings || chosen.length === 0) return [];
  const brightness = (index: number): number => faintestMagnitude(chosen[index]!.star);
  const bright = [...chosen.keys()].sort((a, b) => brightness(a) - brightness(b));
  return begin === 0 ? bright.slice(0, 1) : bright.filter((index) => index < begin);
}

function notesOf(
  options: FullPlanOptions,
  known: KnownMount,
  stars: readonly PlannedStar[],
  sun: { readonly up: boolean; readonly altitudeDeg: number },
  outside: readonly string[],
): Guidance[] {
  const notes: Guidance[] = [];
  if (sun.up) notes.push(sunGuidance());
  else if (sun.altitudeDeg > CIVIL_TWILIGHT_DEG) {
    notes.push({
      code: "twilight",
      message: "It is still twilight at the start.",
      remedy: "Begin with the brightest stars, or later.",
    });
  }
  if (stars.length < options.stars) {
    notes.push({
      code: "few-stars",
      message: `Only ${stars.length} of the ${options.stars} stars asked for may be sighted for the whole session.`,
      remedy: "Fainter ones (the option faintest) or a later time may give more.",
    });
  }
  if (outside.length > 0) {
    notes.push({
      code: "leaves-limits",
      message: `When its turn comes, ${outside.join(" and ")} may stand outside the limits.`,
      remedy: "Sight it earlier.",
    });
  }
  if (known.fromSightings) notes.push(...zerosNote(known));
  else {
    notes.push({
      code: "zeros-unknown",
      message: "The encoder zeros are not known yet.",
      remedy:
        "Find the first star by eye; what its readings differ from those printed here, the others will differ by too.",
    });
  }
  if (stars.some((star) => star.side === "beyond")) {
    notes.push({
      code: "side-beyond",
      message:
        "For a German mount, stars west of the meridian are planned on the normal side and those east of it with the tube turned over the pole (side: beyond).",
      remedy: "If the mount counts its sides the other way, exchange the words.",
    });
  }
  return notes;
}

function refuseUnknownTarget(toLearn: LearningGoal, known: KnownMount): never {
  throw new InputError({
    code: "unknown-term",
    path: "toLearn",
    found: toLearn,
    allowed: ["pole", ...new Set<TermName>(known.names)].join(", "),
    message: "The fit that the plan builds on does not hold this term.",
  });
}

function refuseEmpty(pool: CandidatePool, fromMs: number): never {
  const reasons: readonly (readonly [keyof LeftOut, string])[] = [
    ["outsideLimits", "outside the limits or below the horizon"],
    ["nearSun", "too near the Sun"],
    ["nearMoon", "too near the Moon"],
    ["nearZenith", "too near the zenith"],
    ["nearPole", "too near the pole"],
    ["likeNeighbour", "easily taken for a neighbour"],
    ["sightedAlready", "sighted already"],
    ["tooFaint", "too faint"],
  ];
  const found = reasons
    .filter(([key]) => pool.leftOut[key] > 0)
    .map(([key, text]) => `${pool.leftOut[key]} ${text}`);
  throw new InputError({
    code: "no-stars",
    found: `${formatTime(fromMs)}: ${found.join(", ")}`,
    allowed:
      "a time and limits that leave some stars of the catalogue; see limits in the mount file and the option faintest",
    message: "No star of the catalogue may be sighted for this session.",
  });
}
