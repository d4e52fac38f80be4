/**
 * Rounds: what the turns really did, what that teaches, and what to turn next.
 *
 * The nights are followed as `place-and-gains` has it, once for each of a few rates at which the axis may wander of itself;
 * the courses are weighed by how likely they make what was found. With one round and a firm floor that is the weighted
 * update of a gain known beforehand as 1 ± 0.2.
 */

import { Matrix } from "#matrices";
import { PolewrightError } from "../errors.js";
import { ENOUGH_WITH_OTHERS } from "../fit/evidence.js";
import type { Estimate, MountFit } from "../fit/fit-result.js";
import type { Base, Mount } from "../mount/mount.js";
import { DAY_MS } from "../sky/time.js";
import { noteText } from "../words/notes.js";
import { adjustersOf, waysOf } from "./adjusters/adjusters.js";
import type { RoundVerdict } from "./another-round.js";
import { firstOrderMotion, moveAxis } from "./axis-motion.js";
import { gainBefore } from "./gains.js";
import { type Advised, advised, questionOf, roundVerdict } from "./jack-turns.js";
import {
  beginning,
  carried,
  chiSquare,
  corrected,
  excitedGains,
  type Followed,
  gainPlace,
  gainsOf,
  type Knowledge,
  logLikelihood,
  noiseOf,
  placeNow,
  poleCovariance,
  reversed,
  startedAgain,
  surpriseOf,
  together,
} from "./place-and-gains.js";
import type { RoundNote } from "./round-note.js";
import { explainChange, levelNote, wrongWayNote } from "./round-troubles.js";
import type {
  LearnedGain,
  RoundGiven,
  RoundReport,
  RoundsOptions,
  RoundsResult,
  SharedPart,
} from "./rounds-result.js";
import {
  gainNote,
  settlingNote,
  sightAgain,
  story,
  takenAsFound,
  unsoundNight,
  wanderNote,
} from "./rounds-words.js";
import { levelOfRound, type TurnedRow, turnsOfRound } from "./turned-file.js";
import { effectOfTurns, type TurnMade, type TurnsEffect } from "./turns-made.js";
import { underStar } from "./under-star.js";

export type { RoundGiven, RoundsOptions, RoundsResult } from "./rounds-result.js";

/** 99.73 % of χ² with two degrees of freedom: what three sigma is in one. */
const SURPRISE = 11.83;
/** After a surprise a gain is taken to be known no better than this. */
const WIDE_GAIN = 0.5;
const DEFAULT_SETTLING_ARCMIN = 0.2;
/** Gains outside this are not used for turning: something else is wrong then. */
const GAIN_RANGE: readonly [number, number] = [0.3, 2];
/** Asked-for changes below so many of their uncertainty tell nothing of a gain. */
const TELLING = 3;
/** How fast an axis may wander, arcminutes in the square root of a day, and how likely that is beforehand. */
const WANDERS: readonly (readonly [number, number])[] = [
  [0, 0.6],
  [0.1, 0.1],
  [0.2, 0.1],
  [0.4, 0.1],
  [0.8, 0.05],
  [1.6, 0.05],
];
/** Odds from which on a wandering axis is told of. */
const TELL_WANDER = 0.9;
/** Between nights whose times are not known. */
const DAYS_UNKNOWN = 1;
/** What each adjuster that is said to go the wrong way must explain, in χ²: odds of 1 to 20 beforehand. */
const WRONG_WAY_PRICE = 6;

function trusted(round: RoundGiven): boolean {
  const { altitude, east } = round.pole;
  return (
    round.sound && [altitude.value, altitude.uncertainty, east.value, east.uncertainty].every(Number.isFinite)
  );
}

/**
 * Learns from rounds of sighting and turning.
 *
 * @param mount - the mount, with its base
 * @param given - the nights in order, each with the turns made after it
 * @param options - as for the turns, and what is known beforehand
 * @returns each round, the learned gains, where the axis is now, the next turns, and what went otherwise than it should
 * @throws PolewrightError `base-missing`, `rounds-missing` without a night, `no-sound-round` when none can be trusted,
 *   and what {@link effectOfTurns} and {@link adviseTurns} throw
 */
export function learnRounds(
  mount: Mount,
  given: readonly RoundGiven[],
  options: RoundsOptions = {},
  lastFit: MountFit | null = null,
): RoundsResult {
  const { base } = mount;
  if (base === null) {
    throw new PolewrightError(
      "base-missing",
      `The mount file of ${mount.name} has no base, so no turns can be weighed.`,
    );
  }
  const first = given.findIndex(trusted);
  if (given.length === 0)
    throw new PolewrightError("rounds-missing", "There is no night yet. Give at least one.");
  if (first < 0) {
    throw new PolewrightError(
      "no-sound-round",
      "No night can be trusted as it stands. Correct what the fits' notes name.",
    );
  }
  const job: Job = { mount, base, given, first, options };
  // Of two nights a wander cannot be told from the turns or from the sightings' own errors.
  const rates = given.filter(trusted).length < 3 ? WANDERS.slice(0, 1) : WANDERS;
  const courses = rates.map(([wander, prior]) => followNights(job, wander, Math.log(prior)));
  const likeliest = courses.reduce((best, course) => (course.log > best.log ? course : best));
  const scaled = courses.map((course) => ({ ...course, odds: Math.exp(course.log - likeliest.log) }));
  const sum = scaled.reduce((total, { odds }) => total + odds, 0);
  // A course that was broken off and started again elsewhere is another story; only like ones are averaged.
  const known = together(scaled.map((course) => ({ ...course, odds: course.odds / sum })));
  const wanders = 1 - scaled[0]!.odds / sum > TELL_WANDER;
  const notes: RoundNote[] = [];
  given.forEach((round, index) => {
    if (!trusted(round)) notes.push(unsoundNight(index + 1));
    const level = round.level ?? null;
    const told =
      level === null
        ? null
        : levelNote(base, effectOfTurns(base, round.turnsMade, mount.site.latitude), level, index + 1);
    if (told !== null) notes.push(told);
  });
  notes.push(...likeliest.notes);
  const wander = wanders ? likeliest.wander : 0;
  if (wander > 0 && !notes.some(({ code }) => code === "settling")) {
    notes.push(wanderNote(given.length, wander));
  }
  if (likeliest.unsighted) notes.push(sightAgain(given.length, known));
  const gains = learnedGains(known, likeliest.taught);
  notes.push(...gains.filter((gain) => gain.learned).map((gain) => gainNote(gain, given.length)));
  const now = placeNow(known);
  const next = likeliest.unsighted ? null : nextTurns(job, known, likeliest.wrong, lastFit);
  const rounds = given.map((_, index) => reportOf(base, mount.site.latitude, given, index));
  return {
    verdict: next?.verdict ?? "not-known-yet",
    missing: next?.missing ?? ENOUGH_WITH_OTHERS,
    rounds,
    gains,
    now,
    next,
    wander,
    done: next !== null && next.verdict === "stop",
    notes,
    reasons: story(rounds, now, next, notes),
  };
}

interface Job {
  readonly mount: Mount;
  readonly base: Base;
  readonly given: readonly RoundGiven[];
  /** The first night that can be trusted. */
  readonly first: number;
  readonly options: RoundsOptions;
}

/** What has been learned on the way. */
interface Course {
  known: Knowledge;
  readonly notes: RoundNote[];
  /** Gains that a round has taught, by their place in the state. */
  readonly taught: Set<number>;
  /** What went the wrong way and has not since gone right: by gain. */
  readonly wrong: Map<number, RoundNote>;
  readonly wander: number;
  log: number;
  unsighted: boolean;
}

/** Turns since the last night that could be trusted. */
interface Pending {
  readonly from: RoundGiven;
  readonly round: number;
  readonly turns: TurnMade[];
}

/** Follows all nights with an axis that wanders so fast. */
function followNights({ mount, base, given, first, options }: Job, wander: number, log: number): Course {
  const shared = new Map(
    given.flatMap((round) => (round.shared ?? []).map((part) => [part.term, part.tolerance] as const)),
  );
  const followed: Followed = {
    ways: waysOf(adjustersOf(base, mount.site.latitude)),
    terms: [...shared.keys()],
  };
  const known = beginning(followed, given[first]!, options.gainBefore ?? gainBefore, [...shared.values()]);
  const course: Course = {
    known,
    notes: [],
    taught: new Set(),
    wrong: new Map(),
    wander,
    log,
    unsighted: false,
  };
  let pending: Pending | null = null;
  for (let index = first; index < given.length; index++) {
    const round = given[index]!;
    if (trusted(round)) {
      if (pending !== null) nightAfter(course, mount, base, pending, round, settlingOf(pending.from, round));
      pending = { from: round, round: index + 1, turns: [...round.turnsMade] };
    } else pending?.turns.push(...round.turnsMade);
  }
  if (pending?.turns.some((turn) => turn.turns > 0 || (turn.mm ?? 0) > 0 || turn.seen !== undefined)) {
    const latitude = mount.site.latitude;
    const effect = effectOfTurns(base, pending.turns, latitude);
    const noise = noiseOf(base, pending.turns, latitude, settlingOf(pending.from, null));
    course.known = carried(course.known, effect, latitude, noise);
    course.unsighted = true;
  }
  return course;

  function settlingOf(from: RoundGiven, to: RoundGiven | null): number {
    const days =
      from.meanTimeMs === null || to === null || to.meanTimeMs === null
        ? DAYS_UNKNOWN
        : Math.abs(to.meanTimeMs - from.meanTimeMs) / DAY_MS;
    return Math.hypot(options.settlingArcmin ?? DEFAULT_SETTLING_ARCMIN, wander * Math.sqrt(days));
  }
}

/** One night after turns (or after none): learns from it, or says what went otherwise. */
function nightAfter(
  course: Course,
  mount: Mount,
  base: Base,
  { turns, from, round }: Pending,
  night: RoundGiven,
  settling: number,
): void {
  const { known, notes, taught } = course;
  const latitude = mount.site.latitude;
  const effect = effectOfTurns(base, turns, latitude);
  const noise = noiseOf(base, turns, latitude, settling);
  const expected = carried(known, effect, latitude, noise);
  const excited = excitedGains(known, effect);
  const surprise = surpriseOf(expected, night);
  const plain = chiSquare(surprise.off, surprise.spread);
  // What a mistake at the base explains must not be laid to a wandering axis.
  course.log += logLikelihood(surprise, excited.length === 0 ? Number.POSITIVE_INFINITY : SURPRISE);
  if (excited.length === 0) {
    const change = [
      night.pole.altitude.value - from.pole.altitude.value,
      night.pole.east.value - from.pole.east.value,
    ];
    const spread = Matrix.add(Matrix.add(poleCovariance(from.pole), poleCovariance(night.pole)), noise);
    if (chiSquare(change, spread) > SURPRISE) {
      notes.push(settlingNote(round, change, from, night));
      course.known = startedAgain(known, night);
    } else course.known = corrected(expected, night);
    return;
  }
  const learned = corrected(expected, night);
  const believable = (after: Knowledge): boolean => excited.every((index) => isUsable(after.state[index]!));
  if (plain <= SURPRISE && believable(learned)) {
    for (const index of excited) {
      taught.add(index);
      course.wrong.delete(index);
    }
    course.known = learned;
    return;
  }
  const wrong = wrongWay(mount, base, known, turns, effect, noise, night, plain);
  if (wrong !== null) {
    const note = wrongWayNote(round, wrong.adjusters);
    notes.push(note);
    for (const index of wrong.gains) course.wrong.set(index, note);
    course.known = startedAgain(known, night);
    return;
  }
  const placeOnly = Matrix.add(
    Matrix.add(known.covariance.subMatrix(0, 1, 0, 1), poleCovariance(night.pole)),
    noise,
  );
  const trouble = explainChange({
    base,
    latitudeDeg: latitude,
    turns,
    effect,
    gains: gainsOf(known, known.state, null),
    from: { altitude: known.state[0]!, east: known.state[1]! },
    surprise: surprise.off,
    covariance: [
      [placeOnly.get(0, 0), placeOnly.get(0, 1)],
      [placeOnly.get(1, 0), placeOnly.get(1, 1)],
    ],
    round,
  });
  if (trouble.code === "turned-the-wrong-way") {
    for (const index of excited) course.wrong.set(index, trouble);
  }
  // Turns that moved nothing may not have been made, or may not move this base: the gains are in doubt there too.
  if (trouble.code !== "unexplained-change" && trouble.code !== "nothing-moved") {
    notes.push(trouble);
    course.known = startedAgain(known, night);
    return;
  }
  const wide = { ...known, covariance: widened(known.covariance, excited) };
  const after = corrected(carried(wide, effect, latitude, noise), night);
  if (!believable(after)) {
    // Where nothing followed, the gain comes out near 0 and seemingly well known: that is no gain but something wrong.
    notes.push(takenAsFound(trouble, "without learning a gain from it: no screw and no floor follows so"));
    // Turning too little is the lesser mistake: a gain that seems too large is taken as the largest, one that seems too
    // small is left as it was.
    const careful = known.state.map((value, index) =>
      excited.includes(index) && after.state[index]! > GAIN_RANGE[1] ? GAIN_RANGE[1] : value,
    );
    course.known = startedAgain({ ...wide, state: careful }, night);
    return;
  }
  notes.push(takenAsFound(trouble, "with the gain learned again"));
  for (const index of excited) taught.add(index);
  course.known = after;
}

/** Which adjusters went the wrong way with all their turns, each suspected alone and together; null where none explains it. */
function wrongWay(
  mount: Mount,
  base: Base,
  known: Knowledge,
  turns: readonly TurnMade[],
  effect: TurnsEffect,
  noise: Matrix,
  night: RoundGiven,
  plain: number,
): { readonly adjusters: readonly string[]; readonly gains: readonly number[] } | null {
  const latitude = mount.site.latitude;
  const turned = adjustersOf(base, latitude).filter((adjuster) =>
    turns.some((turn) => turn.seen === undefined && adjuster.names.includes(turn.adjuster)),
  );
  let best: { readonly members: typeof turned; readonly chi: number } | null = null;
  for (let choice = 1; choice < 1 << turned.length; choice++) {
    const members = turned.filter((_, index) => choice & (1 << index));
    const gains = members.flatMap(({ ways }) => ways.map((way) => gainPlace(known, way.axis, way.by)));
    const { off, spread } = surpriseOf(carried(reversed(known, gains), effect, latitude, noise), night);
    const chi = chiSquare(off, spread) + WRONG_WAY_PRICE * members.length;
    if (best === null || chi < best.chi) best = { members, chi };
  }
  // The reversed turns must explain the night, and far better than the turns as written down.
  if (best === null || best.chi - WRONG_WAY_PRICE * best.members.length > SURPRISE || best.chi > plain)
    return null;
  const { members } = best;
  return {
    adjusters: members.flatMap(({ names }) =>
      names.filter((name) => turns.some((turn) => turn.adjuster === name)),
    ),
    gains: members.flatMap(({ ways }) => ways.map((way) => gainPlace(known, way.axis, way.by))),
  };
}

/** Whether a gain may be turned by. */
function isUsable(gain: number): boolean {
  return gain >= GAIN_RANGE[0] && gain <= GAIN_RANGE[1];
}

/** A covariance with these states known no better than a gain is after a surprise. */
function widened(covariance: Matrix, states: readonly number[]): Matrix {
  const wide = covariance.clone();
  for (const index of states) wide.set(index, index, Math.max(wide.get(index, index), WIDE_GAIN ** 2));
  return wide;
}

function learnedGains(known: Knowledge, taught: ReadonlySet<number>): LearnedGain[] {
  return known.ways.flatMap(({ axis, by, title, lack }, index) =>
    lack === null || taught.has(2 + index)
      ? [
          {
            axis,
            by,
            means: title,
            value: known.state[2 + index]!,
            uncertainty: Math.sqrt(known.covariance.get(2 + index, 2 + index)),
            learned: taught.has(2 + index),
          },
        ]
      : [],
  );
}

/** What to turn next: the last night decides whether, all nights together how far. */
function nextTurns(
  { mount, given, options }: Job,
  known: Knowledge,
  wrong: ReadonlyMap<number, RoundNote>,
  lastFit: MountFit | null,
) {
  const now = placeNow(known);
  const [least, most] = GAIN_RANGE;
  const unusable = known.ways
    .map(({ axis, by }) => gainPlace(known, axis, by))
    .filter((place) => !isUsable(known.state[place]!));
  const safe = known.state.map((value, place) =>
    unusable.includes(place) ? Math.min(most, Math.max(least, value)) : value,
  );
  const { gainBefore: _, settlingArcmin: __, ...choices } = options;
  const turnOptions: RoundsOptions = {
    ...choices,
    used: [...(options.used ?? []), ...given.flatMap((round) => round.turnsMade)],
  };
  const gains = gainsOf(known, safe, widened(known.covariance, unusable));
  const ask = (pole: RoundGiven["pole"], decided: RoundVerdict | undefined): Advised =>
    advised(
      { mount, pole, sound: true, troubles: [], ...(decided === undefined ? {} : { decided }) },
      { ...turnOptions, gains },
    );
  const [note] = wrong.values();
  if (note !== undefined) {
    const because = `Turn nothing: ${noteText(note)}`;
    return ask(now, { verdict: "unsound", missing: 0, because }).advice;
  }
  const last = given.at(-1)!;
  const decided = last.verdict;
  const all = ask(now, decided);
  const answer = decided?.verdict === "turn" && all.wish === null ? ask(last.pole, decided) : all;
  if (answer.wish === null || lastFit === null) return answer.advice;
  const { altitude, east } = lastFit.pole;
  const from = { altitude: altitude.value, east: east.value };
  return {
    ...answer.advice,
    underStar: underStar(lastFit, { ...answer.setting, from }, answer.wish, turnOptions),
  };
}

function reportOf(base: Base, latitudeDeg: number, given: readonly RoundGiven[], index: number): RoundReport {
  const round = given[index]!;
  const next = given[index + 1];
  const effect = effectOfTurns(base, round.turnsMade, latitudeDeg);
  const from = { altitude: round.pole.altitude.value, east: round.pole.east.value };
  const isKnown = Number.isFinite(from.altitude + from.east);
  const moved = isKnown
    ? moveAxis(from, effect.whole, latitudeDeg)
    : firstOrderMotion(effect.whole, latitudeDeg);
  const asked = isKnown
    ? { altitude: moved.altitude - from.altitude, east: moved.east - from.east }
    : { altitude: moved.altitude, east: moved.east };
  const both = next !== undefined && trusted(round) && trusted(next);
  const change = (axis: "altitude" | "east"): Estimate => ({
    value: next!.pole[axis].value - round.pole[axis].value,
    uncertainty: Math.hypot(next!.pole[axis].uncertainty, round.pole[axis].uncertainty),
  });
  const found = both ? { altitude: change("altitude"), east: change("east") } : null;
  const gain = (axis: "altitude" | "east"): Estimate | null => {
    if (found === null || Math.abs(asked[axis]) < TELLING * found[axis].uncertainty) return null;
    return {
      value: found[axis].value / asked[axis],
      uncertainty: found[axis].uncertainty / Math.abs(asked[axis]),
    };
  };
  return {
    round: index + 1,
    before: { altitude: round.pole.altitude, east: round.pole.east },
    turnsMade: round.turnsMade,
    asked,
    found,
    gain: { altitude: gain("altitude"), east: gain("east") },
    after: next === undefined ? null : { altitude: next.pole.altitude, east: next.pole.east },
    warpMm: effect.warpMm,
  };
}

/**
 * {@link learnRounds} from the nights' fits and the file of turns.
 *
 * @param fits - the nights in order; the first one's mount file holds
 * @param turned - the turns as really made, from `parseTurned`; round 1 comes after the first night
 * @param options - as for {@link learnRounds}
 * @throws PolewrightError `round-without-night` when turns name a round that no night precedes, and as {@link learnRounds}
 * @example
 * ```ts
 * rounds([fit, fitMount(secondNight)], parseTurned(turnedText, mount.base)).verdict // "stop"
 * ```
 */
export function rounds(
  fits: readonly MountFit[],
  turned: readonly TurnedRow[],
  options: RoundsOptions = {},
): RoundsResult {
  const stray = turned.find((row) => row.round > fits.length);
  if (stray !== undefined) {
    throw new PolewrightError(
      "round-without-night",
      `Turns are given for round ${stray.round}, but there ${fits.length === 1 ? "is 1 night" : `are ${fits.length} nights`}. Allowed: rounds 1 to ${fits.length}, each after its night.`,
    );
  }
  const last = fits.at(-1);
  if (last === undefined)
    throw new PolewrightError("rounds-missing", "There is no night yet. Give at least one.");
  const { mount } = fits[0]!;
  const given = fits.map((fit, index): RoundGiven => {
    const alone = fit === last ? verdictAlone(fit, fits.length > 1, options) : null;
    return {
      pole: fit.pole,
      sound: fit.sound,
      meanTimeMs: fit.meanTimeMs,
      turnsMade: turnsOfRound(turned, index + 1, mount),
      level: levelOfRound(turned, index + 1),
      shared: sharedParts(fit),
      ...(alone === null ? {} : { verdict: alone }),
    };
  });
  return learnRounds(mount, given, options, last);
}

/** What the last night says alone; null where it has too few sightings of its own and earlier nights hold the rest. */
function verdictAlone(fit: MountFit, hasEarlier: boolean, options: RoundsOptions): RoundVerdict | null {
  const alone = roundVerdict(fit, options);
  if (alone.verdict !== "not-known-yet" || !hasEarlier) return alone;
  const { evidence } = questionOf(fit, true);
  if (evidence?.allows === "advice") return null;
  return { ...alone, missing: evidence?.missing ?? alone.missing };
}

/** How a night's pole would follow a term that a tolerance held away from its true value, whatever the stars. */
function sharedParts(fit: MountFit): SharedPart[] {
  const altitude = fit.terms.findIndex(({ name }) => name === "polarAltitude");
  const east = fit.terms.findIndex(({ name }) => name === "polarEast");
  if (altitude < 0 || east < 0) return [];
  return fit.terms.flatMap(({ name, set, tolerance }, index) => {
    if (tolerance === null || index === altitude || index === east) return [];
    // A posterior mean is off by −C T⁻¹ of the truth: C the covariance, T the tolerances squared.
    const part = (axis: number): number => -(fit.covariance[axis]?.[index] ?? 0) / tolerance ** 2;
    return [{ term: `${name} ${set ?? ""}`, tolerance, altitude: part(altitude), east: part(east) }];
  });
}
