/**
 * What can move the axis, how far each would have to go, and which is to be chosen.
 */
import { ARCMINUTE, DEGREE } from "../angles.js";
import type { Base, Jack } from "../mount/mount.js";
import {
  type AxisPlace,
  type BaseMotion,
  firstOrderMotion,
  moveAxis,
  movedPlace,
  stillBase,
} from "./axis-motion.js";
import { arcminutes, millimetres } from "./base-words.js";
import { expectedMotion, type Gains, type MotionParts } from "./gains.js";
import { type JackFrame, jackFrame } from "./jack-frame.js";
import type { AdjusterChoice, AltitudeMeans, AzimuthMeans } from "./turn-advice.js";
import { slideLever, slidingEnd, turnPerMm } from "./turns-made.js";

/** What the correction starts from. */
export interface Setting {
  readonly base: Base;
  readonly frame: JackFrame | null;
  readonly latitudeDeg: number;
  readonly gains: Gains;
  readonly from: AxisPlace;
}

/** Where the axis is to go, by what; null leaves that axis alone. */
export interface Wish {
  readonly altitude: { readonly by: AltitudeMeans; readonly to: number } | null;
  readonly east: { readonly by: AzimuthMeans; readonly to: number } | null;
}

/** The correction in real numbers, before rounding. */
export interface RealTurns {
  readonly parts: MotionParts;
  /** Jack rises, millimetres, or null when they do not fit the travel. */
  readonly risesMm: readonly number[] | null;
  /** Which jack's travel gives out first, and by how much, millimetres; null when none. */
  readonly shortMm: number;
}

const NOTHING: readonly [number, number] = [0, 0];
/** An adjuster whose effect on its own axis is less than a tenth of its turn is of no use. */
const LEAST_EFFECT = 0.1;
/** Less than this from where it is wished the axis is there: a hundredth of what any night tells, arcminutes. */
const THERE_ARCMIN = 0.01;
/** A base that turns by more than a radian, or a bearing that goes farther than the axis is long, is no correction. */
const FARTHEST_MOTION = 1;
/** East–west tilt is of no use nearer to the equator than this: 1/|sin φ| is above 29. */
const LEAST_TILT_LATITUDE_DEG = 2;

/** The setting of a base at a place. */
export function settingOf(base: Base, latitudeDeg: number, gains: Gains, from: AxisPlace): Setting {
  return { base, frame: jackFrame(base.jacks), latitudeDeg, gains, from };
}

/** One unit of each means, asked for. */
function unitParts(
  altitude: AltitudeMeans | null,
  east: AzimuthMeans | null,
  up: number,
  over: number,
): MotionParts {
  return {
    tilt: {
      ...stillBase,
      slopeNorth: altitude === "jacks" ? up : 0,
      slopeEast: east === "tilt" ? over : 0,
    },
    bolts: { ...stillBase, turn: east === "bolts" ? over : 0 },
    slide: { ...stillBase, turn: east === "slide" ? over : 0 },
    lowerBearing: {
      ...stillBase,
      bearingUp: altitude === "lowerBearing" ? up : 0,
      bearingEast: east === "lowerBearing" ? over : 0,
    },
  };
}

/**
 * What one unit of each means does to the axis at a motion, radians: altitude and east, for the altitude's and the
 * azimuth's means. A means that is not wished for does nothing.
 */
export function effectAt(
  setting: Setting,
  wish: Wish,
  up: number,
  over: number,
): { readonly ofUp: readonly [number, number]; readonly ofOver: readonly [number, number] } {
  const small = 1e-5;
  const at = (u: number, o: number): AxisPlace =>
    movedPlace(
      setting.from,
      expectedMotion(unitParts(wish.altitude?.by ?? null, wish.east?.by ?? null, u, o), setting.gains),
      setting.latitudeDeg,
    );
  const slope = (a: AxisPlace, b: AxisPlace): readonly [number, number] => [
    ((a.altitude - b.altitude) * ARCMINUTE) / (2 * small),
    ((a.east - b.east) * ARCMINUTE) / (2 * small),
  ];
  return {
    ofUp: wish.altitude === null ? NOTHING : slope(at(up + small, over), at(up - small, over)),
    ofOver: wish.east === null ? NOTHING : slope(at(up, over + small), at(up, over - small)),
  };
}

/** A motion, and how far it leaves the axis from where it is wished. */
export interface SolvedMotion {
  readonly up: number;
  readonly over: number;
  readonly leftArcmin: number;
}

/**
 * The motion in real numbers that takes the axis where it is wished, by exact rotations (Newton's method from the
 * first order; three or four rounds reach the last digit even for several degrees).
 */
function solveMotion(setting: Setting, wish: Wish): SolvedMotion {
  const parts = (up: number, over: number): BaseMotion =>
    expectedMotion(unitParts(wish.altitude?.by ?? null, wish.east?.by ?? null, up, over), setting.gains);
  /** What is still to go, radians. */
  const toGo = (up: number, over: number): readonly [number, number] => {
    const now = movedPlace(setting.from, parts(up, over), setting.latitudeDeg);
    return [
      wish.altitude === null ? 0 : (wish.altitude.to - now.altitude) * ARCMINUTE,
      wish.east === null ? 0 : (wish.east.to - now.east) * ARCMINUTE,
    ];
  };
  let up = 0;
  let over = 0;
  for (let round = 0; round < 12; round++) {
    const [altitude, east] = toGo(up, over);
    if (Math.hypot(altitude, east) < 1e-13) break;
    const effect = effectAt(setting, wish, up, over);
    if (wish.altitude !== null && wish.east !== null) {
      const [a1, e1] = effect.ofUp;
      const [a2, e2] = effect.ofOver;
      const determinant = a1 * e2 - a2 * e1;
      up += (altitude * e2 - east * a2) / determinant;
      over += (east * a1 - altitude * e1) / determinant;
    } else if (wish.altitude !== null) up += altitude / effect.ofUp[0];
    else if (wish.east !== null) over += east / effect.ofOver[1];
    else break;
  }
  return { up, over, leftArcmin: Math.hypot(...toGo(up, over)) / ARCMINUTE };
}

/**
 * Whether Newton's method came to a motion: for an axis far out it may run away, stop short of where the axis is
 * wished, or come there only after the base has gone round and round.
 */
export function isSolved({ up, over, leftArcmin }: SolvedMotion): boolean {
  // What is not a number is neither there nor near.
  return leftArcmin < THERE_ARCMIN && Math.max(Math.abs(up), Math.abs(over)) < FARTHEST_MOTION;
}

/** The jacks' rises for a tilt: raised rather than lowered, within the travel. */
function placeJacks(
  jacks: readonly Jack[],
  frame: JackFrame,
  slopeEast: number,
  slopeNorth: number,
): { readonly risesMm: readonly number[] | null; readonly shortMm: number } {
  const tilted = frame.risesOf({ mean: 0, slopeEast, slopeNorth });
  const lowest = Math.max(...tilted.map((rise, index) => -jacks[index]!.lowerLeftMm - rise));
  const highest = Math.min(...tilted.map((rise, index) => jacks[index]!.raiseLeftMm - rise));
  if (lowest > highest + 1e-9) return { risesMm: null, shortMm: lowest - highest };
  const mean = Math.min(highest, Math.max(lowest, -Math.min(...tilted)));
  return { risesMm: tilted.map((rise) => rise + mean), shortMm: 0 };
}

/** The correction in real numbers. */
export function realTurns(setting: Setting, wish: Wish): RealTurns & SolvedMotion {
  const solved = solveMotion(setting, wish);
  const { up, over } = solved;
  const parts = unitParts(wish.altitude?.by ?? null, wish.east?.by ?? null, up, over);
  const tilts = parts.tilt.slopeEast !== 0 || parts.tilt.slopeNorth !== 0;
  if (!tilts) return { ...solved, parts, risesMm: setting.base.jacks.map(() => 0), shortMm: 0 };
  if (setting.frame === null) return { ...solved, parts, risesMm: null, shortMm: Number.POSITIVE_INFINITY };
  return {
    ...solved,
    parts,
    ...placeJacks(setting.base.jacks, setting.frame, parts.tilt.slopeEast, parts.tilt.slopeNorth),
  };
}

/** Whether the mount has a means at all and whether it works at this latitude; a reason when not. */
export function lacking(
  setting: Setting,
  axis: "altitude" | "east",
  by: AzimuthMeans | AltitudeMeans,
): string | null {
  const { base, frame, latitudeDeg } = setting;
  const cosine = Math.cos(latitudeDeg * DEGREE);
  if (by === "bolts" && base.azimuthBolts === null) return "the mount file has no azimuth bolts";
  if (by === "lowerBearing" && base.lowerBearing === null)
    return "the mount file has no lower bearing that moves";
  if ((by === "tilt" || by === "jacks") && frame === null) {
    return "the jacks are fewer than three, or stand in one line";
  }
  if ((by === "bolts" || by === "slide") && cosine < LEAST_EFFECT) {
    return `so near to the Earth's pole a turn in azimuth moves the axis by only ${cosine.toFixed(3)} of it`;
  }
  if (by === "tilt" && Math.abs(latitudeDeg) < LEAST_TILT_LATITUDE_DEG) {
    return `so near to the equator an east–west tilt moves the axis by only ${Math.abs(Math.sin(latitudeDeg * DEGREE)).toFixed(3)} of it`;
  }
  if (by === "lowerBearing" && axis === "altitude" && cosine < LEAST_EFFECT) {
    return "the axis stands too steep for moving the lower bearing up and down";
  }
  return null;
}

/** Whether a means has a screw; the others are moved by hand. */
function hasScrew(base: Base, axis: "altitude" | "east", by: AzimuthMeans | AltitudeMeans): boolean {
  if (by !== "lowerBearing") return true;
  return (axis === "east" ? base.lowerBearing?.eastWestPitchMm : base.lowerBearing?.upDownPitchMm) !== null;
}

/** One means weighed: can it make the correction, and at what price. */
export function weigh(
  setting: Setting,
  axis: "altitude" | "east",
  by: AzimuthMeans | AltitudeMeans,
  wish: Wish,
): AdjusterChoice {
  const lack = lacking(setting, axis, by);
  const none = {
    axis,
    by,
    chosen: false,
    possible: false,
    tiltArcmin: 0,
    travelMm: 0,
    outOfLevelArcmin: 0,
    hourAngleZeroShift: 0,
  };
  if (lack !== null) return { ...none, because: `no, ${lack}` };
  const { base, latitudeDeg, gains } = setting;
  const real = realTurns(setting, wish);
  if (!isSolved(real)) return { ...none, because: "no, for no motion of it takes the axis there" };
  const motion = expectedMotion(real.parts, gains);
  const shift = moveAxis(setting.from, motion, latitudeDeg).hourAngleZero;
  const outOfLevelArcmin = Math.hypot(motion.slopeEast, motion.slopeNorth) / ARCMINUTE;
  const amount = axis === "altitude" ? real.up : real.over;
  const price = `the hour-angle readings shift by ${arcminutes(shift)}`;
  const level = `the base ends ${arcminutes(outOfLevelArcmin)} from its present level`;
  const made = (
    possible: boolean,
    travelMm: number,
    tiltArcmin: number,
    because: string,
  ): AdjusterChoice => ({
    axis,
    by,
    chosen: false,
    possible,
    tiltArcmin,
    travelMm,
    outOfLevelArcmin,
    hourAngleZeroShift: shift,
    because,
  });
  if (by === "tilt" || by === "jacks") {
    const tilt = Math.abs(amount) / ARCMINUTE;
    const extent = axis === "altitude" ? setting.frame!.northExtent : setting.frame!.eastExtent;
    const travel =
      real.risesMm === null ? extent * Math.abs(amount) : Math.max(...real.risesMm.map(Math.abs));
    const way = `a tilt of ${arcminutes(tilt)}, ${millimetres(extent * amount)} across the jacks; ${level}; ${price}`;
    if (real.risesMm === null) {
      return made(
        false,
        travel,
        tilt,
        `${way}: more than the jacks' travel, by ${millimetres(real.shortMm)}`,
      );
    }
    if (by === "tilt" && tilt > base.tiltLimitDeg * 60) {
      return made(false, travel, tilt, `${way}: more than the limit of ${base.tiltLimitDeg}° out of level`);
    }
    return made(true, travel, tilt, `${way}`);
  }
  if (by === "bolts") {
    const bolts = base.azimuthBolts!;
    const travel = Math.abs(amount) * bolts.leverMm;
    const way = `the ${bolts.end} end moves ${millimetres(travel)}; ${price}`;
    const reaches = bolts.travelMm === null || travel <= bolts.travelMm;
    return made(
      reaches,
      travel,
      0,
      reaches ? `${way}` : `${way}: more than the ${millimetres(bolts.travelMm!)} they have`,
    );
  }
  if (by === "lowerBearing") {
    const bearing = base.lowerBearing!;
    const travel = Math.abs(amount) * bearing.axisLengthMm;
    const way = `${millimetres(travel)} ${axis === "east" ? "east or west" : "up or down"}${hasScrew(base, axis, by) ? "" : ", by shims, for it has no screw that way"}; ${price}`;
    const reaches = bearing.travelMm === null || travel <= bearing.travelMm;
    return made(
      reaches,
      travel,
      0,
      reaches ? `${way}` : `${way}: more than the ${millimetres(bearing.travelMm!)} it has`,
    );
  }
  const travel = Math.abs(amount) * slideLever(base);
  return made(
    true,
    travel,
    0,
    `its ${slidingEnd(latitudeDeg)} end ${millimetres(travel)}, by hand and lever; ${price}`,
  );
}

/** In which order the means are preferred: what is made for it first, what disturbs the level later, sliding last. */
export const azimuthPreference: readonly AzimuthMeans[] = ["bolts", "lowerBearing", "tilt", "slide"];
export const altitudePreference: readonly AltitudeMeans[] = ["jacks", "lowerBearing"];

/** The means that the preference settles on: possible and with a screw; null when none is. */
export function preferred<Means extends AzimuthMeans | AltitudeMeans>(
  base: Base,
  choices: readonly AdjusterChoice[],
  order: readonly Means[],
): Means | null {
  for (const by of order) {
    const choice = choices.find((candidate) => candidate.by === by);
    if (choice?.possible && hasScrew(base, choice.axis, by)) return by;
  }
  return null;
}

/** The means that the preference settles on where no travel runs out; null where nothing can move the axis. */
export function firstMeans<Means extends AzimuthMeans | AltitudeMeans>(
  setting: Setting,
  axis: "altitude" | "east",
  order: readonly Means[],
): Means | null {
  const usable = order.filter((by) => lacking(setting, axis, by) === null);
  return usable.find((by) => hasScrew(setting.base, axis, by)) ?? usable[0] ?? null;
}

/** Most of the way, from 0 to 1, that a wish can go while `reaches` holds. */
export function reachablePart(reaches: (part: number) => boolean): number {
  if (reaches(1)) return 1;
  let inside = 0;
  let outside = 1;
  for (let round = 0; round < 40; round++) {
    const middle = (inside + outside) / 2;
    if (reaches(middle)) inside = middle;
    else outside = middle;
  }
  return inside;
}

/** What one smallest turn of a means does to its axis, arcminutes. */
export function smallestEffect(
  setting: Setting,
  axis: "altitude" | "east",
  by: AzimuthMeans | AltitudeMeans,
  stepMm: number,
): number {
  const { base, frame, latitudeDeg } = setting;
  const per = (motion: BaseMotion): number => Math.abs(firstOrderMotion(motion, latitudeDeg)[axis]);
  if (by === "jacks") return per({ ...stillBase, slopeNorth: stepMm / (frame?.northExtent || 1) });
  if (by === "tilt") return per({ ...stillBase, slopeEast: stepMm / (frame?.eastExtent || 1) });
  if (by === "bolts")
    return per({ ...stillBase, turn: stepMm * turnPerMm("north", base.azimuthBolts!.leverMm) });
  if (by === "slide") return per({ ...stillBase, turn: stepMm * turnPerMm("north", slideLever(base)) });
  const way = stepMm / base.lowerBearing!.axisLengthMm;
  return per(axis === "east" ? { ...stillBase, bearingEast: way } : { ...stillBase, bearingUp: way });
}
