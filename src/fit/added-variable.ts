/**
 * The added-variable test: by how much χ² would fall if further terms were fitted, all others refitted with them,
 * without fitting them (the new columns projected on what is left of the old; Rao's score test for a linear model).
 */

import { fittedCoefficients, ownCoefficients } from "./layout.js";
import type { Workbench } from "./mount-problem.js";
import type { Outcome } from "./outcome.js";

/**
 * The fall of χ² by adding terms together.
 *
 * @param indices - the model's indices of the terms
 * @returns χ² with as many degrees of freedom as terms; 0 where they cannot be told from the others
 */
export function addedVariableGain(bench: Workbench, outcome: Outcome, indices: readonly number[]): number {
  const { night, model, stances, directions } = bench;
  const { problem, solution, layout } = outcome;
  const { size } = problem;
  const k = indices.length;
  const partials = new Float64Array(2 * size);
  const modelPartials = new Float64Array(2 * model.size);
  const readings = new Float64Array(2);
  const difference = new Float64Array(3);
  const coefficients = fittedCoefficients(layout, solution.parameters, model.size);
  const square = new Float64Array(k * k);
  const product = new Float64Array(k);
  const projections = indices.map(() => new Float64Array(size));
  for (const i of problem.usedRows) {
    problem.compare(solution.parameters, i, difference, partials);
    ownCoefficients(layout, solution.parameters, i, coefficients);
    model.forwardVector(
      coefficients,
      directions[3 * i]!,
      directions[3 * i + 1]!,
      directions[3 * i + 2]!,
      stances[i]!,
      readings,
      modelPartials,
    );
    const west = -difference[2]! / night.sigmaWest[i]!;
    const north = -1 / night.sigmaNorth[i]!;
    const residualWest = -difference[0]! * west;
    const residualNorth = -difference[1]! * north;
    for (let a = 0; a < k; a++) {
      const xa = west * modelPartials[indices[a]!]!;
      const ya = north * modelPartials[model.size + indices[a]!]!;
      product[a]! += xa * residualWest + ya * residualNorth;
      const sums = projections[a]!;
      for (let j = 0; j < size; j++) sums[j]! += xa * partials[j]! + ya * partials[size + j]!;
      for (let b = 0; b <= a; b++) {
        const xb = west * modelPartials[indices[b]!]!;
        const yb = north * modelPartials[model.size + indices[b]!]!;
        square[a * k + b]! += xa * xb + ya * yb;
      }
    }
  }
  const solved = projections.map((sums) => solution.factor.solveTransposed(sums));
  // Cholesky of the k × k matrix that is left, and the squared length of the product in it.
  const lower = new Float64Array(k * k);
  const z = new Float64Array(k);
  let gain = 0;
  for (let a = 0; a < k; a++) {
    for (let b = 0; b <= a; b++) {
      let sum = square[a * k + b]!;
      for (let j = 0; j < size; j++) sum -= solved[a]![j]! * solved[b]![j]!;
      for (let c = 0; c < b; c++) sum -= lower[a * k + c]! * lower[b * k + c]!;
      if (a === b) {
        if (sum <= 1e-4 * square[a * k + a]!) return 0;
        lower[a * k + a] = Math.sqrt(sum);
      } else lower[a * k + b] = sum / lower[b * k + b]!;
    }
    let value = product[a]!;
    for (let c = 0; c < a; c++) value -= lower[a * k + c]! * z[c]!;
    z[a] = value / lower[a * k + a]!;
    gain += z[a]! * z[a]!;
  }
  return gain;
}
