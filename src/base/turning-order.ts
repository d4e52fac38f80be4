/**
 * The order of turning: small steps round the feet, so that no foot is ever more out of the plane of the others than
 * the frame may be twisted. A frame that is never twisted further than it gives never takes the weight off a foot.
 */

import { PolewrightError } from "../errors.js";
import type { Jack } from "../mount/mount.js";
import type { JackFrame } from "./jack-frame.js";

/** One small turn of one jack. */
export interface SmallTurn {
  /** Index of the jack. */
  readonly jack: number;
  /** Up positive, millimetres. */
  readonly riseMm: number;
  /** Never negative. */
  readonly turns: number;
}

/** The most that one jack is turned before the next has its turn. */
export const LARGEST_STEP_TURNS = 0.5;
const HAIR_MM = 1e-9;
/** How often the smallest turn may be halved on the way where even it would twist the frame too far. */
const MOST_HALVINGS = 7;

/**
 * Orders the turns.
 *
 * Each time the jack that is furthest behind its share is turned next, by as much as the twist allows; of equals the
 * one that is to be raised, then the one that comes next round the feet. Where no whole smallest turn keeps the
 * limit, halves and quarters of it are used on the way, and the end is exact all the same.
 *
 * @param jacks - the jacks
 * @param frame - their frame
 * @param rises - how far each is to go, up positive, millimetres
 * @param warpLimitMm - the most that a foot may be out of the plane of the others
 * @returns the small turns, which sum to `rises`
 * @throws PolewrightError `no-safe-order` when the rises themselves break the limit
 */
export function orderOfTurning(
  jacks: readonly Jack[],
  frame: JackFrame,
  rises: readonly number[],
  warpLimitMm: number,
): SmallTurn[] {
  const done = rises.map(() => 0);
  const order = roundTheFeet(frame);
  const steps: SmallTurn[] = [];
  let last = order.length - 1;
  let part = 1;
  let halvings = 0;
  while (rises.some((rise, index) => Math.abs(rise - done[index]!) > HAIR_MM)) {
    const behind = order
      .map((jack, place) => ({ jack, next: (place - last - 1 + 2 * order.length) % order.length }))
      .filter(({ jack }) => Math.abs(rises[jack]! - done[jack]!) > HAIR_MM)
      .sort((a, b) => {
        const share = done[a.jack]! / rises[a.jack]! - done[b.jack]! / rises[b.jack]!;
        if (Math.abs(share) > 1e-9) return share;
        const raising = Math.sign(rises[b.jack]!) - Math.sign(rises[a.jack]!);
        return raising !== 0 ? raising : a.next - b.next;
      });
    const step = firstAllowed(behind, jacks, frame, rises, done, warpLimitMm, part);
    if (step === null) {
      part /= 2;
      halvings += 1;
      if (halvings > MOST_HALVINGS) {
        throw new PolewrightError(
          "no-safe-order",
          `No order of turning keeps every foot within ${warpLimitMm} mm of the plane of the others. Raise warpLimitMm if the frame gives more than that, or use finer smallestTurn steps.`,
        );
      }
      continue;
    }
    done[step.jack]! += step.riseMm;
    last = order.indexOf(step.jack);
    steps.push(step);
    if (part < 1 && onWholeTurns(jacks, done)) {
      part = 1;
      halvings = 0;
    }
  }
  return steps;
}

function onWholeTurns(jacks: readonly Jack[], done: readonly number[]): boolean {
  return done.every((rise, index) => {
    const steps = rise / (jacks[index]!.pitchMm * jacks[index]!.smallestTurn);
    return Math.abs(steps - Math.round(steps)) < 1e-6;
  });
}

function firstAllowed(
  behind: readonly { readonly jack: number }[],
  jacks: readonly Jack[],
  frame: JackFrame,
  rises: readonly number[],
  done: readonly number[],
  warpLimitMm: number,
  part: number,
): SmallTurn | null {
  for (const { jack } of behind) {
    const { pitchMm, smallestTurn } = jacks[jack]!;
    const unit = smallestTurn * part;
    const leftTurns = Math.abs(rises[jack]! - done[jack]!) / pitchMm;
    const sign = Math.sign(rises[jack]! - done[jack]!);
    const most = Math.max(unit, Math.floor(LARGEST_STEP_TURNS / unit + 1e-9) * unit);
    let turns = Math.min(leftTurns, most);
    while (turns > 1e-9) {
      const trial = done.map((rise, index) => (index === jack ? rise + sign * turns * pitchMm : rise));
      if (frame.warpOf(trial) <= warpLimitMm + HAIR_MM)
        return { jack, riseMm: sign * turns * pitchMm, turns };
      turns -= unit;
    }
  }
  return null;
}

/** The jacks in the order in which one walks round the base, from the one nearest north-east, sunwise from above. */
function roundTheFeet(frame: JackFrame): number[] {
  const bearing = (index: number): number =>
    Math.atan2(frame.places[index]!.east, frame.places[index]!.north);
  return frame.places.map((_, index) => index).sort((a, b) => bearing(a) - bearing(b));
}
