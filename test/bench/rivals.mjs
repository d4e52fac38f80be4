// The same least squares by general libraries: ml-levenberg-marquardt with its own slopes, ml-matrix with ours.
import { levenbergMarquardt } from "ml-levenberg-marquardt";
import { Matrix, QrDecomposition } from "ml-matrix";

const ARCMINUTE = Math.PI / 180 / 60;

/**
 * Weighted rows of a night: one function of the unknowns, arcminutes, for each row, the tolerances' rows last.
 *
 * @param lib - the library; its reduction and its model are used, so that only the least squares differ
 */
export function rowsOf(lib, night, terms, priors) {
  const bench = lib.benchOf(lib.reduceNight(night), priors ? null : terms);
  const story = lib.storyOf(bench.night, []);
  const layout = lib.layOut(bench, story);
  const problem = lib.rowsOf(bench, story, layout, new Float64Array(layout.columns.length));
  const width = terms.length + 1;
  const block = new Float64Array(problem.rows * width);
  const radians = new Float64Array(terms.length);
  const fill = (arcminutes, slopes) => {
    for (let j = 0; j < radians.length; j++) radians[j] = arcminutes[j] * ARCMINUTE;
    problem.evaluate(radians, 0, problem.rows, block, slopes);
    return block;
  };
  return { rows: problem.rows, size: terms.length, width, fill };
}

/** Zeros near enough for a general solver: those of the library's own start, to a degree. */
export const startFrom = (fit) =>
  fit.terms.map((term) => (term.name.endsWith("Zero") ? Math.round(term.value / 60) * 60 : 0));

export function byLevenbergMarquardt(problem, start) {
  let known = null;
  let values = null;
  const row = (parameters) => {
    // Asked for row by row: the rows of one set of parameters are computed once.
    if (known !== parameters) {
      known = parameters;
      const block = problem.fill(parameters, false);
      values = new Float64Array(problem.rows);
      for (let i = 0; i < problem.rows; i++) values[i] = block[i * problem.width + problem.size];
    }
    return (i) => values[i];
  };
  const x = Array.from({ length: problem.rows }, (_, i) => i);
  const y = new Array(problem.rows).fill(0);
  const { parameterValues } = levenbergMarquardt({ x, y }, (parameters) => row([...parameters]), {
    initialValues: start,
    gradientDifference: 1e-3,
    damping: 1e-3,
    maxIterations: 20,
    errorTolerance: 1e-12,
    centralDifference: true,
  });
  return parameterValues;
}

/** Gauss's and Newton's steps on the whole matrix of slopes. */
export function byMlMatrix(problem, start) {
  const parameters = Float64Array.from(start);
  for (let step = 0; step < 6; step++) {
    const block = problem.fill(parameters, true);
    const slopes = new Matrix(problem.rows, problem.size);
    const residual = new Matrix(problem.rows, 1);
    for (let i = 0; i < problem.rows; i++) {
      for (let j = 0; j < problem.size; j++) slopes.set(i, j, block[i * problem.width + j] * ARCMINUTE);
      residual.set(i, 0, block[i * problem.width + problem.size]);
    }
    const change = new QrDecomposition(slopes).solve(residual);
    let length = 0;
    for (let j = 0; j < problem.size; j++) {
      parameters[j] -= change.get(j, 0);
      length = Math.max(length, Math.abs(change.get(j, 0)));
    }
    if (length < 1e-4) break;
  }
  return parameters;
}
