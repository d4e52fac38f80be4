/**
 * Turns as really made, what they do to the axis, and the turns that an advice asks for.
 */
import { PolewrightError } from "../errors.js";
import type { Base } from "../mount/mount.js";
import type { Adjuster, Amount, Screw, TurnMade, Way } from "./adjusters/adjuster.js";
import { adjusterNames, adjustersOf, waysOf } from "./adjusters/adjusters.js";
import { ALL_JACKS, risesOf } from "./adjusters/jacks.js";
import {
  type AxisPlace,
  type BaseMotion,
  firstOrderMotion,
  type MovedAxis,
  moveAxis,
} from "./axis-motion.js";
import { expectedMotion, gainsBefore } from "./gains.js";
import { jackFrame } from "./jack-frame.js";
import type { TurnAdvice } from "./turn-advice.js";

export type { TurnDirection, TurnMade } from "./adjusters/adjuster.js";

/** What an advice asks to be turned, without the rest. */
export type TurnsAsked = Pick<TurnAdvice, "moves">;

/** The turns that an advice asks for, as a list of turns made. */
export function turnsOfAdvice({ moves }: TurnsAsked): TurnMade[] {
  return moves.map(({ adjuster, direction, mm, turns }) => ({
    adjuster,
    turns: turns ?? 0,
    direction,
    mm: turns === null ? mm : null,
  }));
}

/** What a set of turns does to the base. */
export interface TurnsEffect {
  /** Rise of every jack, in the base's order, millimetres. */
  readonly risesMm: readonly number[];
  /** How much of each way, as asked for or seen. */
  readonly amounts: readonly Amount[];
  readonly ways: readonly Way[];
  readonly screws: readonly Screw[];
  /** All together, with true screws and a firm floor. */
  readonly whole: BaseMotion;
  readonly warpMm: number;
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
  const adjusters = adjustersOf(base, latitudeDeg);
  for (const turn of made) checkName(base, adjusters, turn);
  const ways = waysOf(adjusters);
  const screws = adjusters.flatMap((adjuster) => adjuster.screws(made));
  const amounts = [
    ...screws.flatMap((screw) => screw.perMm.map((per) => ({ ...per, amount: per.amount * screw.askedMm }))),
    ...made.flatMap((turn) => turn.seen?.map((amount) => ({ ...amount, seen: true })) ?? []),
  ];
  const risesMm = risesOf(base.jacks, made);
  return {
    risesMm,
    amounts,
    ways,
    screws,
    whole: expectedMotion({ amounts, ways }, { altitude: ones(ways), east: ones(ways) }),
    warpMm: jackFrame(base.jacks)?.warpOf(risesMm) ?? 0,
  };
}

const ones = (ways: readonly Way[]) =>
  Object.fromEntries(ways.map((way) => [way.by, { value: 1, uncertainty: 0 }]));

function checkName(base: Base, adjusters: readonly Adjuster[], turn: TurnMade): void {
  if (turn.seen !== undefined && turn.adjuster === ALL_JACKS) return;
  if (adjusters.some((adjuster) => adjuster.names.includes(turn.adjuster))) return;
  throw new PolewrightError(
    "unknown-adjuster",
    `The base has no adjuster "${turn.adjuster}". Allowed: ${adjusterNames(base).join(", ")}.`,
  );
}

/** Where the axis stands after turns. */
export interface AppliedTurns extends MovedAxis {
  /** The first order of the change, for comparison and for explaining. */
  readonly firstOrder: MovedAxis;
  /** The most that a foot is out of the plane of the others, millimetres. */
  readonly warpMm: number;
}

/**
 * What turns do to the axis, by exact rotations of the rigid base, in the order of the steps: tilt, then azimuth.
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
  const made = "moves" in turns ? turnsOfAdvice(turns) : turns;
  const effect = effectOfTurns(base, made, site.latitude);
  return {
    ...moveAxis(from, effect.whole, site.latitude),
    firstOrder: firstOrderMotion(effect.whole, site.latitude),
    warpMm: effect.warpMm,
  };
}

/** How well a star shows what was turned: centring and the encoders' steps, 1σ, arcminutes of axis. */
const SEEN_ARCMIN = 1;

/**
 * How far the axis may land from where the turns should take it because a hand sets a screw to a smallest turn only
 * (uniform within it: smallest turn / √12), or because a star shows it no better: variances and covariance, arcminutes².
 */
export function settingVariance(
  base: Base,
  made: readonly TurnMade[],
  latitudeDeg: number,
): { readonly altitude: number; readonly east: number; readonly covariance: number } {
  const { screws, ways, amounts } = effectOfTurns(base, made, latitudeDeg);
  const seen = (axis: string): number =>
    amounts.some((amount) => amount.seen && amount.axis === axis) ? SEEN_ARCMIN ** 2 : 0;
  let altitude = seen("altitude");
  let east = seen("east");
  let covariance = 0;
  for (const screw of screws) {
    const per = effectPerMm(screw, ways, latitudeDeg);
    const variance = screw.stepMm ** 2 / 12;
    altitude += variance * per.altitude ** 2;
    east += variance * per.east ** 2;
    covariance += variance * per.altitude * per.east;
  }
  return { altitude, east, covariance };
}

/** What one millimetre of a screw does to the axis to first order, arcminutes; gains as given. */
export function effectPerMm(
  screw: Screw,
  ways: readonly Way[],
  latitudeDeg: number,
  gains = gainsBefore,
): AxisPlace {
  return firstOrderMotion(expectedMotion({ amounts: screw.perMm, ways }, gains), latitudeDeg);
}

/** What a smallest setting of a way does to its axis, arcminutes. */
export function smallestEffect(way: Way, latitudeDeg: number): number {
  return Math.abs(firstOrderMotion(way.motion(way.smallestMm / way.mmPerUnit), latitudeDeg)[way.axis]);
}
