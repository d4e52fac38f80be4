/**
 * An explanation of a night: which sightings count, where zeros moved, how the encoders count, which terms act.
 * The search (search.ts) compares explanations by one number, {@link penalisedCost}.
 */
import type { TermName } from "../mount/terms.js";
import type { ReducedNight } from "../night/reduce.js";
import { chiSquareLimit } from "./distributions.js";

/** One way to understand the night. */
export interface Explanation {
  /** 1 for each sighting that the fit uses. */
  readonly used: Uint8Array;
  /** Places (indices of sightings) from which the hour-angle zero is a new one; ascending. */
  readonly hourAngleBreaks: readonly number[];
  /** Likewise for the declination zero. */
  readonly declinationBreaks: readonly number[];
  /** The terms that are fitted. */
  readonly terms: readonly TermName[];
  /** Whether tolerances hold the terms. */
  readonly priors: boolean;
  /** What the mount file's settings must be multiplied by: −1 for a reversed sense, 2 for half the steps a turn. */
  readonly hourAngleFactor: number;
  readonly declinationFactor: number;
  /** The two columns of readings were exchanged. */
  readonly exchanged: boolean;
}

/** 1 for each sighting that the builder has not put out of use. */
export function usableSightings(night: ReducedNight): Uint8Array {
  return Uint8Array.from(night.sightings, (sighting) => (sighting.use ? 1 : 0));
}

/** How many sightings are used. */
export function countUsed(used: Uint8Array): number {
  return used.reduce((sum, flag) => sum + flag, 0);
}

/** A night's readings as an explanation has them: each axis's angles, to be multiplied by its factor. */
export interface ExplainedReadings {
  readonly hourAngle: Float64Array;
  readonly hourAngleFactor: number;
  readonly declination: Float64Array;
  readonly declinationFactor: number;
}

/**
 * The readings under an explanation. Where the columns were exchanged, each axis takes the other column's figures with
 * its own sense and steps.
 */
export function readingsUnder(explanation: Explanation, night: ReducedNight): ExplainedReadings {
  const { hourAngleFactor, declinationFactor } = explanation;
  const { readingHourAngle, readingDeclination } = night;
  if (!explanation.exchanged) {
    return {
      hourAngle: readingHourAngle,
      hourAngleFactor,
      declination: readingDeclination,
      declinationFactor,
    };
  }
  const { hourAngle, declination } = night.mount.readings;
  const ratio = (hourAngle.sense * declination.perTurn) / (declination.sense * hourAngle.perTurn);
  return {
    hourAngle: readingDeclination,
    hourAngleFactor: hourAngleFactor * ratio,
    declination: readingHourAngle,
    declinationFactor: declinationFactor / ratio,
  };
}

/** The chance, over a whole clean night, that a rule below sets any sighting aside. */
const FALSE_ALARM_OUTLIER = 0.001;
/** The chance, over a whole clean night, that a jump of the zeros is seen where there is none. */
const FALSE_ALARM_JUMP = 0.001;
/** Prior knowledge of the expected errors themselves: they are right to this factor (1σ of the logarithm). */
const SCALE_SPREAD = 0.5;

/** What setting a sighting aside costs: the χ² (2 degrees of freedom) that a clean night exceeds so rarely. */
export function outlierPrice(sightings: number): number {
  return 2 * Math.log(Math.max(1, sightings) / FALSE_ALARM_OUTLIER);
}

const jumpPrices = new Map<number, number>();

/** What a jump of one axis's zero costs: the largest of 2(N − 1) χ² (1 degree of freedom) of a clean night. */
export function jumpPrice(sightings: number): number {
  let price = jumpPrices.get(sightings);
  if (price === undefined) {
    price = chiSquareLimit(FALSE_ALARM_JUMP / (2 * Math.max(1, sightings - 1)), 1);
    jumpPrices.set(sightings, price);
  }
  return price;
}

/**
 * The factor by which the expected errors seem too small, and −2 ln of the likelihood that goes with it, from the
 * sum of squares: the scale s ≥ 1 that makes x / s² + 2 m ln s + (ln s / spread)² smallest.
 */
export function scaleProfile(sumOfSquares: number, rows: number): { scale: number; cost: number } {
  const x = Math.max(0, sumOfSquares);
  const value = (u: number): number => x * Math.exp(-2 * u) + 2 * rows * u + (u / SCALE_SPREAD) ** 2;
  if (x <= rows) return { scale: 1, cost: x };
  let low = 0;
  let high = 0.5 * Math.log(x / rows) + 1e-9;
  // The derivative −2x e^(−2u) + 2m + 2u/spread² rises through zero once.
  for (let k = 0; k < 60; k++) {
    const u = (low + high) / 2;
    if (-2 * x * Math.exp(-2 * u) + 2 * rows + (2 * u) / SCALE_SPREAD ** 2 < 0) low = u;
    else high = u;
  }
  return { scale: Math.exp(low), cost: value(low) };
}

/** How many sightings an explanation leaves out of those it could use. */
export function setAsideCount(explanation: Explanation, night: ReducedNight): number {
  let count = 0;
  for (let i = 0; i < night.count; i++) {
    if (night.sightings[i]!.use && !explanation.used[i]) count++;
  }
  return count;
}

/**
 * −2 ln of the posterior odds of an explanation, but for a constant: the fit's sum of squares with its scale
 * profiled out, a price for each sighting set aside and for each jump.
 */
export function penalisedCost(explanation: Explanation, night: ReducedNight, sumOfSquares: number): number {
  const aside = setAsideCount(explanation, night);
  let used = 0;
  for (const flag of explanation.used) used += flag;
  const total = used + aside;
  const jumps = explanation.hourAngleBreaks.length + explanation.declinationBreaks.length;
  return scaleProfile(sumOfSquares, 2 * used).cost + aside * outlierPrice(total) + jumps * jumpPrice(total);
}
