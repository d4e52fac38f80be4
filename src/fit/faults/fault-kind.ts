/**
 * What every kind of mistake that a night may hold can say of itself. A new kind is a file here, a line in the list of kinds
 * and a form in story.ts.
 */
import type { Bench } from "../bench.js";
import type { Note } from "../fit-result.js";
import type { Outcome } from "../outcome.js";
import type { Fault, FaultOf } from "../story.js";

/** A change of a story that tonight's misfit suggests. */
export interface Proposal {
  readonly faults: readonly Fault[];
  /** By how much the price should fall, as far as one fit tells. */
  readonly gain: number;
}

/** What a kind needs to tell what it found. */
export interface Telling {
  /** The night as entered. */
  readonly root: Bench;
  readonly outcome: Outcome;
  /** The night without what this kind corrected. */
  readonly asEntered: Outcome;
  /** Other faults of the same kind that are hardly less likely. */
  readonly rivals: readonly Fault[];
}

/** One kind of mistake. */
export interface FaultKind<K extends Fault["kind"]> {
  readonly kind: K;
  /** A night with it cannot be trusted until it is corrected. */
  readonly unsound: boolean;
  /** The price must fall by this before it is believed: 0 where it is just the cheaper story that counts. */
  readonly margin: number;
  /** −2 ln of the odds against it, before tonight's sightings speak. */
  price(fault: FaultOf<K>, outcome: Outcome, root: Bench): number;
  /** What tonight's misfit suggests, likeliest first. */
  propose(outcome: Outcome, root: Bench): readonly Proposal[];
  /** What is said of all faults of this kind in a story. */
  notes(faults: readonly FaultOf<K>[], telling: Telling): readonly Note[];
}
