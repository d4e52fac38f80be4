/**
 * ml-matrix as Node.js has it: required rather than imported, for an import first reads the whole bundle through for the
 * names that it gives, which takes longer than to run it. A browser gets the package itself: "imports" in package.json.
 */
import { createRequire } from "node:module";

const matrices = createRequire(import.meta.url)("ml-matrix") as typeof import("ml-matrix");

export const {
  CholeskyDecomposition,
  EigenvalueDecomposition,
  inverse,
  Matrix,
  pseudoInverse,
  SingularValueDecomposition,
  solve,
} = matrices;
export type Matrix = import("ml-matrix").Matrix;
