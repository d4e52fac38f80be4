/**
 * Where a story is at odds with its rows: for each sighting how far it lies from what the others say of it, for each place
 * how much a jump of a zero there would win. All in closed form from one fit, with the likeliest residue and causes at work
 * (leave-one-out and added-variable formulas: Cook and Weisberg 1982; for correlated rows Rasmussen and Williams 2006,
 * 5.4.2).
 */
import { ARCMINUTE } from "../angles.js";
import type { ModelDirection } from "../mount/model.js";
import { type Outcome, toCoordinates } from "./outcome.js";
import { read } from "./rows.js";

/** One place in each array for each sighting. */
export interface Suspicion {
  /** Reading minus model, radians; NaN where not read. */
  readonly deltaHourAngle: Float64Array;
  readonly deltaDeclination: Float64Array;
  /** |cos D| of the mount. */
  readonly cosDeclination: Float64Array;
  /**
   * Squared distance in units of its covariance: for a used sighting as if it had been left out, for another as a prediction;
   * infinite where nothing can be compared.
   */
  readonly distanceSquared: Float64Array;
  /** Degrees of freedom of that distance: how many axes were read. */
  readonly axesRead: Uint8Array;
  /** The part of each row's variance that the fit absorbs. */
  readonly absorbedWest: Float64Array;
  readonly absorbedNorth: Float64Array;
  /** By how much χ² would fall by a jump of a zero from a used sighting on, and how large it would be, radians. */
  readonly jumpGainHourAngle: Float64Array;
  readonly jumpGainDeclination: Float64Array;
  readonly jumpSizeHourAngle: Float64Array;
  readonly jumpSizeDeclination: Float64Array;
  /** Sum of squares of the used sightings' rows in the likeliest state, in units of its errors, and how many rows. */
  readonly squares: number;
  readonly rows: number;
}

/**
 * By how much a price falls where a fault takes a part of the sum of squares away: the scale of the errors follows what is
 * left, down to what is expected; from there on a square counts whole.
 */
export function priceFall({ squares, rows }: Suspicion, scale: number, part: number): number {
  const expected = rows / (scale * scale);
  const left = Math.max(0, squares - part);
  if (squares <= expected) return part;
  const followed =
    rows * Math.log(squares / Math.max(left, expected)) + scale * scale * Math.max(0, expected - left);
  // Beside a residue the part counts the rows together, the sum each alone.
  return Math.max(part, followed);
}

const kept = new WeakMap<Outcome, Suspicion>();

/** Compares every sighting with an outcome. */
export function suspicionOf(outcome: Outcome): Suspicion {
  let known = kept.get(outcome);
  if (known === undefined) {
    known = compareAll(outcome);
    kept.set(outcome, known);
  }
  return known;
}

/** The likeliest state: which columns act, their triangle, and what the errors and the residue are. */
interface State {
  /** Columns that act: the core's coordinates and the causes that are in. */
  readonly columns: Int32Array;
  /** Cholesky factor of their information, row-major. */
  readonly triangle: Float64Array;
  /** Their values in these coordinates. */
  readonly values: Float64Array;
  /** Variance of a row: the errors', and the errors' with the residue's for an unused row, whitened. */
  readonly noise: number;
  readonly amplitude: number;
}

function stateOf(outcome: Outcome): State {
  const { linear, layout, posterior } = outcome;
  const { core, columns } = layout;
  const { precision, scale, amplitude } = posterior.likeliest;
  const acting = Int32Array.from([
    ...Array.from({ length: core }, (_, j) => j),
    ...Array.from(precision.keys())
      .filter((k) => Number.isFinite(precision[k]!))
      .map((k) => core + k),
  ]);
  const size = acting.length;
  const width = columns.length + 1;
  const { products, rest } = linear.spectrum;
  const noise = scale * scale;
  const information = new Float64Array(size * size);
  const side = new Float64Array(size);
  const last = width - 1;
  const add = (at: (a: number, b: number) => number): void => {
    for (let i = 0; i < size; i++) {
      for (let j = 0; j <= i; j++) information[i * size + j]! += at(acting[i]!, acting[j]!);
      side[i]! += at(last, acting[i]!);
    }
  };
  if (rest !== null) add((a, b) => rest[a * width + b]! / noise);
  for (const { lambda, values } of products) {
    const variance = noise + amplitude * amplitude * lambda;
    add((a, b) => (values[a]! * values[b]!) / variance);
  }
  for (let i = 0; i < size; i++) {
    if (acting[i]! < core) {
      for (let j = 0; j <= i; j++) information[i * size + j]! += linear.prior.information[i * core + j]!;
      side[i]! += linear.prior.offset[i]!;
    } else information[i * size + i]! += precision[acting[i]! - core]!;
  }
  const triangle = cholesky(information, size);
  const values = Float64Array.from(side);
  solveLower(triangle, size, values);
  solveUpper(triangle, size, values);
  return { columns: acting, triangle, values, noise, amplitude };
}

function cholesky(matrix: Float64Array, size: number): Float64Array {
  const triangle = new Float64Array(size * size);
  for (let i = 0; i < size; i++)
    for (let j = 0; j <= i; j++) {
      let sum = matrix[i * size + j]!;
      for (let k = 0; k < j; k++) sum -= triangle[i * size + k]! * triangle[j * size + k]!;
      triangle[i * size + j] =
        i === j ? Math.sqrt(Math.max(sum, Number.MIN_VALUE)) : sum / triangle[j * size + j]!;
    }
  return triangle;
}

function solveLower(triangle: Float64Array, size: number, vector: Float64Array, at = 0): void {
  for (let i = 0; i < size; i++) {
    let sum = vector[at + i]!;
    for (let k = 0; k < i; k++) sum -= triangle[i * size + k]! * vector[at + k]!;
    vector[at + i] = sum / triangle[i * size + i]!;
  }
}

function solveUpper(triangle: Float64Array, size: number, vector: Float64Array): void {
  for (let i = size - 1; i >= 0; i--) {
    let sum = vector[i]!;
    for (let k = i + 1; k < size; k++) sum -= triangle[k * size + i]! * vector[k]!;
    vector[i] = sum / triangle[i * size + i]!;
  }
}

/** Writes the levers of a sighting's two rows, L⁻¹ of their slopes by the columns that act, one after the other. */
function takeLevers(
  { columns, triangle }: State,
  partials: Float64Array,
  all: number,
  scale: number,
  lever: Float64Array,
): void {
  const size = columns.length;
  for (let k = 0; k < size; k++) {
    lever[k] = partials[columns[k]!]! / scale;
    lever[size + k] = partials[all + columns[k]!]! / scale;
  }
  solveLower(triangle, size, lever, 0);
  solveLower(triangle, size, lever, size);
}

/** A squared distance from two rows' differences and their covariance [a b; b c]; a row that was not read says nothing. */
function distance(
  west: number,
  north: number,
  hasWest: boolean,
  hasNorth: boolean,
  a: number,
  b: number,
  c: number,
): number {
  if (hasWest && hasNorth) {
    const determinant = Math.max(a * c - b * b, 1e-12 * a * c);
    return (c * west * west - 2 * b * west * north + a * north * north) / determinant;
  }
  if (hasWest) return (west * west) / a;
  return hasNorth ? (north * north) / c : Number.POSITIVE_INFINITY;
}

function compareAll(outcome: Outcome): Suspicion {
  const { bench, layout, rows, story, parameters, core } = outcome;
  const { night } = bench;
  const state = stateOf(outcome);
  const size = state.columns.length;
  const all = layout.columns.length;
  const column = (): Float64Array => new Float64Array(night.count);
  const found = {
    deltaHourAngle: column(),
    deltaDeclination: column(),
    cosDeclination: column(),
    distanceSquared: column().fill(Number.POSITIVE_INFINITY),
    axesRead: new Uint8Array(night.count),
    absorbedWest: column(),
    absorbedNorth: column(),
    jumpGainHourAngle: column(),
    jumpGainDeclination: column(),
    jumpSizeHourAngle: column(),
    jumpSizeDeclination: column(),
    squares: 0,
    rows: 0,
  };
  const difference = new Float64Array(3);
  const partials = new Float64Array(2 * all);
  const lever = new Float64Array(2 * size);
  const residueVariance = (state.amplitude * ARCMINUTE) ** 2;
  // For each axis xᵀC⁻¹x, xᵀe and L⁻¹ZᵀC⁻¹x, x the column of a new zero.
  const scans = (): [JumpScan, JumpScan] => [
    new JumpScan(size, residueVariance),
    new JumpScan(size, residueVariance),
  ];
  const exact = outcome.linear.axes !== null && state.amplitude > 0 ? exactRows(outcome, state) : null;
  const scale = Math.sqrt(state.noise);
  // From the mean over all that may act to the likeliest state: only about its own values its rows sum to nothing.
  const shift = outcome.posterior.mean.map((value) => -value);
  state.columns.forEach((column, k) => {
    shift[column]! += state.values[k]!;
  });
  const visit = (i: number, jumps: readonly [JumpScan, JumpScan], forward: boolean): void => {
    const comparable = rows.compare(parameters, i, difference, partials);
    const hasWest = !Number.isNaN(difference[0]!);
    const hasNorth = !Number.isNaN(difference[1]!);
    found.deltaHourAngle[i] = difference[0]!;
    found.deltaDeclination[i] = difference[1]!;
    found.cosDeclination[i] = difference[2]!;
    found.axesRead[i] = (hasWest ? 1 : 0) + (hasNorth ? 1 : 0);
    const weightWest = difference[2]! / night.sigmaWest[i]!;
    const weightNorth = 1 / night.sigmaNorth[i]!;
    const west = (read(difference[0]!) * weightWest) / scale;
    const north = (read(difference[1]!) * weightNorth) / scale;
    toCoordinates(layout, core.solution.factor, partials, parameters);
    let ownWest = west;
    let ownNorth = north;
    for (let j = 0; j < all; j++) {
      ownWest += (partials[j]! * shift[j]!) / scale;
      ownNorth += (partials[all + j]! * shift[j]!) / scale;
    }
    const used = story.used[i] === 1;
    if (used) {
      found.squares += ownWest * ownWest + ownNorth * ownNorth;
      found.rows += found.axesRead[i]!;
    }
    takeLevers(state, partials, all, scale, lever);
    let uu = 0;
    let uv = 0;
    let vv = 0;
    for (let k = 0; k < size; k++) {
      const u = lever[k]!;
      const v = lever[size + k]!;
      uu += u * u;
      uv += u * v;
      vv += v * v;
    }
    found.absorbedWest[i] = uu;
    found.absorbedNorth[i] = vv;
    if (!comparable || !(hasWest || hasNorth)) return;
    if (!used) {
      // Prediction: with the residue as it may be anywhere.
      const a = 1 + uu + (residueVariance / state.noise) * (1 / night.sigmaWest[i]!) ** 2;
      const c = 1 + vv + (residueVariance / state.noise) * (1 / night.sigmaNorth[i]!) ** 2;
      found.distanceSquared[i] = distance(west, north, hasWest, hasNorth, a, uv, c);
      return;
    }
    if (exact !== null) {
      found.distanceSquared[i] = exact.distanceSquared(i);
      if (hasWest) exact.jump(0, i, found.jumpGainHourAngle, found.jumpSizeHourAngle, weightWest);
      if (hasNorth) exact.jump(1, i, found.jumpGainDeclination, found.jumpSizeDeclination, weightNorth);
      return;
    }
    const a = Math.max(1 - uu, 1e-9);
    const c = Math.max(1 - vv, 1e-9);
    found.distanceSquared[i] = distance(west, north, hasWest, hasNorth, a, -uv, c);
    if (forward) {
      jumps[0].tell(i, -1, found.jumpGainHourAngle, found.jumpSizeHourAngle);
      jumps[1].tell(i, -1, found.jumpGainDeclination, found.jumpSizeDeclination);
    }
    if (hasWest) jumps[0].add(lever, 0, weightWest / scale, ownWest);
    if (hasNorth) jumps[1].add(lever, size, weightNorth / scale, ownNorth);
    if (!forward) {
      if (hasWest) jumps[0].tell(i, 1, found.jumpGainHourAngle, found.jumpSizeHourAngle);
      if (hasNorth) jumps[1].tell(i, 1, found.jumpGainDeclination, found.jumpSizeDeclination);
    }
  };
  // The rows before a place and those after it tell the same: the fewer of them lose fewer digits.
  const half = exact === null ? night.count >> 1 : 0;
  const before = scans();
  for (let i = 0; i < half; i++) visit(i, before, true);
  const after = scans();
  for (let i = night.count - 1; i >= half; i--) visit(i, after, false);
  return found;
}

/** What is left of a new column after the others, less than this, is rounding. */
const INDISTINCT = 1e-6;

/** The added-variable test of a jump at every place, one pass from an end of the night. */
class JumpScan {
  private square = 0;
  private product = 0;
  private readonly towards: Float64Array;
  /** @param blur - variance of what the residue may move the readings of a stretch by, radians² */
  constructor(
    private readonly size: number,
    private readonly blur: number,
  ) {
    this.towards = new Float64Array(size);
  }
  add(lever: Float64Array, at: number, weight: number, residual: number): void {
    this.square += weight * weight;
    this.product += weight * residual;
    for (let k = 0; k < this.size; k++) this.towards[k]! += weight * lever[at + k]!;
  }
  /** @param way - 1 where the rows from the place on were added, −1 where those before it */
  tell(place: number, way: 1 | -1, gain: Float64Array, jump: Float64Array): void {
    let explained = 0;
    for (let k = 0; k < this.size; k++) explained += this.towards[k]! ** 2;
    const free = this.square - explained;
    if (!(free > INDISTINCT * this.square)) return;
    gain[place] = this.product ** 2 / (free + this.blur * free * free);
    jump[place] = (way * this.product) / free;
  }
}

/** The same with rows that the residue correlates: C⁻¹ and P = C⁻¹ − C⁻¹Z(ZᵀC⁻¹Z + Λ)⁻¹ZᵀC⁻¹ written out. */
function exactRows(outcome: Outcome, state: State) {
  const axes = outcome.linear.axes!;
  const width = outcome.layout.columns.length + 1;
  const total = axes.reduce((sum, { sightings }) => sum + sightings.length, 0);
  const size = state.columns.length;
  const inverse = new Float64Array(total * total);
  const left = new Float64Array(total);
  const design = new Float64Array(total * size);
  const rowOf = [new Map<number, number>(), new Map<number, number>()] as const;
  let from = 0;
  for (const axis of axes) {
    const count = axis.sightings.length;
    const which = axis.hourAngle ? 0 : 1;
    for (let i = 0; i < count; i++) {
      rowOf[which].set(axis.sightings[i]!, from + i);
      inverse[(from + i) * total + from + i] = 1 / state.noise;
      let model = 0;
      for (let k = 0; k < size; k++) {
        const value = axis.values[i * width + state.columns[k]!]!;
        design[(from + i) * size + k] = value;
        model += value * state.values[k]!;
      }
      left[from + i] = axis.values[i * width + width - 1]! - model;
    }
    for (let k = 0; k < axis.eigenvalues.length; k++) {
      const factor = 1 / (state.noise + state.amplitude ** 2 * axis.eigenvalues[k]!) - 1 / state.noise;
      for (let i = 0; i < count; i++) {
        const value = factor * axis.eigenvectors[k * count + i]!;
        for (let j = 0; j < count; j++)
          inverse[(from + i) * total + from + j]! += value * axis.eigenvectors[k * count + j]!;
      }
    }
    from += count;
  }
  const e = multiply(inverse, left, total);
  const crossed = new Float64Array(total * size);
  for (let i = 0; i < total; i++) {
    for (let j = 0; j < total; j++) {
      const value = inverse[i * total + j]!;
      if (value !== 0) for (let k = 0; k < size; k++) crossed[i * size + k]! += value * design[j * size + k]!;
    }
    solveLower(state.triangle, size, crossed, i * size);
  }
  // P in place of C⁻¹.
  for (let i = 0; i < total; i++)
    for (let j = 0; j < total; j++) {
      let sum = 0;
      for (let k = 0; k < size; k++) sum += crossed[i * size + k]! * crossed[j * size + k]!;
      inverse[i * total + j]! -= sum;
    }
  // Sums over the later rows of an axis, taken from the last sighting back.
  const running = [0, 1].map(() => ({
    rows: [] as number[],
    weights: [] as number[],
    square: 0,
    product: 0,
  }));
  return {
    distanceSquared(sighting: number): number {
      const w = rowOf[0].get(sighting);
      const n = rowOf[1].get(sighting);
      if (w !== undefined && n !== undefined) {
        // eᵀ (P of the two rows)⁻¹ e
        const a = inverse[w * total + w]!;
        const b = inverse[w * total + n]!;
        const c = inverse[n * total + n]!;
        return distance(e[w]!, e[n]!, true, true, a, b, c);
      }
      const row = w ?? n;
      return row === undefined ? Number.POSITIVE_INFINITY : e[row]! ** 2 / inverse[row * total + row]!;
    },
    jump(axis: 0 | 1, sighting: number, gain: Float64Array, size_: Float64Array, weight: number): void {
      const row = rowOf[axis].get(sighting);
      if (row === undefined) return;
      const sum = running[axis]!;
      let cross = 0;
      sum.rows.forEach((other, k) => {
        cross += sum.weights[k]! * inverse[row * total + other]!;
      });
      sum.square += 2 * weight * cross + weight * weight * inverse[row * total + row]!;
      // The rows are what is left with the sign of the model: a reading ahead lowers them.
      sum.product -= weight * e[row]!;
      sum.rows.push(row);
      sum.weights.push(weight);
      if (sum.square < INDISTINCT * weight * weight * inverse[row * total + row]!) return;
      gain[sighting] = sum.product ** 2 / sum.square;
      size_[sighting] = sum.product / sum.square;
    },
  };
}

function multiply(matrix: Float64Array, vector: Float64Array, size: number): Float64Array {
  const out = new Float64Array(size);
  for (let i = 0; i < size; i++) {
    let sum = 0;
    for (let j = 0; j < size; j++) sum += matrix[i * size + j]! * vector[j]!;
    out[i] = sum;
  }
  return out;
}

/** How one sighting goes with an outcome, also if it had been made of another star. */
export interface Comparison {
  readonly deltaHourAngle: number;
  readonly deltaDeclination: number;
  readonly cosDeclination: number;
  readonly distanceSquared: number;
  /** The part of a row's variance that comes from the fit, the larger of the two. */
  readonly uncertainty: number;
  readonly comparable: boolean;
}

/** Compares single sightings that are not used with an outcome. */
export function comparer(outcome: Outcome): (sighting: number, seen?: ModelDirection) => Comparison {
  const { bench, layout, rows, parameters, core } = outcome;
  const { night } = bench;
  const state = stateOf(outcome);
  const size = state.columns.length;
  const all = layout.columns.length;
  const difference = new Float64Array(3);
  const partials = new Float64Array(2 * all);
  const lever = new Float64Array(2 * size);
  const scale = Math.sqrt(state.noise);
  return (i, seen) => {
    const shared = rows.compare(parameters, i, difference, partials, seen);
    toCoordinates(layout, core.solution.factor, partials, parameters);
    takeLevers(state, partials, all, scale, lever);
    let uu = 0;
    let uv = 0;
    let vv = 0;
    for (let k = 0; k < size; k++) {
      uu += lever[k]! ** 2;
      uv += lever[k]! * lever[size + k]!;
      vv += lever[size + k]! ** 2;
    }
    const hasWest = !Number.isNaN(difference[0]!);
    const hasNorth = !Number.isNaN(difference[1]!);
    const west = (read(difference[0]!) * difference[2]!) / night.sigmaWest[i]! / scale;
    const north = read(difference[1]!) / night.sigmaNorth[i]! / scale;
    const squared = distance(west, north, hasWest, hasNorth, 1 + uu, uv, 1 + vv);
    // Where the fit says nothing of this place, or nothing that can be reckoned, there is nothing to compare with.
    const comparable = shared && Number.isFinite(uu + vv) && squared >= 0;
    return {
      deltaHourAngle: difference[0]!,
      deltaDeclination: difference[1]!,
      cosDeclination: difference[2]!,
      distanceSquared: comparable ? squared : Number.POSITIVE_INFINITY,
      uncertainty: Math.max(uu, vv),
      comparable,
    };
  };
}
