/**
 * Terms that enter only when the data call for them: eccentric encoders, wrong ratios, backlash, a builder's own.
 */

import { DEGREE } from "../angles.js";
import type { TermName } from "../mount/terms.js";
import { addedVariableGain } from "./added-variable.js";
import { chiSquareLimit } from "./distributions.js";
import type { Explanation } from "./explanation.js";
import { termIndex } from "./layout.js";
import type { Workbench } from "./mount-problem.js";
import { fitExplanation, type Outcome, termValue } from "./outcome.js";
import { explain, improve } from "./search.js";

/** The chance, over a whole clean night, that any term is called for that is not there. */
const FALSE_CALL = 0.004;
/** Rounds of adding: more terms than this are no longer an explanation. */
const ROUNDS = 4;

interface Candidate {
  readonly names: readonly TermName[];
}

function candidates(bench: Workbench, fitted: readonly TermName[]): Candidate[] {
  const { night } = bench;
  const list: Candidate[] = [
    { names: ["hourAngleEccentricSin", "hourAngleEccentricCos"] },
    { names: ["declinationEccentricSin", "declinationEccentricCos"] },
    { names: ["hourAngleScale"] },
    { names: ["declinationScale"] },
  ];
  const bothWays = (key: "hourAngleApproach" | "declinationApproach"): boolean =>
    night.sightings.some((sighting) => sighting[key] === 1) &&
    night.sightings.some((sighting) => sighting[key] === -1);
  if (bothWays("hourAngleApproach")) list.push({ names: ["hourAngleBacklash"] });
  if (bothWays("declinationApproach")) list.push({ names: ["declinationBacklash"] });
  for (const term of night.mount.customTerms) list.push({ names: [term.name as TermName] });
  return list.filter(({ names }) => !names.some((name) => fitted.includes(name)));
}

/** A term that was taken in, and by how much χ² fell. */
export interface CalledTerm {
  readonly names: readonly TermName[];
  readonly gain: number;
}

/** Takes in the terms that the data call for, the most urgent first. */
export function withCalledTerms(
  bench: Workbench,
  outcome: Outcome,
): { outcome: Outcome; called: readonly CalledTerm[] } {
  // With a term known, sightings that it had pushed out may come back.
  return termsCalledFor(bench, outcome, (_, wider, from) =>
    improve(bench, fitExplanation(bench, wider, from)),
  );
}

/**
 * The same, with a choice of what is done once a term is taken in.
 *
 * @param refit - fits an explanation, from an outcome on
 */
export function termsCalledFor(
  bench: Workbench,
  outcome: Outcome,
  refit: (bench: Workbench, wider: Explanation, from: Outcome) => Outcome,
): { outcome: Outcome; called: readonly CalledTerm[] } {
  const called: CalledTerm[] = [];
  let current = outcome;
  for (let round = 0; round < ROUNDS; round++) {
    const open = candidates(bench, current.explanation.terms);
    let best: (CalledTerm & { excess: number }) | null = null;
    for (const { names } of open) {
      const gain =
        addedVariableGain(
          bench,
          current,
          names.map((name) => termIndex(name, bench.night.mount)),
        ) /
        current.scale ** 2;
      const excess = gain - limitFor(open.length, names.length);
      if (excess > 0 && excess > (best?.excess ?? 0)) best = { names, gain, excess };
    }
    if (!best) break;
    called.push({ names: best.names, gain: best.gain });
    const wider = { ...current.explanation, terms: [...current.explanation.terms, ...best.names] };
    current = refit(bench, wider, current);
  }
  return { outcome: current, called };
}

/** What each further term must take off the cost when it is offered from the start. */
const PRICE_PER_TERM = 12;
/** A ratio further off than this is no scale error but a wrong number of steps. */
const LARGEST_SCALE = 0.1;
/** An encoder further out of centre than this could not turn. */
const LARGEST_ECCENTRICITY = 5 * DEGREE;
const PAIRS = 40;

/**
 * A ratio or an eccentricity far off makes a night look like many faults at once: here they are offered as
 * explanations of their own.
 */
export function withWiderTerms(
  bench: Workbench,
  base: Explanation,
  plain: Outcome,
): { outcome: Outcome; called: readonly CalledTerm[] } {
  let best = plain;
  let bestCost = plain.cost - 10;
  let called: readonly CalledTerm[] = [];
  const sets: TermName[][] = [
    ["hourAngleScale"],
    ["declinationScale"],
    ["hourAngleScale", "declinationScale"],
    ["hourAngleEccentricSin", "hourAngleEccentricCos"],
    ["declinationEccentricSin", "declinationEccentricCos"],
  ];
  for (const names of sets) {
    const outcome = explain(bench, { ...base, terms: [...base.terms, ...names] }, PAIRS);
    const cost = outcome.cost + PRICE_PER_TERM * names.length;
    const sensible = names.every(
      (name) =>
        Math.abs(termValue(outcome, bench.night, name)) <
        (name.endsWith("Scale") ? LARGEST_SCALE : LARGEST_ECCENTRICITY),
    );
    if (!sensible || cost >= bestCost) continue;
    best = outcome;
    bestCost = cost;
    called = [{ names, gain: plain.cost - outcome.cost }];
  }
  return { outcome: best, called };
}

const limits = new Map<string, number>();

function limitFor(open: number, degrees: number): number {
  const key = `${open} ${degrees}`;
  let limit = limits.get(key);
  if (limit === undefined) {
    limit = chiSquareLimit(FALSE_CALL / open, degrees);
    limits.set(key, limit);
  }
  return limit;
}
