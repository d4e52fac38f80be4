/**
 * The order of sighting: a short way from star to star, each inside the limits when its turn comes.
 */

import { shaftWayDegrees } from "../pointing/shafts.js";
import type { HourAngleDirection } from "../sky/horizon-frame.js";

/** How the shafts stand for one star at each place in the order, and whether it may be sighted there. */
export interface Visit {
  readonly shafts: readonly HourAngleDirection[];
  readonly allowed: readonly boolean[];
}

/** Dearer than any way: a star that is not allowed when its turn comes. */
const NOT_ALLOWED_DEG = 10_000;

/** The legs between all pairs, for quick sums: what the sky turns between two sightings is the same for all orders. */
interface Legs {
  readonly count: number;
  /** From one to the next, row by row, degrees. */
  readonly between: Float64Array;
  /** From where the telescope points before. */
  readonly begin: Float64Array;
  /** Nil where a star is allowed at a place in the order, dear where not: stars by places. */
  readonly barred: Float64Array;
}

function legsOf(visits: readonly Visit[], start: HourAngleDirection | null): Legs {
  const count = visits.length;
  const between = new Float64Array(count * count);
  const begin = new Float64Array(count);
  const barred = new Float64Array(count * count);
  const middle = Math.floor(count / 2);
  visits.forEach((visit, i) => {
    const here = visit.shafts[middle]!;
    if (start !== null) begin[i] = shaftWayDegrees(start, here);
    visits.forEach((other, j) => {
      between[i * count + j] = shaftWayDegrees(here, other.shafts[middle]!);
      barred[i * count + j] = visit.allowed[j] ? 0 : NOT_ALLOWED_DEG;
    });
  });
  return { count, between, begin, barred };
}

function wayOf(order: readonly number[], legs: Legs): number {
  const { count, between, begin, barred } = legs;
  let before = order[0]!;
  let way = begin[before]! + barred[before * count]!;
  for (let slot = 1; slot < order.length; slot++) {
    const here = order[slot]!;
    way += between[before * count + here]! + barred[here * count + slot]!;
    before = here;
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
 * @param first - which must come first, in this order
 * @param start - how the shafts stand before, or null
 * @returns indices into `visits`, in order
 */
export function shortestOrder(
  visits: readonly Visit[],
  first: readonly number[],
  start: HourAngleDirection | null,
): number[] {
  if (visits.length === 0) return [];
  const legs = legsOf(visits, start);
  const fixed = [...first];
  const others = [...visits.keys()].filter((index) => !first.includes(index));
  let best = improved(nearestFirst(fixed, legs), fixed.length, legs);
  let bestWay = wayOf(best, legs);
  const step = Math.max(1, others.length / beginnings(visits.length));
  for (let place = 0; place < others.length; place += step) {
    const order = improved(nearestFirst([...fixed, others[Math.floor(place)]!], legs), fixed.length, legs);
    const way = wayOf(order, legs);
    if (way < bestWay - LEAST_GAIN_DEG) {
      best = order;
      bestWay = way;
    }
  }
  return best;
}

/** Goes on from a beginning, always to what is nearest. */
function nearestFirst(begun: readonly number[], legs: Legs): number[] {
  const order = [...begun];
  const left = new Set(Array(legs.count).keys());
  for (const index of order) left.delete(index);
  while (left.size > 0) {
    let best = -1;
    let bestWay = Number.POSITIVE_INFINITY;
    for (const index of left) {
      order.push(index);
      const way = wayOf(order, legs);
      order.pop();
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

/** Turns stretches round and moves single visits, the first `fixed` excepted, while that shortens the way. */
function improved(begun: readonly number[], fixed: number, legs: Legs): number[] {
  const order = [...begun];
  let way = wayOf(order, legs);
  const shorter = (): boolean => {
    const now = wayOf(order, legs);
    if (now >= way - LEAST_GAIN_DEG) return false;
    way = now;
    return true;
  };
  for (let round = 0; round < MOST_ROUNDS; round++) {
    let changed = false;
    for (let i = fixed; i < order.length; i++) {
      for (let j = i + 1; j < order.length; j++) {
        for (const [change, back] of [
          [turnRound, turnRound],
          [moveOn, moveBack],
          [moveBack, moveOn],
        ] as const) {
          change(order, i, j);
          if (shorter()) changed = true;
          else back(order, i, j);
        }
      }
    }
    if (!changed) break;
  }
  return order;
}

function turnRound(order: number[], i: number, j: number): void {
  for (let low = i, high = j; low < high; low++, high--) {
    const kept = order[low]!;
    order[low] = order[high]!;
    order[high] = kept;
  }
}

function moveOn(order: number[], i: number, j: number): void {
  const moved = order[i]!;
  for (let place = i; place < j; place++) order[place] = order[place + 1]!;
  order[j] = moved;
}

function moveBack(order: number[], i: number, j: number): void {
  const moved = order[j]!;
  for (let place = j; place > i; place--) order[place] = order[place - 1]!;
  order[i] = moved;
}

/** The whole way of an order, degrees of both axes. */
export function orderedWay(
  order: readonly number[],
  visits: readonly Visit[],
  start: HourAngleDirection | null,
): number {
  if (order.length === 0) return 0;
  const legs = legsOf(visits, start);
  return wayOf(order, { ...legs, barred: new Float64Array(legs.barred.length) });
}
