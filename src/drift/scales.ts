/**
 * How much larger the drifts' errors are than entered, northward and westward each by itself: a roller's period spoils what is
 * seen westward and leaves the declination alone.
 */
import { chiSquareProbability } from "../fit/distributions.js";

/** What is left over of one measured drift. */
export interface LeftOver {
  /** Over its error as entered. */
  readonly residual: number;
  /** The part of it, 0 to 1, that the solution follows. */
  readonly leverage: number;
}

/** χ² less probable than this says that errors are larger than was said. */
const POOR_PROBABILITY = 0.05;
/** What is left free by fewer measurements than this judges nothing. */
const LEAST_FREEDOM = 0.5;

/** By how much the errors of one way are larger than entered; 1 where chance explains it. */
export function errorScale(leftOver: readonly LeftOver[]): number {
  const sum = leftOver.reduce((total, { residual }) => total + residual ** 2, 0);
  const freedom = leftOver.reduce((total, { leverage }) => total + 1 - leverage, 0);
  if (freedom < LEAST_FREEDOM || chiSquareProbability(sum, freedom) >= POOR_PROBABILITY) return 1;
  return Math.max(1, Math.sqrt(sum / freedom));
}
