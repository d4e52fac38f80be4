/**
 * The covariance of the smooth residue, held against its kernels themselves, brought into their series by quadrature:
 * exp(−(1 − cos θ)/reach²) in Legendre's polynomials, exp(−2 sin²(Δ/2)/reach²) in cosines (orthogonality: Abramowitz and
 * Stegun 22.2). Few rows and many are diagonalised in two ways; both must give this covariance.
 */
import { describe, expect, it } from "vitest";
import { ARCMINUTE } from "../../src/angles.js";
import {
  HOUR_HARMONICS,
  HOUR_REACH,
  HOUR_SHARE,
  SKY_DEGREES,
  SKY_REACH,
  SKY_SHARE,
} from "../../src/fit/beliefs.js";
import { fieldSpectrum } from "../../src/fit/residue.js";
import { seededRandom } from "../../src/simulate/random.js";

const STEPS = 20_000;
/** The mean of a function over an interval, by midpoints: to 1e-8 for these smooth ones. */
function meanOf(from: number, to: number, value: (x: number) => number): number {
  let sum = 0;
  for (let k = 0; k < STEPS; k++) sum += value(from + ((k + 0.5) / STEPS) * (to - from));
  return sum / STEPS;
}

/** Legendre's polynomial, by its explicit sum (Abramowitz and Stegun 22.3.8). */
function legendre(degree: number, x: number): number {
  const choose = (n: number, k: number): number => (k === 0 ? 1 : (choose(n - 1, k - 1) * n) / k);
  let sum = 0;
  for (let k = 0; k <= degree; k++) sum += choose(degree, k) ** 2 * (x - 1) ** (degree - k) * (x + 1) ** k;
  return sum / 2 ** degree;
}

const broughtTo = (share: number, parts: readonly number[]): number[] => {
  const whole = parts.reduce((sum, part) => sum + part, 0);
  return parts.map((part) => (share * part) / whole);
};
const skyParts = broughtTo(
  SKY_SHARE,
  Array.from(
    { length: SKY_DEGREES + 1 },
    (_, l) => (2 * l + 1) * meanOf(-1, 1, (u) => Math.exp(-(1 - u) / SKY_REACH ** 2) * legendre(l, u)),
  ),
);
const hourParts = broughtTo(
  HOUR_SHARE,
  Array.from({ length: HOUR_HARMONICS }, (_, k) =>
    meanOf(
      0,
      2 * Math.PI,
      (a) => Math.exp((-2 * Math.sin(a / 2) ** 2) / HOUR_REACH ** 2) * Math.cos((k + 1) * a),
    ),
  ),
);

/** Places all over the sky, south and north, some close to the poles, and weights of their own. */
function rowsOver(count: number, hourAngle: boolean) {
  const random = seededRandom(count + (hourAngle ? 7 : 0));
  const places = Array.from({ length: count }, (_, i) => {
    const z = i % 10 === 0 ? Math.sign(random() - 0.5) * 0.9999 : 2 * random() - 1;
    const hour = 2 * Math.PI * random();
    return { hour, flat: Math.sqrt(1 - z * z), z, weight: (0.5 + random()) / ARCMINUTE };
  });
  const directions = Float64Array.from(
    places.flatMap(({ hour, flat, z }) => [flat * Math.cos(hour), -flat * Math.sin(hour), z]),
  );
  const covariance = (i: number, j: number): number => {
    const [a, b] = [places[i]!, places[j]!];
    const cosine = a.flat * b.flat * Math.cos(a.hour - b.hour) + a.z * b.z;
    const sky = skyParts.reduce((sum, part, l) => sum + part * legendre(l, cosine), 0);
    const along = hourParts.reduce((sum, part, k) => sum + part * Math.cos((k + 1) * (a.hour - b.hour)), 0);
    return (sky + along * (hourAngle ? a.flat * b.flat : 1)) * a.weight * b.weight * ARCMINUTE ** 2;
  };
  return {
    rows: { count, directions, weight: Float64Array.from(places, (p) => p.weight), hourAngle },
    covariance,
  };
}

describe.each([12, 44, 130])("the residue of %i rows", (count) => {
  it.each([true, false])("has the covariance of its kernels, on the hour-angle axis: %s", (hourAngle) => {
    const { rows, covariance } = rowsOver(count, hourAngle);
    const { values, vectors } = fieldSpectrum(rows);
    for (let i = 0; i < count; i++)
      for (let j = 0; j <= i; j++) {
        let sum = 0;
        values.forEach((value, k) => {
          sum += value * vectors[k * count + i]! * vectors[k * count + j]!;
        });
        // Against a variance of 0.25 to 2.25; parts below 1e-9 of the largest, some 40, are left out.
        expect(Math.abs(sum - covariance(i, j))).toBeLessThan(1e-5);
      }
    // The vectors are orthonormal: no direction counts twice.
    for (let k = 0; k < values.length; k++) {
      expect(values[k]).toBeGreaterThanOrEqual(0);
      for (let l = 0; l <= k; l++) {
        let product = 0;
        for (let i = 0; i < count; i++) product += vectors[k * count + i]! * vectors[l * count + i]!;
        expect(Math.abs(product - (k === l ? 1 : 0))).toBeLessThan(1e-5);
      }
    }
  });
});
