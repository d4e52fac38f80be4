/**
 * Rounding to what a hand can do.
 *
 * The exact correction is known as real numbers; a hand sets whole smallest turns. With a handful of jacks the best
 * whole numbers lie next to the real ones, so all neighbours are tried: that is exact, needs no tuning, and takes
 * a few thousand trials for four jacks. Rounding each jack by itself would not do: three roundings that each look
 * harmless add up, to twist in the frame and to half a turn's worth of axis error.
 */
import { ARCMINUTE } from "../angles.js";
import type { JackFrame } from "./jack-frame.js";

/** A screw that moves in whole steps. */
export interface SteppedScrew {
  readonly stepMm: number;
  /** Lowest and highest place, from now, millimetres. */
  readonly lowestMm: number;
  readonly highestMm: number;
}

/** A screw other than a jack, with what a millimetre of it does to the axis, radians: altitude, east. */
export interface OtherScrew extends SteppedScrew {
  readonly realMm: number;
  readonly perMm: readonly [number, number];
}

/** What to round. */
export interface RoundingTask {
  /** The jacks, or null where they stay. */
  readonly jacks: {
    readonly frame: JackFrame;
    readonly screws: readonly SteppedScrew[];
    readonly realMm: readonly number[];
    /** What the slopes do to the axis, radians a unit of slope: altitude, east. */
    readonly perSlopeEast: readonly [number, number];
    readonly perSlopeNorth: readonly [number, number];
    readonly warpLimitMm: number;
  } | null;
  /** At most one for the altitude and one for the azimuth. */
  readonly others: readonly OtherScrew[];
  /** Results that differ by less than this are equal to the builder, arcminutes; see {@link equalWithin}. */
  readonly equalWithinArcmin: number;
}

/** Whole steps of each screw. */
export interface RoundedTurns {
  readonly jackSteps: readonly number[];
  readonly otherSteps: readonly number[];
  /** What the rounding leaves of the axis error beyond the real solution, arcminutes. */
  readonly leftArcmin: number;
}

/** Least difference on the sky that anything could notice, arcminutes. */
const LEAST_NOTICED_ARCMIN = 0.01;

/**
 * Which differences of the remaining axis error are none: a quarter of what the sightings leave open adds only three in
 * a hundred to the error to be expected (√(1 + 1/16)), and buys less lowering, less twist and less turning.
 *
 * @param altitude - uncertainty of the axis's altitude, arcminutes
 * @param east - uncertainty of the axis's east error, arcminutes
 */
export function equalWithin(altitude: number, east: number): number {
  return Math.max(LEAST_NOTICED_ARCMIN, Math.hypot(altitude, east) / 4);
}
/** Most trials of the search. */
const MOST_TRIALS = 20_000;
/** Millimetres that a limit may seem to be passed by because of binary fractions. */
const HAIR_MM = 1e-9;

/**
 * The whole steps that leave the least axis error with the frame's twist inside its limit and each screw inside its
 * travel; of equally good ones the one that lowers least, then twists least, then turns least.
 *
 * @returns the steps, or null when no neighbour keeps the limits
 */
export function roundTurns(task: RoundingTask): RoundedTurns | null {
  const { jacks, others } = task;
  if (jacks === null) {
    const steps = bestOthers(others, 0, 0);
    return { jackSteps: [], otherSteps: steps.steps, leftArcmin: steps.left / ARCMINUTE };
  }
  const { frame, screws, realMm } = jacks;
  const count = screws.length;
  const candidates = screws.map((screw, index) => neighbours(screw, realMm[index]!, widthFor(count)));
  if (candidates.some((list) => list.length === 0)) return null;
  const real = frame.planeOf(realMm);
  const rises = new Array<number>(count).fill(0);
  let least = Number.POSITIVE_INFINITY;
  let best: { readonly turns: RoundedTurns; readonly rank: readonly number[] } | null = null;
  const judge = (slopeEast: number, slopeNorth: number, choosing: boolean): void => {
    const tiltEast = slopeEast - real.slopeEast;
    const tiltNorth = slopeNorth - real.slopeNorth;
    const altitude = jacks.perSlopeEast[0] * tiltEast + jacks.perSlopeNorth[0] * tiltNorth;
    const east = jacks.perSlopeEast[1] * tiltEast + jacks.perSlopeNorth[1] * tiltNorth;
    const rest = bestOthers(others, altitude, east);
    const left = rest.left / ARCMINUTE;
    if (left > least + (choosing ? task.equalWithinArcmin : 0)) return;
    const warp = frame.warpOf(rises);
    if (warp > jacks.warpLimitMm + HAIR_MM) return;
    if (!choosing) {
      least = left;
      return;
    }
    let lowered = 0;
    let turned = 0;
    for (const rise of rises) {
      lowered += Math.max(0, -rise);
      turned += Math.abs(rise);
    }
    const rank = [lowered, warp, turned, left];
    if (best !== null && !comesBefore(rank, best.rank)) return;
    const jackSteps = rises.map((rise, place) => Math.round(rise / screws[place]!.stepMm));
    best = { turns: { jackSteps, otherSteps: rest.steps, leftArcmin: left }, rank };
  };
  const visit = (index: number, slopeEast: number, slopeNorth: number, choosing: boolean): void => {
    if (index === count) {
      judge(slopeEast, slopeNorth, choosing);
      return;
    }
    for (const rise of candidates[index]!) {
      rises[index] = rise;
      visit(
        index + 1,
        slopeEast + rise * frame.slopeEastPerMm[index]!,
        slopeNorth + rise * frame.slopeNorthPerMm[index]!,
        choosing,
      );
    }
  };
  // First how good it can be, then the handiest of those that are as good.
  visit(0, 0, 0, false);
  visit(0, 0, 0, true);
  return (best as { readonly turns: RoundedTurns } | null)?.turns ?? null;
}

function comesBefore(rank: readonly number[], other: readonly number[]): boolean {
  for (let place = 0; place < rank.length; place++) {
    const difference = rank[place]! - other[place]!;
    if (Math.abs(difference) > 1e-9) return difference < 0;
  }
  return false;
}

/** How many steps to each side are tried: three for up to five jacks, fewer for more, so that the trials stay few. */
function widthFor(count: number): number {
  for (const width of [3, 2, 1.5, 1, 0.75]) {
    if ((2 * width + 1) ** count <= MOST_TRIALS) return width;
  }
  return 0.5;
}

/** Whole-step places near a real one, inside the travel, millimetres. */
function neighbours(screw: SteppedScrew, realMm: number, width: number): number[] {
  const place = realMm / screw.stepMm;
  const places: number[] = [];
  for (let step = Math.ceil(place - width - 1e-9); step <= Math.floor(place + width + 1e-9); step++) {
    const rise = step * screw.stepMm;
    if (rise >= screw.lowestMm - HAIR_MM && rise <= screw.highestMm + HAIR_MM) places.push(rise);
  }
  return places;
}

/** The whole steps of the other screws that best make up for what the jacks leave. */
function bestOthers(
  others: readonly OtherScrew[],
  altitude: number,
  east: number,
): { readonly steps: readonly number[]; readonly left: number } {
  const [first, second] = others;
  if (first === undefined) return { steps: [], left: Math.hypot(altitude, east) };
  if (second === undefined) {
    const [a, e] = first.perMm;
    const real = first.realMm - (altitude * a + east * e) / (a * a + e * e);
    let best = { steps: [0], left: Number.POSITIVE_INFINITY };
    for (const steps of twoNearest(first, real)) {
      const moved = steps * first.stepMm - first.realMm;
      const left = Math.hypot(altitude + a * moved, east + e * moved);
      if (left < best.left) best = { steps: [steps], left };
    }
    return best;
  }
  const [a1, e1] = first.perMm;
  const [a2, e2] = second.perMm;
  const determinant = a1 * e2 - a2 * e1;
  const real1 = first.realMm - (altitude * e2 - east * a2) / determinant;
  const real2 = second.realMm - (east * a1 - altitude * e1) / determinant;
  let best = { steps: [0, 0], left: Number.POSITIVE_INFINITY };
  for (const steps1 of twoNearest(first, real1)) {
    for (const steps2 of twoNearest(second, real2)) {
      const moved1 = steps1 * first.stepMm - first.realMm;
      const moved2 = steps2 * second.stepMm - second.realMm;
      const left = Math.hypot(altitude + a1 * moved1 + a2 * moved2, east + e1 * moved1 + e2 * moved2);
      if (left < best.left) best = { steps: [steps1, steps2], left };
    }
  }
  return best;
}

function twoNearest(screw: SteppedScrew, realMm: number): number[] {
  const lowest = Math.ceil(screw.lowestMm / screw.stepMm - 1e-9);
  const highest = Math.floor(screw.highestMm / screw.stepMm + 1e-9);
  const clamp = (steps: number): number => Math.min(highest, Math.max(lowest, steps));
  const place = realMm / screw.stepMm;
  return [...new Set([clamp(Math.floor(place)), clamp(Math.ceil(place))])];
}
