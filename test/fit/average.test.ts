/**
 * The average over all that may act, held against the plain sum over every state: each set of causes, each amplitude of the
 * residue, a fine grid of the errors' scale, every one by the density of a joint normal distribution of the rows (Rasmussen
 * and Williams 2006, equation 2.30, with one dense covariance). No nodes, no windows, no updating.
 */
import { expect, it } from "vitest";
import {
  CAUSE_CHANCE,
  chanceOf,
  ERROR_SCALE_SPREAD,
  KEPT_CHANCE,
  POOR_CHANCE,
  POOR_ENCODERS,
  RESIDUE_AMPLITUDES,
  RESIDUE_CHANCE,
  WIDER,
} from "../../src/fit/beliefs.js";
import { benchOf } from "../../src/fit/bench.js";
import { everyCauseOf, fitStory, leastSquaresOf, type Outcome, type Values } from "../../src/fit/outcome.js";
import { fieldSpectrum } from "../../src/fit/residue.js";
import { storyOf } from "../../src/fit/story.js";
import { parseMount } from "../../src/mount/mount-file.js";
import type { CauseName } from "../../src/mount/terms.js";
import { reduceNight } from "../../src/night/reduce.js";
import type { SimulationOptions } from "../../src/simulate/options.js";
import { simulateNight } from "../../src/simulate/simulate-night.js";
import { parseTime } from "../../src/sky/time.js";

/** Of the uncertainty: states that are left out change a value by less, … */
const VALUE = 0.03;
/** … and covariances taken at one scale of the errors for all of an amplitude change an uncertainty by less than this part. */
const UNCERTAINTY = 0.06;
const CORRELATION = 0.04;
const CHANCE = 0.01;
const PRICE = 0.1;

const NO_TOLERANCE = {
  cone: 20,
  squareness: 0,
  tubeSag: 0,
  ringSag: 0,
  trunnionSag: 0,
  eccentricity: 0,
  scale: 0,
  backlash: 0,
  meridianStep: 0,
  creep: 0,
  settling: 0,
  residue: 0,
};

type Square = Float64Array[];
const square = (size: number): Square => Array.from({ length: size }, () => new Float64Array(size));

/** Cholesky's factor, in place of the lower half. */
function factorOf(matrix: Square): Square {
  const size = matrix.length;
  const factor = square(size);
  for (let i = 0; i < size; i++)
    for (let j = 0; j <= i; j++) {
      let sum = matrix[i]![j]!;
      for (let k = 0; k < j; k++) sum -= factor[i]![k]! * factor[j]![k]!;
      factor[i]![j] = i === j ? Math.sqrt(sum) : sum / factor[j]![j]!;
    }
  return factor;
}

function lowerSolved(factor: Square, vector: Float64Array): Float64Array {
  const out = Float64Array.from(vector);
  for (let i = 0; i < out.length; i++) {
    for (let k = 0; k < i; k++) out[i]! -= factor[i]![k]! * out[k]!;
    out[i]! /= factor[i]![i]!;
  }
  return out;
}

/** Of a positive matrix by its factor. */
const logDeterminant = (factor: Square): number =>
  factor.reduce((sum, row, i) => sum + 2 * Math.log(row[i]!), 0);

const dot = (a: Float64Array, b: Float64Array): number => a.reduce((sum, value, k) => sum + value * b[k]!, 0);

/** The rows about the place where the outcome has them linear, and what of them the residue may be. */
function rowsOf(outcome: Outcome) {
  const { rows, linear, layout, bench } = outcome;
  const { night, directions } = bench;
  const { usedRows } = rows;
  const count = usedRows.length;
  const all = layout.columns.length;
  const slopes: Float64Array[] = [];
  const values = new Float64Array(2 * count);
  usedRows.forEach((i, k) => {
    const out = new Float64Array(3);
    const partials = new Float64Array(2 * all);
    rows.compare(linear.at, i, out, partials);
    slopes[k] = partials.slice(0, all);
    slopes[count + k] = partials.slice(all);
    values[k] = (out[0]! * out[2]!) / night.sigmaWest[i]! - dot(slopes[k]!, linear.at);
    values[count + k] = out[1]! / night.sigmaNorth[i]! - dot(slopes[count + k]!, linear.at);
  });
  const smooth = square(2 * count);
  for (const [from, sigma, hourAngle] of [
    [0, night.sigmaWest, true],
    [count, night.sigmaNorth, false],
  ] as const) {
    const spectrum = fieldSpectrum({
      count,
      directions: Float64Array.from([...usedRows].flatMap((i) => [...directions.subarray(3 * i, 3 * i + 3)])),
      weight: Float64Array.from(usedRows, (i) => 1 / sigma[i]!),
      hourAngle,
    });
    spectrum.values.forEach((value, k) => {
      const vector = spectrum.vectors.subarray(k * count, (k + 1) * count);
      for (let i = 0; i < count; i++)
        for (let j = 0; j < count; j++) smooth[from + i]![from + j]! += value * vector[i]! * vector[j]!;
    });
  }
  return { slopes, values, smooth };
}

/** Every way in which some causes may be out (0), in (1), or in and wider (2), with its probability. */
function everySet(causes: readonly CauseName[]): { states: number[]; odds: number }[] {
  let sets = [{ states: [] as number[], usual: 1 - POOR_ENCODERS, poor: POOR_ENCODERS }];
  for (const cause of causes) {
    const [own, poorly] = [CAUSE_CHANCE[cause], POOR_CHANCE[cause] ?? CAUSE_CHANCE[cause]].map(
      ({ acts, wider }) => [1 - acts, acts * (1 - wider), acts * wider],
    ) as [number[], number[]];
    sets = sets.flatMap(({ states, usual, poor }) =>
      [0, 1, 2].map((state) => ({
        states: [...states, state],
        usual: usual * own[state]!,
        poor: poor * poorly[state]!,
      })),
    );
  }
  return sets.map(({ states, usual, poor }) => ({ states, odds: usual + poor }));
}

/**
 * By what the weights of sets are multiplied so that each cause acts with its least chance, if not more: the nearest such
 * weights raise the odds of a cause by one factor wherever it acts (Csiszár 1975). Each factor in turn.
 */
function keptFactors(
  causes: readonly CauseName[],
  states: readonly { weight: number; set: readonly number[] }[],
) {
  const raised = causes.map(() => 1);
  const factor = (set: readonly number[]): number =>
    raised.reduce((product, one, c) => (set[c] === 0 ? product : product * one), 1);
  const sum = (value: (set: readonly number[]) => number): number =>
    states.reduce((total, { weight, set }) => total + weight * factor(set) * value(set), 0);
  for (let round = 0; round < 12; round++)
    causes.forEach((cause, c) => {
      const least = KEPT_CHANCE * chanceOf(cause);
      raised[c] = 1;
      const acting = sum((set) => (set[c] === 0 ? 0 : 1));
      const not = sum((set) => (set[c] === 0 ? 1 : 0));
      // acting · f / (acting · f + not) is the least chance.
      raised[c] = Math.max(1, (least * not) / ((1 - least) * acting));
    });
  const whole = sum(() => 1);
  return (set: readonly number[]): number => factor(set) / whole;
}

const SCALE_STEP = 0.04;
const scales = Array.from({ length: 41 }, (_, k) => ({
  scale: Math.exp(k * SCALE_STEP),
  odds: SCALE_STEP * (k === 0 ? 0.5 : 1) * Math.exp(-0.5 * ((k * SCALE_STEP) / ERROR_SCALE_SPREAD) ** 2),
}));
const scaleSum = scales.reduce((sum, { odds }) => sum + odds, 0);

/** One state: what the rows say where these causes act, and −2 ln of their density. */
interface Normal {
  readonly price: number;
  /** The least of the quadratic form of rows and priors. */
  readonly square: number;
  readonly mean: Float64Array;
  readonly covariance: Square;
}

/** The normal distributions of an outcome's columns: at an amplitude and a scale of the errors, then for a set of causes. */
function normalsOf(outcome: Outcome) {
  const { columns } = outcome.layout;
  const all = columns.length;
  const causes = [...new Set(columns.flatMap(({ cause }) => (cause === null ? [] : [cause])))];
  const { slopes, values, smooth } = rowsOf(outcome);
  const at = (amplitude: number, scale: number) => {
    const factor = factorOf(
      smooth.map((row, i) => row.map((value, j) => amplitude ** 2 * value + (i === j ? scale ** 2 : 0))),
    );
    const left = lowerSolved(factor, values);
    const along = columns.map((_, j) =>
      lowerSolved(
        factor,
        Float64Array.from(slopes, (row) => row[j]!),
      ),
    );
    const products = along.map((a) => along.map((b) => dot(a, b)));
    const sides = along.map((a) => -dot(a, left));
    const noiseLog = logDeterminant(factor);
    return (set: readonly number[]): Normal => {
      const acting = columns.flatMap(({ cause, width }, j) => {
        const state = cause === null ? 1 : set[causes.indexOf(cause)]!;
        return state === 0 ? [] : [{ j, width: state === 2 ? WIDER * width : width }];
      });
      const triangle = factorOf(
        acting.map((a, i) =>
          Float64Array.from(acting, (b, k) => products[a.j]![b.j]! + (i === k ? 1 / a.width ** 2 : 0)),
        ),
      );
      const right = lowerSolved(
        triangle,
        Float64Array.from(acting, ({ j }) => sides[j]!),
      );
      const widths = acting.reduce((sum, { width }) => sum + 2 * Math.log(width), 0);
      const least = dot(left, left) - dot(right, right);
      const inverse = acting.map((_, i) =>
        lowerSolved(
          triangle,
          Float64Array.from(acting, (__, k) => (i === k ? 1 : 0)),
        ),
      );
      const mean = new Float64Array(all);
      const covariance = square(all);
      acting.forEach((a, i) => {
        mean[a.j] = dot(inverse[i]!, right);
        acting.forEach((b, k) => {
          covariance[a.j]![b.j] = dot(inverse[i]!, inverse[k]!);
        });
      });
      return { price: least + noiseLog + widths + logDeterminant(triangle), square: least, mean, covariance };
    };
  };
  return { causes, at };
}

/** The sum over every state. */
function summed(outcome: Outcome) {
  const { columns } = outcome.layout;
  const { causes, at } = normalsOf(outcome);
  const reach = outcome.bench.night.mount.tolerances.residue;
  const amplitudes =
    reach === 0
      ? [{ amplitude: 0, odds: 1 }]
      : [
          { amplitude: 0, odds: 1 - RESIDUE_CHANCE },
          ...RESIDUE_AMPLITUDES.map((amplitude) => ({
            amplitude: amplitude * reach,
            odds: RESIDUE_CHANCE / RESIDUE_AMPLITUDES.length,
          })),
        ];
  const sets = everySet(causes);
  const states = amplitudes.flatMap(({ amplitude, odds: amplitudeOdds }) =>
    scales.flatMap(({ scale, odds: scaleOdds }) => {
      const normal = at(amplitude, scale);
      return sets.map(({ states: set, odds }) => {
        const own = normal(set);
        const log = Math.log((odds * amplitudeOdds * scaleOdds) / scaleSum) - own.price / 2;
        return { ...own, log, set, amplitude, scale };
      });
    }),
  );
  const most = states.reduce((largest, { log }) => Math.max(largest, log), Number.NEGATIVE_INFINITY);
  const whole = states.reduce((sum, { log }) => sum + Math.exp(log - most), 0);
  const average = (value: (state: (typeof states)[number]) => number): number =>
    states.reduce((sum, state) => sum + (Math.exp(state.log - most) / whole) * value(state), 0);
  const kept = keptFactors(
    causes,
    states.map(({ log, set }) => ({ weight: Math.exp(log - most) / whole, set })),
  );
  /** As it is quoted: each cause with at least a part of its chance before the night. */
  const quoted = (value: (state: (typeof states)[number]) => number): number =>
    average((state) => kept(state.set) * value(state));
  const mean = Float64Array.from(columns, (_, j) => quoted((state) => state.mean[j]!));
  const likeliest = states.reduce((best, state) => (state.log > best.log ? state : best));
  return {
    likeliest,
    /** χ² of the likeliest state with errors as expected. */
    chiSquare: at(likeliest.amplitude, 1)(likeliest.set).square,
    causes,
    mean,
    covariance: columns.map((_, i) =>
      columns.map(
        (__, j) =>
          quoted((state) => state.covariance[i]![j]! + state.mean[i]! * state.mean[j]!) - mean[i]! * mean[j]!,
      ),
    ),
    price: -2 * (most + Math.log(whole)),
    acts: new Map(causes.map((name, c) => [name, average(({ set }) => (set[c] === 0 ? 0 : 1))])),
    residue: average(({ amplitude }) => (amplitude > 0 ? 1 : 0)),
    amplitude: average(({ amplitude }) => amplitude),
    scale: average(({ scale }) => scale),
    scaleSquare: average(({ scale }) => scale ** 2),
  };
}

/** Values and covariances of one normal distribution, to the rounding of a sum. */
function same({ parameters, covariance }: Values, normal: Normal): void {
  const all = parameters.length;
  parameters.forEach((value, i) => {
    const sigma = Math.sqrt(normal.covariance[i]![i]!) || 1;
    expect(Math.abs(value - normal.mean[i]!) / sigma).toBeLessThan(1e-5);
    for (let j = 0; j < all; j++) {
      const other = Math.sqrt(normal.covariance[j]![j]!) || 1;
      const off = covariance[i * all + j]! - normal.covariance[i]![j]!;
      expect(Math.abs(off) / (sigma * other)).toBeLessThan(1e-5);
    }
  });
}

const cases: readonly [string, Partial<typeof NO_TOLERANCE>, Partial<SimulationOptions>][] = [
  ["play and a step, neither there", { backlash: 1.5, meridianStep: 1 }, {}],
  [
    "play and a step, both there",
    { backlash: 1.5, meridianStep: 1 },
    {
      terms: { hourAngleBacklash: 2.5, declinationBacklash: -1.5 },
      disturbance: { meridianStep: { hourAngle: 1, declination: -0.7 } },
    },
  ],
  [
    "encoders, of which both may be poor",
    { eccentricity: 1, scale: 1 },
    { terms: { hourAngleEccentricSin: 1.2, declinationScale: 1 } },
  ],
  [
    "creep and settling",
    { creep: 4, settling: 2 },
    { disturbance: { creep: { hourAngle: 3, declination: 0 } } },
  ],
  [
    "a residue",
    { residue: 1, backlash: 1.5 },
    { disturbance: { smoothField: { rms: 0.4, lengthRad: 0.8 } } },
  ],
  ["stars centred twice as badly", { residue: 0.5, creep: 4 }, { noise: 2.2 }],
];

it.each(cases)("%s: values, uncertainties, chances and price", (_, tolerances, more) => {
  const mount = parseMount({
    name: "invented",
    site: { latitude: -38, longitude: 145 },
    readings: {
      hourAngle: { as: "counts", perTurn: 40_000 },
      declination: { as: "counts", perTurn: 60_000, sense: -1 },
    },
    centringArcmin: 0.4,
    tolerances: { ...NO_TOLERANCE, ...tolerances },
    limits: { altitudeDeg: 20 },
  });
  const night = simulateNight({
    seed: 5,
    mount,
    targets: 13,
    approach: "by-order",
    fromMs: parseTime("2026-03-14T10:00Z"),
    toMs: parseTime("2026-03-14T15:00Z"),
    ...more,
    terms: { polarAltitude: 6, polarEast: -9, cone: 4, hourAngleZero: 7, declinationZero: -5, ...more.terms },
  });
  const bench = benchOf(reduceNight(night), null);
  const outcome = fitStory(bench, storyOf(bench.night, []), null);
  const expected = summed(outcome);
  const { columns } = outcome.layout;
  const all = columns.length;
  const sigmas = columns.map((_, j) => Math.sqrt(expected.covariance[j]![j]!));
  columns.forEach(({ name }, i) => {
    const off = Math.abs(outcome.parameters[i]! - expected.mean[i]!) / sigmas[i]!;
    expect(off, name).toBeLessThan(VALUE);
    const sigma = Math.sqrt(outcome.covariance[i * all + i]!);
    expect(Math.abs(sigma / sigmas[i]! - 1), name).toBeLessThan(UNCERTAINTY);
    columns.forEach((_, j) => {
      const found = outcome.covariance[i * all + j]! / (sigma * Math.sqrt(outcome.covariance[j * all + j]!));
      const wanted = expected.covariance[i]![j]! / (sigmas[i]! * sigmas[j]!);
      expect(Math.abs(found - wanted), `${name} and ${columns[j]!.name}`).toBeLessThan(CORRELATION);
    });
  });
  for (const [cause, chance] of expected.acts)
    expect(Math.abs(outcome.posterior.acts.get(cause)! - chance), cause).toBeLessThan(CHANCE);
  const { residue, errorScale } = outcome.posterior;
  expect(Math.abs(residue.probability - expected.residue)).toBeLessThan(CHANCE);
  expect(Math.abs(residue.probability * residue.amplitudeArcmin - expected.amplitude)).toBeLessThan(CHANCE);
  expect(Math.abs(errorScale.value / expected.scale - 1)).toBeLessThan(CHANCE);
  const spread = Math.sqrt(expected.scaleSquare - expected.scale ** 2);
  expect(Math.abs(errorScale.uncertainty - spread)).toBeLessThan(CHANCE);
  expect(Math.abs(outcome.rowsPrice - expected.price)).toBeLessThan(PRICE);
  const { likeliest } = outcome.posterior;
  expect(likeliest.amplitude).toBe(expected.likeliest.amplitude);
  // Scales are looked at in steps of a tenth and more.
  expect(Math.abs(Math.log(likeliest.scale / expected.likeliest.scale))).toBeLessThan(0.08);
  columns.slice(outcome.layout.core).forEach(({ cause, name }, place) => {
    const state = expected.likeliest.set[expected.causes.indexOf(cause!)]!;
    const precision = state === 0 ? Number.POSITIVE_INFINITY : state === 1 ? 1 : WIDER ** -2;
    expect(likeliest.precision[place], name).toBeCloseTo(precision, 12);
  });
  const { at } = normalsOf(outcome);
  // Every cause of the mount's at work, those of one night where the night shows them.
  const works = expected.causes.map((cause) =>
    !/Creep|settling/.test(cause) || outcome.posterior.acts.get(cause)! >= 0.05 ? 1 : 0,
  );
  same(everyCauseOf(outcome)!, at(likeliest.amplitude, likeliest.scale)(works));
  const least = leastSquaresOf(outcome)!;
  const plain = at(0, 1)(expected.causes.map(() => 0));
  same(least, plain);
  expect(least.chiSquare).toBeCloseTo(plain.square, 6);
  expect(least.degreesOfFreedom).toBe(2 * 13 - 5);
  expect(outcome.chiSquare).toBeCloseTo(expected.chiSquare, 6);
  // Of two rows a sighting the zeros and the axis are free, the rest is held.
  expect(outcome.degreesOfFreedom).toBe(2 * 13 - 4);
});
