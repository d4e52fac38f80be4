/**
 * Which object goes into which slot of an evening: each where it stands well, with little slewing in between.
 */

import { shaftWayDegrees } from "../pointing/shafts.js";
import type { HourAngleDirection } from "../sky/horizon-frame.js";

/** What is known of one object for the choice. */
export interface SlotCandidate {
  /** What it costs in each slot; infinite where it may not be shown. Less than nothing where showing it gains. */
  readonly costs: readonly number[];
  /** How the shafts stand for it in each slot. */
  readonly shafts: readonly HourAngleDirection[];
}

/** A slot without an object. */
export const FREE = -1;
/** Slewing by so much, both shafts together, costs one. */
const SLEW_DEG = 180;

/** The cost of a choice: every object's in its slot, and the slewing between them. */
export function costOfSlots(chosen: readonly number[], candidates: readonly SlotCandidate[]): number {
  let cost = 0;
  let before: HourAngleDirection | null = null;
  for (let slot = 0; slot < chosen.length; slot++) {
    const index = chosen[slot]!;
    if (index === FREE) continue;
    const { costs, shafts } = candidates[index]!;
    cost += costs[slot]!;
    if (before !== null) cost += shaftWayDegrees(before, shafts[slot]!) / SLEW_DEG;
    before = shafts[slot]!;
  }
  return cost;
}

/** A change must gain more than rounding. */
const LEAST_GAIN = 1e-9;
const MOST_ROUNDS = 30;
/** Changes of two kinds at once are tried while there are no more of them: they take long on a long evening. */
const MOST_DOUBLE_CHANGES = 60_000;

/**
 * Chooses an object, or none, for each slot: the best of several beginnings, each improved by putting in others, exchanging,
 * moving and turning stretches round while that costs less.
 *
 * @returns for each slot a place among the candidates, or {@link FREE}
 */
export function chooseSlots(slots: number, candidates: readonly SlotCandidate[]): number[] {
  const empty = new Array<number>(slots).fill(FREE);
  const inTurn = empty.map((_, slot) => slot);
  // A slot that is filled first has the first choice: from the front, and from the back.
  const orders = [inTurn, [...inTurn].reverse()];
  const beginnings = candidates.length > FEW ? [empty] : [empty, ...placedFirst(empty, candidates)];
  const ends = beginnings.flatMap((begun, at) =>
    // What is placed first makes enough of a difference: then one order will do.
    (at === 0 ? orders : orders.slice(0, 1)).map((order) =>
      improved(filled(begun, order, candidates), candidates),
    ),
  );
  return ends.reduce((best, end) =>
    costOfSlots(end, candidates) < costOfSlots(best, candidates) - LEAST_GAIN ? end : best,
  );
}

/** Of so many and fewer every one is dear; of a whole list others stand in. */
const FEW = 24;
/** So many objects are tried as the one that is placed before all others. */
const MOST_PLACED_FIRST = 8;

/** One object in the slot that is best for it, all else free; the dearest to leave out first. */
function placedFirst(empty: readonly number[], candidates: readonly SlotCandidate[]): number[][] {
  return candidates
    .map(({ costs }, index) => ({
      index,
      least: Math.min(...costs),
      slot: costs.indexOf(Math.min(...costs)),
    }))
    .filter(({ least }) => Number.isFinite(least))
    .sort((a, b) => a.least - b.least)
    .slice(0, MOST_PLACED_FIRST)
    .map(({ index, slot }) => empty.map((free, at) => (at === slot ? index : free)));
}

/** Each slot in the order given takes what then costs least. */
function filled(
  empty: readonly number[],
  order: readonly number[],
  candidates: readonly SlotCandidate[],
): number[] {
  const chosen = [...empty];
  for (const slot of order) {
    if (chosen[slot] !== FREE) continue;
    let least = costOfSlots(chosen, candidates);
    let best = FREE;
    candidates.forEach((_, index) => {
      if (chosen.includes(index)) return;
      chosen[slot] = index;
      const cost = costOfSlots(chosen, candidates);
      if (cost < least) {
        least = cost;
        best = index;
      }
    });
    chosen[slot] = best;
  }
  return chosen;
}

function improved(begun: readonly number[], candidates: readonly SlotCandidate[]): number[] {
  let chosen = [...begun];
  let least = costOfSlots(chosen, candidates);
  for (let round = 0; round < MOST_ROUNDS; round++) {
    const before = least;
    for (const change of changesOf(chosen, candidates.length)) {
      const cost = costOfSlots(change, candidates);
      if (cost < least - LEAST_GAIN) {
        least = cost;
        chosen = change;
      }
    }
    if (least === before) break;
  }
  return chosen;
}

/** All choices that differ by one change. */
function* changesOf(chosen: readonly number[], count: number): Generator<number[]> {
  const { length } = chosen;
  const used = new Set(chosen);
  for (let slot = 0; slot < length; slot++) {
    // Another object, or none.
    for (let index = FREE; index < count; index++) {
      if (index === FREE ? chosen[slot] === FREE : used.has(index)) continue;
      const change = [...chosen];
      change[slot] = index;
      yield change;
    }
    for (let other = slot + 1; other < length; other++) {
      const exchanged = [...chosen];
      [exchanged[slot], exchanged[other]] = [chosen[other]!, chosen[slot]!];
      yield exchanged;
      // A stretch turned round, and moved on by one either way.
      yield [
        ...chosen.slice(0, slot),
        ...chosen.slice(slot, other + 1).reverse(),
        ...chosen.slice(other + 1),
      ];
      const [first, ...rest] = chosen.slice(slot, other + 1);
      yield [...chosen.slice(0, slot), ...rest, first!, ...chosen.slice(other + 1)];
      yield [
        ...chosen.slice(0, slot),
        rest.at(-1)!,
        first!,
        ...rest.slice(0, -1),
        ...chosen.slice(other + 1),
      ];
      if (length * length * count > MOST_DOUBLE_CHANGES) continue;
      // Exchanged, and one of both replaced by what is not shown yet.
      for (let index = 0; index < count; index++) {
        if (used.has(index)) continue;
        const replaced = [...exchanged];
        replaced[slot] = index;
        yield replaced;
      }
    }
  }
}
