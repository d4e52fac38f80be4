/**
 * The rows of a night at one amplitude of the smooth residue and one scale of the errors, a node: their covariance is
 * s² + a² Σ λ u uᵀ, diagonal along u for every s and a. There the core columns, given orthonormal coordinates by the
 * triangular factor of their fit, are taken out once; what is left is a small square of the causes' columns.
 */

/** A night's rows in diagonal form: for one axis or both. */
export interface Spectrum {
  /** Along each vector u: its λ, and then its products with every core coordinate, every cause's column, and the rows. */
  readonly products: readonly { readonly lambda: number; readonly values: Float64Array }[];
  /** The same products summed over all directions that have no residue, as a square; null where there are none. */
  readonly rest: Float64Array | null;
  /** How many such directions there are. */
  readonly restCount: number;
}

/** What is known of the core coordinates beforehand: information and its product with the offset, at the core's fit. */
export interface CorePrior {
  readonly information: Float64Array;
  readonly offset: Float64Array;
  /** The quadratic form of the priors at the core's fit. */
  readonly square: number;
}

/** An amplitude of the residue and a scale of the errors, with the core taken out. */
export interface Node {
  readonly amplitude: number;
  readonly scale: number;
  /** The core's triangle L, row-major. */
  readonly triangle: Float64Array;
  /** L⁻¹ of the causes' products with the core (core × causes), and of the right side. */
  readonly crossed: Float64Array;
  readonly right: Float64Array;
  /** Products of the causes' columns among themselves and with the rows, the core taken out. */
  readonly inner: Float64Array;
  readonly side: Float64Array;
  /** Of −2 ln of the density of the rows without any cause: the quadratic form, and the rest. */
  readonly square: number;
  readonly logs: number;
}

/** The part of a quadratic form that its rounding may be. */
export const ROUNDING = 1e-9;

/** The nodes of a night, each made once. */
export class Nodes {
  private readonly known = new Map<string, Node | null>();
  /** All products summed, for where there is no residue. */
  private readonly whole: Float64Array;

  constructor(
    private readonly spectrum: Spectrum,
    private readonly prior: CorePrior,
    readonly core: number,
    readonly inner: number,
  ) {
    const width = core + inner + 1;
    this.whole = new Float64Array(width * width);
    if (spectrum.rest !== null) this.whole.set(spectrum.rest);
    for (const { values } of spectrum.products) addSquare(this.whole, values, 1);
  }

  /** How many rows the night has. */
  get rows(): number {
    return this.spectrum.products.length + this.spectrum.restCount;
  }

  /** Null where rounding leaves nothing of a core column. */
  at(amplitude: number, scale: number): Node | null {
    const key = `${amplitude} ${scale}`;
    let node = this.known.get(key);
    if (node === undefined) {
      node = this.make(amplitude, scale);
      this.known.set(key, node);
    }
    return node;
  }

  private make(amplitude: number, scale: number): Node | null {
    const { spectrum, prior, core, inner, whole } = this;
    const noise = scale * scale;
    if (amplitude === 0) {
      const square = whole.map((value) => value / noise);
      return withoutCore(square, this.rows * Math.log(noise), prior, core, inner, amplitude, scale);
    }
    const square = new Float64Array(whole.length);
    let logDeterminant = spectrum.restCount * Math.log(noise);
    if (spectrum.rest !== null) for (let k = 0; k < square.length; k++) square[k] = spectrum.rest[k]! / noise;
    for (const { lambda, values } of spectrum.products) {
      const variance = noise + amplitude * amplitude * lambda;
      logDeterminant += Math.log(variance);
      addSquare(square, values, 1 / variance);
    }
    return withoutCore(square, logDeterminant, prior, core, inner, amplitude, scale);
  }
}

/** Adds the products of a line with itself, times a factor, to the lower half of a square. */
export function addSquare(square: Float64Array, line: Float64Array, factor: number): void {
  const width = line.length;
  for (let i = 0; i < width; i++) {
    const along = factor * line[i]!;
    if (along === 0) continue;
    const row = i * width;
    for (let j = 0; j <= i; j++) square[row + j]! += along * line[j]!;
  }
}

/** Takes the core out of a square of weighed products. */
function withoutCore(
  square: Float64Array,
  logWeights: number,
  prior: CorePrior,
  core: number,
  inner: number,
  amplitude: number,
  scale: number,
): Node | null {
  const all = core + inner;
  const width = all + 1;
  let logDeterminant = logWeights;
  // Cholesky of the core's information.
  const triangle = new Float64Array(core * core);
  for (let i = 0; i < core; i++) {
    for (let j = 0; j <= i; j++) {
      let sum = square[i * width + j]! + prior.information[i * core + j]!;
      for (let k = 0; k < j; k++) sum -= triangle[i * core + k]! * triangle[j * core + k]!;
      if (i === j && !(sum > 0)) return null;
      triangle[i * core + j] = i === j ? Math.sqrt(sum) : sum / triangle[j * core + j]!;
    }
    logDeterminant += 2 * Math.log(triangle[i * core + i]!);
  }
  const crossed = new Float64Array(core * inner);
  for (let c = 0; c < inner; c++) {
    const row = (core + c) * width;
    for (let i = 0; i < core; i++) {
      let sum = square[row + i]!;
      for (let k = 0; k < i; k++) sum -= triangle[i * core + k]! * crossed[k * inner + c]!;
      crossed[i * inner + c] = sum / triangle[i * core + i]!;
    }
  }
  const right = new Float64Array(core);
  let explained = 0;
  for (let i = 0; i < core; i++) {
    let sum = square[all * width + i]! + prior.offset[i]!;
    for (let k = 0; k < i; k++) sum -= triangle[i * core + k]! * right[k]!;
    right[i] = sum / triangle[i * core + i]!;
    explained += right[i]! * right[i]!;
  }
  const among = new Float64Array(inner * inner);
  const side = new Float64Array(inner);
  for (let a = 0; a < inner; a++) {
    const row = (core + a) * width;
    for (let b = 0; b <= a; b++) {
      let sum = square[row + core + b]!;
      for (let k = 0; k < core; k++) sum -= crossed[k * inner + a]! * crossed[k * inner + b]!;
      among[a * inner + b] = sum;
      among[b * inner + a] = sum;
    }
    let sum = square[all * width + core + a]!;
    for (let k = 0; k < core; k++) sum -= crossed[k * inner + a]! * right[k]!;
    side[a] = sum;
  }
  const whole = square[all * width + all]! + prior.square;
  // So far off that the digits are gone: nothing can be compared there.
  if (!(whole - explained > -ROUNDING * whole)) return null;
  const left = Math.max(0, whole - explained);
  return {
    amplitude,
    scale,
    triangle,
    crossed,
    right,
    inner: among,
    side,
    square: left,
    logs: logDeterminant,
  };
}

/** Adds a node's moments of all columns, from those of its causes: the core follows the causes linearly. */
export function addNode(
  node: Node,
  weight: number,
  first: Float64Array,
  square: Float64Array,
  core: number,
  inner: number,
  mean: Float64Array,
  second: Float64Array,
): void {
  const all = core + inner;
  const { triangle, crossed, right } = node;
  // Core value = base − follow · causes, with L Lᵀ its information.
  const inverse = new Float64Array(core * core);
  for (let j = 0; j < core; j++) {
    inverse[j * core + j] = 1 / triangle[j * core + j]!;
    for (let i = j + 1; i < core; i++) {
      let sum = 0;
      for (let k = j; k < i; k++) sum -= triangle[i * core + k]! * inverse[k * core + j]!;
      inverse[i * core + j] = sum / triangle[i * core + i]!;
    }
  }
  const base = new Float64Array(core);
  const follow = new Float64Array(core * inner);
  for (let j = 0; j < core; j++) {
    for (let i = j; i < core; i++) {
      const entry = inverse[i * core + j]!;
      base[j]! += entry * right[i]!;
      for (let c = 0; c < inner; c++) follow[j * inner + c]! += entry * crossed[i * inner + c]!;
    }
  }
  // follow · E[causes], follow · E[causes causesᵀ].
  const led = new Float64Array(core);
  const crossedSquare = new Float64Array(core * inner);
  for (let j = 0; j < core; j++) {
    for (let c = 0; c < inner; c++) {
      const f = follow[j * inner + c]!;
      if (f === 0) continue;
      led[j]! += f * first[c]!;
      for (let d = 0; d < inner; d++) crossedSquare[j * inner + d]! += f * square[c * inner + d]!;
    }
  }
  for (let c = 0; c < inner; c++) {
    mean[core + c]! += first[c]!;
    for (let d = 0; d < inner; d++) second[(core + c) * all + core + d]! += square[c * inner + d]!;
  }
  for (let i = 0; i < core; i++) {
    mean[i]! += weight * base[i]! - led[i]!;
    for (let c = 0; c < inner; c++) {
      const both = base[i]! * first[c]! - crossedSquare[i * inner + c]!;
      second[i * all + core + c]! += both;
      second[(core + c) * all + i]! += both;
    }
    for (let j = 0; j <= i; j++) {
      let sum = weight * base[i]! * base[j]! - base[i]! * led[j]! - led[i]! * base[j]!;
      for (let c = 0; c < inner; c++) sum += crossedSquare[i * inner + c]! * follow[j * inner + c]!;
      let own = 0;
      for (let k = i; k < core; k++) own += inverse[k * core + i]! * inverse[k * core + j]!;
      sum += weight * own;
      second[i * all + j]! += sum;
      if (i !== j) second[j * all + i]! += sum;
    }
  }
}
