/**
 * Which of several zero sets and tube positions count.
 */
import { InputError, shown } from "../errors.js";
import type { TermName } from "../mount/terms.js";

/** The zero set and tube position that count; the last of the night where not given. */
export interface SetChoice {
  readonly zeroSet?: string;
  readonly tubeSet?: string;
}

/** The part of a fitted or kept term that tells its set. */
interface TermOfSet {
  readonly name: TermName;
  /** Null for a term that all sets share. */
  readonly set: string | null;
}

/**
 * The index of each term in force.
 *
 * @param terms - of a fit or a kept model; a term may stand there once for each set
 * @param sets - which sets; of several the last by default
 * @throws {@link InputError} `unknown-set` where there are several sets and none of that name
 */
export function termsInForce(terms: readonly TermOfSet[], sets: SetChoice = {}): Map<TermName, number> {
  const inForce = new Map<TermName, number>();
  terms.forEach((term, index) => {
    const wanted = sets[setChoiceOf(term)];
    if (wanted === undefined || term.set === null || isOfSet(term.set, wanted)) inForce.set(term.name, index);
  });
  refuseUnknownSets(
    terms.filter((term) => !inForce.has(term.name)),
    sets,
  );
  return inForce;
}

/** Which choice of sets a term goes by. */
function setChoiceOf(term: TermOfSet): keyof SetChoice {
  return term.name === "cone" ? "tubeSet" : "zeroSet";
}

/**
 * Whether a term's set is the wanted one. Where an encoder jumped, a fit parts one axis's zeros further, as `evening,
 * rows 1–4`, while the other axis's may still be those of `evening`: each must be found by the other's name.
 */
function isOfSet(set: string, wanted: string): boolean {
  return set === wanted || set.startsWith(`${wanted}, row`) || wanted.startsWith(`${set}, row`);
}

/** A term without a set in force would stand at 0 as if it were known. */
function refuseUnknownSets(lacking: readonly TermOfSet[], sets: SetChoice): void {
  const faults = (["zeroSet", "tubeSet"] as const).flatMap((choice) => {
    const there = new Set(lacking.filter((term) => setChoiceOf(term) === choice).map((term) => term.set));
    if (there.size === 0) return [];
    return {
      code: "unknown-set",
      path: `sets.${choice}`,
      found: shown(sets[choice]),
      allowed: [...there].join(", "),
      message: `There is no such ${choice === "zeroSet" ? "set of zeros" : "tube position"}.`,
    };
  });
  if (faults.length > 0) throw new InputError(faults);
}
