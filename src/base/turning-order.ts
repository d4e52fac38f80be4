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
    const left = rises[jack]! - done[jack]!;
    const most = Math.max(unit, Math.floor(LARGEST_STEP_TURNS / unit + 1e-9) * unit);
    const wanted = Math.min(Math.abs(left) / pitchMm, most);
    const room = roomToMove(frame, done, jack, Math.sign(left), warpLimitMm) / pitchMm;
    // The last piece of a jack need not be a whole number of units; any other is.
    const turns = wanted <= room ? wanted : Math.floor(room / unit + 1e-9) * unit;
    if (turns > 1e-9) return { jack, riseMm: Math.sign(left) * turns * pitchMm, turns };
  }
  return null;
}

/** How far one jack can go before a foot is out of the plane of the others by the limit, millimetres. */
function roomToMove(
  frame: JackFrame,
  done: readonly number[],
  jack: number,
  sign: number,
  warpLimitMm: number,
): number {
  if (done.length === 3) return Number.POSITIVE_INFINITY;
  let room = Number.POSITIVE_INFINITY;
  for (const weights of frame.outOfPlanePerMm) {
    const change = sign * weights[jack]!;
    if (Math.abs(change) < 1e-12) continue;
    const now = weights.reduce((sum, weight, index) => sum + weight * done[index]!, 0);
    room = Math.min(room, (warpLimitMm + HAIR_MM - Math.sign(change) * now) / Math.abs(change));
  }
  return Math.max(0, room);
}

/** The jacks in the order in which one walks round the base, from due south by west: clockwise as seen from above. */
function roundTheFeet(frame: JackFrame): number[] {
  const bearing = (index: number): number =>
    Math.atan2(frame.places[index]!.east, frame.places[index]!.north);
  return frame.places.map((_, index) => index).sort((a, b) => bearing(a) - bearing(b));
}
