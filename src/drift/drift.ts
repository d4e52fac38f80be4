/**
 * The polar axis from drifts: how far stars went from the cross-wire while the mount tracked by itself.
 *
 * Each drift is predicted from the exact model, with the air's own part in it, and the two errors of the axis are found by least
 * squares. Sags drift stars as well, and a ring sag looks just like an altitude error; so the sags are unknowns too, held by
 * what is known of them: the sightings' fit, or else the builder's tolerances. The uncertainty of the axis thereby includes what
 * the sags may have done.
 *
 * Assumed: the drive turns at the sidereal rate. A drift in declination hardly depends on it; where drifts westward are
 * given, the error of the drive's rate is an unknown too, unless it is said to be right.
 */
import { ARCSECOND, DEGREE } from "../angles.js";
import { type Fault, InputError } from "../errors.js";
import { chiSquareProbability } from "../fit/distributions.js";
import type { Estimate, PoleError } from "../fit/fit-result.js";
import { minimise } from "../fit/least-squares.js";
import type { Mount, Tolerances } from "../mount/mount.js";
import { defaultTolerances } from "../mount/mount-schema.js";
import type { TermName } from "../mount/terms.js";
import { type SkyPoint, skyPointAt } from "../pointing/field-sky.js";
import { type MountStand, standOfFit, standWith, trackingMount } from "../pointing/field-stand.js";
import { directionFromDegrees, trackTarget } from "../pointing/field-track.js";
import { type MountStanding, usualSide } from "../pointing/known-mount.js";
import { observe } from "../sky/observe.js";
import type { Site } from "../sky/site.js";
import { type DriftObservation, driftRow } from "./fields.js";
import { type KnownSags, knownSags, sagNames } from "./sags.js";
import { errorScale, type LeftOver } from "./scales.js";

export interface DriftOptions {
  /** The sightings' fit (or a kept model): says what is known of the sags. */
  readonly fit?: MountStanding | null;
  /** What the builder knows of his sags where there is no fit, 1σ, arcminutes; the usual ones when not given. */
  readonly tolerances?: Pick<Tolerances, "tubeSag" | "ringSag" | "trunnionSag">;
  /** `free` (the usual): the drive's rate is found from drifts westward. `sidereal`: it is right. */
  readonly driveRate?: "free" | "sidereal";
}

/** One drift taken apart, arcseconds, northward or westward. */
export interface DriftParts {
  readonly seen: number;
  /** What the air, the sags and the drive's rate did to it. */
  readonly refraction: number;
  readonly sags: number;
  readonly driveRate: number;
  /** What the axis did to it, as found. */
  readonly axis: number;
  /** Seen minus all of these. */
  readonly residual: number;
  /** 1σ as entered. */
  readonly expected: number;
}

/** How one drift fits. */
export interface DriftResidual {
  /** Counted from 1. */
  readonly row: number;
  readonly label: string;
  /** Where the star was seen at the beginning. */
  readonly place: SkyPoint;
  readonly minutes: number;
  readonly north: DriftParts | null;
  readonly west: DriftParts | null;
}

/** What these drifts tell of the axis. */
export type DriftTelling = "both errors" | "one way only" | "nothing";

/** What a note about drifts says. */
export type DriftNoteCode =
  | "one-way-only"
  | "poor-fit"
  | "low-star"
  | "west-not-used"
  | "not-converged"
  | "unsound-fit";

/** Something that the builder must know of his drifts. */
export interface DriftNote {
  readonly code: DriftNoteCode;
  /** The drift it is about, counted from 1; null for all of them. */
  readonly row: number | null;
  readonly message: string;
  readonly remedy: string;
}

/** A combination of the two errors and how well it is known. */
export interface DriftWay extends Estimate {
  /** The parts of altitude and east error in it; their squares add to one. */
  readonly altitude: number;
  readonly east: number;
}

/** The polar axis from drifts. */
export interface DriftResult {
  /** North positive. */
  readonly latitudeDeg: number;
  /** How many drifts there were. */
  readonly drifts: number;
  readonly tells: DriftTelling;
  /** From the true pole, arcminutes; what is not told has an uncertainty of ten degrees. */
  readonly pole: PoleError;
  /** The uncertainties of altitude and east from the drifts' own errors alone, sags taken as known, arcminutes. */
  readonly fromDriftsAlone: { readonly altitude: number; readonly east: number };
  /** The combinations known best and worst. */
  readonly best: DriftWay;
  readonly worst: DriftWay;
  /** How much too fast the drive runs, arcseconds a minute; null where it was not asked. */
  readonly driveRate: Estimate | null;
  readonly residuals: readonly DriftResidual[];
  readonly chiSquare: {
    readonly value: number;
    readonly degreesOfFreedom: number;
    /** The chance of so large a value or a larger one when the drifts are as good as was said. */
    readonly probability: number;
  };
  /** How many times as large as entered the errors northward are taken, for the drifts do not fit together; 1 where they do. */
  readonly scaledBy: number;
  /** The same for the errors westward. */
  readonly scaledByWest: number;
  /** Whence the sags are known. */
  readonly sagsFrom: "fit" | "tolerances";
  readonly notes: readonly DriftNote[];
}

/** What comparing with a fit needs besides: kept out of the JSON. */
export interface DriftSolution {
  readonly result: DriftResult;
  /** How altitude and east would move with what was taken for each sag: two rows, in the order of `sagNames`. */
  readonly sagGain: readonly (readonly number[])[];
}

/** No mount stands further off than this; a combination that is not told is left with it, arcminutes. */
const NOTHING_KNOWN_ARCMIN = 600;
/** A combination known worse than this is as good as not told: a star pointed at would miss a finder, arcminutes. */
const TOLD_ARCMIN = 120;
/** No drive runs further off than this, arcseconds a minute: ten per cent. */
const RATE_UNKNOWN = 90;
/** The scales of both ways depend on each other; after a few rounds they stand. */
const MOST_ROUNDS = 8;
const SAME_SCALE = 1e-3;
const LOW_ALTITUDE_DEG = 20;
/** Steps for the partial derivatives: arcminutes, or arcseconds a minute for the rate. */
const STEP = 0.5;

/**
 * Finds both errors of the polar axis from drifts.
 *
 * @param drifts - from {@link readDrifts} or {@link makeDrifts}; at least one
 * @param site - where the telescope stands, or the whole mount (then with its tolerances and terms)
 * @param options - the sightings' fit and how the drive runs
 * @returns both errors with uncertainties, each drift taken apart, notes
 * @throws {@link InputError} `no-drifts`, `star-below-horizon`
 * @example
 * ```ts
 * const drifts = makeDrifts([
 *   { hourAngleDeg: 0, declinationDeg: 0, minutes: 10, driftNorthArcsec: 26 },
 *   { hourAngleDeg: -75, declinationDeg: -10, minutes: 10, driftNorthArcsec: -9 },
 * ]);
 * solveDrift(drifts, mount).pole.east.value;
 * ```
 */
export function solveDrift(
  drifts: readonly DriftObservation[],
  site: Site | Mount,
  options: DriftOptions = {},
): DriftResult {
  return solveDriftFully(drifts, site, options).result;
}

/** {@link solveDrift} with what {@link compareDrift} needs. */
export function solveDriftFully(
  drifts: readonly DriftObservation[],
  siteOrMount: Site | Mount,
  options: DriftOptions = {},
): DriftSolution {
  const mount = "site" in siteOrMount ? siteOrMount : null;
  const site = mount === null ? (siteOrMount as Site) : mount.site;
  const places = drifts.map((drift) => placeOf(drift, site));
  refuse(drifts, places);
  const tolerances = options.tolerances ?? mount?.tolerances ?? defaultTolerances;
  const sags = knownSags(options.fit ?? null, tolerances);
  const base: MountStand =
    options.fit == null
      ? { site: pickSite(site), terms: {} }
      : { ...standOfFit(options.fit), site: pickSite(site) };
  const westCount = drifts.filter((drift) => drift.westArcsec !== null).length;
  const rateFree = westCount > 0 && options.driveRate !== "sidereal";

  const prediction = predictor(drifts, places, base, mount);
  const seen = drifts.flatMap((drift) => [drift.northArcsec, drift.westArcsec]);
  const used = seen.flatMap((value, index) => (value === null ? [] : [index]));
  const sigma = (index: number): number => drifts[index >> 1]!.uncertaintyArcsec;
  /** Northward and westward. */
  let scales: readonly [number, number] = [1, 1];

  // Unknowns: altitude, east, the sags, and the drive's rate where it is free.
  const size = 2 + sagNames.length + (rateFree ? 1 : 0);
  const priorRows = sagNames.length + 2 + (rateFree ? 1 : 0);
  const residualsAt = (x: Float64Array): Float64Array => {
    const predicted = prediction(x, rateFree);
    const rows = new Float64Array(used.length + priorRows);
    used.forEach((index, row) => {
      rows[row] = (predicted[index]! - seen[index]!) / (sigma(index) * scales[index & 1]!);
    });
    let row = used.length;
    rows[row++] = x[0]! / NOTHING_KNOWN_ARCMIN;
    rows[row++] = x[1]! / NOTHING_KNOWN_ARCMIN;
    for (const weights of sags.whitening) {
      rows[row++] = weights.reduce((sum, weight, k) => sum + weight * (x[2 + k]! - sags.values[k]!), 0);
    }
    if (rateFree) rows[row] = x[size - 1]! / RATE_UNKNOWN;
    return rows;
  };
  const problem = {
    size,
    rows: used.length + priorRows,
    evaluate: (
      x: Float64Array,
      first: number,
      count: number,
      block: Float64Array,
      partials: boolean,
    ): void => {
      const width = size + 1;
      const here = residualsAt(x);
      for (let i = 0; i < count; i++) block[i * width + size] = here[first + i]!;
      if (!partials) return;
      for (let j = 0; j < size; j++) {
        const up = residualsAt(x.map((value, k) => (k === j ? value + STEP : value)));
        const down = residualsAt(x.map((value, k) => (k === j ? value - STEP : value)));
        for (let i = 0; i < count; i++)
          block[i * width + j] = (up[first + i]! - down[first + i]!) / (2 * STEP);
      }
    },
  };
  /** How much larger the errors of both ways are than entered, by what a solution leaves over. */
  const scalesOf = (x: Float64Array, covariance: Float64Array): [number, number] => {
    const block = new Float64Array((used.length + priorRows) * (size + 1));
    problem.evaluate(x, 0, used.length, block, true);
    const leftOver: [LeftOver[], LeftOver[]] = [[], []];
    used.forEach((index, row) => {
      const partials = block.subarray(row * (size + 1), row * (size + 1) + size);
      const scale = scales[index & 1]!;
      leftOver[(index & 1) as 0 | 1].push({
        residual: block[row * (size + 1) + size]! * scale,
        leverage: partials.reduce(
          (sum, partial, i) =>
            sum +
            partial * partials.reduce((inner, other, j) => inner + other * covariance[i * size + j]!, 0),
          0,
        ),
      });
    });
    return [errorScale(leftOver[0]), errorScale(leftOver[1])];
  };
  const start = new Float64Array(size);
  sags.values.forEach((value, k) => {
    start[2 + k] = value;
  });
  let solution = minimise(problem, start);
  let posterior = solution.factor.inverseInformation();
  for (let round = 0; round < MOST_ROUNDS; round++) {
    const next = scalesOf(solution.parameters, posterior);
    const change = Math.max(...next.map((scale, way) => Math.abs(scale / scales[way]! - 1)));
    scales = next;
    if (change < SAME_SCALE) break;
    solution = minimise(problem, start);
    posterior = solution.factor.inverseInformation();
  }
  const x = solution.parameters;
  const at = (i: number, j: number): number => posterior[i * size + j]!;

  const free = 2 + (rateFree ? 1 : 0);
  const degreesOfFreedom = Math.max(0, used.length - free);
  const [scaledBy, scaledByWest] = scales;
  scales = [1, 1];
  const sumAsEntered = residualsAt(x).reduce((sum, residual) => sum + residual ** 2, 0);
  const pole = poleFrom([x[0]!, x[1]!], [at(0, 0), at(0, 1), at(1, 1)], site.latitude);
  const [best, worst] = waysOf(pole);
  const tells: DriftTelling =
    worst.uncertainty <= TOLD_ARCMIN
      ? "both errors"
      : best.uncertainty <= TOLD_ARCMIN
        ? "one way only"
        : "nothing";
  const result: DriftResult = {
    latitudeDeg: site.latitude,
    drifts: drifts.length,
    tells,
    pole,
    fromDriftsAlone: alone(solution.factor, size),
    best,
    worst,
    driveRate: rateFree ? { value: x[size - 1]!, uncertainty: Math.sqrt(at(size - 1, size - 1)) } : null,
    residuals: takeApart(drifts, places, x, prediction, rateFree),
    chiSquare: {
      value: sumAsEntered,
      degreesOfFreedom,
      probability: chiSquareProbability(sumAsEntered, degreesOfFreedom),
    },
    scaledBy,
    scaledByWest,
    sagsFrom: options.fit == null ? "tolerances" : "fit",
    notes: notesOn(drifts, places, {
      tells,
      worst,
      rateFree,
      westCount,
      scaledBy,
      scaledByWest,
      latitudeDeg: site.latitude,
      converged: solution.stop === "converged",
    }),
  };
  return { result, sagGain: sagGainOf(at, sags) };
}

type Predictor = (x: Float64Array, rateFree: boolean) => Float64Array;

function pickSite(site: Site): MountStand["site"] {
  return { latitude: site.latitude, pressureHPa: site.pressureHPa, temperatureC: site.temperatureC };
}

/** Where a drift's star was seen at the beginning. */
function placeOf(drift: DriftObservation, site: Site): SkyPoint {
  if (drift.position === null) return skyPointAt(drift.hourAngleDeg!, drift.declinationDeg!, site.latitude);
  const seen = observe(drift.position, drift.timeMs!, site);
  return {
    hourAngleDeg: seen.hourAngle / DEGREE,
    declinationDeg: seen.declination / DEGREE,
    azimuthDeg: seen.azimuth / DEGREE,
    altitudeDeg: seen.altitude / DEGREE,
  };
}

function refuse(drifts: readonly DriftObservation[], places: readonly SkyPoint[]): void {
  const faults: Fault[] = [];
  if (drifts.length === 0) {
    faults.push({
      code: "no-drifts",
      path: "drifts",
      allowed: "at least one drift; two, a quarter of the sky apart, measure both errors",
      message: "There are no drifts.",
    });
  }
  drifts.forEach((drift, index) => {
    const { altitudeDeg } = places[index]!;
    if (altitudeDeg > 0) return;
    faults.push({
      code: "star-below-horizon",
      ...(drift.line === null ? {} : { line: drift.line }),
      ...driftRow(drift.row),
      found: `${drift.label}, altitude ${altitudeDeg.toFixed(1)}°`,
      allowed:
        "a star above the horizon: look at the time, its zone, the longitude and the sign of the hour angle",
      message: "The star was below the horizon then.",
    });
  });
  if (faults.length > 0) throw new InputError(faults);
}

/** North and west of every drift in turn, arcseconds, for altitude, east, the sags and the drive's rate. */
function predictor(
  drifts: readonly DriftObservation[],
  places: readonly SkyPoint[],
  base: MountStand,
  mounting: Mount | null,
): Predictor {
  const beyond = drifts.map(({ side }, index) => {
    const usual = mounting === null ? "normal" : usualSide(mounting, places[index]!.hourAngleDeg);
    return (side ?? usual) === "beyond";
  });
  return (x, rateFree) => {
    const terms: Partial<Record<TermName, number>> = { polarAltitude: x[0]!, polarEast: x[1]! };
    sagNames.forEach((name, k) => {
      terms[name] = x[2 + k]!;
    });
    const mount = trackingMount(standWith(base, terms));
    const rate = rateFree ? x[x.length - 1]! : 0;
    const predicted = new Float64Array(2 * drifts.length);
    drifts.forEach((drift, index) => {
      const place = places[index]!;
      const direction = directionFromDegrees(place.hourAngleDeg, place.declinationDeg);
      const end = trackTarget(mount, direction, [], { beyond: beyond[index]! }).placesAt(
        60 * drift.minutes,
      )[0]!;
      const ahead = rate * drift.minutes * Math.cos(direction.declination);
      predicted[2 * index] = end.north / ARCSECOND;
      predicted[2 * index + 1] = -end.east / ARCSECOND - ahead;
    });
    return predicted;
  };
}

function poleFrom(
  [altitude, east]: readonly [number, number],
  [varianceA, covariance, varianceE]: readonly [number, number, number],
  latitudeDeg: number,
): PoleError {
  const cosine = Math.cos(latitudeDeg * DEGREE);
  const distance = Math.hypot(altitude, east);
  // At the pole itself the distance has no direction; the larger of both uncertainties holds there.
  const varianceD =
    distance > 1e-9
      ? (altitude * altitude * varianceA + 2 * altitude * east * covariance + east * east * varianceE) /
        (distance * distance)
      : Math.max(varianceA, varianceE);
  const root = (variance: number): number => Math.sqrt(Math.max(0, variance));
  return {
    altitude: { value: altitude, uncertainty: root(varianceA) },
    east: { value: east, uncertainty: root(varianceE) },
    azimuth: { value: east / cosine, uncertainty: root(varianceE) / cosine },
    distance: { value: distance, uncertainty: root(varianceD) },
    covariance,
    at: null,
  };
}

/** The best and the worst known combination: the axes of the ellipse of uncertainty. */
function waysOf(pole: PoleError): [DriftWay, DriftWay] {
  const a = pole.altitude.uncertainty ** 2;
  const e = pole.east.uncertainty ** 2;
  const turn = 0.5 * Math.atan2(2 * pole.covariance, a - e);
  const middle = (a + e) / 2;
  const spread = Math.hypot((a - e) / 2, pole.covariance);
  const way = (altitude: number, east: number, variance: number): DriftWay => ({
    altitude,
    east,
    value: altitude * pole.altitude.value + east * pole.east.value,
    uncertainty: Math.sqrt(Math.max(0, variance)),
  });
  return [
    way(-Math.sin(turn), Math.cos(turn), (a * e - pole.covariance ** 2) / (middle + spread)),
    way(Math.cos(turn), Math.sin(turn), middle + spread),
  ];
}

/** Uncertainties of altitude and east with the sags taken as known. */
function alone(
  factor: { entry(i: number, j: number): number; readonly size: number },
  size: number,
): { altitude: number; east: number } {
  // Information of altitude, east (and the rate): their rows and columns of RᵀR.
  const keep = [0, 1, ...(size > 2 + sagNames.length ? [size - 1] : [])];
  const information = keep.map((i) =>
    keep.map((j) => {
      let sum = 0;
      for (let k = 0; k <= Math.min(i, j); k++) sum += factor.entry(k, i) * factor.entry(k, j);
      return sum;
    }),
  );
  if (keep.length === 3) {
    const pivot = information[2]![2]!;
    for (let i = 0; i < 2; i++) {
      for (let j = 0; j < 2; j++) information[i]![j]! -= (information[i]![2]! * information[j]![2]!) / pivot;
    }
  }
  const [[aa, ae], [, ee]] = information as [[number, number], [number, number]];
  const determinant = aa * ee - ae * ae;
  return {
    altitude: Math.sqrt(ee / determinant),
    east: Math.sqrt(aa / determinant),
  };
}

/** How altitude and east follow what was taken for each sag: posterior covariance times the prior's information. */
function sagGainOf(at: (i: number, j: number) => number, sags: KnownSags): number[][] {
  return [0, 1].map((row) =>
    sagNames.map((_, k) =>
      sags.whitening.reduce(
        (sum, weights) =>
          sum + weights[k]! * weights.reduce((inner, weight, j) => inner + weight * at(row, 2 + j), 0),
        0,
      ),
    ),
  );
}

function takeApart(
  drifts: readonly DriftObservation[],
  places: readonly SkyPoint[],
  x: Float64Array,
  prediction: Predictor,
  rateFree: boolean,
): DriftResidual[] {
  // One cause after the other is taken away; what each takes with it is its part.
  const noAxis = x.map((value, k) => (k < 2 ? 0 : value));
  const noSags = x.map((value, k) => (k < 2 + sagNames.length ? 0 : value));
  const all = prediction(x, rateFree);
  const withoutAxis = prediction(noAxis, rateFree);
  const withoutSags = prediction(noSags, rateFree);
  const airOnly = prediction(noSags, false);
  return drifts.map((drift, index) => {
    const parts = (seen: number | null, place: number): DriftParts | null =>
      seen === null
        ? null
        : {
            seen,
            refraction: airOnly[place]!,
            sags: withoutAxis[place]! - withoutSags[place]!,
            driveRate: withoutSags[place]! - airOnly[place]!,
            axis: all[place]! - withoutAxis[place]!,
            residual: seen - all[place]!,
            expected: drift.uncertaintyArcsec,
          };
    return {
      row: drift.row,
      label: drift.label,
      place: places[index]!,
      minutes: drift.minutes,
      north: parts(drift.northArcsec, 2 * index),
      west: parts(drift.westArcsec, 2 * index + 1),
    };
  });
}

interface NoteGrounds {
  readonly tells: DriftTelling;
  readonly worst: DriftWay;
  readonly rateFree: boolean;
  readonly westCount: number;
  readonly scaledBy: number;
  readonly scaledByWest: number;
  readonly latitudeDeg: number;
  readonly converged: boolean;
}

function notesOn(
  drifts: readonly DriftObservation[],
  places: readonly SkyPoint[],
  grounds: NoteGrounds,
): DriftNote[] {
  const notes: DriftNote[] = [];
  if (!grounds.converged) {
    notes.push({
      code: "not-converged",
      row: null,
      message: "The solution did not settle.",
      remedy: "Look for a mistyped drift: minutes for seconds, pixels for arcseconds, a wrong star.",
    });
  }
  if (grounds.tells !== "both errors") {
    notes.push({
      code: "one-way-only",
      row: null,
      message:
        grounds.tells === "nothing"
          ? "These drifts say next to nothing about the axis."
          : "These drifts measure only one combination of the altitude and the east error; the other is not known.",
      remedy: `Time a star ${bestPlaceText(grounds.worst)}, high enough (20° and more).`,
    });
  }
  for (const [way, scale, positive] of [
    ["northward", grounds.scaledBy, "north"],
    ["westward", grounds.scaledByWest, "west"],
  ] as const) {
    if (scale === 1) continue;
    notes.push({
      code: "poor-fit",
      row: null,
      message: `The drifts ${way} do not fit together within their errors; these are taken ${scale.toFixed(1)} times as large.`,
      remedy: `Look at the drift ${way} with the largest residual: its sign (${positive} positive), its minutes, its star.${way === "westward" ? " A roller or worm with an error of its period does this too; it leaves the northward drifts alone." : " If all are right, state larger uncertainties."}`,
    });
  }
  if (grounds.westCount === 1 && grounds.rateFree) {
    notes.push({
      code: "west-not-used",
      row: null,
      message: "One drift westward measures only the error of the drive's rate, nothing of the axis.",
      remedy: "Give several, at other hour angles, or say that the drive's rate is sidereal.",
    });
  }
  drifts.forEach((drift, index) => {
    const { altitudeDeg } = places[index]!;
    if (altitudeDeg >= LOW_ALTITUDE_DEG) return;
    notes.push({
      code: "low-star",
      row: drift.row,
      message: `${drift.label} stood at ${altitudeDeg.toFixed(0)}° only; refraction near the horizon changes with the weather.`,
      remedy: `Take a star above ${LOW_ALTITUDE_DEG}°.`,
    });
  });
  return notes;
}

/** Where a star tells most of a combination: its drift is altitude · sin h + east · cos h. */
function bestPlaceText(way: DriftWay): string {
  const angle = Math.atan2(way.altitude, way.east) / DEGREE;
  // The opposite hour angle tells the same; the one nearer the meridian is above the horizon.
  const hours = (Math.abs(angle) > 90 ? angle - Math.sign(angle) * 180 : angle) / 15;
  if (Math.abs(hours) < 0.75) return "near the meridian";
  if (Math.abs(hours) > 5.25) return "five to six hours east or west of the meridian";
  return `about ${Math.abs(hours).toFixed(0)} hours ${hours < 0 ? "east" : "west"} of the meridian`;
}
