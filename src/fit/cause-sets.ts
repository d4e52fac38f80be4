/**
 * Sets of the causes that may act, each there or not and with either width: their odds, and what the rows say of them at a
 * node. Many sets are priced one after the other in an order in which neighbours share their first columns, so that a set
 * costs little more than the rows of a triangle in which it differs from the one before.
 */

import type { CauseName } from "../mount/terms.js";
import { CAUSE_CHANCE, type Chance, POOR_CHANCE, POOR_ENCODERS, priceOf, WIDER } from "./beliefs.js";
import type { Layout } from "./columns.js";
import { type Node, ROUNDING } from "./nodes.js";

/** One set of causes: for each, 0 not there, 1 there, 2 there and wider. */
export type Causes = Uint8Array;

export interface CauseColumns {
  readonly name: CauseName;
  /** Places among the causes' columns. */
  readonly places: readonly number[];
  /** −2 ln of its odds where each cause acts for itself. */
  readonly prices: StatePrices;
  /** The same on a mount whose encoders are poor. */
  readonly poorPrices: StatePrices;
}

/** Not there, there, there and wider. */
type StatePrices = readonly [number, number, number];

const statePrices = ({ acts, wider }: Chance): StatePrices => [
  priceOf(1 - acts),
  priceOf(acts * (1 - wider)),
  priceOf(acts * wider),
];

/** The causes of a layout. */
export function causesOf(layout: Layout): CauseColumns[] {
  const causes = new Map<CauseName, number[]>();
  layout.columns.slice(layout.core).forEach(({ cause }, place) => {
    if (cause !== null) causes.set(cause, [...(causes.get(cause) ?? []), place]);
  });
  return [...causes].map(([name, places]) => {
    const prices = statePrices(CAUSE_CHANCE[name]);
    const poor = POOR_CHANCE[name];
    return { name, places, prices, poorPrices: poor === undefined ? prices : statePrices(poor) };
  });
}

const USUAL_PRICE = priceOf(1 - POOR_ENCODERS);
const POOR_PRICE = priceOf(POOR_ENCODERS);

/** −2 ln of the odds of a set. */
export function oddsOf(set: Causes, causes: readonly CauseColumns[]): number {
  let own = USUAL_PRICE;
  let poor = POOR_PRICE;
  for (let c = 0; c < causes.length; c++) {
    own += causes[c]!.prices[set[c]!]!;
    poor += causes[c]!.poorPrices[set[c]!]!;
  }
  const least = Math.min(own, poor);
  return least - 2 * Math.log(Math.exp((least - own) / 2) + Math.exp((least - poor) / 2));
}

/** The precision of a cause's column there and wider, in units of its width. */
export const WIDER_PRECISION = 1 / WIDER ** 2;

/** The columns of sets, in the order in which they are priced. */
export interface SetOrder {
  readonly sets: readonly Causes[];
  /** How many of its first columns a set shares with the one before, how many it has, and where they stand below. */
  readonly shared: Int32Array;
  readonly counts: Int32Array;
  readonly starts: Int32Array;
  readonly places: Int32Array;
  readonly precision: Float64Array;
}

/** Brings sets into order. */
export function inOrder(unordered: readonly Causes[], causes: readonly CauseColumns[]): SetOrder {
  const sets = [...unordered].sort((a, b) => {
    let c = 0;
    while (c < a.length && a[c] === b[c]) c++;
    return c < a.length ? a[c]! - b[c]! : 0;
  });
  const shared = new Int32Array(sets.length);
  const counts = new Int32Array(sets.length);
  const starts = new Int32Array(sets.length);
  const places: number[] = [];
  const precision: number[] = [];
  sets.forEach((set, s) => {
    starts[s] = places.length;
    const before = sets[s - 1];
    let same = before !== undefined;
    for (let c = 0; c < set.length; c++) {
      if (same && set[c] !== before![c]) same = false;
      if (set[c] === 0) continue;
      for (const place of causes[c]!.places) {
        if (same) shared[s]!++;
        places.push(place);
        precision.push(set[c] === 1 ? 1 : WIDER_PRECISION);
      }
    }
    counts[s] = places.length - starts[s]!;
  });
  return {
    sets,
    shared,
    counts,
    starts,
    places: Int32Array.from(places),
    precision: Float64Array.from(precision),
  };
}

/** A triangle that grows and shrinks by columns of causes at a node. Columns that stand already are not put again. */
class CauseTriangle {
  private readonly rows: Float64Array;
  private readonly inverse: Float64Array;
  private readonly values: Float64Array;
  /** By how many columns there are: what is left of the quadratic form, and the determinant. */
  private readonly squares: Float64Array;
  private readonly determinants: Float64Array;
  private readonly solved: Float64Array;
  private readonly placed: Int32Array;
  private readonly precisions: Float64Array;
  private standing = 0;
  private readonly size: number;

  constructor(
    private readonly node: Node,
    /** Whether values and their covariance are wanted too. */
    private readonly moments: boolean,
  ) {
    const size = node.side.length;
    this.size = size;
    this.rows = new Float64Array(size * size);
    this.inverse = new Float64Array(moments ? size * size : 0);
    this.values = new Float64Array(moments ? size * (size + 1) : 0);
    this.squares = new Float64Array(size + 1);
    this.determinants = new Float64Array(size + 1);
    this.solved = new Float64Array(size);
    this.placed = new Int32Array(size);
    this.precisions = new Float64Array(size);
    this.squares[0] = node.square;
    this.determinants[0] = 1;
  }

  /** Puts a column behind the first `i`. */
  put(i: number, place: number, precision: number): void {
    const { size, rows, placed, precisions, solved } = this;
    if (i < this.standing && placed[i] === place && precisions[i] === precision) return;
    const { inner, side } = this.node;
    placed[i] = place;
    precisions[i] = precision;
    this.standing = i + 1;
    const own = i * size;
    const from = place * size;
    let value = side[place]!;
    let square = inner[from + place]! + precision;
    for (let j = 0; j < i; j++) {
      const other = j * size;
      let sum = inner[from + placed[j]!]!;
      for (let k = 0; k < j; k++) sum -= rows[own + k]! * rows[other + k]!;
      sum *= rows[other + j]!;
      rows[own + j] = sum;
      square -= sum * sum;
      value -= sum * solved[j]!;
    }
    square = Math.max(square, Number.MIN_VALUE);
    // The diagonal is kept as its inverse.
    const root = 1 / Math.sqrt(square);
    rows[own + i] = root;
    value *= root;
    solved[i] = value;
    this.squares[i + 1] = this.squares[i]! - value * value;
    this.determinants[i + 1] = (this.determinants[i]! * square) / precision;
    if (this.moments) this.putMoments(i, root, value);
  }

  private putMoments(i: number, root: number, value: number): void {
    const { size, rows, inverse, values } = this;
    const own = i * size;
    for (let a = 0; a < i; a++) {
      let sum = 0;
      for (let k = a; k < i; k++) sum -= rows[own + k]! * inverse[k * size + a]!;
      inverse[own + a] = sum * root;
    }
    inverse[own + i] = root;
    for (let a = 0; a < i; a++) values[own + size + a] = values[own + a]! + inverse[own + a]! * value;
    values[own + size + i] = root * value;
  }

  /** −2 ln of the density of the rows with the first `count` columns, odds not counted. */
  price(count: number): number {
    const square = this.squares[count]!;
    if (square < -ROUNDING * (1 + this.node.square)) return Number.POSITIVE_INFINITY;
    return square + this.node.logs + Math.log(this.determinants[count]!);
  }

  /** What is left of the quadratic form with the first `count` columns. */
  squareOf(count: number): number {
    return this.squares[count]!;
  }

  /** Adds a weight's part of the first moments of `count` columns, and of the second what their values make. */
  addValues(count: number, weight: number, first: Float64Array, second: Float64Array): void {
    const { size, values, placed } = this;
    const row = count * size;
    for (let a = 0; a < count; a++) {
      const value = weight * values[row + a]!;
      first[placed[a]!]! += value;
      for (let b = 0; b <= a; b++) this.addTo(second, placed[a]!, placed[b]!, value * values[row + b]!);
    }
  }

  /** Adds what row `i` of the inverse makes of the second moments. */
  addSpread(i: number, weight: number, second: Float64Array): void {
    const { size, inverse, placed } = this;
    for (let a = 0; a <= i; a++) {
      const entry = weight * inverse[i * size + a]!;
      for (let b = 0; b <= a; b++) this.addTo(second, placed[a]!, placed[b]!, entry * inverse[i * size + b]!);
    }
  }

  private addTo(second: Float64Array, a: number, b: number, value: number): void {
    second[a * this.size + b]! += value;
    if (a !== b) second[b * this.size + a]! += value;
  }
}

const kept = new WeakMap<Node, CauseTriangle>();

/** The triangle of a node for prices alone: one for all who ask. */
export function pricingTriangle(node: Node): CauseTriangle {
  let triangle = kept.get(node);
  if (triangle === undefined) {
    triangle = new CauseTriangle(node, false);
    kept.set(node, triangle);
  }
  return triangle;
}

/** How many columns a set has. */
export function columnCount(set: Causes, causes: readonly CauseColumns[]): number {
  return causes.reduce((sum, { places }, c) => sum + (set[c] === 0 ? 0 : places.length), 0);
}

/** −2 ln of the density of the rows with each set at a node, odds not counted. */
export function pricesAt(node: Node, order: SetOrder): Float64Array {
  const { shared, counts, starts, places, precision } = order;
  const triangle = pricingTriangle(node);
  const prices = new Float64Array(counts.length);
  for (let s = 0; s < counts.length; s++) {
    for (let i = shared[s]!; i < counts[s]!; i++)
      triangle.put(i, places[starts[s]! + i]!, precision[starts[s]! + i]!);
    prices[s] = triangle.price(counts[s]!);
  }
  return prices;
}

/**
 * The same for one set, in a triangle that is used again and again.
 *
 * @param last - the cause that stands behind all others: sets that differ in it alone share the rest
 */
export function priceOfSet(
  triangle: CauseTriangle,
  set: Causes,
  causes: readonly CauseColumns[],
  last = -1,
): number {
  let count = 0;
  const put = (c: number): void => {
    if (set[c] === 0) return;
    for (const place of causes[c]!.places) triangle.put(count++, place, set[c] === 1 ? 1 : WIDER_PRECISION);
  };
  for (let c = 0; c < causes.length; c++) if (c !== last) put(c);
  if (last >= 0) put(last);
  return triangle.price(count);
}

/** First and second moments of the causes' columns at a node, over sets by their weights. */
export function momentsAt(
  node: Node,
  order: SetOrder,
  weights: Float64Array,
): { first: Float64Array; second: Float64Array } {
  const { shared, counts, starts, places, precision } = order;
  const size = node.side.length;
  const first = new Float64Array(size);
  const second = new Float64Array(size * size);
  const triangle = new CauseTriangle(node, true);
  // The weight of all sets that share a row of the triangle: told when the row is given up.
  const spread = new Float64Array(size + 1);
  let depth = 0;
  const giveUp = (to: number): void => {
    for (; depth > to; depth--) {
      const weight = spread[depth - 1]!;
      if (weight > 0) triangle.addSpread(depth - 1, weight, second);
      if (depth > 1) spread[depth - 2]! += weight;
      spread[depth - 1] = 0;
    }
  };
  for (let s = 0; s < counts.length; s++) {
    giveUp(shared[s]!);
    const count = counts[s]!;
    for (; depth < count; depth++)
      triangle.put(depth, places[starts[s]! + depth]!, precision[starts[s]! + depth]!);
    const weight = weights[s]!;
    if (!(weight > 0) || count === 0) continue;
    spread[count - 1]! += weight;
    triangle.addValues(count, weight, first, second);
  }
  giveUp(0);
  return { first, second };
}
