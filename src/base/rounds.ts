/**
 * Rounds: what the turns really did, what that teaches, and what to turn next.
 *
 * The axis's place and the gain of each means are followed together from night to night (an extended Kalman filter:
 * R. E. Kalman, Journal of Basic Engineering 82 (1960) 35, from memory): turns move the place by gain times what was
 * asked, by an exact rotation; a night of sightings then corrects place and gains by their covariance. With one round
 * that is the weighted update of a gain known beforehand as 1 ± 0.2.
 */

import { Matrix } from "#matrices";
import { PolewrightError } from "../errors.js";
import type { Estimate, MountFit } from "../fit/fit-result.js";
import type { Base, Mount } from "../mount/mount.js";
import { firstOrderMotion, moveAxis } from "./axis-motion.js";
import { gainBefore } from "./gains.js";
import { jackFrame } from "./jack-frame.js";
import { adviseTurns } from "./jack-turns.js";
import {
  beginning,
  carried,
  chiSquare,
  corrected,
  excitedGains,
  gainStates,
  gainsOf,
  type Knowledge,
  noiseOf,
  placeNow,
  poleCovariance,
  startedAnew,
} from "./place-and-gains.js";
import type { RoundNote } from "./round-note.js";
import { explainChange } from "./round-troubles.js";
import type { LearnedGain, RoundGiven, RoundReport, RoundsOptions, RoundsResult } from "./rounds-result.js";
import { gainNote, settlingNote, sightAgain, story, takenAsFound, unsoundNight } from "./rounds-words.js";
import type { TurnAdvice } from "./turn-advice.js";
import { type TurnedRow, turnsOfRound } from "./turned-file.js";
import { effectOfTurns, type TurnMade } from "./turns-made.js";

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
      "No night can be trusted as it stands. Mend what the fits' notes say.",
    );
  }
  const latitude = mount.site.latitude;
  const before = options.gainBefore ?? gainBefore;
  const settling = options.settlingArcmin ?? DEFAULT_SETTLING_ARCMIN;
  const notes: RoundNote[] = [];
  let known = beginning(given[first]!.pole, before);
  const taught = new Set<number>();
  given.forEach((round, index) => {
    if (!trusted(round)) notes.push(unsoundNight(index + 1));
  });
  // Turns since the last night that could be trusted.
  let pending: { readonly from: RoundGiven; readonly round: number; turns: TurnMade[] } | null = null;
  for (let index = first; index < given.length; index++) {
    const round = given[index]!;
    if (pending !== null && trusted(round)) {
      known = nightAfter(mount, base, known, pending, round, settling, taught, notes);
      pending = null;
    }
    if (trusted(round)) pending = { from: round, round: index + 1, turns: [...round.turnsMade] };
    else if (pending !== null) pending.turns.push(...round.turnsMade);
  }
  const unsighted = pending?.turns.some((turn) => turn.turns > 0 || (turn.mm ?? 0) > 0) ?? false;
  if (unsighted) {
    const effect = effectOfTurns(base, pending!.turns, latitude);
    known = carried(known, effect, latitude, noiseOf(base, pending!.turns, latitude, settling));
    notes.push(sightAgain(given.length, known));
  }
  const gains = learnedGains(base, known, taught);
  notes.push(...gains.filter((gain) => gain.learned).map((gain) => gainNote(gain, given.length)));
  const now = placeNow(known);
  const next = unsighted ? null : nextTurns(mount, known, options);
  const rounds = given.map((_, index) => reportOf(base, latitude, given, index));
  return {
    rounds,
    gains,
    now,
    next,
    done: next !== null && !next.recommended,
    notes,
    reasons: story(rounds, now, next, notes),
  };
}

/** One night after turns (or after none): learns from it, or says what went otherwise. */
function nightAfter(
  mount: Mount,
  base: Base,
  known: Knowledge,
  pending: { readonly from: RoundGiven; readonly round: number; readonly turns: readonly TurnMade[] },
  night: RoundGiven,
  settling: number,
  taught: Set<number>,
  notes: RoundNote[],
): Knowledge {
  const latitude = mount.site.latitude;
  const { turns, from } = pending;
  const effect = effectOfTurns(base, turns, latitude);
  const noise = noiseOf(base, turns, latitude, settling);
  const expected = carried(known, effect, latitude, noise);
  const excited = excitedGains(effect);
  const measured = [night.pole.altitude.value, night.pole.east.value] as const;
  if (excited.length === 0) {
    const change = [measured[0] - from.pole.altitude.value, measured[1] - from.pole.east.value];
    const spread = Matrix.add(Matrix.add(poleCovariance(from.pole), poleCovariance(night.pole)), noise);
    if (chiSquare(change, spread) > SURPRISE) {
      notes.push(settlingNote(pending.round, change, from, night));
      return startedAnew(known, night.pole);
    }
    return corrected(expected, night.pole);
  }
  const surprise = [measured[0] - expected.state[0]!, measured[1] - expected.state[1]!];
  const spread = Matrix.add(expected.covariance.subMatrix(0, 1, 0, 1), poleCovariance(night.pole));
  const learned = corrected(expected, night.pole);
  const believable = (after: Knowledge): boolean => excited.every((index) => isUsable(after.state[index]!));
  if (chiSquare(surprise, spread) <= SURPRISE && believable(learned)) {
    for (const index of excited) taught.add(index);
    return learned;
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
    gains: gainsOf(known.state, null),
    from: { altitude: known.state[0]!, east: known.state[1]! },
    surprise: [surprise[0]!, surprise[1]!],
    covariance: [
      [placeOnly.get(0, 0), placeOnly.get(0, 1)],
      [placeOnly.get(1, 0), placeOnly.get(1, 1)],
    ],
    round: pending.round,
  });
  // Turns that moved nothing may not have been made, or may not move this base: the gains are in doubt there too.
  if (trouble.code !== "unexplained-change" && trouble.code !== "nothing-moved") {
    notes.push(trouble);
    return startedAnew(known, night.pole);
  }
  const wide = { state: known.state, covariance: widened(known.covariance, excited) };
  const anew = corrected(carried(wide, effect, latitude, noise), night.pole);
  if (!believable(anew)) {
    // Where nothing followed, the gain comes out near 0 and seemingly well known: that is no gain but something wrong.
    notes.push(takenAsFound(trouble, "without learning a gain from it: no screw and no floor follows so"));
    // Turning too little is the lesser mistake: a gain that seems too large is taken as the largest, one that seems too
    // small is left as it was.
    const careful = known.state.map((value, index) =>
      excited.includes(index) && anew.state[index]! > GAIN_RANGE[1] ? GAIN_RANGE[1] : value,
    );
    return startedAnew({ ...wide, state: careful }, night.pole);
  }
  notes.push(takenAsFound(trouble, "with the gain learned anew"));
  for (const index of excited) taught.add(index);
  return anew;
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

function learnedGains(base: Base, known: Knowledge, taught: ReadonlySet<number>): LearnedGain[] {
  const has: Readonly<Record<string, boolean>> = {
    jacks: jackFrame(base.jacks) !== null,
    tilt: jackFrame(base.jacks) !== null,
    bolts: base.azimuthBolts !== null,
    lowerBearing: base.lowerBearing !== null,
    slide: true,
  };
  return gainStates.flatMap(({ axis, by }, place) =>
    has[by]
      ? [
          {
            axis,
            by,
            value: known.state[2 + place]!,
            uncertainty: Math.sqrt(known.covariance.get(2 + place, 2 + place)),
            learned: taught.has(2 + place),
          },
        ]
      : [],
  );
}

function nextTurns(mount: Mount, known: Knowledge, options: RoundsOptions): TurnAdvice {
  const now = placeNow(known);
  const [least, most] = GAIN_RANGE;
  const safe = known.state.map((value, index) =>
    index < 2 ? value : Math.min(most, Math.max(least, value)),
  );
  const clipped = safe.flatMap((value, index) => (value === known.state[index] ? [] : [index]));
  const { gainBefore: _, settlingArcmin: __, ...turnOptions } = options;
  return adviseTurns(
    { mount, pole: now, sound: true, troubles: [] },
    { ...turnOptions, gains: gainsOf(safe, widened(known.covariance, clipped)) },
  );
}

function reportOf(base: Base, latitudeDeg: number, given: readonly RoundGiven[], index: number): RoundReport {
  const round = given[index]!;
  const next = given[index + 1];
  const effect = effectOfTurns(base, round.turnsMade, latitudeDeg);
  const from = { altitude: round.pole.altitude.value, east: round.pole.east.value };
  const moved = Number.isFinite(from.altitude + from.east)
    ? moveAxis(from, effect.whole, latitudeDeg)
    : { ...firstOrderMotion(effect.whole, latitudeDeg) };
  const asked = Number.isFinite(from.altitude + from.east)
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
 * rounds([firstNight, secondNight], parseTurned(text, mount.base)).next
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
  if (fits.length === 0)
    throw new PolewrightError("rounds-missing", "There is no night yet. Give at least one.");
  const given = fits.map((fit, index) => ({
    pole: fit.pole,
    sound: fit.sound,
    meanTimeMs: fit.meanTimeMs,
    turnsMade: turnsOfRound(turned, index + 1),
  }));
  return learnRounds(fits[0]!.mount, given, options);
}
