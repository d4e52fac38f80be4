/**
 * Settings of the mount file that the readings contradict: an encoder that counts the other way, steps a turn that
 * are half, twice or four times the truth, the two columns exchanged. Each is an explanation like any other and is
 * judged by the same cost.
 */
import { DEGREE } from "../angles.js";
import { chiSquareProbability } from "./distributions.js";
import type { Explanation } from "./explanation.js";
import { setAsideCount } from "./explanation.js";
import type { Workbench } from "./mount-problem.js";
import { fitExplanation, type Outcome, termValue } from "./outcome.js";
import { type RoughStart, refineStart, roughStarts } from "./rough-start.js";
import { explainFrom, improve, isClean, PAIRS as SEARCH_PAIRS } from "./search.js";

/** What the file's angle may have to be multiplied by. */
const FACTORS = [1, -1, 2, -2, 0.5, -0.5, 4, -4, 0.25, -0.25];
/** Price of a wrong setting: one mount file in about e^(price/2) has it. */
const SETTING_PRICE = 16;
/** Pairs tried for each setting: a few to sieve them, more for those that are left. */
const SIEVE_PAIRS = 12;
const PAIRS = 40;
const SIEVED = 12;
const KEPT = 4;
/** Two settings whose costs differ by less than this cannot be told apart. */
const AMBIGUOUS = 8;
/** A polar axis is hardly set worse than this (1σ); part of the judgement between settings only. */
const AXIS_SPREAD = 8 * DEGREE;

/** A setting that explains the night, and others that do so about as well. */
export interface SettingsVerdict {
  readonly outcome: Outcome;
  readonly others: readonly Outcome[];
}

function isPlain(explanation: Explanation): boolean {
  return explanation.hourAngleFactor === 1 && explanation.declinationFactor === 1 && !explanation.exchanged;
}

/** The cost with the price of a wrong setting and of an implausible axis. */
function settingCost(bench: Workbench, outcome: Outcome): number {
  const { explanation } = outcome;
  const wrong =
    (explanation.hourAngleFactor === 1 ? 0 : 1) +
    (explanation.declinationFactor === 1 ? 0 : 1) +
    (explanation.exchanged ? 1 : 0);
  const axis =
    (termValue(outcome, bench.night, "polarAltitude") / AXIS_SPREAD) ** 2 +
    (termValue(outcome, bench.night, "polarEast") / AXIS_SPREAD) ** 2;
  return outcome.cost + wrong * SETTING_PRICE + axis;
}

/** Whether an outcome is bad enough for its settings to be doubted. */
function settingsDoubtful(bench: Workbench, outcome: Outcome): boolean {
  const { explanation, solution, problem } = outcome;
  const used = problem.usedRows.length;
  const aside = setAsideCount(explanation, bench.night);
  if (used + aside < 4) return false;
  const axis = Math.hypot(
    termValue(outcome, bench.night, "polarAltitude"),
    termValue(outcome, bench.night, "polarEast"),
  );
  return (
    aside > 0.15 * (used + aside) ||
    outcome.scale > 1.8 ||
    explanation.hourAngleBreaks.length + explanation.declinationBreaks.length > 1 ||
    axis > 10 * DEGREE ||
    chiSquareProbability(solution.sumOfSquares, problem.rows - problem.size) < 1e-6
  );
}

/** Other settings in the order in which the rough search finds them likely. */
function likelySettings(bench: Workbench, base: Explanation): { trial: Explanation; start: RoughStart }[] {
  const { readings } = bench.night.mount;
  const hourFactors = readings.hourAngle.as === "rightAscension" ? [1] : FACTORS;
  const trials: Explanation[] = [];
  for (const hourAngleFactor of hourFactors)
    for (const declinationFactor of FACTORS)
      trials.push({ ...base, hourAngleFactor, declinationFactor, exchanged: false });
  if (readings.hourAngle.as === readings.declination.as) {
    for (const hourAngleFactor of [1, -1])
      for (const declinationFactor of [1, -1])
        trials.push({ ...base, hourAngleFactor, declinationFactor, exchanged: true });
  }
  const rank = (list: readonly Explanation[], pairs: number, keep: number) =>
    list
      .flatMap((trial) => roughStarts(bench, trial, pairs, 1).map((start) => ({ trial, start })))
      .sort((a, b) => a.start.disagreement - b.start.disagreement)
      .slice(0, keep);
  const sieved = rank(
    trials.filter((trial) => !isPlain(trial)),
    SIEVE_PAIRS,
    SIEVED,
  );
  return rank(
    sieved.map(({ trial }) => trial),
    PAIRS,
    KEPT,
  );
}

/** Tries other settings; null where the file's own explain the night best. */
function otherSettings(
  bench: Workbench,
  likely: readonly { trial: Explanation; start: RoughStart }[],
  plain: Outcome,
): SettingsVerdict | null {
  const outcomes = likely
    .map(({ trial, start }) => improve(bench, refineStart(bench, trial, start)))
    .map((outcome) => ({ outcome, cost: settingCost(bench, outcome) }))
    .sort((a, b) => a.cost - b.cost);
  const best = outcomes[0];
  if (!best || best.cost > settingCost(bench, plain) - AMBIGUOUS) return null;
  return {
    outcome: best.outcome,
    others: outcomes
      .slice(1)
      .filter(({ cost }) => cost < best.cost + AMBIGUOUS)
      .map(({ outcome }) => outcome),
  };
}

/** From this disagreement of the best rough start on, other settings are looked at before a long search. */
const BAD_START = 1.5;
/** How much better another setting's rough start must be for the long search to be spared. */
const FAR_BETTER = 0.3;
/** A rough start whose sightings nearly all agree. */
const GOOD_START = 0.9;

/**
 * The best explanation of a night, settings included.
 *
 * @param isDoubtful - whether an explanation is bad enough for its settings to be doubted
 */
export function explainWithSettings(
  bench: Workbench,
  base: Explanation,
  isDoubtful = settingsDoubtful,
): { plain: Outcome; verdict: SettingsVerdict | null; doubtful: boolean } {
  const first = fitExplanation(bench, base);
  if (isClean(bench, first)) {
    if (!isDoubtful(bench, first)) return { plain: first, verdict: null, doubtful: false };
  }
  const rough = roughStarts(bench, base, SEARCH_PAIRS, 3);
  const start = rough[0];
  let likely: { trial: Explanation; start: RoughStart }[] | null = null;
  if (start && start.disagreement > BAD_START) {
    likely = likelySettings(bench, base);
    const better = likely[0]?.start.disagreement ?? Number.POSITIVE_INFINITY;
    if (better < GOOD_START && better < FAR_BETTER * start.disagreement) {
      const plain = refineStart(bench, base, start);
      const cheaper = first.cost < plain.cost ? first : plain;
      const verdict = otherSettings(bench, likely, cheaper);
      if (verdict && !isDoubtful(bench, verdict.outcome)) return { plain: cheaper, verdict, doubtful: true };
    }
  }
  const plain = explainFrom(bench, base, first, rough);
  if (!isDoubtful(bench, plain)) return { plain, verdict: null, doubtful: false };
  return {
    plain,
    verdict: otherSettings(bench, likely ?? likelySettings(bench, base), plain),
    doubtful: true,
  };
}
