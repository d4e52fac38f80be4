/**
 * A kept model on another night: what was known then, with tonight's zeros, held against tonight's stars.
 *
 * The kept covariance is what is known before the first star, the encoder zeros are unknown, always, however many stars there
 * are. The first star of each zero set finds its zeros; every other one tells whether the mount still stands as it did.
 */
import { ARCMINUTE, wrapHalfTurn } from "../angles.js";
import { InputError } from "../errors.js";
import { stanceOf } from "../fit/bench.js";
import { chiSquareProbability } from "../fit/distributions.js";
import { ENOUGH_ALONE, ENOUGH_WITH_OTHERS, type Evidence } from "../fit/evidence.js";
import type { MountFit, Note } from "../fit/fit-result.js";
import { fitMount } from "../fit/mount-fit.js";
import type { Mount } from "../mount/mount.js";
import type { TermName } from "../mount/terms.js";
import type { Night } from "../night/night.js";
import { type ReducedNight, reduceNight } from "../night/reduce.js";
import type { Sighting } from "../night/sighting.js";
import {
  type KnownMount,
  type KnownTerm,
  knownMount,
  type MountStanding,
  skyPartials,
} from "../pointing/known-mount.js";
import { absorb } from "./absorb.js";

/** How one of tonight's sightings agrees with the kept model and the sightings before it. */
export interface Agreement {
  /** The sighting, counted from 1. */
  readonly row: number;
  readonly star: string;
  /** Telescope minus star before this sighting was used, arcminutes on the sky; 0 where that axis was not read. */
  readonly west: number;
  readonly north: number;
  /** The same over its expected size, with both ways together: above 3.5 once in five hundred times. */
  readonly ratio: number;
  readonly agrees: boolean;
}

/** Whether the mount stands as the kept model says. */
export type KeptVerdict = "as-kept" | "contradicts-model" | "not-known-yet";

/** How the mount stands tonight, by a kept model and tonight's stars. */
export interface TonightStanding extends MountStanding {
  readonly terms: readonly (KnownTerm & { readonly uncertainty: number })[];
  readonly standing: KeptVerdict;
  /** How well all of tonight's stars together agree with the kept model. */
  readonly chiSquare: MountFit["chiSquare"];
  /** One for each sighting used. The first of each zero set sets the zeros and always agrees. */
  readonly agreements: readonly Agreement[];
  readonly notes: readonly Note[];
  readonly evidence: Evidence;
}

/** A zero that may be anything, 1σ, arcminutes. */
const ANY_ZERO = 180 * 60;
const AGREES_UNDER = 3.5;
/** Less probable than this by chance: the mount does not stand as kept, or a star is misnamed. */
const CONTRADICTS_PROBABILITY = 0.002;
/**
 * Takes tonight's zeros from tonight's stars and all else from the kept model, each by its own uncertainty; of several zero
 * sets and tube positions those of the last sighting are answered.
 *
 * Where the stars contradict the kept model, six sightings and more stand alone; fewer leave the kept model with an axis and a
 * tube as uncertain as the contradiction asks for.
 *
 * @param kept - from {@link keptStanding}, or a fit of another night
 * @param night - tonight's sightings, at least one in use
 * @param file - the night file's name, for messages
 * @throws {@link InputError} `no-sightings`; `night-not-sound` for six sightings and more that must be corrected first
 * @example
 * ```ts
 * const tonight = standingTonight(keptStanding(kept, mount), secondNight);
 * findTargets(tonight, nowMs, ["M 42"]).found.length // 1
 * ```
 */
export function standingTonight(kept: MountStanding, night: Night, file?: string): TonightStanding {
  const sightings = night.sightings.filter(({ use, hourAngle, declination }) => {
    return use && (hourAngle !== null || declination !== null);
  });
  if (sightings.length === 0) {
    throw new InputError({
      code: "no-sightings",
      path: "night",
      allowed: "one sighting of tonight or more",
      message: "Tonight's zeros cannot be known without a sighting of tonight.",
    });
  }
  const { mount } = night;
  const alone = sightings.length < ENOUGH_ALONE ? null : soundFit({ mount, sightings }, file);
  const problem = keptProblem(
    kept,
    mount,
    alone === null ? sightings.map(asEntered) : asFitted(sightings, alone),
  );
  const all = problem(0);
  const standing = verdictOn(all);
  const contradicts = standing === "contradicts-model";
  const { terms, covariance } = contradicts ? (alone ?? widened(problem, all)) : all;
  return {
    mount,
    terms,
    covariance,
    standing,
    ...(kept.residue === undefined ? {} : { residue: kept.residue }),
    chiSquare: all.chiSquare,
    agreements: all.agreements,
    notes: contradicts ? [contradiction(all)] : [],
    evidence: contradicts
      ? { allows: "nothing", missing: 0, unsound: true }
      : evidenceFrom(all.agreements.length),
  };
}

function evidenceFrom(used: number): Evidence {
  const missing = Math.max(0, ENOUGH_WITH_OTHERS - used);
  return { allows: missing > 0 ? "values" : "advice", missing, unsound: false };
}

/**
 * The fit of a night that may be built upon.
 *
 * @throws {@link InputError} `night-not-sound` where something must be corrected first
 */
export function soundFit(night: Night, file?: string): MountFit {
  const fit = fitMount(night);
  if (fit.sound) return fit;
  throw new InputError(
    fit.notes.slice(0, 3).map((note) => ({
      code: "night-not-sound",
      message: note.message,
      allowed: note.remedy,
      ...(file === undefined ? {} : { file }),
    })),
  );
}

/** A sighting with the set of zeros that is in force at it, and how much larger its errors are than expected. */
interface Weighed {
  readonly sighting: Sighting;
  readonly zeros: string;
  readonly errorScale: number;
}

function asEntered(sighting: Sighting): Weighed {
  return { sighting, zeros: sighting.zeroSet, errorScale: 1 };
}

/** As the night's own fit explains it: without what it set aside, with the zeros parted where they jumped. */
function asFitted(sightings: readonly Sighting[], fit: MountFit): Weighed[] {
  const { value, degreesOfFreedom } = fit.chiSquare;
  const errorScale = degreesOfFreedom > 0 ? Math.max(1, Math.sqrt(value / degreesOfFreedom)) : 1;
  const standing = new Map(fit.residuals.map((residual) => [residual.row, residual]));
  return sightings.flatMap((sighting) => {
    const residual = standing.get(sighting.row);
    if (residual?.standing !== "used") return [];
    const zeros = JSON.stringify([sighting.zeroSet, residual.hourAngleZero, residual.declinationZero]);
    return [{ sighting, zeros, errorScale }];
  });
}

interface Outcome {
  readonly terms: TonightStanding["terms"];
  readonly covariance: readonly (readonly number[])[];
  readonly agreements: readonly Agreement[];
  readonly chiSquare: MountFit["chiSquare"];
}

/** The kept model with tonight's sightings, after axis and tube may have moved so far (1σ, arcminutes). */
type KeptProblem = (movedArcmin: number) => Outcome;

function verdictOn({ chiSquare }: Outcome): KeptVerdict {
  if (chiSquare.degreesOfFreedom === 0) return "not-known-yet";
  return chiSquare.probability < CONTRADICTS_PROBABILITY ? "contradicts-model" : "as-kept";
}

/** No mount that is still looked after moves further than this between two nights, arcminutes. */
const MOST_MOVED = 640;

/** The kept model after a movement just large enough for tonight's stars. */
function widened(problem: KeptProblem, all: Outcome): Outcome {
  let outcome = all;
  for (let moved = 2.5; moved <= MOST_MOVED; moved *= 2) {
    outcome = problem(moved);
    if (outcome.chiSquare.value <= outcome.chiSquare.degreesOfFreedom) break;
  }
  return outcome;
}

function contradiction({ agreements, chiSquare }: Outcome): Note {
  const remedy =
    agreements.length < ENOUGH_ALONE
      ? "Then sight six stars or more for a fit of tonight."
      : `Then fit tonight's ${agreements.length} sightings by themselves, and use that fit.`;
  const worst = agreements.reduce((most, one) => (one.ratio > most.ratio ? one : most));
  const once = 1 / Math.max(chiSquare.probability, 1e-6);
  return {
    code: "contradicts-model",
    row: worst.row,
    rows: agreements.map(({ row }) => row),
    message: `Tonight's stars contradict the kept model (by chance once in ${once >= 1e6 ? "a million" : Number(once.toPrecision(2))} nights); ${worst.star} is ${Math.hypot(worst.west, worst.north).toFixed(0)}′ off.`,
    remedy: `The mount has moved since, or a star is misidentified, or the encoders slipped. Check the names. ${remedy}`,
  };
}

/** What moves when a base settles, a bolt gives or a tube is put back: the terms that a contradiction makes uncertain. */
const movable: readonly string[] = ["polarAltitude", "polarEast", "cone"];

function keptProblem(kept: MountStanding, mount: Mount, weighed: readonly Weighed[]): KeptProblem {
  const reduced = reduceNight({ mount, sightings: weighed.map(({ sighting }) => sighting) });
  return (movedArcmin) => {
    const known = inForceOnly(knownMount({ ...kept, mount }));
    known.names.forEach((name, index) => {
      if (movable.includes(name)) known.covariance[index * (known.names.length + 1)]! += movedArcmin ** 2;
    });
    return update(known, reduced, weighed);
  };
}

/** Takes the sightings in, one after the other. */
function update(known: KnownMount, reduced: ReducedNight, weighed: readonly Weighed[]): Outcome {
  const { mount } = known;
  const size = known.names.length;
  const { covariance } = known;
  const values = Float64Array.from(known.places, (place) => known.coefficients[place]! / ARCMINUTE);
  /** Forgets what was found of a term: it is `value`, or what it was, give or take `sigma`; arcminutes. */
  const forget = (name: TermName, sigma: number, value?: number): void => {
    const index = known.names.indexOf(name);
    if (index < 0) return;
    for (let j = 0; j < size; j++) {
      covariance[index * size + j] = 0;
      covariance[j * size + index] = 0;
    }
    covariance[index * size + index] = sigma ** 2;
    if (value !== undefined) values[index] = value;
  };
  const rows = new Float64Array(2 * size);
  const scratch = new Float64Array(2 + 2 * known.model.size);
  const angles = new Float64Array(2);
  let sum = 0;
  let measured = 0;
  const agreements = weighed.map(({ sighting, zeros, errorScale }, i): Agreement => {
    const before = weighed[i - 1];
    const setsZeros = before?.zeros !== zeros;
    if (setsZeros) {
      forget("hourAngleZero", ANY_ZERO);
      forget("declinationZero", ANY_ZERO);
    }
    // As in a fit, a tube turned in its rings has a cone of its own; the first position is taken for the kept one.
    if (before !== undefined && before.sighting.tubeSet !== sighting.tubeSet) {
      forget("cone", mount.tolerances.cone, 0);
    }
    values.forEach((value, index) => {
      known.coefficients[known.places[index]!] = value * ARCMINUTE;
    });
    const direction = { hourAngle: reduced.hourAngle[i]!, declination: reduced.declination[i]! };
    const stance = stanceOf(sighting);
    known.model.forward(known.coefficients, direction.hourAngle, direction.declination, stance, angles);
    skyPartials(known, direction, stance, rows, scratch);
    const [hasWest, hasNorth] = [reduced.hasHourAngle[i] === 1, reduced.hasDeclination[i] === 1];
    const west = hasWest
      ? (wrapHalfTurn(reduced.readingHourAngle[i]! - angles[0]!) * Math.cos(direction.declination)) /
        ARCMINUTE
      : 0;
    const north = hasNorth ? wrapHalfTurn(reduced.readingDeclination[i]! - angles[1]!) / ARCMINUTE : 0;
    if (!hasWest) rows.fill(0, 0, size);
    if (!hasNorth) rows.fill(0, size);
    const square = absorb(
      values,
      covariance,
      rows,
      [west, north],
      [(errorScale * reduced.sigmaWest[i]!) / ARCMINUTE, (errorScale * reduced.sigmaNorth[i]!) / ARCMINUTE],
    );
    const { row, star } = sighting;
    if (setsZeros) return { row, star, west: 0, north: 0, ratio: 0, agrees: true };
    sum += square;
    measured += Number(hasWest) + Number(hasNorth);
    const ratio = Math.sqrt(square);
    return { row, star, west, north, ratio, agrees: ratio < AGREES_UNDER };
  });
  return {
    terms: known.names.map((name, index) => ({
      name,
      set: null,
      value: values[index]!,
      uncertainty: Math.sqrt(covariance[index * size + index]!),
    })),
    covariance: known.names.map((_, i) => Array.from(covariance.subarray(i * size, (i + 1) * size))),
    agreements,
    chiSquare: {
      value: sum,
      degreesOfFreedom: measured,
      probability: measured === 0 ? 1 : chiSquareProbability(sum, measured),
    },
  };
}

/** The same knowledge without the terms of sets that are no longer in force. */
function inForceOnly(all: KnownMount): KnownMount {
  const kept = all.places.flatMap((place, index) => (place >= 0 ? [index] : []));
  const size = all.names.length;
  const covariance = new Float64Array(kept.length ** 2);
  kept.forEach((from, i) => {
    kept.forEach((to, j) => {
      covariance[i * kept.length + j] = all.covariance[from * size + to]!;
    });
  });
  return {
    ...all,
    names: kept.map((index): TermName => all.names[index]!),
    places: kept.map((index) => all.places[index]!),
    covariance,
  };
}
