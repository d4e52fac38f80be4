/**
 * When more stars would not change what is turned.
 */
import { ARCMINUTE, DEGREE } from "../angles.js";
import { jackFrame } from "../base/jack-frame.js";
import type { Mount } from "../mount/mount.js";
import type { KnownMount } from "./known-mount.js";
import type { CandidatePool } from "./plan-candidates.js";
import { addSighting, type Information, informationFrom, varianceSaved } from "./plan-information.js";

/** What the smallest setting of the base's adjusters does to the axis, arcminutes. */
export interface SmallestSetting {
  readonly altitude: number;
  readonly east: number;
  /** What sets it, in words. */
  readonly altitudeBy: string;
  readonly eastBy: string;
}

/**
 * What the smallest turns that a hand can set do to the polar axis: the finest means that the base has for each way.
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
  const latitude = site.latitude * DEGREE;
  const altitude: [number, string][] = [];
  const east: [number, string][] = [];
  const frame = base === null ? null : jackFrame(base.jacks);
  if (base !== null && frame !== null) {
    const step = Math.min(...base.jacks.map((jack) => jack.pitchMm * jack.smallestTurn));
    if (frame.northExtent > 0) altitude.push([step / frame.northExtent / ARCMINUTE, "the jacks"]);
    const tilt = (step / frame.eastExtent / ARCMINUTE) * Math.abs(Math.sin(latitude));
    if (base.azimuthBolts === null && frame.eastExtent > 0)
      east.push([tilt, "tilting the base by the jacks"]);
  }
  const bolts = base?.azimuthBolts;
  if (bolts) {
    const turn = (bolts.pitchMm * bolts.smallestTurn) / bolts.leverMm / ARCMINUTE;
    east.push([turn * Math.cos(latitude), "the azimuth bolts"]);
  }
  const bearing = base?.lowerBearing;
  if (bearing) {
    if (bearing.upDownPitchMm !== null) {
      const move = (bearing.upDownPitchMm * bearing.smallestTurn) / bearing.axisLengthMm / ARCMINUTE;
      altitude.push([move * Math.cos(latitude), "the lower bearing"]);
    }
    if (bearing.eastWestPitchMm !== null) {
      east.push([
        (bearing.eastWestPitchMm * bearing.smallestTurn) / bearing.axisLengthMm / ARCMINUTE,
        "the lower bearing",
      ]);
    }
  }
  const finest = (means: readonly [number, string][]): [number, string] =>
    means.reduce((best, one) => (one[0] < best[0] ? one : best), means[0] ?? [2 * goalArcmin, ""]);
  const [altitudeStep, altitudeBy] = finest(altitude);
  const [eastStep, eastBy] = finest(east);
  return { altitude: altitudeStep, east: eastStep, altitudeBy, eastBy };
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
