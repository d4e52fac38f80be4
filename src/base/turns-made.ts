/**
 * Turns as really made, what they do to the axis, and the turns that an advice asks for.
 */

import { ARCMINUTE, DEGREE } from "../angles.js";
import { PolewrightError } from "../errors.js";
import type { Base, Jack, LowerBearing } from "../mount/mount.js";
import {
  type AxisPlace,
  type BaseMotion,
  firstOrderMotion,
  type MovedAxis,
  moveAxis,
  stillBase,
} from "./axis-motion.js";
import { jackFrame } from "./jack-frame.js";
import type { TurnAdvice } from "./turn-advice.js";

/** The adjusters' names besides the jacks' own. */
export const AZIMUTH_BOLTS = "azimuth bolts";
export const LOWER_BEARING = "lower bearing";
export const BASE_SLIDE = "base";

/** Which way an adjuster was turned, or moved. */
export type TurnDirection = "clockwise" | "anticlockwise" | "east" | "west" | "up" | "down";

/** One adjuster turned. */
export interface TurnMade {
  /** A jack's name, `azimuth bolts`, `lower bearing`, or `base`. */
  readonly adjuster: string;
  /** Turns, never negative; for what has no screw 0. */
  readonly turns: number;
  readonly direction: TurnDirection;
  /** The way moved, never negative, millimetres: for what has no screw; with a screw null. */
  readonly mm: number | null;
}

/** What an advice asks to be turned, without the rest. */
export type TurnsAsked = Pick<TurnAdvice, "jacks" | "azimuthBolts" | "lowerBearing" | "slide">;

/** The turns that an advice asks for, as a list of turns made. */
export function turnsOfAdvice(advice: TurnsAsked): TurnMade[] {
  const made: TurnMade[] = [];
  for (const jack of advice.jacks) {
    if (jack.direction !== "none" && jack.turns > 0) {
      made.push({ adjuster: jack.name, turns: jack.turns, direction: jack.direction, mm: null });
    }
  }
  const bolts = advice.azimuthBolts;
  if (bolts !== null) {
    made.push({ adjuster: AZIMUTH_BOLTS, turns: bolts.turns, direction: bolts.direction, mm: null });
  }
  const bearing = advice.lowerBearing;
  if (bearing !== null) {
    const move = (mm: number, turns: number | null, plus: TurnDirection, minus: TurnDirection): void => {
      if (mm === 0) return;
      made.push({
        adjuster: LOWER_BEARING,
        turns: turns ?? 0,
        direction: mm > 0 ? plus : minus,
        mm: turns === null ? Math.abs(mm) : null,
      });
    };
    move(bearing.eastMm, bearing.eastTurns, "east", "west");
    move(bearing.upMm, bearing.upTurns, "up", "down");
  }
  if (advice.slide !== null) {
    made.push({
      adjuster: BASE_SLIDE,
      turns: 0,
      direction: advice.slide.direction,
      mm: advice.slide.shiftMm,
    });
  }
  return made;
}

/** The end of the base that is slid: the low end of the axis, which carries less than the ring or fork does. */
export function slidingEnd(latitudeDeg: number): "north" | "south" {
  return latitudeDeg < 0 ? "north" : "south";
}

/** Turn of the base, clockwise as seen from above, for its end moved east by one millimetre, radians. */
export function turnPerMm(end: "north" | "south", leverMm: number): number {
  return (end === "north" ? 1 : -1) / leverMm;
}

/** From the sliding end to the end that stays: the jacks' extent, else what is known, millimetres. */
export function slideLever(base: Base): number {
  const extent = jackFrame(base.jacks)?.northExtent ?? 0;
  return extent > 0 ? extent : (base.azimuthBolts?.leverMm ?? base.lowerBearing?.axisLengthMm ?? 1000);
}

/** The rise of a jack for so many turns, up positive, millimetres. */
function riseOf(jack: Jack, turns: number, direction: TurnDirection): number {
  if (direction === "up" || direction === "down") return (direction === "up" ? 1 : -1) * turns * jack.pitchMm;
  const raises = (direction === "clockwise") === (jack.clockwise === "raises");
  return (raises ? 1 : -1) * turns * jack.pitchMm;
}

/** What a set of turns does to the base, by kind of adjuster. */
export interface TurnsEffect {
  /** Rise of every jack, in the base's order, millimetres. */
  readonly risesMm: readonly number[];
  /** The base as the jacks tilt it, without the rest. */
  readonly tilt: BaseMotion;
  readonly bolts: BaseMotion;
  readonly slide: BaseMotion;
  readonly lowerBearing: BaseMotion;
  /** All together. */
  readonly whole: BaseMotion;
  readonly warpMm: number;
}

/** A sum of motions, each by its factor. */
function sumOfMotions(parts: readonly (readonly [BaseMotion, number])[]): BaseMotion {
  const sum = (key: keyof BaseMotion): number =>
    parts.reduce((total, [part, factor]) => total + factor * part[key], 0);
  return {
    slopeEast: sum("slopeEast"),
    slopeNorth: sum("slopeNorth"),
    turn: sum("turn"),
    bearingEast: sum("bearingEast"),
    bearingUp: sum("bearingUp"),
  };
}

/**
 * What a set of turns does to the base.
 *
 * @param base - the base
 * @param made - the turns
 * @param latitudeDeg - latitude, degrees: which end of the base is slid
 * @throws PolewrightError `unknown-adjuster` or `unknown-direction`, naming it and what is allowed
 */
export function effectOfTurns(base: Base, made: readonly TurnMade[], latitudeDeg: number): TurnsEffect {
  const rises = base.jacks.map(() => 0);
  let bolts = stillBase;
  let slide = stillBase;
  let bearing = stillBase;
  for (const turn of made) {
    const jack = base.jacks.findIndex((candidate) => candidate.name === turn.adjuster);
    if (jack >= 0) {
      if (turn.direction === "east" || turn.direction === "west")
        throw badDirection(turn, "clockwise or anticlockwise");
      rises[jack]! +=
        turn.mm === null ? riseOf(base.jacks[jack]!, turn.turns, turn.direction) : signedWay(turn);
      continue;
    }
    const eastward = turn.direction === "east" ? 1 : turn.direction === "west" ? -1 : 0;
    const upward = turn.direction === "up" ? 1 : turn.direction === "down" ? -1 : 0;
    if (turn.adjuster === AZIMUTH_BOLTS && base.azimuthBolts !== null) {
      if (eastward === 0) throw badDirection(turn, "east or west, the way that end of the base moved");
      const { end, leverMm, pitchMm } = base.azimuthBolts;
      const shift = eastward * (turn.mm ?? turn.turns * pitchMm);
      bolts = { ...bolts, turn: bolts.turn + shift * turnPerMm(end, leverMm) };
    } else if (turn.adjuster === LOWER_BEARING && base.lowerBearing !== null) {
      if (eastward === 0 && upward === 0)
        throw badDirection(turn, "east, west, up or down, the way the bearing moved");
      const { axisLengthMm, eastWestPitchMm, upDownPitchMm } = base.lowerBearing;
      const pitch = eastward === 0 ? upDownPitchMm : eastWestPitchMm;
      const way = (turn.mm ?? turn.turns * (pitch ?? 0)) / axisLengthMm;
      bearing = {
        ...bearing,
        bearingEast: bearing.bearingEast + eastward * way,
        bearingUp: bearing.bearingUp + upward * way,
      };
    } else if (turn.adjuster === BASE_SLIDE) {
      if (eastward === 0) throw badDirection(turn, "east or west, the way that end of the base moved");
      const shift = eastward * (turn.mm ?? 0);
      slide = { ...slide, turn: slide.turn + shift * turnPerMm(slidingEnd(latitudeDeg), slideLever(base)) };
    } else {
      throw new PolewrightError(
        "unknown-adjuster",
        `The base has no adjuster "${turn.adjuster}". Allowed: ${adjusterNames(base).join(", ")}.`,
      );
    }
  }
  const frame = jackFrame(base.jacks);
  const plane = frame?.planeOf(rises);
  const tilt: BaseMotion =
    plane === undefined
      ? stillBase
      : { ...stillBase, slopeEast: plane.slopeEast, slopeNorth: plane.slopeNorth };
  return {
    risesMm: rises,
    tilt,
    bolts,
    slide,
    lowerBearing: bearing,
    whole: sumOfMotions([tilt, bolts, slide, bearing].map((part) => [part, 1] as const)),
    warpMm: frame?.warpOf(rises) ?? 0,
  };
}

function badDirection(turn: TurnMade, allowed: string): PolewrightError {
  return new PolewrightError(
    "unknown-direction",
    `${turn.adjuster} cannot be turned "${turn.direction}". Allowed: ${allowed}.`,
  );
}

function signedWay(turn: TurnMade): number {
  if (turn.direction === "up" || turn.direction === "down")
    return (turn.direction === "up" ? 1 : -1) * (turn.mm ?? 0);
  throw badDirection(turn, "up or down, where the way is given in millimetres");
}

/** The names of everything on the base that can be turned or moved. */
export function adjusterNames(base: Base): string[] {
  return [
    ...base.jacks.map((jack) => jack.name),
    ...(base.azimuthBolts === null ? [] : [AZIMUTH_BOLTS]),
    ...(base.lowerBearing === null ? [] : [LOWER_BEARING]),
    BASE_SLIDE,
  ];
}

/** Where the axis stands after turns. */
export interface AppliedTurns extends MovedAxis {
  /** The first order of the change, for comparison and for explaining. */
  readonly firstOrder: MovedAxis;
  /** The most that a foot is out of the plane of the others, millimetres. */
  readonly warpMm: number;
}

/**
 * What turns do to the axis, by an exact rotation of the rigid base.
 *
 * @param base - the base as the mount file has it
 * @param turns - an advice, or the turns as really made
 * @param site - the latitude, degrees
 * @param from - where the axis points before, arcminutes from the true pole; by default at the pole, and then the
 *   result is the effect alone
 * @returns where the axis points after, and by how much the hour-angle readings have shifted, arcminutes
 * @throws PolewrightError `unknown-adjuster`, `unknown-direction`
 * @example
 * ```ts
 * applyTurns(base, jackTurns(fit), fit.mount.site, { altitude: fit.pole.altitude.value, east: fit.pole.east.value })
 * ```
 */
export function applyTurns(
  base: Base,
  turns: TurnsAsked | readonly TurnMade[],
  site: { readonly latitude: number },
  from: AxisPlace = { altitude: 0, east: 0 },
): AppliedTurns {
  const made = "jacks" in turns ? turnsOfAdvice(turns) : turns;
  const effect = effectOfTurns(base, made, site.latitude);
  return {
    ...moveAxis(from, effect.whole, site.latitude),
    firstOrder: firstOrderMotion(effect.whole, site.latitude),
    warpMm: effect.warpMm,
  };
}

/**
 * How far the axis may land from where the turns should take it because a hand sets a screw to a smallest turn only
 * (uniform within it: smallest turn / √12): variances and covariance, arcminutes².
 */
export function settingVariance(
  base: Base,
  made: readonly TurnMade[],
  latitudeDeg: number,
): { readonly altitude: number; readonly east: number; readonly covariance: number } {
  const frame = jackFrame(base.jacks);
  const sine = Math.abs(Math.sin(latitudeDeg * DEGREE));
  const cosine = Math.cos(latitudeDeg * DEGREE);
  const sign = latitudeDeg < 0 ? -1 : 1;
  let altitude = 0;
  let east = 0;
  let covariance = 0;
  const addPart = (sizeMm: number, altitudePerMm: number, eastPerMm: number): void => {
    const variance = sizeMm ** 2 / 12 / ARCMINUTE ** 2;
    altitude += variance * altitudePerMm ** 2;
    east += variance * eastPerMm ** 2;
    covariance += variance * altitudePerMm * eastPerMm;
  };
  for (const name of new Set(made.map((turn) => turn.adjuster))) {
    const index = base.jacks.findIndex((jack) => jack.name === name);
    const jack = base.jacks[index];
    if (jack !== undefined && frame !== null) {
      addPart(
        jack.smallestTurn * jack.pitchMm,
        sign * frame.slopeNorthPerMm[index]!,
        -sine * frame.slopeEastPerMm[index]!,
      );
    } else if (name === AZIMUTH_BOLTS && base.azimuthBolts !== null) {
      addPart(
        base.azimuthBolts.smallestTurn * base.azimuthBolts.pitchMm,
        0,
        cosine / base.azimuthBolts.leverMm,
      );
    } else if (name === LOWER_BEARING && base.lowerBearing !== null) {
      const { axisLengthMm } = base.lowerBearing;
      const moved = (...ways: TurnDirection[]): boolean =>
        made.some((turn) => turn.adjuster === LOWER_BEARING && ways.includes(turn.direction));
      if (moved("east", "west")) addPart(bearingStepMm(base.lowerBearing, "east"), 0, 1 / axisLengthMm);
      if (moved("up", "down"))
        addPart(bearingStepMm(base.lowerBearing, "altitude"), cosine / axisLengthMm, 0);
    } else if (name === BASE_SLIDE) {
      addPart(SLIDE_STEP_MM * 2, 0, cosine / slideLever(base));
    }
  }
  return { altitude, east, covariance };
}

/** How finely a base can be slid, or a bearing without a screw shimmed, millimetres. */
export const SLIDE_STEP_MM = 0.1;
/** How finely a bearing without a screw can be shimmed, millimetres: common feeler gauges. */
export const SHIM_STEP_MM = 0.05;

/** How finely a lower bearing is set for an axis, by its screw or by shims, millimetres. */
export function bearingStepMm(bearing: LowerBearing, axis: "altitude" | "east"): number {
  const pitch = axis === "east" ? bearing.eastWestPitchMm : bearing.upDownPitchMm;
  return pitch === null ? SHIM_STEP_MM : pitch * bearing.smallestTurn;
}
