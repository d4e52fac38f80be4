/**
 * The polar axis from drifts, held against the sightings' fit.
 */
import { chiSquareProbability } from "../fit/distributions.js";
import type { Estimate } from "../fit/fit-result.js";
import type { MountStanding } from "../pointing/known-mount.js";
import { type DriftOptions, type DriftResult, solveDriftFully } from "./drift.js";
import type { DriftObservation } from "./fields.js";
import { sagNames, sagsWithPole, termPlace } from "./sags.js";

/** One error from both, arcminutes. */
export interface DriftDifference extends Estimate {
  readonly drift: Estimate;
  readonly sightings: Estimate;
  /** The difference (drift minus sightings) in units of its uncertainty. */
  readonly sigmas: number;
}

/** Drifts against sightings. */
export interface DriftComparison {
  readonly altitude: DriftDifference;
  readonly east: DriftDifference;
  /** Both together: how improbable so large a difference is by chance. */
  readonly chiSquare: { readonly value: number; readonly degreesOfFreedom: 2; readonly probability: number };
  /** The same as the σ of a single number. */
  readonly sigmas: number;
  readonly agrees: boolean;
  /** Whether the drifts are sharp enough that agreeing means something: both differences known to 10′. */
  readonly telling: boolean;
}

/** A difference larger than chance gives once in a hundred is called a disagreement. */
const DISAGREES_PROBABILITY = 0.01;
const TELLING_ARCMIN = 10;

/**
 * Finds the axis from drifts and holds it against the sightings' fit. What both take from the same knowledge of the sags is
 * allowed for.
 *
 * @param drifts - from {@link readDrifts} or {@link makeDrifts}
 * @param fit - the sightings' fit, or a kept model
 * @throws {@link InputError} as {@link solveDrift}
 * @example
 * ```ts
 * const { comparison } = compareDrift(readDrifts(driftsText), fitMount(night));
 * comparison.agrees; // true
 * ```
 */
export function compareDrift(
  drifts: readonly DriftObservation[],
  fit: MountStanding,
  options: Omit<DriftOptions, "fit"> = {},
): { readonly result: DriftResult; readonly comparison: DriftComparison } {
  const { result, sagGain } = solveDriftFully(drifts, fit.mount, { ...options, fit });
  const pole = [termPlace(fit, "polarAltitude"), termPlace(fit, "polarEast")];
  const fitted = pole.map((place) => (place < 0 ? 0 : fit.terms[place]!.value));
  const fitCovariance = (i: number, j: number): number =>
    pole[i]! < 0 || pole[j]! < 0 ? 0 : fit.covariance[pole[i]!]![pole[j]!]!;
  const withPole = sagsWithPole(fit);
  const shared = (i: number, j: number): number =>
    sagNames.reduce((sum, _, k) => sum + sagGain[i]![k]! * withPole[k]![j]!, 0);
  const drift = [result.pole.altitude, result.pole.east];
  const driftCovariance = (i: number, j: number): number =>
    i === j ? drift[i]!.uncertainty ** 2 : result.pole.covariance;
  const covariance = (i: number, j: number): number =>
    driftCovariance(i, j) + fitCovariance(i, j) - shared(i, j) - shared(j, i);
  // Rounding and approximations must not make a difference look surer than its surer part.
  const variance = (i: number): number =>
    Math.max(covariance(i, i), 0.01 * (driftCovariance(i, i) + fitCovariance(i, i)));
  const difference = (i: number): DriftDifference => {
    const value = drift[i]!.value - fitted[i]!;
    const uncertainty = Math.sqrt(variance(i));
    return {
      value,
      uncertainty,
      sigmas: Math.abs(value) / uncertainty,
      drift: drift[i]!,
      sightings: { value: fitted[i]!, uncertainty: Math.sqrt(Math.max(0, fitCovariance(i, i))) },
    };
  };
  const [altitude, east] = [difference(0), difference(1)];
  const cross = covariance(0, 1);
  const determinant = variance(0) * variance(1) - cross * cross;
  const square =
    determinant > 0
      ? (altitude.value ** 2 * variance(1) -
          2 * altitude.value * east.value * cross +
          east.value ** 2 * variance(0)) /
        determinant
      : altitude.sigmas ** 2 + east.sigmas ** 2;
  const probability = chiSquareProbability(square, 2);
  return {
    result,
    comparison: {
      altitude,
      east,
      chiSquare: { value: square, degreesOfFreedom: 2, probability },
      sigmas: sigmasOf(probability),
      agrees: probability >= DISAGREES_PROBABILITY,
      telling: altitude.uncertainty <= TELLING_ARCMIN && east.uncertainty <= TELLING_ARCMIN,
    },
  };
}

/** The σ of a single normal number that is exceeded, either way, with a probability. */
export function sigmasOf(probability: number): number {
  let low = 0;
  let high = 40;
  for (let k = 0; k < 60; k++) {
    const middle = (low + high) / 2;
    if (chiSquareProbability(middle * middle, 1) > probability) low = middle;
    else high = middle;
  }
  return (low + high) / 2;
}
