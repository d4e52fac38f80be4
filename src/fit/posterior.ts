/**
 * What a night's rows say about every column, averaged over what may act: each cause there or not, with either width, every
 * amplitude of the smooth residue, every scale of the errors, each by its odds (Bayesian model averaging: Hoeting, Madigan,
 * Raftery and Volinsky 1999; Occam's window: Madigan and Raftery 1994). All is linear about the core's fit.
 */

import type { CauseName } from "../mount/terms.js";
import {
  ERROR_SCALE_LOGS,
  ERROR_SCALE_SPREAD,
  priceOf,
  RESIDUE_AMPLITUDES,
  RESIDUE_CHANCE,
} from "./beliefs.js";
import {
  type CauseColumns,
  type Causes,
  causesOf,
  columnCount,
  inOrder,
  momentsAt,
  oddsOf,
  priceOfSet,
  pricesAt,
  pricingTriangle,
  type SetOrder,
  WIDER_PRECISION,
} from "./cause-sets.js";
import type { Layout } from "./columns.js";
import { actsAmong, keptChances } from "./kept-chances.js";
import { addNode, type Node, type Nodes } from "./nodes.js";

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

/** How thoroughly is averaged. */
export interface Effort {
  /** The neighbours of a set are looked at where it reaches this part of the likeliest; all that were looked at count. */
  readonly window: number;
  /** So many sets are looked at at most. */
  readonly mostSets: number;
  /** Beside sets that reach this part of the likeliest, all sets of causes that come together are looked at. */
  readonly besideWindow: number;
  /** Nodes below this part of the likeliest are left out. */
  readonly nodeWindow: number;
}

const partOf = (share: number): number => 2 * Math.log(share);
/** For what is reported: unlikely nodes have the widest uncertainties. */
export const THOROUGH: Effort = {
  window: partOf(60),
  mostSets: 800,
  besideWindow: partOf(8),
  nodeWindow: partOf(3000),
};
/** For comparing stories with each other. */
export const QUICK: Effort = {
  window: partOf(6),
  mostSets: 60,
  besideWindow: Number.NEGATIVE_INFINITY,
  nodeWindow: partOf(30),
};
/** Sets are looked for at the best node of each amplitude that reaches this part of the likeliest. */
const GUIDE_WINDOW = partOf(250);
/** What is looked at but less likely than this part of the likeliest changes nothing. */
const NEGLIGIBLE = partOf(1e5);

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
 * @param residueReach - the mount file's tolerance of the residue, arcminutes: 0 leaves it out, 1 is usual
 */
export function averaged(
  layout: Layout,
  nodes: Nodes,
  residueReach: number,
  effort: Effort,
): Posterior | null {
  const causes = causesOf(layout);
  const likely = likelyNodes(nodes, residueReach, causes, effort);
  if (likely.length === 0) return null;
  const order = inOrder(likelySets(guidesOf(likely), causes, effort), causes);
  return average(nodes, likely, order, causes);
}

/** A node with −2 ln of its odds. */
interface Weighed {
  readonly node: Node;
  readonly price: number;
  /** The price with its odds, and with the causes that a few greedy steps bring in. */
  readonly best: number;
}

/** The nodes that matter. */
function likelyNodes(
  nodes: Nodes,
  residueReach: number,
  causes: readonly CauseColumns[],
  { nodeWindow }: Effort,
): Weighed[] {
  const amplitudes =
    residueReach === 0
      ? [{ amplitude: 0, price: 0 }]
      : [
          { amplitude: 0, price: priceOf(1 - RESIDUE_CHANCE) },
          ...RESIDUE_AMPLITUDES.map((amplitude) => ({
            amplitude: amplitude * residueReach,
            price: priceOf(RESIDUE_CHANCE / RESIDUE_AMPLITUDES.length),
          })),
        ];
  const found: Weighed[] = [];
  let least = Number.POSITIVE_INFINITY;
  for (const { amplitude, price: amplitudePrice } of amplitudes) {
    const first = nodes.at(amplitude, SCALES[0]!.scale);
    if (first === null) continue;
    const start = greedy(first, null, causes);
    // Where the errors are far larger than expected the scales between are not looked at.
    const middle = bestScale(start.square, nodes.rows);
    for (const way of middle === 0 ? [1] : [1, -1]) {
      let before = Number.POSITIVE_INFINITY;
      let { set } = start;
      for (let k = way > 0 ? middle : middle - 1; SCALES[k] !== undefined; k += way) {
        const { scale, price: scalePrice } = SCALES[k]!;
        const node = nodes.at(amplitude, scale);
        if (node === null) continue;
        const told = k === 0 ? start : greedy(node, set, causes);
        set = told.set;
        const price = amplitudePrice + scalePrice;
        const best = price + told.price;
        if (!Number.isFinite(best)) continue;
        found.push({ node, price, best });
        least = Math.min(least, best);
        // Past its best scale an amplitude only grows worse.
        if (best > before && best > least + nodeWindow) break;
        before = best;
      }
    }
  }
  return found.filter(({ best }) => best < least + nodeWindow);
}

/** The place of the scale that goes best with what the errors as expected leave of the rows. */
function bestScale(square: number, rows: number): number {
  const prices = SCALES.map(({ scale, price }) => square / scale ** 2 + 2 * rows * Math.log(scale) + price);
  return prices.indexOf(Math.min(...prices));
}

/** The best node of each amplitude that is likely enough. */
function guidesOf(likely: readonly Weighed[]): Weighed[] {
  const least = likely.reduce((sofar, { best }) => Math.min(sofar, best), Number.POSITIVE_INFINITY);
  const guides = new Map<number, Weighed>();
  for (const one of likely) {
    if (one.best > least + GUIDE_WINDOW) continue;
    const known = guides.get(one.node.amplitude);
    if (known === undefined || one.best < known.best) guides.set(one.node.amplitude, one);
  }
  return [...guides.values()];
}

/** A node's best set as far as {@link greedy} finds it: its price, and what it leaves of the rows' squares. */
interface Greedy {
  readonly price: number;
  readonly set: Causes;
  readonly square: number;
}

/** More thoroughly averaged, the same nodes come again. */
const keptSets = new WeakMap<Node, Greedy>();

/**
 * The causes that pay for themselves at a node, one after the other or two at once.
 *
 * @param start - those of a node close by; null where none is known
 */
function greedy(node: Node, start: Causes | null, causes: readonly CauseColumns[]): Greedy {
  let known = keptSets.get(node);
  if (known === undefined) {
    known = searchedGreedily(node, start, causes);
    keptSets.set(node, known);
  }
  return known;
}

function searchedGreedily(node: Node, start: Causes | null, causes: readonly CauseColumns[]): Greedy {
  const set = start === null ? new Uint8Array(causes.length) : Uint8Array.from(start);
  const triangle = pricingTriangle(node);
  const tried = (last: number): number => oddsOf(set, causes) + priceOfSet(triangle, set, causes, last);
  let price = tried(-1);
  for (;;) {
    let best = price - LEAST_GAIN;
    let change: readonly [number, number][] | null = null;
    for (let c = 0; c < causes.length; c++) {
      const now = set[c]!;
      for (let state = 0; state < 3; state++) {
        if (state === now) continue;
        set[c] = state;
        const changed = tried(c);
        if (changed < best) {
          best = changed;
          change = [[c, state]];
        }
      }
      set[c] = now;
    }
    if (change === null && start === null) {
      // Two causes may hide each other: an eccentric encoder and its scale.
      for (let c = 0; c < causes.length; c++) {
        if (set[c]) continue;
        set[c] = 2;
        for (let d = 0; d < c; d++) {
          if (set[d]) continue;
          set[d] = 2;
          const now = tried(d);
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
    if (change === null) {
      tried(-1);
      return { price, set, square: triangle.squareOf(columnCount(set, causes)) };
    }
    for (const [c, state] of change) set[c] = state;
    price = best;
  }
}

/** A cause pays for itself where it lowers the price by this. */
const LEAST_GAIN = 1;

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
function likelySets(
  guides: readonly Weighed[],
  causes: readonly CauseColumns[],
  { window, mostSets, besideWindow }: Effort,
): Causes[] {
  const known = new Map<number, { set: Causes; price: number }>();
  const keyOf = (set: Causes): number => {
    let key = 0;
    for (let c = 0; c < set.length; c++) key = key * 3 + set[c]!;
    return key;
  };
  let least = Number.POSITIVE_INFINITY;
  const triangles = guides.map(({ node }) => pricingTriangle(node));
  const atGuides = new Float64Array(guides.length);
  const open: { set: Causes; price: number }[] = [];
  const weigh = (set: Causes, last: number): void => {
    const key = keyOf(set);
    if (known.has(key)) return;
    for (let n = 0; n < guides.length; n++)
      atGuides[n] = guides[n]!.price + priceOfSet(triangles[n]!, set, causes, last);
    const weighed = { set: Uint8Array.from(set), price: oddsOf(set, causes) + together(atGuides) };
    known.set(key, weighed);
    open.push(weighed);
    least = Math.min(least, weighed.price);
  };
  weigh(new Uint8Array(causes.length), -1);
  while (open.length > 0 && known.size < mostSets) {
    let next = 0;
    for (let k = 1; k < open.length; k++) if (open[k]!.price < open[next]!.price) next = k;
    const [current] = open.splice(next, 1) as [{ set: Causes; price: number }];
    if (current.price > least + window) break;
    const set = Uint8Array.from(current.set);
    for (let c = 0; c < causes.length; c++) {
      const now = set[c]!;
      for (let state = 0; state < 3; state++) {
        if (state === now) continue;
        set[c] = state;
        weigh(set, c);
      }
      set[c] = now;
    }
  }
  // Causes that come together are rarely one step from each other: all of their sets beside the likeliest of the others.
  const joint = [...causes.keys()].filter((c) => causes[c]!.poorPrices !== causes[c]!.prices);
  const beside = new Map<string, Causes>();
  for (const { set, price } of known.values()) {
    if (price > least + besideWindow) continue;
    const base = Uint8Array.from(set);
    for (const c of joint) base[c] = 0;
    beside.set(base.join(""), base);
  }
  const vary = (set: Causes, depth: number): void => {
    if (depth === joint.length) weigh(set, joint[depth - 1] ?? -1);
    else
      for (let state = 0; state < 3; state++) {
        set[joint[depth]!] = state;
        vary(set, depth + 1);
      }
  };
  for (const base of beside.values()) vary(base, 0);
  return [...known.values()].filter(({ price }) => price < least + NEGLIGIBLE).map(({ set }) => set);
}

/** What is less likely than this changes no moment: −2 ln. */
const NO_WEIGHT = partOf(1e8);

/** Moments over all nodes and sets. */
function average(
  { core, inner }: Nodes,
  likely: readonly Weighed[],
  order: SetOrder,
  causes: readonly CauseColumns[],
): Posterior {
  const { sets } = order;
  const odds = Float64Array.from(sets, (set) => oddsOf(set, causes));
  let likeliest = { node: likely[0]!.node, set: 0, price: Number.POSITIVE_INFINITY };
  const priced = likely.map(({ node, price }) => {
    const own = pricesAt(node, order);
    let least = Number.POSITIVE_INFINITY;
    for (let s = 0; s < own.length; s++) {
      own[s]! += odds[s]! + price;
      if (own[s]! < least) least = own[s]!;
      if (own[s]! < likeliest.price) likeliest = { node, set: s, price: own[s]! };
    }
    // From here on each set's part of the node's likeliest.
    let total = 0;
    for (let s = 0; s < own.length; s++) {
      own[s] = own[s]! > least + NO_WEIGHT ? 0 : Math.exp((least - own[s]!) / 2);
      total += own[s]!;
    }
    return { parts: own, total, least };
  });
  const price = together(priced.map(({ least, total }) => least - 2 * Math.log(total)));
  let residueProbability = 0;
  let amplitude = 0;
  let scaleMean = 0;
  let scaleSquare = 0;
  // Nodes of one amplitude differ by the scale of the errors alone, which hardly moves a value and widens all alike: the
  // node nearest to their mean variance stands for all where moments are taken.
  const groups = new Map<number, { alike: { node: Node; total: number }[]; weights: Float64Array }>();
  likely.forEach(({ node }, n) => {
    const group = groups.get(node.amplitude) ?? { alike: [], weights: new Float64Array(sets.length) };
    groups.set(node.amplitude, group);
    const { parts, least, total: sum } = priced[n]!;
    const whole = Math.exp((price - least) / 2);
    const total = whole * sum;
    for (let s = 0; s < parts.length; s++) group.weights[s]! += whole * parts[s]!;
    if (node.amplitude > 0) {
      residueProbability += total;
      amplitude += total * node.amplitude;
    }
    scaleMean += total * node.scale;
    scaleSquare += total * node.scale ** 2;
    group.alike.push({ node, total });
  });
  const all = core + inner;
  const mean = new Float64Array(all);
  const second = new Float64Array(all * all);
  const told = new Float64Array(sets.length);
  for (const { weights } of groups.values()) for (let s = 0; s < sets.length; s++) told[s]! += weights[s]!;
  const factors = keptChances(told, sets, causes);
  for (const { alike, weights } of groups.values()) {
    const whole = alike.reduce((sum, { total }) => sum + total, 0);
    const middle = alike.reduce((sum, { node, total }) => sum + total * node.scale ** 2, 0) / whole;
    const off = ({ node }: { node: Node }): number => Math.abs(node.scale ** 2 - middle);
    const { node } = alike.reduce((nearest, one) => (off(one) < off(nearest) ? one : nearest));
    const kept = weights.map((weight, s) => weight * factors[s]!);
    const moments = momentsAt(node, order, kept);
    addNode(
      node,
      kept.reduce((sum, weight) => sum + weight, 0),
      moments.first,
      moments.second,
      core,
      inner,
      mean,
      second,
    );
  }
  for (let i = 0; i < all; i++) for (let j = 0; j < all; j++) second[i * all + j]! -= mean[i]! * mean[j]!;
  const precision = new Float64Array(inner).fill(Number.POSITIVE_INFINITY);
  causes.forEach(({ places }, c) => {
    const state = sets[likeliest.set]![c]!;
    if (state > 0) for (const place of places) precision[place] = state === 1 ? 1 : WIDER_PRECISION;
  });
  return {
    mean,
    covariance: second,
    price,
    acts: new Map(causes.map(({ name }, c) => [name, actsAmong(told, sets, c)])),
    residue: {
      probability: Math.min(1, residueProbability),
      amplitudeArcmin: residueProbability > 0 ? amplitude / residueProbability : 0,
    },
    errorScale: { value: scaleMean, uncertainty: Math.sqrt(Math.max(0, scaleSquare - scaleMean ** 2)) },
    likeliest: { amplitude: likeliest.node.amplitude, scale: likeliest.node.scale, precision },
  };
}

/**
 * χ² of a night with the likeliest residue and causes, errors as expected. Where the night is so far off that rounding
 * leaves nothing of it: with errors as large as is likeliest.
 */
export function chiSquareOf(nodes: Nodes, { amplitude, scale, precision }: Posterior["likeliest"]): number {
  for (const width of [1, scale]) {
    const node = nodes.at(amplitude, width);
    if (node === null) continue;
    const triangle = pricingTriangle(node);
    let count = 0;
    precision.forEach((held, place) => {
      if (Number.isFinite(held)) triangle.put(count++, place, held);
    });
    if (Number.isFinite(triangle.price(count))) return Math.max(0, triangle.squareOf(count));
  }
  return Number.POSITIVE_INFINITY;
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
  nodes: Nodes,
  { likeliest, acts }: Posterior,
): { mean: Float64Array; covariance: Float64Array } | null {
  const node = nodes.at(likeliest.amplitude, likeliest.scale);
  if (node === null) return null;
  const causes = causesOf(layout);
  const counts = ({ name }: CauseColumns): boolean =>
    !OF_ONE_NIGHT.has(name) || (acts.get(name) ?? 0) >= COUNTS_FROM;
  return normalAt(
    nodes,
    node,
    Uint8Array.from(causes, (cause) => (counts(cause) ? 1 : 0)),
    causes,
  );
}

/** The same with errors as expected, no residue and no cause: least squares; null where rounding leaves nothing. */
export function withoutCauses(
  nodes: Nodes,
): { mean: Float64Array; covariance: Float64Array; square: number } | null {
  const node = nodes.at(0, 1);
  const normal = node === null ? null : normalAt(nodes, node, new Uint8Array(0), []);
  return normal === null ? null : { ...normal, square: node!.square };
}

/** One set of causes at one node. */
function normalAt(
  { core, inner }: Nodes,
  node: Node,
  set: Causes,
  causes: readonly CauseColumns[],
): { mean: Float64Array; covariance: Float64Array } | null {
  const all = core + inner;
  const order = inOrder([set], causes);
  if (!Number.isFinite(pricesAt(node, order)[0]!)) return null;
  const { first, second } = momentsAt(node, order, Float64Array.of(1));
  const mean = new Float64Array(all);
  const covariance = new Float64Array(all * all);
  addNode(node, 1, first, second, core, inner, mean, covariance);
  for (let i = 0; i < all; i++) for (let j = 0; j < all; j++) covariance[i * all + j]! -= mean[i]! * mean[j]!;
  return { mean, covariance };
}
