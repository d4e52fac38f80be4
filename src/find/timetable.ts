/**
 * A timetable for a class evening: an object for each slot, the readings at the slot's middle, what to look for.
 */

import { Constellation } from "astronomy-engine";
import { DEGREE } from "../angles.js";
import { type Fault, InputError, shown } from "../errors.js";
import { brokenLimits, insideLimits } from "../mount/limits.js";
import type { Mount } from "../mount/mount.js";
import type { Side } from "../night/sighting.js";
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
import { shaftsTowards, shaftWayDegrees } from "../pointing/shafts.js";
import { degreesFromSun, SUN_AVOIDANCE_DEG, type SunWatch, sunWatch } from "../pointing/sun-safety.js";
import { hourAngleVector } from "../sky/horizon-frame.js";
import type { SkyFrame } from "../sky/sky-frame.js";
import { type SkyOverNight, skyOverNight } from "../sky/sky-over-night.js";
import type { ObservedDirection } from "../sky/star.js";
import { moonDirection } from "../sky/sun-and-moon.js";
import { formatTime } from "../sky/time.js";
import { separation, type Vector } from "../vectors.js";
import { type NotShown, type WholeList, wholeList } from "./class-list.js";
import { lookFor } from "./look-for.js";
import { chooseSlots, FREE, type SlotCandidate } from "./slots.js";
import { type Target, type TargetKind, targetNamed, targetsNamed } from "./target.js";
import { formatSecond, refuseOutside } from "./times.js";

/** One object in its slot. */
export interface TimetableEntry {
  readonly target: string;
  readonly kind: TargetKind;
  readonly description: string;
  readonly constellation: string;
  /** Visual magnitude; null where none is known. */
  readonly vMag: number | null;
  /** Longer and shorter diameter, arcminutes; null for a point. */
  readonly sizeArcmin: readonly [number, number] | null;
  /** The longer diameter over the shorter side of the camera's field; null without either. */
  readonly partOfField: number | null;
  readonly lookFor: string;
  /** At the slot's middle, observed. */
  readonly altitudeDeg: number;
  readonly azimuthDeg: number;
  readonly side: Side;
  /** At the slot's middle. */
  readonly predicted: PredictedReadings;
  /** By how much the readings change in a minute of time, in the mount file's unit. */
  readonly aMinute: { readonly hourAngle: number; readonly declination: number };
  /** From the object before, both shafts, degrees; null for the first. */
  readonly slewDeg: number | null;
}

/** One slot of the evening. Times: ISO 8601. */
export interface TimetableSlot {
  readonly from: string;
  readonly middle: string;
  readonly until: string;
  /** The Sun is less than 18° below the horizon. */
  readonly twilight: boolean;
  /** Null where the slot is free. */
  readonly entry: TimetableEntry | null;
}

/** A timetable for a class evening. */
export interface Timetable {
  readonly mount: string;
  readonly from: string;
  readonly until: string;
  readonly minutesEach: number;
  /** The zone of the site's clocks, IANA; null where the mount file names none. */
  readonly timeZone: string | null;
  readonly zerosKnown: boolean;
  readonly promises: boolean;
  readonly slots: readonly TimetableSlot[];
  /** What was asked for by name and is not in it, and why. */
  readonly notShown: readonly NotShown[];
  readonly notes: readonly Guidance[];
}

/** What a whole list's object gains; the brightest a little more. */
const WORTH_SHOWING = 3;
/** The Moon and the planets gain so much more. */
const WORTH_OF_A_NEIGHBOUR = 2;
/** What was asked for by name is shown wherever it may be. */
const WORTH_ASKED = 12;
const BRIGHT = 3;
const FAINT = 10;
/** A cluster or a galaxy so near the Moon is drowned in its light, degrees (common practice, no source). */
const MOONLIGHT_DEG = 25;
const MOONLIGHT_COST = 1.5;
/** Twilight ends with the Sun so far down (astronomical twilight, any almanac), degrees. */
const DARK_DEG = -18;
const LONGEST_MS = 24 * 3_600_000;
const MOST_SLOTS = 96;
/** Where one stands at the beginning of a search: air masses beyond this are all alike bad. */
const MOST_AIR = 5;

/**
 * Makes a timetable: each object in a slot where it stands well, easy ones while it is twilight, with little slewing.
 *
 * @param standing - a fit or a kept model, or null
 * @param fromMs - when the first slot begins, milliseconds of UTC since 1970
 * @param toMs - when the last one ends at the latest
 * @param targets - names or coordinates, or a whole list to choose from
 * @param minutesEach - how long each object has
 * @throws {@link InputError} `evening-times`, `slot-length`, and a fault for every target where none is known
 * @example
 * ```ts
 * timetable(mount, kept, parseTime("2026-03-14T18:00:00Z"), parseTime("2026-03-14T20:00:00Z"), "showpieces", 10)
 * ```
 */
export function timetable(
  mount: Mount,
  standing: MountStanding | null,
  fromMs: number,
  toMs: number,
  targets: readonly string[] | WholeList,
  minutesEach: number,
): Timetable {
  refuseOutside([fromMs, toMs]);
  const slotMs = minutesEach * 60_000;
  const count = Math.floor((toMs - fromMs) / slotMs + 1e-9);
  refuseEvening(fromMs, toMs, minutesEach, count);
  const known = standing === null ? unsightedMount(mount) : knownMount({ ...standing, mount });
  const evening: Evening = {
    known,
    sky: skyOverNight(fromMs, toMs, mount.site),
    slots: Array.from({ length: count }, (_, slot) => slotAt(mount, fromMs + slot * slotMs, slotMs)),
  };
  const byName = typeof targets !== "string";
  const asked = byName ? targetsNamed(targets) : { targets: toChooseFrom(targets), faults: [] };
  const candidates = asked.targets.map((target) => candidateFor(target, evening, byName));
  const chosen = chooseSlots(count, candidates);
  let before: number | null = null;
  const slots = evening.slots.map((slot, at): TimetableSlot => {
    const index = chosen[at]!;
    const shafts = index === FREE ? null : candidates[index]!.shafts[at]!;
    const slewDeg =
      shafts === null || before === null
        ? null
        : shaftWayDegrees(candidates[chosen[before]!]!.shafts[before]!, shafts);
    if (index !== FREE) before = at;
    const { fromMs: begins, middleMs, untilMs } = slot;
    return {
      from: formatSecond(begins),
      middle: formatSecond(middleMs),
      until: formatSecond(untilMs),
      twilight: slot.sun.altitudeDeg > DARK_DEG,
      entry: index === FREE ? null : entryFor(asked.targets[index]!, slot, evening, slewDeg),
    };
  });
  const left = byName ? asked.targets.filter((_, index) => !chosen.includes(index)) : [];
  return {
    mount: mount.name,
    from: formatTime(fromMs),
    until: formatSecond(fromMs + count * slotMs),
    minutesEach,
    timeZone: mount.site.timeZone ?? null,
    zerosKnown: known.fromSightings,
    promises: known.promises,
    slots,
    notShown: [...left.map((target) => whyNot(target, evening)), ...asked.faults.map(unknownTarget)],
    notes: [
      ...(evening.slots.some(({ sun }) => sun.up)
        ? [sunGuidance("Nothing is shown while the Sun is up.")]
        : []),
      ...known.cautions,
      ...zerosNote(known),
    ],
  };
}

/** What every class wants to see is among the showpieces. */
function toChooseFrom(list: WholeList): Target[] {
  const wandering = list === "showpieces" ? ["Moon", "Venus", "Mars", "Jupiter", "Saturn"] : [];
  return [...wandering.map(targetNamed), ...wholeList(list)];
}

function refuseEvening(fromMs: number, toMs: number, minutesEach: number, count: number): void {
  const faults: Fault[] = [];
  if (!(minutesEach >= 1 && minutesEach <= 120)) {
    faults.push({
      code: "slot-length",
      found: shown(minutesEach),
      allowed: "minutes from 1 to 120",
      message: "No object can have so long.",
    });
  } else if (!(toMs > fromMs) || toMs - fromMs > LONGEST_MS || count < 1 || count > MOST_SLOTS) {
    faults.push({
      code: "evening-times",
      found: `${formatTime(fromMs)} to ${formatTime(toMs)}, ${minutesEach} minutes each`,
      allowed: `an end after the beginning, at most a day later, for 1 to ${MOST_SLOTS} objects`,
      message: "These are not the beginning and the end of an evening.",
    });
  }
  if (faults.length > 0) throw new InputError(faults);
}

interface Slot {
  readonly fromMs: number;
  readonly middleMs: number;
  readonly untilMs: number;
  /** At the slot's middle. */
  readonly sun: SunWatch;
  /** Null while the Moon is down. */
  readonly moon: Vector | null;
}

interface Evening {
  readonly known: KnownMount;
  readonly sky: SkyOverNight;
  readonly slots: readonly Slot[];
}

function slotAt({ site }: Mount, fromMs: number, slotMs: number): Slot {
  const middleMs = fromMs + slotMs / 2;
  const moon = moonDirection(middleMs, site);
  return {
    fromMs,
    middleMs,
    untilMs: fromMs + slotMs,
    sun: sunWatch(middleMs, site),
    moon: moon.altitude > 0 ? hourAngleVector(moon) : null,
  };
}

/** Why a target may not be shown at a moment; null where it may. */
function barrier(target: Target, frame: SkyFrame, { known }: Evening): string | null {
  const direction = target.observe(frame);
  const sun = sunWatch(frame.timeMs, frame.site);
  if (sun.up) return "the Sun is up";
  if (degreesFromSun(direction, sun) < SUN_AVOIDANCE_DEG) return `within ${SUN_AVOIDANCE_DEG}° of the Sun`;
  if (direction.altitude <= 0) return "below the horizon";
  if (!insideLimits(direction, known.mount.limits)) {
    return brokenLimits(direction, known.mount.limits)[0]?.text ?? "outside the limits";
  }
  return outOfReach(known, direction);
}

function candidateFor(target: Target, evening: Evening, isAsked: boolean): SlotCandidate {
  const { known, sky, slots } = evening;
  const seen = slots.map(({ middleMs }) => target.observe(sky.at(middleMs)));
  const allowed = slots.map(({ fromMs, middleMs, untilMs }) =>
    [fromMs, middleMs, untilMs].every((timeMs) => barrier(target, sky.at(timeMs), evening) === null),
  );
  const air = seen.map(airMass);
  const least = Math.min(...air.filter((_, slot) => allowed[slot]));
  const worth = worthOf(target, slots[0]!.middleMs, known.mount, isAsked);
  const costs = slots.map((slot, at) =>
    allowed[at]
      ? air[at]! - least + twilightCost(target, slot) + moonCost(target, seen[at]!, slot) - worth
      : Number.POSITIVE_INFINITY,
  );
  const shafts = seen.map((direction) =>
    shaftsTowards(known.mount, direction, usualSide(known.mount, direction.hourAngle)),
  );
  return { costs, shafts };
}

/** How much air one looks through: 1 in the zenith (a plane slab; good enough for a choice). */
function airMass({ altitude }: ObservedDirection): number {
  return Math.min(MOST_AIR, 1 / Math.max(1e-3, Math.sin(altitude)));
}

function worthOf(target: Target, timeMs: number, mount: Mount, isAsked: boolean): number {
  if (isAsked) return WORTH_ASKED;
  const looks = looksLike(target, timeMs) ?? FAINT;
  const bright = Math.min(1, Math.max(0, (FAINT - looks) / (FAINT - BRIGHT)));
  const near = target.kind === "Moon" || target.kind === "planet" ? WORTH_OF_A_NEIGHBOUR : 0;
  return WORTH_SHOWING + near + bright - oversizeCost(partOfField(target, timeMs, mount));
}

/** What is larger than the field is seen in part only: each doubling costs so much, to a most. */
const DOUBLING_COST = 0.4;
const MOST_OVERSIZE_COST = 2;

function oversizeCost(part: number | null): number {
  return part === null ? 0 : Math.min(MOST_OVERSIZE_COST, DOUBLING_COST * Math.max(0, Math.log2(part)));
}

/** The longer diameter over the shorter side of the camera's field. */
function partOfField(target: Target, timeMs: number, { camera }: Mount): number | null {
  const size = target.sizeArcmin(timeMs);
  return size === null || camera === null ? null : size[0] / (2 * halfFieldArcmin(fieldOfCamera(camera)));
}

/** Twilight drowns what is faint: the faintest that shows, by the Sun's altitude (common practice, no source). */
const SHOWS_IN_TWILIGHT: readonly (readonly [number, number])[] = [
  [-4, -2],
  [-9, 3],
  [-12, 6],
  [DARK_DEG, 20],
];
/** A cloud shows as easily as a point that is so many magnitudes fainter than a square arcminute of it. */
const CLOUD_MAGNITUDES = 6;

/** As bright a point as what is seen of a target; of a group of stars its stars'. */
function looksLike(target: Target, timeMs: number): number | null {
  const magnitude = target.magnitude(timeMs);
  const size = target.kind === "deep sky" ? target.sizeArcmin(timeMs) : null;
  if (magnitude === null || size === null || /open cluster|star group/.test(target.description))
    return magnitude;
  const area = (Math.PI / 4) * size[0] * size[1];
  return Math.max(magnitude, magnitude + 2.5 * Math.log10(area) - CLOUD_MAGNITUDES);
}

function twilightCost(target: Target, { middleMs, sun }: Slot): number {
  const looks = looksLike(target, middleMs);
  return looks === null ? 0 : Math.max(0, looks - shownAt(sun.altitudeDeg));
}

function shownAt(sunAltitudeDeg: number): number {
  const [first] = SHOWS_IN_TWILIGHT;
  if (sunAltitudeDeg >= first![0]) return first![1];
  for (let at = 1; at < SHOWS_IN_TWILIGHT.length; at++) {
    const [high, bright] = SHOWS_IN_TWILIGHT[at - 1]!;
    const [low, faint] = SHOWS_IN_TWILIGHT[at]!;
    if (sunAltitudeDeg >= low) return bright + ((high - sunAltitudeDeg) / (high - low)) * (faint - bright);
  }
  return SHOWS_IN_TWILIGHT.at(-1)![1];
}

function moonCost(target: Target, direction: ObservedDirection, { moon }: Slot): number {
  if (moon === null || target.kind !== "deep sky") return 0;
  return separation(hourAngleVector(direction), moon) < MOONLIGHT_DEG * DEGREE ? MOONLIGHT_COST : 0;
}

function entryFor(
  target: Target,
  slot: Slot,
  { known, sky }: Evening,
  slewDeg: number | null,
): TimetableEntry {
  const { mount } = known;
  const frame = sky.at(slot.middleMs);
  const direction = target.observe(frame);
  const side = usualSide(mount, direction.hourAngle);
  const predicted = predictReadings(known, direction, frame.siderealTime, side);
  const sizeArcmin = target.sizeArcmin(slot.middleMs);
  const { raDeg, decDeg } = target.position(slot.middleMs);
  return {
    target: target.label,
    kind: target.kind,
    description: target.description,
    constellation: Constellation(raDeg / 15, decDeg).name,
    vMag: target.magnitude(slot.middleMs),
    sizeArcmin,
    partOfField: partOfField(target, slot.middleMs, mount),
    lookFor: lookFor(target),
    altitudeDeg: direction.altitude / DEGREE,
    azimuthDeg: direction.azimuth / DEGREE,
    side,
    predicted,
    aMinute: aMinute(target, slot.middleMs, side, known, sky),
    slewDeg,
  };
}

/** How the readings change in the minute about a moment, on the side given. */
function aMinute(target: Target, timeMs: number, side: Side, known: KnownMount, sky: SkyOverNight) {
  const at = (when: number): PredictedReadings => {
    const frame = sky.at(when);
    return predictReadings(known, target.observe(frame), frame.siderealTime, side);
  };
  const [before, after] = [at(timeMs - 30_000), at(timeMs + 30_000)];
  const { hourAngle, declination } = known.mount.readings;
  // A right ascension goes round at 24 hours.
  const turn = hourAngle.as === "rightAscension" ? 24 : hourAngle.perTurn;
  const change = after.hourAngle - before.hourAngle;
  return {
    hourAngle: change - turn * Math.round(change / turn),
    declination:
      after.declination -
      before.declination -
      declination.perTurn * Math.round((after.declination - before.declination) / declination.perTurn),
  };
}

function whyNot(target: Target, evening: Evening): NotShown {
  const why = evening.slots.map(({ middleMs }) => barrier(target, evening.sky.at(middleMs), evening));
  const free = why.some((reason) => reason === null);
  return {
    target: target.label,
    why: free
      ? "there are not enough slots in which it may be looked at"
      : (why[Math.floor(why.length / 2)] ?? ""),
  };
}

function unknownTarget({ found, message, allowed }: Fault): NotShown {
  return { target: found ?? "", why: `${message} Allowed: ${allowed}`, unknown: true };
}
