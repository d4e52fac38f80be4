/**
 * How far from the middle a pointing may fall, when it errs by different amounts both ways.
 */

const DIRECTIONS = 64;

/**
 * The radius that holds a part of all pointings that err by a normal distribution in two dimensions.
 *
 * Along each direction θ of the whitened plane the distance follows Rayleigh's distribution, so the part inside r is
 * 1 − mean over θ of exp(−r² / 2(λ₁ cos²θ + λ₂ sin²θ)); the mean over equal steps of θ converges exponentially.
 *
 * @param part - between 0 and 1, for instance 0.95
 * @param varianceA - along one direction
 * @param varianceB - at right angles to it
 * @param covariance - of both
 * @returns in the unit whose square the variances have
 * @example
 * ```ts
 * radiusHolding(0.95, 1, 1); // 2.448
 * ```
 */
export function radiusHolding(part: number, varianceA: number, varianceB: number, covariance = 0): number {
  const middle = (varianceA + varianceB) / 2;
  const spread = Math.hypot((varianceA - varianceB) / 2, covariance);
  const large = middle + spread;
  const small = Math.max(0, middle - spread);
  if (!(large > 0)) return 0;
  const inside = (radius: number): number => {
    let outside = 0;
    for (let k = 0; k < DIRECTIONS; k++) {
      const angle = (Math.PI * (k + 0.5)) / DIRECTIONS;
      const variance = large * Math.cos(angle) ** 2 + small * Math.sin(angle) ** 2;
      outside += Math.exp((-radius * radius) / (2 * variance));
    }
    return 1 - outside / DIRECTIONS;
  };
  let low = 0;
  let high = Math.sqrt(-2 * Math.log(1 - part) * large);
  for (let k = 0; k < 50; k++) {
    const radius = (low + high) / 2;
    if (inside(radius) < part) low = radius;
    else high = radius;
  }
  return (low + high) / 2;
}
