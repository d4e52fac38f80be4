/**
 * Noise that remembers: each moment's own scatter (seeing, centring) and a slow wander that dies away with time (air, wind,
 * guiding by the trees). Rows at any unequal moments are made independent by Kalman's filter, the same for the data and for every
 * column, so that least squares on them has honest uncertainties.
 *
 * Sources: Kalman 1960; Uhlenbeck and Ornstein 1930 (the wander); Jones 1981 (unequal steps); Patterson and Thompson 1971 (the
 * restricted likelihood that does not mistake fitted columns for quiet noise).
 */
import { TriangularFactor } from "../fit/triangular-factor.js";

/** The noise's shape; its size is found with the fit. */
export interface NoiseShape {
  /** Variance of the wander over that of a moment's own scatter. */
  readonly wander: number;
  /** How long the wander remembers, seconds. */
  readonly memoryS: number;
}

/** Rows in time, stretch by stretch. */
export interface TimedRows {
  /** Ascending within a stretch, seconds. */
  readonly seconds: Float64Array;
  /** Where each stretch begins. */
  readonly starts: readonly number[];
  /** Each moment's own scatter relative to the others', 1σ. */
  readonly sigma: Float64Array;
}

/** What makes rows independent: one pass for the gains, then any column. */
export interface Whitener {
  /** Sum of the logarithms of the innovations' variances. */
  readonly logDeterminant: number;
  /** The column with independent rows of unit spread (times the noise's size). */
  apply(column: ArrayLike<number>, out: Float64Array): void;
}

/** The gains of the filter for a shape of noise. */
export function whitener(rows: TimedRows, shape: NoiseShape): Whitener {
  const count = rows.seconds.length;
  const keep = new Float64Array(count);
  const gain = new Float64Array(count);
  const root = new Float64Array(count);
  const isStart = new Uint8Array(count);
  for (const start of rows.starts) isStart[start] = 1;
  let logDeterminant = 0;
  let variance = 0;
  for (let i = 0; i < count; i++) {
    if (isStart[i]) {
      keep[i] = 0;
      variance = shape.wander;
    } else {
      keep[i] = Math.exp(-(rows.seconds[i]! - rows.seconds[i - 1]!) / shape.memoryS);
      variance = shape.wander + keep[i]! ** 2 * (variance - shape.wander);
    }
    const spread = variance + rows.sigma[i]! ** 2;
    gain[i] = variance / spread;
    root[i] = 1 / Math.sqrt(spread);
    variance *= 1 - gain[i]!;
    logDeterminant += Math.log(spread);
  }
  return {
    logDeterminant,
    apply(column, out) {
      let state = 0;
      for (let i = 0; i < count; i++) {
        state *= keep[i]!;
        const innovation = column[i]! - state;
        state += gain[i]! * innovation;
        out[i] = innovation * root[i]!;
      }
    },
  };
}

/** What is known of the unknowns before the rows: rows of weights and what they should come to, in units of 1σ. */
export interface PriorRows {
  readonly rows: readonly (readonly number[])[];
  readonly values: readonly number[];
}

/** Unknowns found under one shape of noise. */
export interface NoisyFit {
  readonly shape: NoiseShape;
  readonly values: Float64Array;
  /** Row-major, the noise's size in it. */
  readonly covariance: Float64Array;
  /** 1σ of the scatter of a moment whose relative scatter is 1. */
  readonly scale: number;
  /** −2 ln of the restricted likelihood, but for a constant of these columns. */
  readonly restricted: number;
  /** −2 ln of the likelihood, comparable between different columns. */
  readonly likelihood: number;
}

/**
 * Least squares under one shape of noise.
 *
 * @param leastScale - the scatter is no smaller than this: what the builder states of it
 */
export function fitUnder(
  rows: TimedRows,
  shape: NoiseShape,
  columns: readonly ArrayLike<number>[],
  data: ArrayLike<number>,
  prior: PriorRows,
  leastScale: number,
): NoisyFit {
  const white = whitener(rows, shape);
  const count = rows.seconds.length;
  const size = columns.length;
  const width = size + 1;
  const block = new Float64Array(count * width);
  const spare = new Float64Array(count);
  for (let j = 0; j <= size; j++) {
    white.apply(j < size ? columns[j]! : data, spare);
    for (let i = 0; i < count; i++) block[i * width + j] = spare[i]!;
  }
  const factor = new TriangularFactor(size);
  factor.append(block, count);
  // The rows alone say how large the noise is; the prior, which knows its own size, is joined at that size.
  const free = Math.max(1, count - size);
  const square = factor.residualSquare();
  const scale = Math.max(leastScale, Math.sqrt(square / free));
  const restrictedScale = Math.max(square / free, leastScale ** 2, 1e-300);
  const plainScale = Math.max(square / count, leastScale ** 2, 1e-300);
  let information = 0;
  for (let j = 0; j < size; j++) information += 2 * Math.log(Math.abs(factor.entry(j, j)) || 1e-300);
  const joined = new TriangularFactor(size);
  const scaled = Float64Array.from(factor.values, (value) => value / scale);
  joined.append(scaled, width);
  if (prior.rows.length > 0) {
    const priorBlock = new Float64Array(prior.rows.length * width);
    prior.rows.forEach((row, i) => {
      row.forEach((weight, j) => {
        priorBlock[i * width + j] = weight;
      });
      priorBlock[i * width + size] = prior.values[i]!;
    });
    joined.append(priorBlock, prior.rows.length);
  }
  return {
    shape,
    values: joined.solve(),
    covariance: joined.inverseInformation(),
    scale,
    restricted:
      free * Math.log(restrictedScale) + square / restrictedScale + white.logDeterminant + information,
    likelihood: count * Math.log(plainScale) + square / plainScale + white.logDeterminant,
  };
}

/** No wander at all. */
export const NO_WANDER: NoiseShape = { wander: 0, memoryS: 1 };

const WANDER_RATIOS = [0.03, 0.1, 0.3, 1, 3, 10, 100];
const MEMORY_STEPS = 5;
/** The odds that there is no wander at all, in the prior. */
const NO_WANDER_SHARE = 0.3;

/** The shapes of noise that are tried, and their shares before the data. */
export function noiseShapes(rows: TimedRows): { shape: NoiseShape; share: number }[] {
  const count = rows.seconds.length;
  const steps: number[] = [];
  const isStart = new Set(rows.starts);
  for (let i = 1; i < count; i++) if (!isStart.has(i)) steps.push(rows.seconds[i]! - rows.seconds[i - 1]!);
  const step = median(steps);
  const span = rows.seconds[count - 1]! - rows.seconds[0]!;
  const longest = Math.max(3 * step, span / 4);
  const shapes = [{ shape: NO_WANDER, share: NO_WANDER_SHARE }];
  const share = (1 - NO_WANDER_SHARE) / (WANDER_RATIOS.length * MEMORY_STEPS);
  for (let k = 0; k < MEMORY_STEPS; k++) {
    const memoryS = 1.5 * step * (longest / (1.5 * step)) ** (k / (MEMORY_STEPS - 1));
    for (const wander of WANDER_RATIOS) shapes.push({ shape: { wander, memoryS }, share });
  }
  return shapes;
}

/** Unknowns averaged over the shapes of noise, each by how well it explains the rows. */
export interface AveragedFit {
  readonly values: Float64Array;
  readonly covariance: Float64Array;
  /** The likeliest shape's fit. */
  readonly best: NoisyFit;
}

/** Shapes less likely than this against the best are left out. */
const WINDOW = 12;

/**
 * Least squares averaged over the shapes of noise, so that the uncertainties hold what the rows cannot tell of their noise.
 *
 * @param shapes - those to try; all of {@link noiseShapes} when not given
 */
export function fitAveraged(
  rows: TimedRows,
  columns: readonly ArrayLike<number>[],
  data: ArrayLike<number>,
  prior: PriorRows,
  leastScale: number,
  shapes = noiseShapes(rows),
): AveragedFit {
  const fits = shapes.map(({ shape, share }) => ({
    fit: fitUnder(rows, shape, columns, data, prior, leastScale),
    price: -2 * Math.log(share),
  }));
  const cost = (one: (typeof fits)[number]): number => one.fit.restricted + one.price;
  const least = fits.reduce((best, one) => (cost(one) < cost(best) ? one : best));
  const size = columns.length;
  const values = new Float64Array(size);
  const covariance = new Float64Array(size * size);
  let total = 0;
  const near = fits.filter((one) => cost(one) - cost(least) < WINDOW);
  for (const one of near) {
    const weight = Math.exp(-(cost(one) - cost(least)) / 2);
    total += weight;
    for (let i = 0; i < size; i++) values[i]! += weight * one.fit.values[i]!;
  }
  for (let i = 0; i < size; i++) values[i]! /= total;
  for (const one of near) {
    const weight = Math.exp(-(cost(one) - cost(least)) / 2) / total;
    for (let i = 0; i < size; i++) {
      for (let j = 0; j < size; j++) {
        covariance[i * size + j]! +=
          weight *
          (one.fit.covariance[i * size + j]! +
            (one.fit.values[i]! - values[i]!) * (one.fit.values[j]! - values[j]!));
      }
    }
  }
  return { values, covariance, best: least.fit };
}

/** The likeliest shape of noise by the plain likelihood, with its price: what models of different columns are compared by. */
export function likeliest(
  rows: TimedRows,
  columns: readonly ArrayLike<number>[],
  data: ArrayLike<number>,
  leastScale: number,
  shapes = noiseShapes(rows),
): { readonly fit: NoisyFit; readonly cost: number } {
  const none: PriorRows = { rows: [], values: [] };
  let best: { fit: NoisyFit; cost: number } | null = null;
  for (const { shape, share } of shapes) {
    const fit = fitUnder(rows, shape, columns, data, none, leastScale);
    const cost = fit.likelihood - 2 * Math.log(share);
    if (best === null || cost < best.cost) best = { fit, cost };
  }
  return best!;
}

/** The middle value; 0 of none. */
export function median(values: readonly number[]): number {
  if (values.length === 0) return 0;
  const sorted = [...values].sort((a, b) => a - b);
  const middle = sorted.length >> 1;
  return sorted.length % 2 === 1 ? sorted[middle]! : (sorted[middle - 1]! + sorted[middle]!) / 2;
}
