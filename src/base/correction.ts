/**
 * The correction in real numbers: how far each means has to go for the axis to come where it is wished, by exact
 * rotations.
 */
import { ARCMINUTE } from "../angles.js";
import type { Base, Jack } from "../mount/mount.js";
import type { Adjuster, AxisName, TurnMade, Way } from "./adjusters/adjuster.js";
import { adjustersOf, waysOf } from "./adjusters/adjusters.js";
import { jacksAfter } from "./adjusters/jacks.js";
import { type AxisPlace, type BaseMotion, movedPlace, sumOfMotions } from "./axis-motion.js";
import { type Gains, gainOf } from "./gains.js";
import { type JackFrame, jackFrame } from "./jack-frame.js";

/** What the correction starts from. */
export interface Setting {
  /** With the travel that is left now. */
  readonly base: Base;
  readonly frame: JackFrame | null;
  readonly adjusters: readonly Adjuster[];
  readonly latitudeDeg: number;
  readonly gains: Gains;
  readonly from: AxisPlace;
}

/** One axis's part of a wish. */
interface AxisWish {
  readonly way: Way;
  /** Where to, arcminutes from the true pole. */
  readonly to: number;
}

/** Where the axis is to go, by what; null leaves that axis alone. */
export type Wish = Readonly<Record<AxisName, AxisWish | null>>;

/** The setting of a base at a place. */
export function settingOf(
  base: Base,
  latitudeDeg: number,
  gains: Gains,
  from: AxisPlace,
  used: readonly TurnMade[] = [],
): Setting {
  return {
    base: used.length === 0 ? base : { ...base, jacks: jacksAfter(base, used) },
    frame: jackFrame(base.jacks),
    adjusters: adjustersOf(base, latitudeDeg, used),
    latitudeDeg,
    gains,
    from,
  };
}

/** The way of an axis by its word; null where the base has none. */
export function wayBy({ adjusters }: Setting, axis: AxisName, by: string): Way | null {
  return waysOf(adjusters, axis).find((way) => way.by === by) ?? null;
}

/** The motion to be expected of amounts up and over. */
export function motionOf(setting: Setting, wish: Wish, up: number, over: number): BaseMotion {
  const part = (one: AxisWish | null, amount: number): BaseMotion[] =>
    one === null ? [] : [one.way.motion(amount * gainOf(setting.gains, one.way).value)];
  return sumOfMotions([...part(wish.altitude, up), ...part(wish.east, over)]);
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
    movedPlace(setting.from, motionOf(setting, wish, u, o), setting.latitudeDeg);
  const slope = (a: AxisPlace, b: AxisPlace): readonly [number, number] => [
    ((a.altitude - b.altitude) * ARCMINUTE) / (2 * small),
    ((a.east - b.east) * ARCMINUTE) / (2 * small),
  ];
  return {
    ofUp: slope(at(up + small, over), at(up - small, over)),
    ofOver: slope(at(up, over + small), at(up, over - small)),
  };
}

/** A motion, and how far it leaves the axis from where it is wished. */
export interface SolvedMotion {
  readonly up: number;
  readonly over: number;
  readonly leftArcmin: number;
}

/** Less than this from where it is wished the axis is there: a hundredth of what any night tells, arcminutes. */
const THERE_ARCMIN = 0.01;
/** A base that turns by more than a radian, or a bearing that goes farther than the axis is long, is no correction. */
const FARTHEST_MOTION = 1;

/** The motion in real numbers that takes the axis where it is wished (Newton's method; three or four rounds serve). */
function solveMotion(setting: Setting, wish: Wish): SolvedMotion {
  /** What is still to go, radians. */
  const toGo = (up: number, over: number): readonly [number, number] => {
    const now = movedPlace(setting.from, motionOf(setting, wish, up, over), setting.latitudeDeg);
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
    const { ofUp, ofOver } = effectAt(setting, wish, up, over);
    if (wish.altitude !== null && wish.east !== null) {
      const determinant = ofUp[0] * ofOver[1] - ofOver[0] * ofUp[1];
      up += (altitude * ofOver[1] - east * ofOver[0]) / determinant;
      over += (east * ofUp[0] - altitude * ofUp[1]) / determinant;
    } else if (wish.altitude !== null) up += altitude / ofUp[0];
    else if (wish.east !== null) over += east / ofOver[1];
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

/** The correction in real numbers, before rounding. */
export interface RealTurns extends SolvedMotion {
  /** Jack rises, millimetres, or null when they do not fit the travel. */
  readonly risesMm: readonly number[] | null;
  /** By how much the jacks' travel is short, millimetres. */
  readonly shortMm: number;
}

/** The correction in real numbers. */
export function realTurns(setting: Setting, wish: Wish): RealTurns {
  const solved = solveMotion(setting, wish);
  const slopeNorth = wish.altitude?.way.byJacks ? solved.up : 0;
  const slopeEast = wish.east?.way.byJacks ? solved.over : 0;
  const { jacks } = setting.base;
  if (slopeNorth === 0 && slopeEast === 0) return { ...solved, risesMm: jacks.map(() => 0), shortMm: 0 };
  if (setting.frame === null) return { ...solved, risesMm: null, shortMm: Number.POSITIVE_INFINITY };
  return { ...solved, ...placeJacks(jacks, setting.frame, slopeEast, slopeNorth) };
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

/** Whether a wish stays within every travel (the builder's tilt limit is for choosing, not for forbidding). */
export function reaches(setting: Setting, wish: Wish): boolean {
  const real = realTurns(setting, wish);
  return (
    isSolved(real) &&
    real.risesMm !== null &&
    isInside(wish.altitude?.way, real.up) &&
    isInside(wish.east?.way, real.over)
  );
}

/** Whether an amount of a way stays within its own travel. */
export function isInside(way: Way | undefined, amount: number): boolean {
  if (way === undefined) return true;
  const mm = amount * way.mmPerUnit;
  return mm <= way.leftMm[0] + 1e-9 && -mm <= way.leftMm[1] + 1e-9;
}
