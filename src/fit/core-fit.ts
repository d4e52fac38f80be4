/**
 * The fit of the columns that always act: the place at which everything else is linear.
 */
import { CONE, DECLINATION_ZERO, HOUR_ANGLE_ZERO, POLAR_ALTITUDE, POLAR_EAST } from "../mount/model.js";
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

/** No polar axis stands so far off; a fit that says so was drawn there by a wrong star, or has turned the axis right round. */
const FAR_OFF = Math.PI / 2;
/** Rows that are off by so many standard deviations, in the mean, are not fitted. */
const NOT_FITTED = 10;

/** A star that is no longer among the sightings may have drawn the fit before so far away that no way leads back from there. */
function isAstray({ columns }: Layout, { rows, parameters, solution }: CoreFit): boolean {
  const valueAt = (wanted: number): number =>
    parameters[columns.findIndex(({ place }) => place === wanted)] ?? 0;
  return (
    solution.stop !== "converged" ||
    solution.sumOfSquares > NOT_FITTED ** 2 * rows.rows ||
    Math.hypot(valueAt(POLAR_ALTITUDE), valueAt(POLAR_EAST)) > FAR_OFF
  );
}

/** Whether some rows have every zero and cone that there is. */
function touchesAll(layout: Layout, some: Int32Array): boolean {
  const seen = new Set<number>();
  for (const i of some)
    for (const own of [layout.hourAngleZero, layout.declinationZero, layout.cone]) seen.add(own[i]!);
  return layout.columns.every(
    ({ place }, j) =>
      (place !== HOUR_ANGLE_ZERO && place !== DECLINATION_ZERO && place !== CONE) || seen.has(j),
  );
}

/** Of so many sightings a few set the place about which all are looked at. */
const MANY = 800;
const FEW = 240;
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
  const many = first.usedRows.length >= MANY && iterationLimit > 0;
  // A few rows set the medians as well as all do.
  const stride = many ? Math.floor(first.usedRows.length / FEW) : 1;
  const some = many ? first.usedRows.filter((_, k) => k % stride === 0) : first.usedRows;
  const sample = many && touchesAll(layout, some) ? rowsOf(bench, story, layout, none, some) : first;
  let start = startingPoint(sample, before);
  if (sample !== first) {
    const few = rowsOf(bench, story, layout, start, some);
    const solution = minimise(few, start.subarray(0, layout.core), { tolerance: 1e-2 });
    if (solution.stop === "converged") {
      start = Float64Array.from(start);
      start.set(solution.parameters);
      return { rows: few, parameters: start, solution };
    }
  }
  const rows = rowsOf(bench, story, layout, start);
  const solution = minimise(rows, start.subarray(0, layout.core), { tolerance: TOLERANCE, iterationLimit });
  const parameters = Float64Array.from(start);
  parameters.set(solution.parameters);
  const found = { rows, parameters, solution };
  if (before === null || iterationLimit === 0 || !isAstray(layout, found)) return found;
  const afresh = fitCore(bench, story, layout, null, iterationLimit);
  return afresh.solution.sumOfSquares < solution.sumOfSquares ? afresh : found;
}
