/**
 * When more stars would not change what is turned.
 */
import { firstMeans } from "../base/choose-means.js";
import { settingOf } from "../base/correction.js";
import { gainsBefore } from "../base/gains.js";
import { smallestEffect } from "../base/turns-made.js";
import type { Mount } from "../mount/mount.js";
import type { KnownMount } from "../pointing/known-mount.js";
import type { CandidatePool } from "./candidates.js";
import { addSighting, type Information, informationFrom, varianceSaved } from "./information.js";

/** What the smallest setting of the base's adjusters does to the axis, arcminutes. */
export interface SmallestSetting {
  readonly altitude: number;
  readonly east: number;
  /** What sets it, in words. */
  readonly altitudeBy: string;
  readonly eastBy: string;
}

/**
 * What the smallest turns that a hand can set do to the polar axis: those of the means that the turns would be advised
 * by, for each way.
 *
 * @param mount - a mount with its base
 * @param goalArcmin - taken for both where there is nothing to turn: twice the uncertainty that is wanted
 * @example
 * ```ts
 * smallestSetting(mount, 0.5).altitude // 0.54: an eighth of a turn of 2 mm over 1.6 m
 * ```
 */
export function smallestSetting(mount: Mount, goalArcmin: number): SmallestSetting {
  const { base, site } = mount;
  const nothing = { step: 2 * goalArcmin, name: "" };
  const smallest = (axis: "altitude" | "east"): { readonly step: number; readonly name: string } => {
    if (base === null) return nothing;
    const way = firstMeans(settingOf(base, site.latitude, gainsBefore, { altitude: 0, east: 0 }), axis);
    return way === null ? nothing : { step: smallestEffect(way, site.latitude), name: way.title };
  };
  const altitude = smallest("altitude");
  const east = smallest("east");
  return { altitude: altitude.step, east: east.step, altitudeBy: altitude.name, eastBy: east.name };
}

/** So many more stars are looked ahead at: fewer than that nobody would regret. */
const LOOK_AHEAD = 5;

/** How sure both ways of the axis are, 1σ, arcminutes. */
export function axisUncertainty(
  known: KnownMount,
  information: Information,
): { altitude: number; east: number } {
  const at = (name: string): number => {
    const index = known.names.findIndex((other, place) => other === name && known.places[place]! >= 0);
    return index < 0 ? 0 : Math.sqrt(Math.max(0, information.covariance[index * information.size + index]!));
  };
  return { altitude: at("polarAltitude"), east: at("polarEast") };
}

/** Whether more stars would change the turns. */
export interface EnoughAnswer {
  readonly enough: boolean;
  /** By how much the next five of the best stars would be expected to move the axis found, 1σ, arcminutes. */
  readonly nextFiveMove: { readonly altitude: number; readonly east: number };
}

/**
 * Whether more stars would change the turns: enough is reached when the axis is known to half the smallest setting each
 * way, or when the five best stars left would be expected to move what is found by less than half a smallest setting.
 *
 * @param used - rows of the pool that have been sighted already, by where they begin
 */
export function isEnough(
  known: KnownMount,
  information: Information,
  pool: CandidatePool,
  used: ReadonlySet<number>,
  setting: SmallestSetting,
): EnoughAnswer {
  const now = axisUncertainty(known, information);
  const later = informationFrom(information.covariance);
  const targets = axisPlaces(known);
  const taken = new Set(used);
  for (let count = 0; count < LOOK_AHEAD; count++) {
    const best = bestLeft(later, pool, taken, targets);
    if (best < 0) break;
    taken.add(best);
    addSighting(later, pool.rows, best);
  }
  const then = axisUncertainty(known, later);
  // An estimate that gains from more data moves by the difference of the variances.
  const move = (before: number, after: number): number => Math.sqrt(Math.max(0, before ** 2 - after ** 2));
  const nextFiveMove = { altitude: move(now.altitude, then.altitude), east: move(now.east, then.east) };
  const sureEnough = now.altitude <= setting.altitude / 2 && now.east <= setting.east / 2;
  const settled =
    taken.size > used.size &&
    nextFiveMove.altitude <= setting.altitude / 2 &&
    nextFiveMove.east <= setting.east / 2;
  return { enough: sureEnough || settled, nextFiveMove };
}

/** So many more stars are tried at most. */
const MOST_MORE = 30;

/**
 * How many more of the best stars left it takes until it is enough; null where thirty do not reach it.
 */
export function moreUntilEnough(
  known: KnownMount,
  information: Information,
  pool: CandidatePool,
  used: ReadonlySet<number>,
  setting: SmallestSetting,
): number | null {
  const growing = informationFrom(information.covariance);
  const taken = new Set(used);
  const targets = axisPlaces(known);
  for (let more = 1; more <= MOST_MORE; more++) {
    const best = bestLeft(growing, pool, taken, targets);
    if (best < 0) return null;
    taken.add(best);
    addSighting(growing, pool.rows, best);
    if (isEnough(known, growing, pool, taken, setting).enough) return more;
  }
  return null;
}

function axisPlaces(known: KnownMount): number[] {
  return known.names.flatMap((name, index) =>
    (name === "polarAltitude" || name === "polarEast") && known.places[index]! >= 0 ? [index] : [],
  );
}

/** Where the rows of the best star left begin; −1 where none is left. */
function bestLeft(
  information: Information,
  pool: CandidatePool,
  taken: ReadonlySet<number>,
  targets: readonly number[],
): number {
  let best = -1;
  let most = -1;
  for (const { at } of pool.candidates) {
    if (taken.has(at)) continue;
    const saved = varianceSaved(information, pool.rows, at, targets);
    if (saved > most) {
      most = saved;
      best = at;
    }
  }
  return best;
}
