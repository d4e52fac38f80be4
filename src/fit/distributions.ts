/**
 * The probability distributions that the fit needs: normal and χ².
 * Source: Abramowitz and Stegun, Handbook of Mathematical Functions, 6.5 (incomplete gamma: series and continued
 * fraction); ln Γ by Lanczos' approximation (1964, g = 7, nine terms).
 */

const LANCZOS = [
  0.99999999999980993, 676.5203681218851, -1259.1392167224028, 771.32342877765313, -176.61502916214059,
  12.507343278686905, -0.13857109526572012, 9.9843695780195716e-6, 1.5056327351493116e-7,
];

function logGamma(x: number): number {
  const shifted = x - 1;
  let sum = LANCZOS[0]!;
  for (let k = 1; k < LANCZOS.length; k++) sum += LANCZOS[k]! / (shifted + k);
  const t = shifted + 7.5;
  return 0.5 * Math.log(2 * Math.PI) + (shifted + 0.5) * Math.log(t) - t + Math.log(sum);
}

/** Q(a, x), the upper regularised incomplete gamma function. */
function upperGamma(a: number, x: number): number {
  if (x <= 0) return 1;
  const front = Math.exp(a * Math.log(x) - x - logGamma(a));
  if (x < a + 1) {
    let term = 1 / a;
    let sum = term;
    for (let k = 1; k < 100_000; k++) {
      term *= x / (a + k);
      sum += term;
      if (term < sum * 1e-16) break;
    }
    return Math.max(0, 1 - sum * front);
  }
  // Lentz's method on the continued fraction.
  let b = x + 1 - a;
  let c = 1e300;
  let d = 1 / b;
  let fraction = d;
  for (let k = 1; k < 100_000; k++) {
    const an = -k * (k - a);
    b += 2;
    d = 1 / (an * d + b);
    c = b + an / c;
    const factor = c * d;
    fraction *= factor;
    if (Math.abs(factor - 1) < 1e-16) break;
  }
  return front * fraction;
}

/**
 * The probability that χ² with the given degrees of freedom exceeds a value.
 *
 * @example
 * ```ts
 * chiSquareProbability(3.841, 1).toFixed(3) // "0.050"
 * ```
 */
export function chiSquareProbability(value: number, degreesOfFreedom: number): number {
  if (degreesOfFreedom <= 0) return 1;
  return upperGamma(degreesOfFreedom / 2, value / 2);
}

/** The value that χ² exceeds with the given probability: the inverse of {@link chiSquareProbability}. */
export function chiSquareLimit(probability: number, degreesOfFreedom: number): number {
  let low = 0;
  let high = degreesOfFreedom + 10;
  while (chiSquareProbability(high, degreesOfFreedom) > probability) high *= 2;
  for (let k = 0; k < 80; k++) {
    const middle = (low + high) / 2;
    if (chiSquareProbability(middle, degreesOfFreedom) > probability) low = middle;
    else high = middle;
  }
  return (low + high) / 2;
}
