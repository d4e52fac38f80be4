/**
 * The order of sighting: a short way from star to star, each inside the limits when its turn comes.
 */
import { DEGREE } from "../angles.js";
import type { ObservedDirection } from "../sky/star.js";

/** One star's directions at each place in the order, and whether it may be sighted there. */
export interface Visit {
  readonly directions: readonly ObservedDirection[];
  readonly allowed: readonly boolean[];
  /** The tube is turned over the pole for it. */
  readonly beyond: boolean;
}

/** Turning the tube over the pole takes both axes through half a turn, degrees. */
const TURNING_OVER_DEG = 180;
/** Dearer than any way: a star that is not allowed when its turn comes. */
const NOT_ALLOWED_DEG = 10_000;

/** How far the axes turn from one direction to the next: both, one after the other, as by hand, degrees. */
export function slewDegrees(from: ObservedDirection, to: ObservedDirection): number {
  return (Math.abs(to.hourAngle - from.hourAngle) + Math.abs(to.declination - from.declination)) / DEGREE;
}

function wayOf(order: readonly number[], visits: readonly Visit[], start: ObservedDirection | null): number {
  let way = 0;
  for (let slot = 0; slot < order.length; slot++) {
    const visit = visits[order[slot]!]!;
    const here = visit.directions[slot]!;
    if (!visit.allowed[slot]) way += NOT_ALLOWED_DEG;
    if (slot > 0) {
      const before = visits[order[slot - 1]!]!;
      way += slewDegrees(before.directions[slot - 1]!, here);
      if (before.beyond !== visit.beyond) way += TURNING_OVER_DEG;
    } else if (start !== null) way += slewDegrees(start, here);
  }
  return way;
}

/** A move must shorten the way by more than rounding. */
const LEAST_GAIN_DEG = 1e-9;
const MOST_ROUNDS = 40;

/** So many beginnings are tried, fewer when there are many stars: the work grows with their third power. */
const beginnings = (visits: number): number => Math.min(visits, Math.ceil(6000 / visits ** 2));

/**
 * Orders visits by nearest neighbour from several beginnings, then by turning stretches round and moving single ones
 * while the way grows shorter; the shortest of all.
 *
 * @param first - which must come first, or null
 * @param start - where the telescope points before, or null
 * @returns indices into `visits`, in order
 */
export function shortestOrder(
  visits: readonly Visit[],
  first: number | null,
  start: ObservedDirection | null,
): number[] {
  const fixed = first === null ? [] : [first];
  let best = improved(nearestFirst(fixed, visits, start), fixed.length, visits, start);
  const others = [...visits.keys()].filter((index) => index !== first);
  const step = Math.max(1, others.length / beginnings(visits.length));
  for (let place = 0; place < others.length; place += step) {
    const begun = [...fixed, others[Math.floor(place)]!];
    const order = improved(nearestFirst(begun, visits, start), fixed.length, visits, start);
    if (wayOf(order, visits, start) < wayOf(best, visits, start) - LEAST_GAIN_DEG) best = order;
  }
  return best;
}

/** Goes on from a beginning, always to what is nearest. */
function nearestFirst(
  begun: readonly number[],
  visits: readonly Visit[],
  start: ObservedDirection | null,
): number[] {
  const order = [...begun];
  const left = new Set(visits.keys());
  for (const index of order) left.delete(index);
  while (left.size > 0) {
    let best = -1;
    let bestWay = Number.POSITIVE_INFINITY;
    for (const index of left) {
      const way = wayOf([...order, index], visits, start);
      if (way < bestWay) {
        best = index;
        bestWay = way;
      }
    }
    order.push(best);
    left.delete(best);
  }
  return order;
}

function improved(
  begun: readonly number[],
  fixed: number,
  visits: readonly Visit[],
  start: ObservedDirection | null,
): number[] {
  let order = [...begun];
  let way = wayOf(order, visits, start);
  for (let round = 0; round < MOST_ROUNDS; round++) {
    let changed = false;
    const attempt = (other: number[]): void => {
      const otherWay = wayOf(other, visits, start);
      if (otherWay < way - LEAST_GAIN_DEG) {
        order = other;
        way = otherWay;
        changed = true;
      }
    };
    for (let i = fixed; i < visits.length; i++) {
      for (let j = i + 1; j < visits.length; j++) {
        attempt([...order.slice(0, i), ...order.slice(i, j + 1).reverse(), ...order.slice(j + 1)]);
        const moved = [...order];
        moved.splice(j, 0, ...moved.splice(i, 1));
        attempt(moved);
        const back = [...order];
        back.splice(i, 0, ...back.splice(j, 1));
        attempt(back);
      }
    }
    if (!changed) break;
  }
  return order;
}

/** The whole way of an order, degrees of both axes. */
export function orderedWay(
  order: readonly number[],
  visits: readonly Visit[],
  start: ObservedDirection | null,
): number {
  return wayOf(order, visits, start);
}
