/**
 * Terms that enter only when the data call for them: eccentric encoders, wrong ratios, backlash, a builder's own.
 */

import { DEGREE } from "../angles.js";
import type { TermName } from "../mount/terms.js";
import type { ReducedNight } from "../night/reduce.js";
import { addedVariableGain } from "./added-variable.js";
import { chiSquareLimit } from "./distributions.js";
import { type Explanation, scaleProfile, setAsideCount, usableSightings } from "./explanation.js";
import { termIndex, usualTerms } from "./layout.js";
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
  /** What would have done nearly as well: the sightings hardly tell it from the term that was taken in. */
  readonly rivals: readonly (readonly TermName[])[];
}

/** A night explained, with the terms that were taken in besides those that it began with. */
export interface Explained {
  readonly outcome: Outcome;
  readonly called: readonly CalledTerm[];
}

/** A rival is less likely than the term taken in by at most this −2 ln of the odds: one to twenty. */
const RIVAL_WITHIN = 6;

/**
 * Takes in, besides those taken in already, the terms that the data call for, the most urgent first; none where the
 * builder chose the terms himself.
 */
export function withCalledTerms(bench: Workbench, explained: Explained): Explained {
  // With a term known, sightings that it had pushed out may come back.
  return termsCalledFor(bench, explained, (_, wider, from) =>
    improve(bench, fitExplanation(bench, wider, from)),
  );
}

/**
 * The same, where sightings were set aside or zeros seen to jump: among few stars a term may first look like a mistake
 * or two. So terms are also called for with every sighting as entered, and the likelier story is kept.
 */
export function withCalledTermsInstead(bench: Workbench, explained: Explained): Explained {
  const { outcome, called } = explained;
  const blaming = withCalledTerms(bench, explained);
  const asEntered = outcome.explanation.priors ? blamingNothing(bench, outcome.explanation) : null;
  if (asEntered === null) return blaming;
  const innocent = withCalledTerms(bench, { outcome: fitExplanation(bench, asEntered, outcome), called });
  return priced(innocent, bench) < priced(blaming, bench) ? innocent : blaming;
}

/** The explanation with every sighting used and no jump, or null where it is so already. */
function blamingNothing(bench: Workbench, explanation: Explanation): Explanation | null {
  const { night } = bench;
  const jumps = explanation.hourAngleBreaks.length + explanation.declinationBreaks.length;
  if (setAsideCount(explanation, night) + jumps === 0) return null;
  return { ...explanation, used: usableSightings(night), hourAngleBreaks: [], declinationBreaks: [] };
}

/** The cost of an outcome, and of the terms that were called for. */
export function priced({ outcome, called }: Explained, bench: Workbench): number {
  const open = candidates(bench, usualTerms).length;
  return called.reduce((sum, { names }) => sum + limitFor(open, names.length), outcome.cost);
}

/**
 * The same, with a choice of what is done once a term is taken in.
 *
 * @param refit - fits an explanation, from an outcome on
 */
export function termsCalledFor(
  bench: Workbench,
  explained: Explained,
  refit: (bench: Workbench, wider: Explanation, from: Outcome) => Outcome,
): Explained {
  if (!explained.outcome.explanation.priors) return explained;
  const called = [...explained.called];
  let current = explained.outcome;
  for (let round = 0; round < ROUNDS; round++) {
    const open = candidates(bench, current.explanation.terms);
    const weighed = open
      .map(({ names }) => {
        const indices = names.map((name) => termIndex(name, bench.night.mount));
        const gain = costSpared(current, addedVariableGain(bench, current, indices));
        return { names, gain, excess: gain - limitFor(open.length, names.length) };
      })
      .sort((a, b) => b.excess - a.excess);
    const [best, ...others] = weighed;
    if (best === undefined || best.excess <= 0) break;
    const rivals = others
      .filter(({ excess }) => excess > best.excess - RIVAL_WITHIN)
      .map(({ names }) => names);
    called.push({ names: best.names, gain: best.gain, rivals });
    const wider = { ...current.explanation, terms: [...current.explanation.terms, ...best.names] };
    current = refit(bench, wider, current);
  }
  return { outcome: current, called };
}

/** What a fall of the sum of squares is worth: each sum with the scale of the errors that goes with it. */
function costSpared({ problem, solution }: Outcome, fall: number): number {
  const rows = 2 * problem.usedRows.length;
  const before = scaleProfile(solution.sumOfSquares, rows).cost;
  return before - scaleProfile(solution.sumOfSquares - fall, rows).cost;
}

/** A ratio further off than this is no scale error but a wrong number of steps. */
const LARGEST_SCALE = 0.1;
/** An encoder further out of centre than this could not turn. */
const LARGEST_ECCENTRICITY = 5 * DEGREE;

/** Whether scale errors and eccentricities came out no larger than anybody's could be. */
export function areBelievable(names: readonly TermName[], outcome: Outcome, night: ReducedNight): boolean {
  return names.every((name) => {
    const size = Math.abs(termValue(outcome, night, name));
    if (name.endsWith("Scale")) return size < LARGEST_SCALE;
    return !name.includes("Eccentric") || size < LARGEST_ECCENTRICITY;
  });
}

const PAIRS = 40;
/** By so much the cost must fall below the plain story's, the terms' own price besides. */
const BETTER = 10;

/**
 * A ratio or an eccentricity far off makes a night look like many faults at once: here they are offered as
 * explanations of their own.
 */
export function withWiderTerms(bench: Workbench, base: Explanation, plain: Outcome): Explained {
  const sets: TermName[][] = [
    ["hourAngleScale"],
    ["declinationScale"],
    ["hourAngleScale", "declinationScale"],
    ["hourAngleEccentricSin", "hourAngleEccentricCos"],
    ["declinationEccentricSin", "declinationEccentricCos"],
  ];
  const weighed = sets
    .map((names) => {
      const outcome = explain(bench, { ...base, terms: [...base.terms, ...names] }, PAIRS);
      return { names, outcome, cost: outcome.cost + limitFor(sets.length, names.length) };
    })
    .filter(({ names, outcome }) => areBelievable(names, outcome, bench.night))
    .sort((a, b) => a.cost - b.cost);
  const [best, ...others] = weighed;
  if (best === undefined || best.cost >= plain.cost - BETTER) return { outcome: plain, called: [] };
  const { names, outcome } = best;
  const rivals = others.filter(({ cost }) => cost < best.cost + RIVAL_WITHIN).map((other) => other.names);
  return { outcome, called: [{ names, gain: plain.cost - outcome.cost, rivals }] };
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
