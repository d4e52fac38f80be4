/**
 * The fit of the columns that always act: the place at which everything else is linear.
 */
import { DECLINATION_ZERO, HOUR_ANGLE_ZERO } from "../mount/model.js";
import type { Bench } from "./bench.js";
import { circularMedian } from "./circular.js";
import type { Layout } from "./columns.js";
import { type LeastSquaresSolution, minimise } from "./least-squares.js";
import { type Rows, rowsOf } from "./rows.js";
import type { Story } from "./story.js";

/** A fitted core: one value a column, the causes' as they were given. */
export interface CoreFit {
  readonly rows: Rows;
  readonly parameters: Float64Array;
  readonly solution: LeastSquaresSolution;
}

/** Where a fit begins: another fit's columns and values, or a full set of model coefficients. */
export type Start = { readonly layout: Layout; readonly parameters: Float64Array } | ArrayLike<number> | null;

/** First guesses: terms as before, zeros by the circular median of what is left. */
export function startingPoint(rows: Rows, before: Start): Float64Array {
  const { layout } = rows;
  const start = new Float64Array(layout.columns.length);
  if (before !== null && "layout" in before) {
    layout.columns.forEach((column, j) => {
      const known = before.layout.columns.findIndex(({ place }) => place === column.place);
      if (known >= 0) start[j] = before.parameters[known]!;
    });
  } else if (before !== null) {
    layout.columns.forEach((column, j) => {
      start[j] = before[column.place]!;
    });
  }
  const zeroColumns = new Map<number, number[]>();
  layout.columns.forEach((column, j) => {
    if (column.place === HOUR_ANGLE_ZERO || column.place === DECLINATION_ZERO) {
      zeroColumns.set(j, []);
      start[j] = 0;
    }
  });
  const difference = new Float64Array(3);
  for (const i of rows.usedRows) {
    rows.compare(start, i, difference);
    if (!Number.isNaN(difference[0]!)) zeroColumns.get(layout.hourAngleZero[i]!)?.push(difference[0]!);
    if (!Number.isNaN(difference[1]!)) zeroColumns.get(layout.declinationZero[i]!)?.push(difference[1]!);
  }
  for (const [column, values] of zeroColumns) {
    if (values.length > 0) start[column] = circularMedian(values);
  }
  return start;
}

/** From so many sightings on, a few of them are fitted first. */
const MANY = 8000;
const FEW = 2000;
/** Close enough for everything else to be linear, in standard deviations of a row. */
const TOLERANCE = 1e-3;

/**
 * Fits the core of a story.
 *
 * @param before - where to begin
 * @param iterationLimit - 0 leaves the terms as they are and only sets the zeros to their medians
 */
export function fitCore(
  bench: Bench,
  story: Story,
  layout: Layout,
  before: Start,
  iterationLimit = 60,
): CoreFit {
  const none = new Float64Array(layout.columns.length);
  const first = rowsOf(bench, story, layout, none);
  let start = startingPoint(first, before);
  if (first.usedRows.length >= MANY && iterationLimit > 0) {
    const stride = Math.floor(first.usedRows.length / FEW);
    const few = rowsOf(
      bench,
      story,
      layout,
      start,
      first.usedRows.filter((_, k) => k % stride === 0),
    );
    const found = minimise(few, start.subarray(0, layout.core), { tolerance: 1e-2 });
    if (found.stop === "converged") {
      start = Float64Array.from(start);
      start.set(found.parameters);
    }
  }
  const rows = rowsOf(bench, story, layout, start);
  const solution = minimise(rows, start.subarray(0, layout.core), { tolerance: TOLERANCE, iterationLimit });
  const parameters = Float64Array.from(start);
  parameters.set(solution.parameters);
  return { rows, parameters, solution };
}
