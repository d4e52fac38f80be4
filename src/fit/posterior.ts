/**
 * What a night's rows say about every column, averaged over what may act: each cause there or not, with either width, every
 * amplitude of the smooth residue, every scale of the errors, each by its odds (Bayesian model averaging: Hoeting, Madigan,
 * Raftery and Volinsky 1999; Occam's window: Madigan and Raftery 1994).
 *
 * All is linear about the core's fit. The rows' covariance is s² + a² Σ λ u uᵀ, s the scale of the errors and a the
 * amplitude of the residue: diagonal along u for every s and a, a node. At a node the core columns, given orthonormal
 * coordinates by the triangular factor of their fit, are taken out once; then every set of causes costs a triangle as small
 * as the set.
 */

import type { CauseName } from "../mount/terms.js";
import {
  CAUSE_CHANCE,
  ERROR_SCALE_LOGS,
  ERROR_SCALE_SPREAD,
  RESIDUE_AMPLITUDES,
  RESIDUE_CHANCE,
  WIDER,
  WIDER_CHANCE,
} from "./beliefs.js";
import type { Layout } from "./columns.js";

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

/** One set of causes: for each, 0 not there, 1 there, 2 there and wider. */
type Causes = Uint8Array;

interface CauseColumns {
  readonly name: CauseName;
  /** Places among the causes' columns. */
  readonly places: readonly number[];
  /** −2 ln of its odds: not there, there, there and wider. */
  readonly prices: readonly [number, number, number];
}

/** An amplitude of the residue and a scale of the errors, with the core taken out. */
interface Node {
  readonly amplitude: number;
  readonly scale: number;
  /** −2 ln of its odds. */
  readonly price: number;
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

/** What is found. Core coordinates first, then the causes' columns in units of their widths. */
export interface Posterior {
  readonly mean: Float64Array;
  /** Row-major. */
  readonly covariance: Float64Array;
  /** −2 ln of the density of the night's rows, averaged over everything. */
  readonly price: number;
  /** The probability that each cause acts. */
  readonly acts: ReadonlyMap<CauseName, number>;
  readonly residue: { readonly probability: number; readonly amplitudeArcmin: number };
  readonly errorScale: { readonly value: number; readonly uncertainty: number };
  /** The likeliest node and causes. */
  readonly likeliest: {
    readonly amplitude: number;
    readonly scale: number;
    /** The precision of each of the causes' columns, in units of its width; infinite where it is out. */
    readonly precision: Float64Array;
  };
}

/** The neighbours of a set are looked at where it reaches this part of the likeliest; all that were looked at count. */
const WINDOW = 2 * Math.log(60);
/** So many sets are looked at at most. */
const MOST_SETS = 800;
/** Nodes below this part of the likeliest are tried with the likeliest sets only, … */
const MAIN_WINDOW = 2 * Math.log(250);
/** … those below this part not at all. Unlikely as they are, their uncertainties are the widest. */
const NODE_WINDOW = 2 * Math.log(3000);
/** So many sets stand for all at an unlikely node. */
const TAIL_SETS = 120;
/** What is looked at but less likely than this part of the likeliest changes nothing. */
const NEGLIGIBLE = 2 * Math.log(1e5);
/** No set has more columns than this. */
const LARGEST_SET = 20;

/** Weights of the error scales: the half-normal belief by the trapezoidal rule. */
const SCALES = ERROR_SCALE_LOGS.map((log, k) => {
  const before = ERROR_SCALE_LOGS[k - 1] ?? log;
  const after = ERROR_SCALE_LOGS[k + 1] ?? log;
  const density =
    (2 / (ERROR_SCALE_SPREAD * Math.sqrt(2 * Math.PI))) * Math.exp(-0.5 * (log / ERROR_SCALE_SPREAD) ** 2);
  return { scale: Math.exp(log), price: -2 * Math.log((density * (after - before)) / 2) };
});

/**
 * Averages over everything that may act; null where the place is so far off that the rows say nothing there.
 *
 * @param layout - which columns there are
 * @param spectrum - the rows
 * @param prior - of the core coordinates
 * @param residueReach - the mount file's tolerance of the residue, arcminutes: 0 leaves it out, 1 is usual
 */
export function averaged(
  layout: Layout,
  spectrum: Spectrum,
  prior: CorePrior,
  residueReach: number,
): Posterior | null {
  const { core } = layout;
  const inner = layout.columns.length - core;
  const causes = causesOf(layout);
  const nodes = likelyNodes(spectrum, prior, core, inner, residueReach, causes);
  if (nodes.length === 0) return null;
  const main = nodes.filter(({ lag }) => lag < MAIN_WINDOW).map(({ node }) => node);
  const sets = likelySets(main, causes, inner);
  const tail = nodes.filter(({ lag }) => lag >= MAIN_WINDOW).map(({ node }) => node);
  return average([...main, ...tail], tailed(sets, main, tail, causes, inner), causes, core, inner);
}

function causesOf(layout: Layout): CauseColumns[] {
  const causes = new Map<CauseName, number[]>();
  layout.columns.slice(layout.core).forEach(({ cause }, place) => {
    if (cause !== null) causes.set(cause, [...(causes.get(cause) ?? []), place]);
  });
  return [...causes].map(([name, places]) => {
    const chance = CAUSE_CHANCE[name];
    const prices = [1 - chance, chance * (1 - WIDER_CHANCE), chance * WIDER_CHANCE].map(
      (probability) => -2 * Math.log(probability),
    );
    return { name, places, prices: prices as [number, number, number] };
  });
}

/** The part of a quadratic form that its rounding may be. */
const ROUNDING = 1e-9;

/** Takes the core out at one node; null where rounding leaves nothing of a core column. */
function nodeAt(
  spectrum: Spectrum,
  prior: CorePrior,
  core: number,
  inner: number,
  amplitude: number,
  scale: number,
  price: number,
): Node | null {
  const all = core + inner;
  const width = all + 1;
  const noise = scale * scale;
  const square = new Float64Array(width * width);
  let logDeterminant = spectrum.restCount * Math.log(noise);
  if (spectrum.rest !== null) for (let k = 0; k < square.length; k++) square[k] = spectrum.rest[k]! / noise;
  for (const { lambda, values } of spectrum.products) {
    const variance = noise + amplitude * amplitude * lambda;
    logDeterminant += Math.log(variance);
    for (let i = 0; i < width; i++) {
      const along = values[i]! / variance;
      if (along === 0) continue;
      const row = i * width;
      for (let j = 0; j <= i; j++) square[row + j]! += along * values[j]!;
    }
  }
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
    price,
    triangle,
    crossed,
    right,
    inner: among,
    side,
    square: left,
    logs: logDeterminant,
  };
}

/** The nodes that matter, with no cause at work or with those that a few greedy steps bring in. */
function likelyNodes(
  spectrum: Spectrum,
  prior: CorePrior,
  core: number,
  inner: number,
  residueReach: number,
  causes: readonly CauseColumns[],
): { node: Node; lag: number }[] {
  const amplitudes =
    residueReach === 0
      ? [{ amplitude: 0, price: 0 }]
      : [
          { amplitude: 0, price: -2 * Math.log(1 - RESIDUE_CHANCE) },
          ...RESIDUE_AMPLITUDES.map((amplitude) => ({
            amplitude: amplitude * residueReach,
            price: -2 * Math.log(RESIDUE_CHANCE / RESIDUE_AMPLITUDES.length),
          })),
        ];
  const scratch = scratchFor(inner);
  const found: { node: Node; best: number }[] = [];
  let least = Number.POSITIVE_INFINITY;
  for (const { amplitude, price } of amplitudes) {
    let before = Number.POSITIVE_INFINITY;
    for (const { scale, price: scalePrice } of SCALES) {
      const node = nodeAt(spectrum, prior, core, inner, amplitude, scale, price + scalePrice);
      if (node === null) continue;
      const best = greedyPrice(node, causes, scratch);
      if (!Number.isFinite(best)) continue;
      found.push({ node, best });
      least = Math.min(least, best);
      // Past its best scale an amplitude only grows worse.
      if (best > before && best > least + NODE_WINDOW) break;
      before = best;
    }
  }
  return found.map(({ node, best }) => ({ node, lag: best - least })).filter(({ lag }) => lag < NODE_WINDOW);
}

/** The price of a node with the causes that pay for themselves, one after the other or two at once. */
function greedyPrice(node: Node, causes: readonly CauseColumns[], scratch: Scratch): number {
  const set = new Uint8Array(causes.length);
  let price = node.price + node.square + node.logs + pricesOf(set, causes);
  const tried = (): number => node.price + pricesOf(set, causes) + setPrice(node, set, causes, scratch);
  for (;;) {
    let best = price - LEAST_GAIN;
    let change: readonly [number, number][] | null = null;
    for (let c = 0; c < causes.length; c++) {
      if (set[c]) continue;
      for (const state of [1, 2]) {
        set[c] = state;
        const now = tried();
        if (now < best) {
          best = now;
          change = [[c, state]];
        }
      }
      set[c] = 0;
    }
    if (change === null) {
      // Two causes may hide each other: an eccentric encoder and its scale.
      for (let c = 0; c < causes.length; c++) {
        if (set[c]) continue;
        set[c] = 2;
        for (let d = 0; d < c; d++) {
          if (set[d]) continue;
          set[d] = 2;
          const now = tried();
          if (now < best) {
            best = now;
            change = [
              [c, 2],
              [d, 2],
            ];
          }
          set[d] = 0;
        }
        set[c] = 0;
      }
    }
    if (change === null) return price;
    for (const [c, state] of change) set[c] = state;
    price = best;
  }
}

/** A cause pays for itself where it lowers the price by this. */
const LEAST_GAIN = 1;

function pricesOf(set: Causes, causes: readonly CauseColumns[]): number {
  let price = 0;
  for (let c = 0; c < causes.length; c++) price += causes[c]!.prices[set[c]!]!;
  return price;
}

interface Scratch {
  readonly places: Int32Array;
  readonly precision: Float64Array;
  readonly triangle: Float64Array;
  readonly solved: Float64Array;
}

function scratchFor(inner: number): Scratch {
  return {
    places: new Int32Array(inner),
    precision: new Float64Array(inner),
    triangle: new Float64Array(inner * inner),
    solved: new Float64Array(inner),
  };
}

/** The precision of a cause's column there and wider, in units of its width. */
const WIDER_PRECISION = 1 / WIDER ** 2;

/** Lists the columns of a set; how many they are. */
function columnsOf(set: Causes, causes: readonly CauseColumns[], scratch: Scratch): number {
  let count = 0;
  for (let c = 0; c < causes.length; c++) {
    const state = set[c]!;
    if (state === 0) continue;
    for (const place of causes[c]!.places) {
      scratch.places[count] = place;
      scratch.precision[count] = state === 1 ? 1 : WIDER_PRECISION;
      count++;
    }
  }
  return count;
}

/** −2 ln of the density of the rows with a set of causes, its own odds not counted. Leaves triangle and solution. */
function setPrice(node: Node, set: Causes, causes: readonly CauseColumns[], scratch: Scratch): number {
  const count = columnsOf(set, causes, scratch);
  if (count > LARGEST_SET) return Number.POSITIVE_INFINITY;
  const { places, precision, triangle, solved } = scratch;
  const size = node.side.length;
  let square = node.square;
  // One logarithm for all: the determinant of so few columns stays within a double's range.
  let determinant = 1;
  for (let i = 0; i < count; i++) {
    const row = places[i]! * size;
    for (let j = 0; j <= i; j++) {
      let sum = node.inner[row + places[j]!]!;
      if (i === j) sum += precision[i]!;
      for (let k = 0; k < j; k++) sum -= triangle[i * size + k]! * triangle[j * size + k]!;
      triangle[i * size + j] =
        i === j ? Math.sqrt(Math.max(sum, Number.MIN_VALUE)) : sum / triangle[j * size + j]!;
    }
    let sum = node.side[places[i]!]!;
    for (let k = 0; k < i; k++) sum -= triangle[i * size + k]! * solved[k]!;
    const value = sum / triangle[i * size + i]!;
    solved[i] = value;
    determinant *= triangle[i * size + i]! ** 2 / precision[i]!;
    square -= value * value;
  }
  if (square < -ROUNDING * (1 + node.square)) return Number.POSITIVE_INFINITY;
  return square + node.logs + Math.log(determinant);
}

interface WeighedSet {
  readonly set: Causes;
  /** −2 ln of its density, all nodes together, its own odds counted. */
  readonly price: number;
  /** The price at each node. */
  readonly atNodes: Float64Array;
}

/** −2 ln Σ exp(−price/2). */
function together(prices: ArrayLike<number>): number {
  let least = Number.POSITIVE_INFINITY;
  for (let k = 0; k < prices.length; k++) least = Math.min(least, prices[k]!);
  if (!Number.isFinite(least)) return least;
  let sum = 0;
  for (let k = 0; k < prices.length; k++) sum += Math.exp((least - prices[k]!) / 2);
  return least - 2 * Math.log(sum);
}

/** Occam's window: the sets of causes that are likely enough, found by walking from neighbour to neighbour. */
function likelySets(nodes: readonly Node[], causes: readonly CauseColumns[], inner: number): WeighedSet[] {
  const scratch = scratchFor(inner);
  const known = new Map<number, WeighedSet>();
  const keyOf = (set: Causes): number => {
    let key = 0;
    for (let c = 0; c < set.length; c++) key = key * 3 + set[c]!;
    return key;
  };
  let least = Number.POSITIVE_INFINITY;
  const weigh = (set: Causes): WeighedSet => {
    const key = keyOf(set);
    let weighed = known.get(key);
    if (weighed === undefined) {
      const atNodes = new Float64Array(nodes.length);
      const odds = pricesOf(set, causes);
      for (let n = 0; n < nodes.length; n++)
        atNodes[n] = odds + nodes[n]!.price + setPrice(nodes[n]!, set, causes, scratch);
      weighed = { set: Uint8Array.from(set), price: together(atNodes), atNodes };
      known.set(key, weighed);
      if (weighed.price < least) least = weighed.price;
    }
    return weighed;
  };
  const open: WeighedSet[] = [weigh(new Uint8Array(causes.length))];
  while (open.length > 0 && known.size < MOST_SETS) {
    let next = 0;
    for (let k = 1; k < open.length; k++) if (open[k]!.price < open[next]!.price) next = k;
    const [current] = open.splice(next, 1) as [WeighedSet];
    if (current.price > least + WINDOW) break;
    const set = Uint8Array.from(current.set);
    for (let c = 0; c < causes.length; c++) {
      const now = set[c]!;
      for (let state = 0; state < 3; state++) {
        if (state === now) continue;
        set[c] = state;
        if (!known.has(keyOf(set))) open.push(weigh(set));
      }
      set[c] = now;
    }
  }
  return [...known.values()].filter(({ price }) => price < least + NEGLIGIBLE);
}

/** The likeliest sets tried at the unlikely nodes too, where they stand for all sets. */
function tailed(
  sets: readonly WeighedSet[],
  main: readonly Node[],
  tail: readonly Node[],
  causes: readonly CauseColumns[],
  inner: number,
): WeighedSet[] {
  if (tail.length === 0) return [...sets];
  const scratch = scratchFor(inner);
  const ordered = [...sets].sort((a, b) => a.price - b.price);
  const all = together(Float64Array.from(ordered, ({ price }) => price));
  const some = together(Float64Array.from(ordered.slice(0, TAIL_SETS), ({ price }) => price));
  return ordered.map((weighed, rank) => {
    const atNodes = new Float64Array(main.length + tail.length).fill(Number.POSITIVE_INFINITY);
    atNodes.set(weighed.atNodes);
    if (rank < TAIL_SETS) {
      const odds = pricesOf(weighed.set, causes) + all - some;
      tail.forEach((node, n) => {
        atNodes[main.length + n] = odds + node.price + setPrice(node, weighed.set, causes, scratch);
      });
    }
    return { set: weighed.set, atNodes, price: together(atNodes) };
  });
}

/** A set of less weight than this changes no moment. */
const NO_WEIGHT = 1e-6;

/** Moments over all nodes and sets. */
function average(
  nodes: readonly Node[],
  sets: readonly WeighedSet[],
  causes: readonly CauseColumns[],
  core: number,
  inner: number,
): Posterior {
  const all = core + inner;
  const price = together(Float64Array.from(sets, (set) => set.price));
  const mean = new Float64Array(all);
  const second = new Float64Array(all * all);
  const acts = new Float64Array(causes.length);
  const scratch = scratchFor(inner);
  let likeliest: { node: Node; set: WeighedSet } | null = null;
  let least = Number.POSITIVE_INFINITY;
  let residueProbability = 0;
  let amplitude = 0;
  let scaleMean = 0;
  let scaleSquare = 0;
  // Nodes of one amplitude differ by the scale of the errors alone, which hardly moves a value and widens all alike: the
  // node nearest to their mean variance stands for all where moments are taken.
  const groups = new Map<number, { places: number[]; weights: number[] }>();
  nodes.forEach((node, n) => {
    let weightOfNode = 0;
    for (const set of sets) {
      weightOfNode += Math.exp((price - set.atNodes[n]!) / 2);
      if (set.atNodes[n]! < least) {
        least = set.atNodes[n]!;
        likeliest = { node, set };
      }
    }
    if (node.amplitude > 0) {
      residueProbability += weightOfNode;
      amplitude += weightOfNode * node.amplitude;
    }
    scaleMean += weightOfNode * node.scale;
    scaleSquare += weightOfNode * node.scale ** 2;
    const group = groups.get(node.amplitude) ?? { places: [], weights: [] };
    groups.set(node.amplitude, group);
    group.places.push(n);
    group.weights.push(weightOfNode);
  });
  for (const { places, weights } of groups.values()) {
    const variance = (n: number): number => nodes[n]!.scale ** 2;
    const total = weights.reduce((sum, weight) => sum + weight, 0);
    const middle = places.reduce((sum, n, k) => sum + weights[k]! * variance(n), 0) / total;
    const off = (n: number): number => Math.abs(variance(n) - middle);
    const standing = places.reduce((nearest, n) => (off(n) < off(nearest) ? n : nearest));
    const node = nodes[standing]!;
    let weightOfGroup = 0;
    const first = new Float64Array(inner);
    const square = new Float64Array(inner * inner);
    for (const set of sets) {
      let weight = 0;
      for (const n of places) weight += Math.exp((price - set.atNodes[n]!) / 2);
      weightOfGroup += weight;
      if (weight < NO_WEIGHT) continue;
      for (let c = 0; c < causes.length; c++) if (set.set[c]) acts[c]! += weight;
      setPrice(node, set.set, causes, scratch);
      addMoments(columnsOf(set.set, causes, scratch), scratch, weight, first, square, inner);
    }
    addNode(node, weightOfGroup, first, square, core, inner, mean, second);
  }
  const covariance = new Float64Array(all * all);
  for (let i = 0; i < all; i++)
    for (let j = 0; j < all; j++) covariance[i * all + j] = second[i * all + j]! - mean[i]! * mean[j]!;
  const top = likeliest! as { node: Node; set: WeighedSet };
  const precision = new Float64Array(inner).fill(Number.POSITIVE_INFINITY);
  const count = columnsOf(top.set.set, causes, scratch);
  for (let k = 0; k < count; k++) precision[scratch.places[k]!] = scratch.precision[k]!;
  return {
    mean,
    covariance,
    price,
    acts: new Map(causes.map(({ name }, c) => [name, Math.min(1, acts[c]!)])),
    residue: {
      probability: Math.min(1, residueProbability),
      amplitudeArcmin: residueProbability > 0 ? amplitude / residueProbability : 0,
    },
    errorScale: { value: scaleMean, uncertainty: Math.sqrt(Math.max(0, scaleSquare - scaleMean ** 2)) },
    likeliest: { amplitude: top.node.amplitude, scale: top.node.scale, precision },
  };
}

/** Adds the first and second moments of a set's columns at a node; its triangle and solution stand in the scratch. */
function addMoments(
  count: number,
  { places, triangle, solved }: Scratch,
  weight: number,
  first: Float64Array,
  square: Float64Array,
  inner: number,
): void {
  // The inverse of the triangle, then value = L⁻ᵀ solved and covariance = L⁻ᵀ L⁻¹.
  const inverse = new Float64Array(count * count);
  for (let j = 0; j < count; j++) {
    inverse[j * count + j] = 1 / triangle[j * inner + j]!;
    for (let i = j + 1; i < count; i++) {
      let sum = 0;
      for (let k = j; k < i; k++) sum -= triangle[i * inner + k]! * inverse[k * count + j]!;
      inverse[i * count + j] = sum / triangle[i * inner + i]!;
    }
  }
  const value = new Float64Array(count);
  for (let j = 0; j < count; j++) {
    let sum = 0;
    for (let i = j; i < count; i++) sum += inverse[i * count + j]! * solved[i]!;
    value[j] = sum;
    first[places[j]!]! += weight * sum;
  }
  for (let a = 0; a < count; a++) {
    for (let b = 0; b <= a; b++) {
      let sum = value[a]! * value[b]!;
      for (let i = a; i < count; i++) sum += inverse[i * count + a]! * inverse[i * count + b]!;
      const at = places[a]!;
      const to = places[b]!;
      square[at * inner + to]! += weight * sum;
      if (at !== to) square[to * inner + at]! += weight * sum;
    }
  }
}

/** Adds a node's moments of all columns, from those of its causes: the core follows the causes linearly. */
function addNode(
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

/**
 * χ² of a night with a given residue and given causes, errors as expected.
 *
 * @param precision - of each of the causes' columns; infinite for one that is out
 */
export function chiSquareOf(
  spectrum: Spectrum,
  prior: CorePrior,
  core: number,
  amplitude: number,
  precision: Float64Array,
): number {
  const inner = precision.length;
  const node = nodeAt(spectrum, prior, core, inner, amplitude, 1, 0);
  if (node === null) return Number.POSITIVE_INFINITY;
  const scratch = scratchFor(inner);
  const places = Array.from(precision.keys()).filter((k) => Number.isFinite(precision[k]!));
  const set: CauseColumns[] = places.map((place) => ({
    name: "settling",
    places: [place],
    prices: [0, 0, 0],
  }));
  let { square } = node;
  const states = Uint8Array.from(places, (place) => (precision[place] === 1 ? 1 : 2));
  setPrice(node, states, set, scratch);
  for (let k = 0; k < places.length; k++) square -= scratch.solved[k]! ** 2;
  return square;
}

/** What happens in a night and is no property of the mount. */
const OF_ONE_NIGHT: ReadonlySet<CauseName> = new Set(["hourAngleCreep", "declinationCreep", "settling"]);
/** Such a cause counts from this probability on. */
const COUNTS_FROM = 0.05;

/**
 * The same with every cause at work that is the mount's, each held by its tolerance, and those of one night that the night shows, at
 * the likeliest residue and errors: one normal distribution. Two nights may each prefer another cause for one thing; what
 * both say together can be compared only so.
 */
export function withEveryCause(
  layout: Layout,
  spectrum: Spectrum,
  prior: CorePrior,
  { likeliest, acts }: Posterior,
): { mean: Float64Array; covariance: Float64Array } | null {
  const { core } = layout;
  const inner = layout.columns.length - core;
  const all = core + inner;
  const node = nodeAt(spectrum, prior, core, inner, likeliest.amplitude, likeliest.scale, 0);
  if (node === null) return null;
  const causes = causesOf(layout);
  const counts = ({ name }: CauseColumns): boolean =>
    !OF_ONE_NIGHT.has(name) || (acts.get(name) ?? 0) >= COUNTS_FROM;
  const set = Uint8Array.from(causes, (cause) => (counts(cause) ? 1 : 0));
  const scratch = scratchFor(inner);
  if (!Number.isFinite(setPrice(node, set, causes, scratch))) return null;
  const first = new Float64Array(inner);
  const square = new Float64Array(inner * inner);
  addMoments(columnsOf(set, causes, scratch), scratch, 1, first, square, inner);
  const mean = new Float64Array(all);
  const second = new Float64Array(all * all);
  addNode(node, 1, first, square, core, inner, mean, second);
  for (let i = 0; i < all; i++) for (let j = 0; j < all; j++) second[i * all + j]! -= mean[i]! * mean[j]!;
  return { mean, covariance: second };
}
