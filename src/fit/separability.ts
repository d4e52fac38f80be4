/**
 * Terms that tonight's stars cannot tell apart, and the star that would.
 */
import { ARCMINUTE, DEGREE } from "../angles.js";
import { insideLimits } from "../mount/limits.js";
import { type MountModel, normalStance } from "../mount/model.js";
import { expectedError } from "../night/reduce.js";
import { catalogueStars } from "../sky/catalogue.js";
import { hourAngleVector } from "../sky/horizon-frame.js";
import { observeIn } from "../sky/observe.js";
import { skyFrame } from "../sky/sky-frame.js";
import type { Star } from "../sky/star.js";
import { separation } from "../vectors.js";
import type { MountFit } from "./fit-result.js";
import { coefficientsOf, parameterGradient } from "./fitted-model.js";
import { SUN_LIMIT, sunOver } from "./sighting-notes.js";

/** Two terms that move together. */
export interface Entanglement {
  /** Indices among the fit's terms. */
  readonly first: number;
  readonly second: number;
  readonly correlation: number;
}

/** From this correlation on, the values of two terms mean little by themselves. */
export const ENTANGLED = 0.95;
/** Brighter stars than this are proposed. */
const BRIGHT = 2.6;
/** Lower than this no star is proposed. */
const LOWEST = 15 * DEGREE;

/** A variance smaller than this part of the one before cannot be told from rounding. */
const ROUNDING = 1e-9;

/** The correlation of two terms, −1 to 1; 0 where rounding has left one of them no variance. */
export function correlationOf(covariance: readonly (readonly number[])[], i: number, j: number): number {
  if (i === j) return 1;
  const scale = Math.sqrt(Math.max(0, covariance[i]![i]!) * Math.max(0, covariance[j]![j]!));
  return scale > 0 ? Math.max(-1, Math.min(1, covariance[i]![j]! / scale)) : 0;
}

/** Pairs of terms too strongly correlated, of which one at least is not measured; the worst first. */
export function entanglements(fit: Pick<MountFit, "terms" | "covariance">): Entanglement[] {
  const found: Entanglement[] = [];
  const { terms, covariance } = fit;
  for (let i = 0; i < terms.length; i++) {
    for (let j = i + 1; j < terms.length; j++) {
      const correlation = correlationOf(covariance, i, j);
      if (Math.abs(correlation) < ENTANGLED) continue;
      if (terms[i]!.standing === "measured" && terms[j]!.standing === "measured") continue;
      found.push({ first: i, second: j, correlation });
    }
  }
  return found.sort((a, b) => Math.abs(b.correlation) - Math.abs(a.correlation));
}

/**
 * The bright star, up at a moment and inside the mount's limits, that would tell most about a term.
 *
 * @returns null where none is up, or none would take a tenth off the uncertainty
 */
export function tellingStar(
  fit: Pick<MountFit, "terms" | "covariance" | "mount">,
  model: MountModel,
  term: number,
  timeMs: number,
): { star: Star; uncertainty: number } | null {
  const { mount, covariance } = fit;
  const coefficients = coefficientsOf(fit);
  const frame = skyFrame(timeMs, mount.site);
  const sun = sunOver(mount.site)(timeMs);
  const variance = covariance[term]![term]!;
  let best: { star: Star; variance: number } | null = null;
  for (const star of catalogueStars()) {
    if (star.vMag > BRIGHT) continue;
    const seen = observeIn(frame, star);
    if (seen.altitude < LOWEST || !insideLimits(seen, mount.limits)) continue;
    if (separation(hourAngleVector(seen), sun) < SUN_LIMIT) continue;
    const error = expectedError(mount, seen.declination);
    const g = parameterGradient(fit, model, coefficients, seen.hourAngle, seen.declination, normalStance);
    const left = varianceAfter(covariance, term, [
      { row: g.west, sigma: error.west / ARCMINUTE },
      { row: g.north, sigma: error.north / ARCMINUTE },
    ]);
    // A term that nothing holds has a variance so large that the difference drowns in rounding.
    if (!(left > ROUNDING * variance)) continue;
    if (!best || left < best.variance) best = { star, variance: left };
  }
  if (!best || best.variance > 0.81 * variance) return null;
  return { star: best.star, uncertainty: Math.sqrt(best.variance) };
}

/** A term's variance after two more rows, by two rank-one updates of its column of the covariance. */
function varianceAfter(
  covariance: readonly (readonly number[])[],
  term: number,
  rows: readonly { row: Float64Array; sigma: number }[],
): number {
  const [first, second] = rows as [
    { row: Float64Array; sigma: number },
    { row: Float64Array; sigma: number },
  ];
  const times = (row: Float64Array): Float64Array => {
    const product = new Float64Array(row.length);
    for (let i = 0; i < row.length; i++) {
      if (row[i] === 0) continue;
      for (let j = 0; j < row.length; j++) product[j]! += row[i]! * covariance[i]![j]!;
    }
    return product;
  };
  const dotProduct = (a: Float64Array, b: Float64Array): number => {
    let sum = 0;
    for (let i = 0; i < a.length; i++) sum += a[i]! * b[i]!;
    return sum;
  };
  const u = times(first.row);
  const v = times(second.row);
  const a = dotProduct(first.row, u) + first.sigma ** 2;
  const b = dotProduct(first.row, v);
  const c = dotProduct(second.row, v) + second.sigma ** 2;
  const determinant = a * c - b * b;
  const x = u[term]!;
  const y = v[term]!;
  return covariance[term]![term]! - (c * x * x - 2 * b * x * y + a * y * y) / determinant;
}
