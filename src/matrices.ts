/**
 * ml-matrix, required rather than imported: for an import Node.js first reads the whole bundle through for the names that it
 * gives, which takes longer than to run it and is felt at the command line's start.
 */
import { createRequire } from "node:module";

const matrices = createRequire(import.meta.url)("ml-matrix") as typeof import("ml-matrix");

export const { CholeskyDecomposition, EigenvalueDecomposition, inverse, Matrix, pseudoInverse, SingularValueDecomposition, solve } =
  matrices;
export type Matrix = import("ml-matrix").Matrix;
