/**
 * Long nights: so many sightings mostly tell their story so plainly that no other need be searched for. Where they do not,
 * settings and clock are looked for on a few of them; the search on all of them is bounded. The search of a short night
 * weighs hundreds of explanations; with a season's plate-solved pictures each weighs a second.
 */
import { DEGREE } from "../angles.js";
import { clockVerdict, mendedClock, starsBelowHorizon } from "./clock.js";
import { comparisons } from "./comparisons.js";
import {
  areBelievable,
  type Explained,
  termsCalledFor,
  withCalledTerms,
  withCalledTermsInstead,
} from "./empirical-terms.js";
import { countUsed, type Explanation, outlierPrice, setAsideCount } from "./explanation.js";
import { fewSightings } from "./few-sightings.js";
import { stepProposals } from "./jumps.js";
import { fittedCoefficients } from "./layout.js";
import { type Workbench, workbench } from "./mount-problem.js";
import type { NightExplained } from "./night-explained.js";
import { fitExplanation, type Outcome, termValue } from "./outcome.js";
import { explain, improve, withFarOnesAside } from "./search.js";
import { explainWithSettings } from "./settings.js";

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

/** As it stands, or with empirical terms; null where it does not tell plainly so. */
function asItStands(bench: Workbench, base: Explanation): Explained | null {
  const first = fitExplanation(bench, base);
  if (tellsPlainly(bench, first)) return { outcome: first, called: [] };
  const wider = termsCalledFor(bench, { outcome: first, called: [] }, fitExplanation);
  const believable = wider.called.every(({ names }) => areBelievable(names, wider.outcome, bench.night));
  return wider.called.length > 0 && believable && tellsPlainly(bench, wider.outcome) ? wider : null;
}

/** The best explanation that keeps the settings of `base`. */
function explainAll(bench: Workbench, base: Explanation, few: Outcome): Explained {
  return asItStands(bench, base) ?? searchAll(bench, base, few);
}

/** The same, where it does not tell plainly as it stands: improved from the terms that a few tell, then from there. */
function searchAll(bench: Workbench, base: Explanation, few: Outcome): Explained {
  const terms = fittedCoefficients(few.layout, few.solution.parameters, bench.model.size);
  const near = withFarOnesAside(bench, base, terms, few.scale);
  const improved = improve(bench, fitExplanation(bench, near, terms));
  if (tellsPlainly(bench, improved)) return { outcome: improved, called: [] };
  const other = improve(bench, fitExplanation(bench, base));
  return { outcome: other.cost < improved.cost ? other : improved, called: [] };
}

/**
 * Explains a long night: settings, clock, jumps, and sightings set aside.
 *
 * @param base - the explanation that the night begins with
 * @param trustClock - the clock is not doubted
 * @returns null for a short night
 */
export function explainLongNight(
  bench: Workbench,
  base: Explanation,
  trustClock: boolean,
): NightExplained | null {
  if (countUsed(base.used) < LONG) return null;
  const plain = asItStands(bench, base);
  const few = fewSightings(bench, base);
  const sample =
    plain === null
      ? explainWithSettings(few.bench, few.base, (of, outcome) => !tellsPlainly(of, outcome))
      : { plain: explain(few.bench, few.base), verdict: null };
  if (sample.verdict !== null) {
    const { outcome, others } = sample.verdict;
    const { hourAngleFactor, declinationFactor, exchanged } = outcome.explanation;
    const set = { ...base, hourAngleFactor, declinationFactor, exchanged };
    const all = withCalledTerms(bench, explainAll(bench, set, outcome));
    return { bench, ...all, settings: { outcome: all.outcome, others }, clock: null };
  }
  const asWritten = { outcome: sample.plain, called: [] };
  const verdict = trustClock
    ? null
    : clockVerdict(few.bench, few.base, withCalledTermsInstead(few.bench, asWritten));
  const clock = verdict && {
    verdict: { ...verdict, belowHorizon: starsBelowHorizon(bench.night, base.used) },
    asWritten: sample.plain,
  };
  if (verdict !== null && verdict.mended !== null && verdict.fault !== null) {
    const mended = workbench(mendedClock(bench.night, verdict.fault));
    const all = withCalledTerms(mended, explainAll(mended, base, verdict.mended.outcome));
    return { bench: mended, ...all, settings: null, clock };
  }
  const all = withCalledTerms(bench, plain ?? searchAll(bench, base, sample.plain));
  return { bench, ...all, settings: null, clock };
}
