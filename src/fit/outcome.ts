/**
 * A story fitted: the core by least squares, everything else averaged about it, and the one price that stories are compared
 * by.
 */
import { PolewrightError } from "../errors.js";
import { RESIDUE_AMPLITUDES } from "./beliefs.js";
import type { Bench } from "./bench.js";
import { benchFor } from "./bench.js";
import { type Layout, layOut } from "./columns.js";
import { type CoreFit, fitCore, type Start } from "./core-fit.js";
import { addSquare, type CorePrior, Nodes, type Spectrum } from "./nodes.js";
import {
  averaged,
  chiSquareOf,
  type Effort,
  type Posterior,
  THOROUGH,
  withEveryCause,
  withoutCauses,
} from "./posterior.js";
import { type ResidueRows, residueRowsOf } from "./residue-rows.js";
import { type Rows, read, rowsOf } from "./rows.js";
import type { Story } from "./story.js";
import type { TriangularFactor } from "./triangular-factor.js";

/** A fitted story. */
export interface Outcome extends Values {
  readonly story: Story;
  /** The night with the story's clock and site. */
  readonly bench: Bench;
  readonly layout: Layout;
  readonly rows: Rows;
  readonly core: CoreFit;
  /** From what the smooth residue is told. */
  readonly fields: readonly [ResidueRows, ResidueRows];
  /** The core's coordinates and the causes' columns at the solution. */
  readonly linear: Linear;
  readonly posterior: Posterior;
  readonly chiSquare: number;
  readonly degreesOfFreedom: number;
  /** −2 ln of the density of the rows, averaged over all that may act. The story's own odds are not in it. */
  readonly rowsPrice: number;
}

/** The rows about the solution. */
interface Linear {
  /** Where: one value a column, radians. */
  readonly at: Float64Array;
  readonly spectrum: Spectrum;
  readonly prior: CorePrior;
  readonly nodes: Nodes;
  /** Rows of each axis, where the night is short enough to keep them. */
  readonly axes: readonly LinearAxis[] | null;
}

/** The rows of one axis: core coordinates, causes in units of their widths, and what is left of the reading. */
interface LinearAxis {
  readonly hourAngle: boolean;
  /** The sighting of each row. */
  readonly sightings: Int32Array;
  /** Row-major, one row `columns + 1` wide. */
  readonly values: Float64Array;
  readonly eigenvalues: Float64Array;
  readonly eigenvectors: Float64Array;
}

/** Longer nights are not kept row by row, and the field is told from cells of the sky. */
const KEPT_ROWS = 240;
/** A fit is repeated about its result where the model's curvature changes a row by more than this part of its error, … */
const CURVED = 0.02;
/** … and at most so often. */
const REPEATS = 3;

/**
 * Fits a story.
 *
 * @param root - the night as entered
 * @param before - where the core's fit begins
 * @param effort - how thoroughly is averaged
 */
export function fitStory(root: Bench, story: Story, before: Start, effort: Effort = THOROUGH): Outcome {
  const bench = benchFor(root, story);
  const layout = layOut(bench, story);
  const core = fitCore(bench, story, layout, before);
  const fields = residueRowsOf(bench, story, residueReach(bench) > 0);
  const fitted = { bench, layout, story, core, fields };
  const rows = rowsOf(bench, story, layout, core.parameters);
  return toldAbout(fitted, rows, linearise(fitted, rows, core.parameters), effort);
}

/** The same outcome averaged as thoroughly as what is reported must be. */
export function thorough(outcome: Outcome): Outcome {
  return toldAbout(outcome, outcome.rows, outcome.linear, THOROUGH);
}

/** Values of all columns, radians, and their covariance, row-major. */
export interface Values {
  readonly parameters: Float64Array;
  readonly covariance: Float64Array;
}

/** The same with every cause at work; null where rounding leaves nothing. */
export function everyCauseOf(outcome: Outcome): Values | null {
  const every = withEveryCause(outcome.layout, outcome.linear.nodes, outcome.posterior);
  return every === null ? null : valuesOf(outcome, every);
}

/** Least squares as if no cause acted and the errors were as expected, and what it leaves; null as before. */
export function leastSquaresOf(
  outcome: Outcome,
): (Values & { readonly chiSquare: number; readonly degreesOfFreedom: number }) | null {
  const { nodes } = outcome.linear;
  const least = withoutCauses(nodes);
  if (least === null) return null;
  return {
    ...valuesOf(outcome, least),
    chiSquare: least.square,
    degreesOfFreedom: nodes.rows - outcome.layout.core,
  };
}

function valuesOf(
  { layout, core, linear }: Pick<Outcome, "layout" | "core" | "linear">,
  { mean, covariance }: { readonly mean: Float64Array; readonly covariance: Float64Array },
): Values {
  const { factor } = core.solution;
  return {
    parameters: inPlace(layout, factor, mean, linear.at).parameters,
    covariance: covarianceInPlace(layout, factor, covariance),
  };
}

type Fitted = Pick<Outcome, "bench" | "layout" | "story" | "core" | "fields">;

/** Everything averaged about a place, and about its own result where the model curves between. */
function toldAbout(fitted: Fitted, rows: Rows, linear: Linear, effort: Effort): Outcome {
  const { bench, layout, story, core } = fitted;
  const { factor } = core.solution;
  let found = about(fitted, rows, linear, effort);
  for (let repeat = 0; repeat < REPEATS && found !== null; repeat++) {
    const { parameters } = found;
    const curved = curvature(bench, layout, found.rows, found.linear.at, parameters, found.shift, factor);
    if (!(curved > CURVED * found.posterior.likeliest.scale)) break;
    // A night with gross mistakes may curve for ever: then the first place serves.
    const there = rowsOf(bench, story, layout, parameters);
    const next: About | null = about(fitted, there, linearise(fitted, there, parameters), effort);
    if (next === null || !(next.posterior.price < found.posterior.price + WORSE)) break;
    found = next;
  }
  if (found === null)
    throw new PolewrightError("no-fit", "The sightings are too far from any telescope to be fitted.");
  const { posterior, parameters } = found;
  const { nodes } = found.linear;
  let logWidths = 0;
  let free = 0;
  let logFactor = 0;
  for (let j = 0; j < layout.core; j++) {
    logWidths += 2 * Math.log(layout.columns[j]!.width);
    logFactor += 2 * Math.log(Math.abs(factor.entry(j, j)));
    if (!layout.columns[j]!.held) free++;
  }
  return {
    ...fitted,
    rows: found.rows,
    linear: found.linear,
    posterior,
    parameters,
    covariance: covarianceInPlace(layout, factor, posterior.covariance),
    chiSquare: chiSquareOf(nodes, posterior.likeliest),
    degreesOfFreedom: Math.max(0, nodes.rows - free),
    rowsPrice: posterior.price + logWidths + logFactor,
  };
}

/** A repetition that makes the rows this much less likely leads away. */
const WORSE = 1;

interface About {
  readonly rows: Rows;
  readonly linear: Linear;
  readonly posterior: Posterior;
  readonly parameters: Float64Array;
  readonly shift: Float64Array;
}

/** The tolerance of the residue: a classical fit has none. */
function residueReach({ terms, night }: Bench): number {
  return terms === null ? night.mount.tolerances.residue : 0;
}

/** Everything averaged about one place; null where the rows say nothing there. */
function about({ bench, layout, core }: Fitted, rows: Rows, linear: Linear, effort: Effort): About | null {
  const posterior = averaged(layout, linear.nodes, residueReach(bench), effort);
  if (posterior === null) return null;
  return {
    rows,
    linear,
    posterior,
    ...inPlace(layout, core.solution.factor, posterior.mean, linear.at),
  };
}

/** Solves δ = R⁻¹ u for core coordinates. */
function solved(factor: TriangularFactor, u: Float64Array): Float64Array {
  return factor.size === 0 ? u : factor.solve(u);
}

/** Values of all columns from the posterior about a place. */
function inPlace(
  layout: Layout,
  factor: TriangularFactor,
  mean: Float64Array,
  at: Float64Array,
): { parameters: Float64Array; shift: Float64Array } {
  const { core, columns } = layout;
  const step = solved(factor, mean.slice(0, core));
  const parameters = new Float64Array(columns.length);
  const shift = new Float64Array(columns.length);
  columns.forEach((column, j) => {
    parameters[j] = j < core ? at[j]! + step[j]! : mean[j]! * column.width;
    shift[j] = parameters[j]! - at[j]!;
  });
  return { parameters, shift };
}

/** T C Tᵀ, T = R⁻¹ on the core and the widths on the causes. */
function covarianceInPlace(layout: Layout, factor: TriangularFactor, covariance: Float64Array): Float64Array {
  const { core, columns } = layout;
  const all = columns.length;
  const transform = (vector: Float64Array): Float64Array => {
    const out = Float64Array.from(vector);
    out.set(solved(factor, vector.slice(0, core)));
    for (let j = core; j < all; j++) out[j]! *= columns[j]!.width;
    return out;
  };
  const half = new Float64Array(all * all);
  for (let j = 0; j < all; j++) {
    const column = transform(Float64Array.from({ length: all }, (_, i) => covariance[i * all + j]!));
    for (let i = 0; i < all; i++) half[i * all + j] = column[i]!;
  }
  const whole = new Float64Array(all * all);
  for (let i = 0; i < all; i++) whole.set(transform(half.slice(i * all, (i + 1) * all)), i * all);
  for (let i = 0; i < all; i++)
    for (let j = 0; j < i; j++) {
      const middle = (whole[i * all + j]! + whole[j * all + i]!) / 2;
      whole[i * all + j] = middle;
      whole[j * all + i] = middle;
    }
  return whole;
}

/** By how much, in parts of its error, a row at the new place differs from what the slopes said: the worst of a sample. */
function curvature(
  bench: Bench,
  layout: Layout,
  rows: Rows,
  at: Float64Array,
  parameters: Float64Array,
  shift: Float64Array,
  factor: TriangularFactor,
): number {
  if (factor.size === 0) return 0;
  const all = layout.columns.length;
  const partials = new Float64Array(2 * all);
  const old = new Float64Array(3);
  const now = new Float64Array(3);
  const stride = Math.max(1, Math.floor(rows.usedRows.length / 60));
  let worst = 0;
  for (let k = 0; k < rows.usedRows.length; k += stride) {
    const i = rows.usedRows[k]!;
    rows.compare(at, i, old, partials);
    rows.compare(parameters, i, now);
    let west = (read(old[0]!) * old[2]!) / bench.night.sigmaWest[i]!;
    let north = read(old[1]!) / bench.night.sigmaNorth[i]!;
    for (let j = 0; j < all; j++) {
      west += partials[j]! * shift[j]!;
      north += partials[all + j]! * shift[j]!;
    }
    worst = Math.max(
      worst,
      Math.abs(west - (read(now[0]!) * now[2]!) / bench.night.sigmaWest[i]!),
      Math.abs(north - read(now[1]!) / bench.night.sigmaNorth[i]!),
    );
  }
  return worst;
}

/** Brings a sighting's two rows into core coordinates and units of widths, in place; the last entry is what is left. */
export function toCoordinates(
  layout: Layout,
  factor: TriangularFactor,
  partials: Float64Array,
  at: Float64Array,
): { west: number; north: number } {
  const { core, columns } = layout;
  const all = columns.length;
  let west = 0;
  let north = 0;
  for (let j = core; j < all; j++) {
    // The causes' values count from nothing, so what they do at this place is put back into the rows.
    west += partials[j]! * at[j]!;
    north += partials[all + j]! * at[j]!;
    partials[j]! *= columns[j]!.width;
    partials[all + j]! *= columns[j]!.width;
  }
  factor.solveTransposedInPlace(partials, 0);
  factor.solveTransposedInPlace(partials, all);
  return { west, north };
}

/** The rows about a place, diagonalised. */
function linearise({ bench, layout, core, fields }: Fitted, rows: Rows, at: Float64Array): Linear {
  const { night } = bench;
  const { factor } = core.solution;
  const { columns } = layout;
  const reach = Math.max(...RESIDUE_AMPLITUDES) * residueReach(bench);
  const all = columns.length;
  const width = all + 1;
  const gram = new Float64Array(width * width);
  const partials = new Float64Array(2 * all);
  const difference = new Float64Array(3);
  const line = new Float64Array(width);
  const values = fields.map(({ count }) => new Float64Array(count * width));
  const single = fields.map(({ spectrum, cellWeights }) => spectrum !== null && cellWeights === null);
  for (const i of rows.usedRows) {
    rows.compare(at, i, difference, partials);
    const back = toCoordinates(layout, factor, partials, at);
    for (let axis = 0; axis < 2; axis++) {
      if (Number.isNaN(difference[axis]!)) continue;
      const own = axis === 0 ? 1 / night.sigmaWest[i]! : 1 / night.sigmaNorth[i]!;
      const weight = axis === 0 ? difference[2]! * own : own;
      for (let j = 0; j < all; j++) line[j] = partials[axis * all + j]!;
      line[all] = (axis === 0 ? back.west : back.north) - difference[axis]! * weight;
      if (single[axis]) {
        values[axis]!.set(line, fields[axis]!.placeOf[i]! * width);
        continue;
      }
      addSquare(gram, line, 1);
      if (fields[axis]!.spectrum === null) continue;
      const from = fields[axis]!.placeOf[i]! * width;
      const sums = values[axis]!;
      for (let j = 0; j < width; j++) sums[from + j]! += own * line[j]!;
    }
  }
  const products: { lambda: number; values: Float64Array }[] = [];
  const kept: LinearAxis[] = [];
  let count = 0;
  fields.forEach(({ hourAngle, sightings, count: places, cellWeights, spectrum }, axis) => {
    count += sightings.length;
    if (spectrum === null) return;
    const own = values[axis]!;
    if (cellWeights !== null)
      for (let i = 0; i < places; i++) for (let j = 0; j < width; j++) own[i * width + j]! /= cellWeights[i]!;
    const vectors = spectrum.values.length;
    for (let k = 0; k < vectors; k++) {
      const product = new Float64Array(width);
      for (let i = 0; i < places; i++) {
        const along = spectrum.vectors[k * places + i]!;
        for (let j = 0; j < width; j++) product[j]! += along * own[i * width + j]!;
      }
      products.push({ lambda: spectrum.values[k]!, values: product });
    }
    if (!single[axis]) return;
    if (vectors < places)
      for (let i = 0; i < places; i++) addSquare(gram, own.subarray(i * width, (i + 1) * width), 1);
    // Otherwise every direction of this axis is among the products.
    else
      for (let k = products.length - vectors; k < products.length; k++)
        addSquare(gram, products[k]!.values, 1);
    kept.push({
      hourAngle,
      sightings,
      values: own,
      eigenvalues: spectrum.values,
      eigenvectors: spectrum.vectors,
    });
  });
  // Along directions of hardly any residue the rows err as the errors do.
  const felt = products.filter(({ lambda }) => lambda * reach * reach > UNFELT);
  const restCount = count - felt.length;
  if (restCount > 0) for (const { values } of felt) addSquare(gram, values, -1);
  const spectrum = { products: felt, rest: restCount > 0 ? gram : null, restCount };
  const prior = corePrior(layout, factor, at);
  return {
    at,
    spectrum,
    prior,
    nodes: new Nodes(spectrum, prior, layout.core, all - layout.core),
    axes: kept.length === 0 || count > KEPT_ROWS ? null : kept,
  };
}

/** The largest residue changes the variance of a direction by less than this part: it is none. */
const UNFELT = 1e-3;

/** What is known of the core beforehand, in its coordinates. */
function corePrior(layout: Layout, factor: TriangularFactor, at: Float64Array): CorePrior {
  const { core, columns } = layout;
  const information = new Float64Array(core * core);
  const offset = new Float64Array(core);
  let square = 0;
  for (let j = 0; j < core; j++) {
    const row = new Float64Array(core);
    const { width } = columns[j]!;
    row[j] = 1 / width;
    factor.solveTransposedInPlace(row, 0);
    const value = at[j]! / width;
    square += value * value;
    for (let a = 0; a < core; a++) {
      offset[a]! -= row[a]! * value;
      for (let b = 0; b < core; b++) information[a * core + b]! += row[a]! * row[b]!;
    }
  }
  return { information, offset, square };
}

/** The value of a term in an outcome, radians; of its first set where it has several; 0 where it is not fitted. */
export function termValue(outcome: Outcome, name: string): number {
  const column = outcome.layout.columns.findIndex((known) => known.name === name);
  return column < 0 ? 0 : outcome.parameters[column]!;
}
