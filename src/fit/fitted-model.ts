/**
 * A fit put to use: the model with its fitted terms, and how the readings at any direction depend on them.
 */
import { ARCMINUTE } from "../angles.js";
import { DECLINATION_ZERO, type MountModel, type Stance } from "../mount/model.js";
import { modelOfMount } from "./bench.js";
import { termIndex } from "./columns.js";
import type { MountFit } from "./fit-result.js";
import { type SetChoice, termsInForce } from "./sets-in-force.js";

/**
 * The fitted terms in the model's order, radians (scale errors: plain ratios); terms that were not fitted are zero.
 *
 * @param sets - which zero set and tube position; the last of the night by default
 * @throws InputError `unknown-set` where there are several sets and none of that name
 * @example
 * ```ts
 * coefficientsOf(fit).length === modelOf(fit).size // true
 * ```
 */
export function coefficientsOf(fit: Pick<MountFit, "terms" | "mount">, sets: SetChoice = {}): Float64Array {
  const coefficients = new Float64Array(modelOf(fit).size);
  for (const j of termsInForce(fit.terms, sets).values()) {
    const term = fit.terms[j]!;
    coefficients[termIndex(term.name, fit.mount)] = term.value * ARCMINUTE;
  }
  return coefficients;
}

/**
 * The rigorous model of the fit's mount.
 *
 * @example
 * ```ts
 * const out = new Float64Array(2);
 * modelOf(fit).forward(coefficientsOf(fit), 0.2, -0.5, { beyond: false, hourAngleApproach: 0, declinationApproach: 0 }, out);
 * ```
 */
export function modelOf(fit: Pick<MountFit, "mount">): MountModel {
  return modelOfMount(fit.mount);
}

/**
 * How the place that the telescope is sent to depends on the fitted terms, on the sky: westward (ΔH cos D) and
 * northward (ΔD), per arcminute of each of `fit.terms`; of several zero sets and tube positions the last count.
 *
 * With g either row and C = `fit.covariance`, √(g C gᵀ) is the pointing uncertainty in that direction, arcminutes.
 */
export function parameterGradient(
  fit: Pick<MountFit, "terms" | "mount">,
  model: MountModel,
  coefficients: Float64Array,
  hourAngle: number,
  declination: number,
  stance: Stance,
): { west: Float64Array; north: Float64Array } {
  const out = new Float64Array(2);
  const partials = new Float64Array(2 * model.size);
  model.forward(coefficients, hourAngle, declination, stance, out, partials);
  const cosD = Math.abs(Math.cos(out[1]! - coefficients[DECLINATION_ZERO]!));
  const west = new Float64Array(fit.terms.length);
  const north = new Float64Array(fit.terms.length);
  for (const j of termsInForce(fit.terms).values()) {
    const index = termIndex(fit.terms[j]!.name, fit.mount);
    west[j] = partials[index]! * cosD;
    north[j] = partials[model.size + index]!;
  }
  return { west, north };
}
