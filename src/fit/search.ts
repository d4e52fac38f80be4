/**
 * The search for the explanation that fits best: a contaminated normal model with change points, by its posterior
 * odds. Each sighting either follows the model with its expected error or is set aside at a price; each jump of a
 * zero costs a price; one number, the penalised cost, judges every step (see "The statistical model" in
 * DEVELOPERS.md). The search is greedy from several starts, and every step that it takes is a refit.
 */
import { comparisons } from "./comparisons.js";
import { chiSquareProbability } from "./distributions.js";
import { countUsed, type Explanation, outlierPrice, setAsideCount, usableSightings } from "./explanation.js";
import { type JumpProposal, stepProposals, stretchProposal } from "./jumps.js";
import { fittedCoefficients } from "./layout.js";
import type { Workbench } from "./mount-problem.js";
import { fitExplanation, type Outcome } from "./outcome.js";
import { type RoughStart, refineStart, roughStarts } from "./rough-start.js";

/** Pairs tried for a rough start of a night that does not fit as it stands. */
export const PAIRS = 150;
const MOVES = 60;
/** A search fits no more rows than this in all, whatever it has not tried: some seconds' work. */
const ROWS_FITTED = 1_000_000;
/** So many fits a search may always make. */
const LEAST_FITS = 40;

/** The explanation in which nothing went wrong. */
export function plainExplanation(
  bench: Workbench,
  terms: Explanation["terms"],
  priors: boolean,
): Explanation {
  return {
    used: usableSightings(bench.night),
    hourAngleBreaks: [],
    declinationBreaks: [],
    terms,
    priors,
    hourAngleFactor: 1,
    declinationFactor: 1,
    exchanged: false,
  };
}

/** Whether nothing about an outcome asks for another explanation. */
export function isClean(bench: Workbench, outcome: Outcome): boolean {
  const { problem, solution } = outcome;
  if (solution.stop !== "converged") return false;
  if (chiSquareProbability(solution.sumOfSquares, problem.rows - problem.size) < 1e-5) return false;
  const { distanceSquared } = comparisons(bench, outcome);
  const price = outlierPrice(problem.usedRows.length);
  for (const i of problem.usedRows) if (distanceSquared[i]! > price) return false;
  return stepProposals(bench, outcome, outcome.scale).length === 0;
}

/** The best explanation that keeps the settings of `base`, from several starts. */
export function explain(bench: Workbench, base: Explanation, pairs = PAIRS): Outcome {
  const first = fitExplanation(bench, base);
  return isClean(bench, first) ? first : explainFrom(bench, base, first, roughStarts(bench, base, pairs, 3));
}

/** The same, for a night that is known not to fit as it stands. */
export function explainFrom(
  bench: Workbench,
  base: Explanation,
  first: Outcome,
  rough: readonly RoughStart[],
): Outcome {
  let best: Outcome | null = null;
  for (const start of [first, ...rough.map((one) => refineStart(bench, base, one))]) {
    const outcome = improve(bench, start);
    if (!best || outcome.cost < best.cost) best = outcome;
  }
  return best!;
}

/** Greedy improvement: sets aside, takes back, adds and removes jumps, as long as the cost falls. */
export function improve(bench: Workbench, start: Outcome): Outcome {
  let current = start;
  const { night } = bench;
  let fitsLeft = Math.max(LEAST_FITS, ROWS_FITTED / night.count);
  for (let move = 0; move < MOVES && fitsLeft > 0; move++) {
    const proposals: Explanation[] = [];
    const { explanation } = current;
    const distances = comparisons(bench, current).distanceSquared;
    const price = outlierPrice(night.count) * current.scale ** 2;
    let worst = -1;
    let worstDistance = 0;
    const wrong: number[] = [];
    const welcome: number[] = [];
    for (let i = 0; i < night.count; i++) {
      if (!night.sightings[i]!.use) continue;
      const distanceSquared = distances[i]!;
      if (explanation.used[i]) {
        if (distanceSquared > price) wrong.push(i);
        if (distanceSquared > worstDistance) {
          worstDistance = distanceSquared;
          worst = i;
        }
      } else if (distanceSquared < price) welcome.push(i);
    }
    const aside = setAsideCount(explanation, night);
    if (worst >= 0) proposals.push({ ...explanation, used: flipped(explanation.used, [worst]) });
    if (wrong.length > 3) proposals.push({ ...explanation, used: flipped(explanation.used, wrong) });
    if (welcome.length > 0) {
      proposals.push({ ...explanation, used: flipped(explanation.used, welcome) });
      if (welcome.length > 1)
        for (const i of welcome.slice(0, 6))
          proposals.push({ ...explanation, used: flipped(explanation.used, [i]) });
    }
    const stretch = aside + wrong.length >= 2 || current.scale > 1.2 ? stretchProposal(bench, current) : null;
    for (const proposal of [stretch, ...stepProposals(bench, current)]) {
      if (!proposal) continue;
      const jumped = withJumps(explanation, proposal);
      proposals.push(jumped);
      // A large jump usually brings back what had been set aside on its other side.
      if (aside > 0) proposals.push(takenBack(bench, jumped, current));
    }
    for (const key of ["hourAngleBreaks", "declinationBreaks"] as const) {
      for (const place of explanation[key])
        proposals.push({ ...explanation, [key]: explanation[key].filter((other) => other !== place) });
      // A place found in the presence of another fault may be off by a sighting or two.
      for (const place of explanation[key])
        for (const shift of [-1, 1]) {
          const moved = place + shift;
          if (moved <= 0 || moved >= night.count || explanation[key].includes(moved)) continue;
          proposals.push({
            ...explanation,
            [key]: explanation[key].map((other) => (other === place ? moved : other)),
          });
        }
    }
    let best: Outcome | null = null;
    for (const proposal of proposals) {
      if (countUsed(proposal.used) < 2) continue;
      if (!breaksHold(proposal)) continue;
      const outcome = fitExplanation(bench, proposal, current);
      if (!best || outcome.cost < best.cost) best = outcome;
      fitsLeft--;
      if (fitsLeft <= 0) break;
    }
    if (!best || best.cost > current.cost - 1e-3) return current;
    current = best;
  }
  return current;
}

/** A jump needs two used sightings on each side: one alone is as well a mistake of its own. */
function breaksHold(explanation: Explanation): boolean {
  for (const breaks of [explanation.hourAngleBreaks, explanation.declinationBreaks]) {
    const ends = [0, ...breaks, explanation.used.length];
    for (let k = 0; k + 1 < ends.length && breaks.length > 0; k++) {
      let count = 0;
      for (let i = ends[k]!; i < ends[k + 1]!; i++) count += explanation.used[i]!;
      if (count < 2) return false;
    }
  }
  return true;
}

function flipped(flags: Uint8Array, places: readonly number[]): Uint8Array {
  const next = Uint8Array.from(flags);
  for (const i of places) next[i] = next[i] ? 0 : 1;
  return next;
}

function withJumps(explanation: Explanation, proposal: JumpProposal): Explanation {
  const merged = (known: readonly number[], added: readonly number[]): number[] =>
    [...new Set([...known, ...added])].sort((a, b) => a - b);
  return {
    ...explanation,
    hourAngleBreaks: merged(explanation.hourAngleBreaks, proposal.hourAngleBreaks),
    declinationBreaks: merged(explanation.declinationBreaks, proposal.declinationBreaks),
  };
}

/** The same jumps, with every sighting that they bring back into line used again. */
function takenBack(bench: Workbench, explanation: Explanation, from: Outcome): Explanation {
  const coefficients = fittedCoefficients(from.layout, from.solution.parameters, bench.model.size);
  return withFarOnesAside(bench, explanation, coefficients, from.scale);
}

/**
 * An explanation with every sighting used that is near to what terms known beforehand make of it, and no other.
 *
 * @param terms - in the model's order; the zeros of all stretches are taken by their medians instead
 * @param scale - by how much the expected errors seem too small
 */
export function withFarOnesAside(
  bench: Workbench,
  explanation: Explanation,
  terms: Float64Array,
  scale: number,
): Explanation {
  const { night } = bench;
  const used = usableSightings(night);
  const medians = fitExplanation(bench, { ...explanation, used }, terms, "free", 0);
  const found = comparisons(bench, medians);
  const price = outlierPrice(night.count) * scale ** 2;
  const near = Uint8Array.from(used);
  for (let i = 0; i < night.count; i++) {
    if (!used[i]) continue;
    const west = (found.deltaHourAngle[i]! * found.cosDeclination[i]!) / night.sigmaWest[i]!;
    const north = found.deltaDeclination[i]! / night.sigmaNorth[i]!;
    if (west * west + north * north > price) near[i] = 0;
  }
  return { ...explanation, used: near };
}
