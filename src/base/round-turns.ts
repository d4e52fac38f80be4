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
interface SteppedScrew {
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

/** Never more than this is given away for handier turns, however coarse the measurement, arcminutes. */
const MOST_IGNORED_ARCMIN = 0.5;
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
  return Math.min(MOST_IGNORED_ARCMIN, Math.max(LEAST_NOTICED_ARCMIN, Math.hypot(altitude, east) / 4));
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
  const { jacks } = task;
  const others = screwsTogether(task.others);
  if (jacks === null) {
    const left = others.make(0, 0);
    return { jackSteps: [], otherSteps: others.steps(), leftArcmin: left / ARCMINUTE };
  }
  const { frame, screws, realMm } = jacks;
  const count = screws.length;
  const candidates = screws.map((screw, index) => neighbours(screw, realMm[index]!, widthFor(count)));
  if (candidates.some((list) => list.length === 0)) return null;
  const real = frame.planeOf(realMm);
  const { perSlopeEast, perSlopeNorth } = jacks;
  const rises = new Array<number>(count).fill(0);
  /** What is left of the axis error, radians, where the base is out of the real slopes by so much. */
  const leftBy = (slopeEast: number, slopeNorth: number): number =>
    others.make(
      perSlopeEast[0] * slopeEast + perSlopeNorth[0] * slopeNorth,
      perSlopeEast[1] * slopeEast + perSlopeNorth[1] * slopeNorth,
    );
  const keepsFlat = (): boolean => frame.warpOf(rises) <= jacks.warpLimitMm + HAIR_MM;

  // First how good it can be.
  const trials = candidates.reduce((product, list) => product * list.length, 1);
  const left = new Float64Array(trials);
  let least = Number.POSITIVE_INFINITY;
  let trial = 0;
  const visit = (index: number, slopeEast: number, slopeNorth: number): void => {
    if (index < count) {
      for (const rise of candidates[index]!) {
        rises[index] = rise;
        const east = slopeEast + rise * frame.slopeEastPerMm[index]!;
        visit(index + 1, east, slopeNorth + rise * frame.slopeNorthPerMm[index]!);
      }
      return;
    }
    const error = leftBy(slopeEast, slopeNorth);
    left[trial++] = error;
    if (error < least && keepsFlat()) least = error;
  };
  visit(0, -real.slopeEast, -real.slopeNorth);

  // Then the handiest of those that are as good.
  let best: { readonly trial: number; readonly rank: readonly number[] } | null = null;
  const asGood = least + task.equalWithinArcmin * ARCMINUTE;
  for (trial = 0; trial < trials; trial++) {
    if (left[trial]! > asGood) continue;
    setRises(rises, candidates, trial);
    if (!keepsFlat()) continue;
    let lowered = 0;
    let turned = 0;
    for (const rise of rises) {
      lowered += Math.max(0, -rise);
      turned += Math.abs(rise);
    }
    const rank = [lowered, frame.warpOf(rises), turned, left[trial]! / ARCMINUTE];
    if (best === null || comesBefore(rank, best.rank)) best = { trial, rank };
  }
  if (best === null) return null;

  setRises(rises, candidates, best.trial);
  const plane = frame.planeOf(rises);
  const error = leftBy(plane.slopeEast - real.slopeEast, plane.slopeNorth - real.slopeNorth);
  return {
    jackSteps: rises.map((rise, place) => Math.round(rise / screws[place]!.stepMm)),
    otherSteps: others.steps(),
    leftArcmin: error / ARCMINUTE,
  };
}

/** The rises of one trial: the last jack's candidates come round fastest. */
function setRises(rises: number[], candidates: readonly (readonly number[])[], trial: number): void {
  let rest = trial;
  for (let index = candidates.length - 1; index >= 0; index--) {
    const list = candidates[index]!;
    rises[index] = list[rest % list.length]!;
    rest = Math.floor(rest / list.length);
  }
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

/** The screws other than jacks, set so that they best make up for what the jacks leave. */
interface ScrewsTogether {
  /**
   * @param altitude - what the jacks leave of the axis's altitude, radians
   * @param east - what they leave of its east error, radians
   * @returns what is left of both then, radians
   */
  make(altitude: number, east: number): number;
  /** The whole steps that {@link make} last came to. */
  steps(): number[];
}

function screwsTogether(others: readonly OtherScrew[]): ScrewsTogether {
  const [first, second] = others;
  if (first === undefined) return { make: distance, steps: () => [] };
  const near = twoNearest(first);
  const best = [0, 0];
  const [a1, e1] = first.perMm;
  if (second === undefined) {
    const square = a1 * a1 + e1 * e1;
    return {
      make(altitude, east) {
        near.find(first.realMm - (altitude * a1 + east * e1) / square);
        let least = Number.POSITIVE_INFINITY;
        for (const steps of near.steps) {
          const moved = steps * first.stepMm - first.realMm;
          const left = distance(altitude + a1 * moved, east + e1 * moved);
          if (left >= least) continue;
          least = left;
          best[0] = steps;
        }
        return least;
      },
      steps: () => [best[0]!],
    };
  }
  const nearSecond = twoNearest(second);
  const [a2, e2] = second.perMm;
  const determinant = a1 * e2 - a2 * e1;
  return {
    make(altitude, east) {
      near.find(first.realMm - (altitude * e2 - east * a2) / determinant);
      nearSecond.find(second.realMm - (east * a1 - altitude * e1) / determinant);
      let least = Number.POSITIVE_INFINITY;
      for (const steps1 of near.steps) {
        const moved1 = steps1 * first.stepMm - first.realMm;
        for (const steps2 of nearSecond.steps) {
          const moved2 = steps2 * second.stepMm - second.realMm;
          const left = distance(altitude + a1 * moved1 + a2 * moved2, east + e1 * moved1 + e2 * moved2);
          if (left >= least) continue;
          least = left;
          best[0] = steps1;
          best[1] = steps2;
        }
      }
      return least;
    },
    steps: () => [...best],
  };
}

function distance(altitude: number, east: number): number {
  return Math.sqrt(altitude * altitude + east * east);
}

/** The whole steps of a screw next to a real place, inside its travel. */
function twoNearest(screw: SteppedScrew): { readonly steps: readonly number[]; find(realMm: number): void } {
  const lowest = Math.ceil(screw.lowestMm / screw.stepMm - 1e-9);
  const highest = Math.floor(screw.highestMm / screw.stepMm + 1e-9);
  const steps = [0, 0];
  return {
    steps,
    find(realMm) {
      const place = realMm / screw.stepMm;
      steps[0] = Math.min(highest, Math.max(lowest, Math.floor(place)));
      steps[1] = Math.min(highest, Math.max(lowest, Math.ceil(place)));
    },
  };
}
