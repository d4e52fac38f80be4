/**
 * Long nights: so many sightings tell their story so plainly that no other need be searched for. The search of a
 * short night weighs hundreds of explanations; with a season's plate-solved pictures each weighs a second.
 */
import { DEGREE } from "../angles.js";
import { comparisons } from "./comparisons.js";
import { type CalledTerm, termsCalledFor } from "./empirical-terms.js";
import { type Explanation, outlierPrice, setAsideCount } from "./explanation.js";
import { stepProposals } from "./jumps.js";
import type { Workbench } from "./mount-problem.js";
import { fitExplanation, type Outcome, termValue } from "./outcome.js";
import { improve } from "./search.js";

/** From so many sightings on a night is long: ten for each unknown. */
const LONG = 100;
/** A plain story leaves out no more than this part of the sightings, … */
const FEW_ASIDE = 0.1;
/** … has no more jumps, … */
const FEW_JUMPS = 2;
/** … fits nearly as well as expected, where a wrong setting misses by degrees, … */
const NEARLY_AS_EXPECTED = 1.5;
/** … and has an axis that somebody could have set. */
const AXIS_LIMIT = 10 * DEGREE;

function tellsPlainly(bench: Workbench, outcome: Outcome): boolean {
  const { problem, solution, explanation, scale } = outcome;
  const used = problem.usedRows.length;
  const aside = setAsideCount(explanation, bench.night);
  const jumps = explanation.hourAngleBreaks.length + explanation.declinationBreaks.length;
  if (solution.stop !== "converged" || scale > NEARLY_AS_EXPECTED) return false;
  if (aside > FEW_ASIDE * (used + aside) || jumps > FEW_JUMPS) return false;
  const altitude = termValue(outcome, bench.night, "polarAltitude");
  if (Math.hypot(altitude, termValue(outcome, bench.night, "polarEast")) > AXIS_LIMIT) return false;
  const { distanceSquared } = comparisons(bench, outcome);
  const limit = outlierPrice(used) * scale ** 2;
  for (const i of problem.usedRows) if (distanceSquared[i]! > limit) return false;
  return stepProposals(bench, outcome, scale).length === 0;
}

/**
 * The explanation of a long night that tells it plainly: as it stands, with empirical terms, or after few
 * improvements.
 *
 * @returns null for a short night, or one that must be searched
 */
export function explainLongNight(
  bench: Workbench,
  base: Explanation,
): { outcome: Outcome; called: readonly CalledTerm[] } | null {
  let usable = 0;
  for (const flag of base.used) usable += flag;
  if (usable < LONG) return null;
  const first = fitExplanation(bench, base);
  if (tellsPlainly(bench, first)) return { outcome: first, called: [] };
  if (base.priors) {
    const wider = termsCalledFor(bench, first, fitExplanation);
    if (wider.called.length > 0 && tellsPlainly(bench, wider.outcome)) return wider;
  }
  const better = improve(bench, first);
  return tellsPlainly(bench, better) ? { outcome: better, called: [] } : null;
}
