/**
 * Rounds: what the turns really did, what that teaches, and what to turn next.
 *
 * The axis's place and the gain of each means are followed together from night to night (an extended Kalman filter:
 * R. E. Kalman, Journal of Basic Engineering 82 (1960) 35, from memory): turns move the place by gain times what was
 * asked, by an exact rotation; a night of sightings then corrects place and gains by their covariance. With one round
 * that is the weighted update of a gain known beforehand as 1 ± 0.2.
 */
import { Matrix, solve } from "ml-matrix";
import { PolewrightError } from "../errors.js";
import type { Estimate, MountFit, PoleError } from "../fit/fit-result.js";
import type { Base, Mount } from "../mount/mount.js";
import { type AxisPlace, firstOrderMotion, moveAxis } from "./axis-motion.js";
import { arcminutes, eastOrWest, highOrLow, meansNames } from "./base-words.js";
import { expectedMotion, type Gains, gainBefore, type MotionParts } from "./gains.js";
import { jackFrame } from "./jack-frame.js";
import { adviseTurns, type TurnOptions } from "./jack-turns.js";
import type { RoundNote } from "./round-note.js";
import { explainChange } from "./round-troubles.js";
import type { AltitudeMeans, AzimuthMeans, TurnAdvice } from "./turn-advice.js";
import { type TurnedRow, turnsOfRound } from "./turned-file.js";
import { effectOfTurns, settingVariance, type TurnMade } from "./turns-made.js";

/** One night and what was turned after it. */
export interface RoundGiven {
  readonly pole: Pick<PoleError, "altitude" | "east" | "covariance">;
  /** False when that night's readings cannot be trusted: the night then teaches nothing. */
  readonly sound: boolean;
  /** Mean time of the sightings, milliseconds since 1970; null when not known. */
  readonly meanTimeMs: number | null;
  /** The turns made after these sightings; empty for none. */
  readonly turnsMade: readonly TurnMade[];
}

/** Options of {@link learnRounds}. */
export interface RoundsOptions extends Omit<TurnOptions, "gains"> {
  /** What is known of every gain beforehand; 1 ± 0.2 by default. */
  readonly gainBefore?: Estimate;
  /** How far a floor may settle from one night to the next without a word, 1σ on each axis, arcminutes; 0.2 by default. */
  readonly settlingArcmin?: number;
}

/** Altitude and east with their uncertainties, arcminutes. */
export interface PlaceEstimate {
  readonly altitude: Estimate;
  readonly east: Estimate;
}

/** What one round asked for and what came of it. */
export interface RoundReport {
  /** Counted from 1. */
  readonly round: number;
  readonly before: PlaceEstimate;
  readonly turnsMade: readonly TurnMade[];
  /** The change that the turns should have made with true screws and a firm floor, arcminutes. */
  readonly asked: AxisPlace;
  /** The change found by the next night; null where there is none, or one of the two cannot be trusted. */
  readonly found: PlaceEstimate | null;
  /** Found by asked, from these two nights alone; null where too little was asked to tell. */
  readonly gain: { readonly altitude: Estimate | null; readonly east: Estimate | null };
  readonly after: PlaceEstimate | null;
  /** The most that a foot was left out of the plane of the others, millimetres. */
  readonly warpMm: number;
}

/** A gain and how well it is known. */
export interface LearnedGain extends Estimate {
  readonly axis: "altitude" | "east";
  readonly by: AltitudeMeans | AzimuthMeans;
  /** Whether any round has taught it. */
  readonly learned: boolean;
}

/** What the rounds taught, and what to turn next. */
export interface RoundsResult {
  readonly rounds: readonly RoundReport[];
  /** The gains of everything that the base has. */
  readonly gains: readonly LearnedGain[];
  /** Where the axis is now, all nights together, arcminutes; `covariance` of altitude and east, arcmin². */
  readonly now: PlaceEstimate & { readonly distance: Estimate; readonly covariance: number };
  /** The next turns with the learned gains; null when turns have been made and not yet been sighted. */
  readonly next: TurnAdvice | null;
  /** True when the next advice is to stop. */
  readonly done: boolean;
  readonly notes: readonly RoundNote[];
  /** The story in sentences. */
  readonly reasons: readonly string[];
}

const gainStates: readonly {
  readonly axis: "altitude" | "east";
  readonly by: AltitudeMeans | AzimuthMeans;
}[] = [
  { axis: "altitude", by: "jacks" },
  { axis: "altitude", by: "lowerBearing" },
  { axis: "east", by: "tilt" },
  { axis: "east", by: "bolts" },
  { axis: "east", by: "lowerBearing" },
  { axis: "east", by: "slide" },
];
const STATES = 2 + gainStates.length;
/** 99.73 % of χ² with two degrees of freedom: what three sigma is in one. */
const SURPRISE = 11.83;
/** A gain that no one knew this badly is learned anew after a surprise. */
const WIDE_GAIN = 0.5;
const DEFAULT_SETTLING_ARCMIN = 0.2;
/** Gains outside this are not used for turning: something else is wrong then. */
const GAIN_RANGE: readonly [number, number] = [0.3, 2];
/** Asked-for changes below so many of their uncertainty tell nothing of a gain. */
const TELLING = 3;
/** A hundredth of an arcminute, radians: below it nothing was asked. */
const NOTHING_ASKED = 3e-6;
const DAY_MS = 86_400_000;

/** Place and gains with their covariance. */
interface Knowledge {
  readonly state: readonly number[];
  readonly covariance: Matrix;
}

function gainsOf(state: readonly number[], covariance: Matrix | null): Gains {
  const estimate = (axis: string, by: string): Estimate => {
    const index = 2 + gainStates.findIndex((one) => one.axis === axis && one.by === by);
    return {
      value: state[index]!,
      uncertainty: covariance === null ? 0 : Math.sqrt(covariance.get(index, index)),
    };
  };
  return {
    altitude: { jacks: estimate("altitude", "jacks"), lowerBearing: estimate("altitude", "lowerBearing") },
    east: {
      tilt: estimate("east", "tilt"),
      bolts: estimate("east", "bolts"),
      lowerBearing: estimate("east", "lowerBearing"),
      slide: estimate("east", "slide"),
    },
  };
}

function poleCovariance(pole: RoundGiven["pole"]): Matrix {
  return new Matrix([
    [pole.altitude.uncertainty ** 2, pole.covariance],
    [pole.covariance, pole.east.uncertainty ** 2],
  ]);
}

/** vᵀ M⁻¹ v. */
function chiSquare(v: readonly number[], covariance: Matrix): number {
  const column = Matrix.columnVector([...v]);
  return column.transpose().mmul(solve(covariance, column)).get(0, 0);
}

function trusted(round: RoundGiven): boolean {
  const { altitude, east } = round.pole;
  return (
    round.sound && [altitude.value, altitude.uncertainty, east.value, east.uncertainty].every(Number.isFinite)
  );
}

/** Where turns take the place, with what is known of the gains. */
function carried(known: Knowledge, effect: MotionParts, latitudeDeg: number, noise: Matrix): Knowledge {
  const place = (state: readonly number[]): AxisPlace =>
    moveAxis(
      { altitude: state[0]!, east: state[1]! },
      expectedMotion(effect, gainsOf(state, null)),
      latitudeDeg,
    );
  const now = place(known.state);
  const slopes = Matrix.eye(STATES);
  for (let column = 0; column < STATES; column++) {
    const small = 1e-3;
    const shifted = (by: number): AxisPlace =>
      place(known.state.map((value, index) => value + (index === column ? by : 0)));
    const plus = shifted(small);
    const minus = shifted(-small);
    slopes.set(0, column, (plus.altitude - minus.altitude) / (2 * small));
    slopes.set(1, column, (plus.east - minus.east) / (2 * small));
  }
  const covariance = slopes.mmul(known.covariance).mmul(slopes.transpose());
  for (const row of [0, 1]) {
    for (const column of [0, 1])
      covariance.set(row, column, covariance.get(row, column) + noise.get(row, column));
  }
  return { state: [now.altitude, now.east, ...known.state.slice(2)], covariance };
}

/** What a night of sightings makes of it. */
function corrected(known: Knowledge, pole: RoundGiven["pole"]): Knowledge {
  const innovation = [pole.altitude.value - known.state[0]!, pole.east.value - known.state[1]!];
  const columns = known.covariance.subMatrix(0, STATES - 1, 0, 1);
  const spread = Matrix.add(known.covariance.subMatrix(0, 1, 0, 1), poleCovariance(pole));
  const weight = solve(spread, columns.transpose()).transpose();
  const change = weight.mmul(Matrix.columnVector(innovation)).to1DArray();
  const keep = Matrix.eye(STATES);
  for (let row = 0; row < STATES; row++) {
    for (const column of [0, 1]) keep.set(row, column, keep.get(row, column) - weight.get(row, column));
  }
  // Joseph's form: stays symmetric and positive whatever the rounding.
  const covariance = Matrix.add(
    keep.mmul(known.covariance).mmul(keep.transpose()),
    weight.mmul(poleCovariance(pole)).mmul(weight.transpose()),
  );
  return { state: known.state.map((value, index) => value + change[index]!), covariance };
}

/** The place as sighted, the gains as they were known. */
function startedAnew(known: Knowledge, pole: RoundGiven["pole"]): Knowledge {
  const covariance = Matrix.zeros(STATES, STATES);
  for (let row = 2; row < STATES; row++) {
    for (let column = 2; column < STATES; column++)
      covariance.set(row, column, known.covariance.get(row, column));
  }
  covariance.setSubMatrix(poleCovariance(pole), 0, 0);
  return { state: [pole.altitude.value, pole.east.value, ...known.state.slice(2)], covariance };
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

function beginning(pole: RoundGiven["pole"], before: Estimate): Knowledge {
  const covariance = Matrix.zeros(STATES, STATES);
  covariance.setSubMatrix(poleCovariance(pole), 0, 0);
  for (let index = 2; index < STATES; index++) covariance.set(index, index, before.uncertainty ** 2);
  return { state: [pole.altitude.value, pole.east.value, ...gainStates.map(() => before.value)], covariance };
}

function noiseOf(base: Base, turns: readonly TurnMade[], latitudeDeg: number, settling: number): Matrix {
  const set = settingVariance(base, turns, latitudeDeg);
  return new Matrix([
    [set.altitude + settling ** 2, set.covariance],
    [set.covariance, set.east + settling ** 2],
  ]);
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
    if (chiSquare(change, Matrix.add(poleCovariance(from.pole), poleCovariance(night.pole))) > SURPRISE) {
      notes.push(settlingNote(pending.round, change, from, night));
      return startedAnew(known, night.pole);
    }
    return corrected(expected, night.pole);
  }
  const surprise = [measured[0] - expected.state[0]!, measured[1] - expected.state[1]!];
  const spread = Matrix.add(expected.covariance.subMatrix(0, 1, 0, 1), poleCovariance(night.pole));
  if (chiSquare(surprise, spread) <= SURPRISE) {
    for (const index of excited) taught.add(index);
    return corrected(expected, night.pole);
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
  notes.push(trouble);
  if (trouble.code !== "unexplained-change") return startedAnew(known, night.pole);
  const wide = known.covariance.clone();
  for (const index of excited) wide.set(index, index, Math.max(wide.get(index, index), WIDE_GAIN ** 2));
  for (const index of excited) taught.add(index);
  return corrected(carried({ state: known.state, covariance: wide }, effect, latitude, noise), night.pole);
}

/** Indices of the gains that a set of turns calls upon. */
function excitedGains(effect: MotionParts): number[] {
  const parts: readonly number[] = [
    effect.tilt.slopeNorth,
    effect.lowerBearing.bearingUp,
    effect.tilt.slopeEast,
    effect.bolts.turn,
    effect.lowerBearing.bearingEast,
    effect.slide.turn,
  ];
  return parts.flatMap((part, index) => (Math.abs(part) > NOTHING_ASKED ? [2 + index] : []));
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

function placeNow(known: Knowledge): RoundsResult["now"] {
  const [altitude, east] = [known.state[0]!, known.state[1]!];
  const { covariance } = known;
  const distance = Math.hypot(altitude, east);
  const [a, e] = distance > 0 ? [altitude / distance, east / distance] : [1, 0];
  const variance =
    a * a * covariance.get(0, 0) + 2 * a * e * covariance.get(0, 1) + e * e * covariance.get(1, 1);
  return {
    altitude: { value: altitude, uncertainty: Math.sqrt(covariance.get(0, 0)) },
    east: { value: east, uncertainty: Math.sqrt(covariance.get(1, 1)) },
    distance: { value: distance, uncertainty: Math.sqrt(Math.max(0, variance)) },
    covariance: covariance.get(0, 1),
  };
}

function nextTurns(mount: Mount, known: Knowledge, options: RoundsOptions): TurnAdvice {
  const now = placeNow(known);
  const [least, most] = GAIN_RANGE;
  const safe = known.state.map((value, index) =>
    index < 2 ? value : Math.min(most, Math.max(least, value)),
  );
  const { gainBefore: _, settlingArcmin: __, ...turnOptions } = options;
  return adviseTurns(
    { mount, pole: now, sound: true, troubles: [] },
    { ...turnOptions, gains: gainsOf(safe, known.covariance) },
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

function unsoundNight(round: number): RoundNote {
  return {
    code: "unsound-night",
    round,
    adjusters: [],
    message: `Night ${round} cannot be trusted as it stands, so it teaches nothing.`,
    remedy: "Mend what that night's fit says; the turns made after it are counted to the night before it.",
  };
}

function settlingNote(
  round: number,
  change: readonly number[],
  from: RoundGiven,
  night: RoundGiven,
): RoundNote {
  const days =
    from.meanTimeMs === null || night.meanTimeMs === null
      ? null
      : (night.meanTimeMs - from.meanTimeMs) / DAY_MS;
  const [altitude, east] = [change[0]!, change[1]!];
  const rate =
    days === null || days < 0.1
      ? ""
      : ` in ${days.toFixed(1)} days, ${arcminutes(Math.hypot(altitude, east) / days)} a day`;
  return {
    code: "settling",
    round,
    adjusters: [],
    message: `Nothing was turned after night ${round}, yet the axis moved ${arcminutes(altitude)} ${altitude < 0 ? "down" : "up"} and ${arcminutes(east)} ${east < 0 ? "west" : "east"}${rate}.`,
    remedy:
      "The floor or a foot settles, or something on the base is loose. Look at plates, lock nuts and clamps; turn only when two nights agree.",
  };
}

function sightAgain(round: number, known: Knowledge): RoundNote {
  const now = placeNow(known);
  return {
    code: "sight-again",
    round,
    adjusters: [],
    message: `The turns of round ${round} have not been sighted yet. The axis should now be ${arcminutes(now.altitude.value)} ± ${arcminutes(now.altitude.uncertainty)} ${highOrLow(now.altitude.value)} and ${arcminutes(now.east.value)} ± ${arcminutes(now.east.uncertainty)} ${eastOrWest(now.east.value)}.`,
    remedy: "Sight a night of stars before turning again.",
  };
}

function gainNote(gain: LearnedGain, round: number): RoundNote {
  const axis = gain.axis === "altitude" ? "Altitude" : "East–west";
  return {
    code: "gain-learned",
    round,
    adjusters: [],
    message: `${axis} by ${meansNames[gain.by]}: the axis follows by ${gain.value.toFixed(2)} ± ${gain.uncertainty.toFixed(2)} of what is asked.`,
    remedy: "The next turns allow for it.",
  };
}

function story(
  rounds: readonly RoundReport[],
  now: RoundsResult["now"],
  next: TurnAdvice | null,
  notes: readonly RoundNote[],
): string[] {
  const way = (place: AxisPlace): string =>
    `${arcminutes(place.altitude)} ${place.altitude < 0 ? "down" : "up"} and ${arcminutes(place.east)} ${place.east < 0 ? "west" : "east"}`;
  const told = rounds.flatMap((round) =>
    round.found === null
      ? []
      : [
          `Round ${round.round}: asked for ${way(round.asked)}, found ${way({ altitude: round.found.altitude.value, east: round.found.east.value })} (± ${arcminutes(round.found.altitude.uncertainty)}, ± ${arcminutes(round.found.east.uncertainty)}).`,
        ],
  );
  return [
    ...told,
    ...notes.map((note) => `${note.message} ${note.remedy}`),
    `Now the axis is ${arcminutes(now.distance.value)} ± ${arcminutes(now.distance.uncertainty)} from the true pole.`,
    ...(next === null
      ? []
      : next.recommended
        ? ["Another round is worth turning."]
        : ["No further round is worth turning."]),
  ];
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
