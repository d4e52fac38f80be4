/**
 * The smooth residue: what no term holds, as a random field of two parts on each axis, one over the sky and one along the
 * hour angle (Gaussian process regression: Rasmussen and Williams 2006, chapter 2). Its covariance is brought into diagonal
 * form once, so that every amplitude and every scale of the errors costs next to nothing.
 *
 * Over the sky the kernel exp(−(1 − cos θ)/reach²) is its own expansion in Legendre's polynomials, with modified spherical
 * Bessel functions as coefficients (Abramowitz and Stegun 10.2.36); along the hour angle exp(−2 sin²(Δ/2)/reach²) is a
 * cosine series with modified Bessel functions (Abramowitz and Stegun 9.6.34). The constant of the second is left to the
 * zeros.
 */

import { EigenvalueDecomposition, Matrix } from "#matrices";
import { ARCMINUTE } from "../angles.js";
import { HOUR_HARMONICS, HOUR_REACH, HOUR_SHARE, SKY_DEGREES, SKY_REACH, SKY_SHARE } from "./beliefs.js";

/** (2l + 1) i_l(κ), l from 0: the parts of the variance by degree, together the sky's share. */
function skyParts(): Float64Array {
  const kappa = 1 / SKY_REACH ** 2;
  const parts = Float64Array.from({ length: SKY_DEGREES + 1 }, (_, l) => {
    // i_l(κ) = Σ κ^(l + 2k) / ((2k)!! (2l + 2k + 1)!!)
    let term = 1;
    for (let k = 1; k <= l; k++) term *= kappa / (2 * k + 1);
    let sum = 0;
    for (let k = 0; k < 60; k++) {
      sum += term;
      term *= (kappa * kappa) / ((2 * k + 2) * (2 * l + 2 * k + 3));
    }
    return (2 * l + 1) * sum;
  });
  return shared(parts, SKY_SHARE);
}

/** I_k(κ), k from 1: the parts of the variance by harmonic, together the hour angle's share. */
function hourParts(): Float64Array {
  const kappa = 1 / HOUR_REACH ** 2;
  const parts = Float64Array.from({ length: HOUR_HARMONICS }, (_, index) => {
    const order = index + 1;
    let term = 1;
    for (let k = 1; k <= order; k++) term *= kappa / (2 * k);
    let sum = 0;
    for (let k = 0; k < 60; k++) {
      sum += term;
      term *= (kappa * kappa) / 4 / ((k + 1) * (k + 1 + order));
    }
    return sum;
  });
  return shared(parts, HOUR_SHARE);
}

/** Parts brought to a given sum: what the cut series loses is given back. */
function shared(parts: Float64Array, share: number): Float64Array {
  const whole = parts.reduce((sum, part) => sum + part, 0);
  return parts.map((part) => (share * part) / whole);
}

const SKY_PARTS = skyParts();
const HOUR_PARTS = hourParts();
const SKY_ROOTS = SKY_PARTS.map(Math.sqrt);
const HOUR_ROOTS = HOUR_PARTS.map(Math.sqrt);
/** How many functions the field of one axis is made of. */
const FEATURES = (SKY_DEGREES + 1) ** 2 + 2 * HOUR_HARMONICS;

/** Where the rows of one axis lie; a row's `weight` is 1 over its expected error, radians⁻¹. */
export interface FieldRows {
  readonly count: number;
  /** Unit vector in the hour-angle frame, three places a row. */
  readonly directions: Float64Array;
  readonly weight: Float64Array;
  /** Whether it is the hour-angle axis: along the hour angle its readings err, not its place on the sky. */
  readonly hourAngle: boolean;
}

/** The covariance of one axis's rows, for an amplitude of an arcminute: Σ λ u uᵀ. */
export interface FieldSpectrum {
  readonly values: Float64Array;
  /** The vectors u, one after the other, each `count` long. */
  readonly vectors: Float64Array;
}

/** A part of the variance smaller than this is rounding. */
const NOTHING = 1e-9;

/** Diagonalises the residue of one axis. */
export function fieldSpectrum(rows: FieldRows): FieldSpectrum {
  return rows.count <= FEATURES ? fromKernel(rows) : fromFeatures(rows);
}

function fromKernel({ count, directions, weight, hourAngle }: FieldRows): FieldSpectrum {
  const kernel = new Matrix(count, count);
  for (let i = 0; i < count; i++) {
    const x = directions[3 * i]!;
    const y = directions[3 * i + 1]!;
    const z = directions[3 * i + 2]!;
    const flat = Math.hypot(x, y);
    for (let j = 0; j <= i; j++) {
      const u = directions[3 * j]!;
      const v = directions[3 * j + 1]!;
      const cosine = x * u + y * v + z * directions[3 * j + 2]!;
      let covariance = SKY_PARTS[0]!;
      let before = 1;
      let legendre = cosine;
      for (let l = 1; l <= SKY_DEGREES; l++) {
        covariance += SKY_PARTS[l]! * legendre;
        const next = ((2 * l + 1) * cosine * legendre - l * before) / (l + 1);
        before = legendre;
        legendre = next;
      }
      const flats = flat * Math.hypot(u, v);
      const cosHour = flats > 0 ? (x * u + y * v) / flats : 1;
      let along = 0;
      let past = 1;
      let now = cosHour;
      for (let k = 0; k < HOUR_HARMONICS; k++) {
        along += HOUR_PARTS[k]! * now;
        const next = 2 * cosHour * now - past;
        past = now;
        now = next;
      }
      covariance += hourAngle ? along * flats : along;
      covariance *= weight[i]! * weight[j]! * ARCMINUTE * ARCMINUTE;
      kernel.set(i, j, covariance);
      kernel.set(j, i, covariance);
    }
  }
  const { realEigenvalues, eigenvectorMatrix } = new EigenvalueDecomposition(kernel, {
    assumeSymmetric: true,
  });
  const vectors = new Float64Array(count * count);
  for (let k = 0; k < count; k++)
    for (let i = 0; i < count; i++) vectors[k * count + i] = eigenvectorMatrix.get(i, k);
  return { values: Float64Array.from(realEigenvalues, (value) => Math.max(0, value)), vectors };
}

function fromFeatures({ count, directions, weight, hourAngle }: FieldRows): FieldSpectrum {
  const features = new Float64Array(count * FEATURES);
  const row = new Float64Array(FEATURES);
  const gram = new Float64Array(FEATURES * FEATURES);
  for (let i = 0; i < count; i++) {
    fieldFeatures(directions, 3 * i, hourAngle, row);
    const scale = weight[i]! * ARCMINUTE;
    for (let a = 0; a < FEATURES; a++) {
      const value = row[a]! * scale;
      features[i * FEATURES + a] = value;
      for (let b = 0; b <= a; b++) gram[a * FEATURES + b]! += value * features[i * FEATURES + b]!;
    }
  }
  const symmetric = new Matrix(FEATURES, FEATURES);
  for (let a = 0; a < FEATURES; a++)
    for (let b = 0; b <= a; b++) {
      symmetric.set(a, b, gram[a * FEATURES + b]!);
      symmetric.set(b, a, gram[a * FEATURES + b]!);
    }
  const { realEigenvalues, eigenvectorMatrix } = new EigenvalueDecomposition(symmetric, {
    assumeSymmetric: true,
  });
  const largest = Math.max(...realEigenvalues);
  const kept = realEigenvalues.flatMap((value, k) => (value > NOTHING * largest ? [k] : []));
  const vectors = new Float64Array(kept.length * count);
  kept.forEach((k, place) => {
    const norm = 1 / Math.sqrt(realEigenvalues[k]!);
    const direction = Float64Array.from({ length: FEATURES }, (_, a) => eigenvectorMatrix.get(a, k) * norm);
    for (let i = 0; i < count; i++) {
      let sum = 0;
      for (let a = 0; a < FEATURES; a++) sum += features[i * FEATURES + a]! * direction[a]!;
      vectors[place * count + i] = sum;
    }
  });
  return { values: Float64Array.from(kept, (k) => realEigenvalues[k]!), vectors };
}

/** The functions of the field at one direction, each with the root of its part of the variance. */
function fieldFeatures(directions: Float64Array, at: number, hourAngle: boolean, out: Float64Array): void {
  const x = directions[at]!;
  const y = directions[at + 1]!;
  const z = directions[at + 2]!;
  const flat = Math.hypot(x, y);
  const cosine = flat > 0 ? x / flat : 1;
  const sine = flat > 0 ? y / flat : 0;
  // Associated Legendre functions, so normed that Σ over the orders of a degree is P_l of the angle between.
  let place = 0;
  let sectoral = 1;
  let cosM = 1;
  let sinM = 0;
  for (let m = 0; m <= SKY_DEGREES; m++) {
    if (m > 0) {
      sectoral *= flat * Math.sqrt((2 * m - 1) / (2 * m));
      const next = cosM * cosine - sinM * sine;
      sinM = sinM * cosine + cosM * sine;
      cosM = next;
    }
    let before = 0;
    let now = m === 0 ? 1 : sectoral * Math.SQRT2;
    for (let l = m; l <= SKY_DEGREES; l++) {
      const value = now * SKY_ROOTS[l]!;
      out[place++] = value * cosM;
      if (m > 0) out[place++] = value * sinM;
      const next =
        ((2 * l + 1) * z * now - Math.sqrt(l * l - m * m) * before) / Math.sqrt((l + 1) ** 2 - m * m);
      before = now;
      now = next;
    }
  }
  const along = hourAngle ? flat : 1;
  let past = 0;
  // cos and sin of multiples of the hour angle; its sign does not matter, for both are there.
  let cosK = 1;
  for (let k = 0; k < HOUR_HARMONICS; k++) {
    const next = cosK * cosine - past * sine;
    past = past * cosine + cosK * sine;
    cosK = next;
    const root = HOUR_ROOTS[k]! * along;
    out[place++] = root * cosK;
    out[place++] = root * past;
  }
}
