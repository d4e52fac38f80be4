/**
 * The search for the cheapest story, over all kinds of mistakes together: from the story in which nothing went wrong, every
 * step is what tonight's misfit suggests, fitted and priced whole.
 */

import { InputError } from "../errors.js";
import { reduceNight } from "../night/reduce.js";
import { RIVAL_ODDS } from "./beliefs.js";
import { type Bench, benchFor, benchOf } from "./bench.js";
import { fittedCoefficients } from "./columns.js";
import { isUnseen } from "./faults/clock.js";
import type { Proposal } from "./faults/fault-kind.js";
import { jumpsHold } from "./faults/jump.js";
import { type AnyKind, farKinds, kindOf, nearKinds, priceOfStory } from "./faults/kinds.js";
import { fitStory, type Outcome, thorough } from "./outcome.js";
import { QUICK } from "./posterior.js";
import { refineStart, roughStarts } from "./rough-start.js";
import { type Fault, type Story, storyOf } from "./story.js";
import { isStrange } from "./strange.js";

/** A fitted story with its price. */
interface Told {
  readonly outcome: Outcome;
  readonly price: number;
}

/** The cheapest story, and others that come close. */
export interface Explained extends Told {
  /** The story without the faults that make a night unsound, as far as it was looked at. */
  readonly asEntered: Outcome;
  /** Stories of other far faults, cheapest first. */
  readonly others: readonly Told[];
}

/** Steps of one search. */
const STEPS = 40;
/** Steps before a night that is still strange is looked at from further off. */
const FIRST_STEPS = 3;
/** So many proposals are fitted at each step, … */
const FITTED = 4;
/** … the first that wins this part of what it promised is taken at once. */
const KEPT_PROMISE = 0.5;
/** A step must win so much. */
const LEAST_GAIN = 0.01;
/** So many stories from further off are looked at, where they promise this part of what the best does. */
const FAR = 5;
const FAR_PROMISE = 0.6;
const NEARLY = 10;
/** A story so far ahead needs no long search for the one behind. */
const AHEAD = 200;
/** And so many times one is looked for behind another. */
const DEPTH = 3;
/** Rows fitted in one search at most: some seconds' work. */
const MOST_ROWS = 60_000;
const LEAST_FITS = 30;

/** Keeps every story fitted in one search, and how many more it may fit. */
class Fitter {
  private readonly known = new Map<string, Told | null>();
  private left: number;
  constructor(
    readonly root: Bench,
    private readonly trustClock: boolean,
  ) {
    this.left = Math.max(LEAST_FITS, MOST_ROWS / Math.max(1, root.night.count));
  }

  get exhausted(): boolean {
    return this.left <= 0;
  }

  /** Null for a story that cannot be: too few sightings left. */
  fit(faults: readonly Fault[], before: Outcome | null): Told | null {
    // From another start the same story may end elsewhere.
    const key = `${keyOf(faults)} ${before === null ? "" : keyOf(before.story.faults)}`;
    let told = this.known.get(key);
    if (told !== undefined) return told;
    const story = storyOf(this.root.night, faults);
    if (!holds(story)) told = null;
    else {
      this.left--;
      told = this.tell(story, before);
    }
    this.known.set(key, told);
    return told;
  }

  /** Null where a builder's own term has no value in the corrected night, for instance the root of an altitude below 0. */
  private tell(story: Story, before: Outcome | null): Told | null {
    try {
      const outcome = fitStory(this.root, story, before, QUICK);
      return { outcome, price: priceOfStory(outcome, this.root) };
    } catch (problem) {
      if (problem instanceof InputError && benchFor(this.root, story) !== this.root) return null;
      throw problem;
    }
  }

  proposals(kinds: readonly AnyKind[], outcome: Outcome): Proposal[] {
    return kinds
      .filter(({ kind }) => !(this.trustClock && kind === "clock"))
      .flatMap((kind) => kind.propose(outcome, this.root))
      .filter(({ gain }) => gain > 0)
      .sort((a, b) => b.gain - a.gain);
  }
}

const keyOf = (faults: readonly Fault[]): string =>
  faults
    .map((fault) => JSON.stringify(fault))
    .sort()
    .join();

function holds(story: Story): boolean {
  if (story.usedCount < 2 && story.excludedCount > 0) return false;
  return jumpsHold(story.used, story.hourAngleBreaks) && jumpsHold(story.used, story.declinationBreaks);
}

/** Follows what near kinds propose for as long as the price falls. */
function improved(fitter: Fitter, start: Told, steps: number): Told {
  let current = start;
  for (let step = 0; step < steps && !fitter.exhausted; step++) {
    let best: Told | null = null;
    let fitted = 0;
    for (const proposal of fitter.proposals(nearKinds, current.outcome)) {
      if (fitted >= FITTED || fitter.exhausted) break;
      const told = fitter.fit(proposal.faults, current.outcome);
      if (told === null) continue;
      fitted++;
      if (told.price < (best?.price ?? Number.POSITIVE_INFINITY)) best = told;
      if (current.price - told.price > KEPT_PROMISE * proposal.gain) break;
    }
    if (best === null || best.price > current.price - LEAST_GAIN) return current;
    current = best;
  }
  return current;
}

/** What a story needs to win over another: the margins of the far faults that only it has. */
function marginOver(told: Told, other: Told): number {
  const known = new Set(other.outcome.story.faults.map((fault) => JSON.stringify(fault)));
  return told.outcome.story.faults
    .filter((fault) => !known.has(JSON.stringify(fault)))
    .reduce((most, fault) => Math.max(most, kindOf(fault).margin), 0);
}

/** The cheapest story of a night. */
export function explain(root: Bench, trustClock: boolean): Explained {
  const found = search(root, trustClock);
  return { ...found, outcome: thorough(found.outcome) };
}

function search(root: Bench, trustClock: boolean): Explained {
  const { count } = root.night;
  if (count > FEW_FROM) {
    const long = explainLong(root, trustClock);
    if (long !== null) return long;
  }
  return explainFrom(new Fitter(root, trustClock), [[]]);
}

function explainFrom(fitter: Fitter, starts: readonly (readonly Fault[])[]): Explained {
  let current: Told | null = null;
  for (const faults of starts) {
    const told = fitter.fit(faults, null);
    if (told !== null && (current === null || told.price < current.price)) current = told;
  }
  let best = agreesWithItself(fitter.root, current!) ? improved(fitter, current!, FIRST_STEPS) : current!;
  if (!isStrange(best.outcome)) best = improved(fitter, best, STEPS);
  let asEntered = best;
  let others: Told[] = [];
  for (let depth = 0; depth < DEPTH && !fitter.exhausted; depth++) {
    const proposals = fitter.proposals(farKinds, best.outcome);
    if (proposals.length === 0) {
      best = improved(fitter, best, STEPS);
      break;
    }
    const promised = proposals[0]!.gain;
    const tried: Told[] = [];
    for (const { faults, gain } of proposals.slice(0, FAR)) {
      if (gain < FAR_PROMISE * promised - NEARLY) break;
      const told = fitter.fit(faults, null);
      if (told !== null) tried.push(improved(fitter, told, FIRST_STEPS));
    }
    // Only what leads after a few steps is followed to its end, against the story without it.
    const [lead, ...rest] = tried.sort((a, b) => a.price - b.price);
    const ahead = lead !== undefined && lead.price < best.price - AHEAD;
    const far = lead === undefined ? undefined : improved(fitter, lead, STEPS);
    const own = ahead && far !== undefined && !isStrange(far.outcome) ? best : improved(fitter, best, STEPS);
    const won = far !== undefined && far.price < own.price - marginOver(far, own) - LEAST_GAIN;
    others = [...rest, ...(far === undefined ? [] : [won ? own : far])];
    if (!won) {
      best = own;
      break;
    }
    if (!hasFar(own)) asEntered = own;
    best = far;
  }
  best = withoutNeedless(fitter, best);
  if (!hasFar(best)) asEntered = best;
  return { ...best, asEntered: asEntered.outcome, others: others.sort((a, b) => a.price - b.price) };
}

/** A far fault that only stood for a near one found since is not needed: the story without it, where that is cheaper. */
function withoutNeedless(fitter: Fitter, told: Told): Told {
  const { faults } = told.outcome.story;
  let best = told;
  for (const fault of farFaults(faults)) {
    const without = fitter.fit(
      faults.filter((other) => other !== fault),
      null,
    );
    if (without !== null && without.price < best.price) best = without;
  }
  return best;
}

const farFaults = (faults: readonly Fault[]): Fault[] =>
  faults.filter((fault) => farKinds.includes(kindOf(fault)));

/** Pairs that look for a start with which half of a strange night agrees; none in so many tries, there is none. */
const AGREEMENT_PAIRS = 40;
const HALF_DISAGREES = 5;

/** False where no zeros and axis suit half of the night: then it does not lie at single sightings. */
function agreesWithItself(root: Bench, { outcome }: Told): boolean {
  if (!isStrange(outcome)) return true;
  const [start] = roughStarts(root, outcome.story.faults, AGREEMENT_PAIRS, 1);
  return start !== undefined && start.disagreement < HALF_DISAGREES;
}

/** Whether a story holds a fault that makes the night unsound. */
function hasFar({ outcome }: Told): boolean {
  return outcome.story.faults.some((fault) => kindOf(fault).unsound);
}

/** Faults of stories whose odds against the told one are better than one to ten, of the given kinds. */
export function rivalsOf(explained: Explained, kinds: readonly Fault["kind"][]): Fault[] {
  const limit = explained.price - 2 * Math.log(RIVAL_ODDS);
  const own = new Set(explained.outcome.story.faults.map((fault) => JSON.stringify(fault)));
  for (const other of explained.others) {
    if (other.price > limit) break;
    const faults = other.outcome.story.faults.filter(
      (fault) => kinds.includes(fault.kind) && !own.has(JSON.stringify(fault)),
    );
    if (faults.length > 0) return faults;
  }
  return [];
}

/** A night of more sightings is searched on a few of them first, where it does not fit as it stands. */
const FEW_FROM = 120;
const FEW = 60;

/** A long night: as it stands where that is ordinary; else its settings and clock from a few of its sightings. */
function explainLong(root: Bench, trustClock: boolean): Explained | null {
  const fitter = new Fitter(root, trustClock);
  const plain = fitter.fit([], null);
  if (plain === null) return null;
  if (!isStrange(plain.outcome) && !isUnseen(plain.outcome)) return explainFrom(fitter, [[]]);
  const few = fewSightings(root);
  const known = explainFrom(new Fitter(few, trustClock), [[]]);
  const far = farFaults(known.outcome.story.faults);
  const start = farOnesExcluded(root, far, known.outcome);
  return explainFrom(fitter, [[], far, start]);
}

/**
 * Few of a night's sightings, evenly over it. Where there are several zero sets or tube positions, from the sets with most
 * sightings: one of a set alone tells nothing but its zeros.
 */
function fewSightings(root: Bench): Bench {
  const { mount, sightings } = root.night;
  const sets = new Map<string, number[]>();
  sightings.forEach((sighting, row) => {
    if (!sighting.use) return;
    const key = JSON.stringify([sighting.zeroSet, sighting.tubeSet]);
    const rows = sets.get(key);
    if (rows === undefined) sets.set(key, [row]);
    else rows.push(row);
  });
  const rows: number[] = [];
  for (const set of [...sets.values()].sort((a, b) => b.length - a.length)) {
    if (rows.length >= FEW) break;
    for (const row of set) rows.push(row);
  }
  rows.sort((a, b) => a - b);
  const taken = Math.min(FEW, rows.length);
  const few = Array.from(
    { length: taken },
    (_, k) => sightings[rows[Math.floor(((k + 0.5) * rows.length) / taken)]!]!,
  );
  return benchOf(reduceNight({ mount, sightings: few }), root.terms);
}

/** A long night's sightings that lie far from what a few of them say. */
function farOnesExcluded(root: Bench, faults: readonly Fault[], few: Outcome): Fault[] {
  const story = storyOf(root.night, faults);
  const refined = refineStart(root, {
    story,
    coefficients: fittedCoefficients(few.layout, few.parameters, few.bench.model.size),
    disagreement: 0,
  });
  return refined === null ? [...faults] : [...refined.faults];
}
