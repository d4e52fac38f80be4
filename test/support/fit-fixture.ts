/**
 * A fit and turns for the invented Nowhere School (40 cm split ring, southern hemisphere), made by first-order least
 * squares with the mount model's own partial derivatives and seeded scatter: realistic, and independent of the solver.
 */

import { inverse, Matrix } from "ml-matrix";
import { DEGREE } from "../../src/angles.js";
import type { TurnAdvice } from "../../src/base/turn-advice.js";
import type { MountFit, Note, Residual, TermEstimate } from "../../src/fit/fit-result.js";
import { mountModel, normalStance } from "../../src/mount/model.js";
import type { Mount } from "../../src/mount/mount.js";
import { termDescriptions, termNames } from "../../src/mount/terms.js";
import { gaussian, seededRandom } from "../../src/simulate/random.js";
import { nowhereSchool } from "./nowhere-school-evening.js";

export const nowhereMount: Mount = {
  ...nowhereSchool,
  timingS: 1,
  trunnionSpacingMm: 620,
  ringSpacingMm: 480,
};

const starNames = [
  "Mirach",
  "Hamal",
  "Achernar",
  "Diphda",
  "Fomalhaut",
  "Menkar",
  "Acamar",
  "Rigel",
  "Canopus",
  "Aldebaran",
  "Betelgeuse",
  "Sirius",
  "Adhara",
  "Procyon",
  "Naos",
  "Alphard",
  "Suhail",
  "Avior",
  "Miaplacidus",
  "Regulus",
  "Acrux",
  "Spica",
  "Menkent",
  "Rigil Kentaurus",
];

/** How the fixture departs from the usual night. */
export interface FixtureOptions {
  readonly seed?: number;
  readonly mount?: Mount;
  /** True values in arcminutes; what is not named is zero. */
  readonly truth?: Readonly<Partial<Record<(typeof termNames)[number], number>>>;
  /** Row of a star named wrongly. */
  readonly misnamedRow?: number | null;
  readonly stars?: readonly string[];
  readonly notes?: readonly Note[];
  /** Gives the zeros in two sets, the second from this row on. */
  readonly zerosMoveAtRow?: number;
}

const FITTED = termNames.slice(0, 9);
const NIGHT_MS = Date.UTC(2026, 2, 14, 18, 30);
const MINUTES_PER_STAR = 4;

/** The usual night's truth, arcminutes. */
export const usualTruth = {
  hourAngleZero: 412.6,
  declinationZero: -88.4,
  polarAltitude: 14.2,
  polarEast: -19.2,
  cone: 6.5,
  squareness: -4.1,
  tubeSag: 1.8,
  ringSag: 0.4,
  trunnionSag: 0.2,
} as const;

/** A fit of 24 sightings, of which one is set aside. */
export function nowhereFit(options: FixtureOptions = {}): MountFit {
  const mount = options.mount ?? nowhereMount;
  const truth = options.truth ?? usualTruth;
  const stars = options.stars ?? starNames;
  const misnamed = options.misnamedRow === undefined ? 7 : options.misnamedRow;
  const random = seededRandom(options.seed ?? 20260314);
  const latitude = mount.site.latitude * DEGREE;
  const model = mountModel(latitude);
  const none = new Float64Array(model.size);
  const out = new Float64Array(2);
  const partials = new Float64Array(2 * model.size);
  const step = 21600 / mount.readings.hourAngle.perTurn / Math.sqrt(12);
  const setOf = (row: number): string =>
    options.zerosMoveAtRow === undefined ? "" : row < options.zerosMoveAtRow ? "first" : "second";
  const places = stars.map((star, index) => placeOf(star, index, random, latitude));
  const rows: number[][] = [];
  const measured: number[] = [];
  const weights: number[] = [];
  const zeroJump = { hourAngle: 61.2, declination: -14.5 };
  const columns = options.zerosMoveAtRow === undefined ? FITTED.length : FITTED.length + 2;
  places.forEach((place, index) => {
    const row = index + 1;
    const cos = Math.cos(place.declination);
    model.forward(none, place.hourAngle, place.declination, normalStance, out, partials);
    const west = FITTED.map((_, term) => partials[term]! * cos);
    const north = FITTED.map((_, term) => partials[model.size + term]!);
    const sigmaWest = Math.hypot(step * cos, mount.centringArcmin, 0.25 * mount.timingS * cos);
    const sigmaNorth = Math.hypot(step, mount.centringArcmin);
    const value = (coefficients: readonly number[]): number =>
      coefficients.reduce((sum, coefficient, term) => sum + coefficient * (truth[FITTED[term]!] ?? 0), 0);
    const second = setOf(row) === "second" ? 1 : 0;
    const extend = (line: number[], which: 0 | 1, size: number): number[] =>
      columns === FITTED.length
        ? line
        : [...line, which === 0 ? second * size : 0, which === 1 ? second * size : 0];
    rows.push(extend(west, 0, cos), extend(north, 1, 1));
    measured.push(
      value(west) + second * zeroJump.hourAngle * cos + sigmaWest * gaussian(random),
      value(north) + second * zeroJump.declination + sigmaNorth * gaussian(random),
    );
    weights.push(1 / sigmaWest ** 2, 1 / sigmaNorth ** 2);
  });
  const usedRows = rows.map((_, line) => Math.floor(line / 2) + 1 !== misnamed);
  const tolerances = columnTolerances(mount, columns);
  const normalMatrix = Matrix.zeros(columns, columns);
  const right = Matrix.zeros(columns, 1);
  rows.forEach((line, index) => {
    if (!usedRows[index]) {
      return;
    }
    for (let i = 0; i < columns; i++) {
      right.set(i, 0, right.get(i, 0) + weights[index]! * line[i]! * measured[index]!);
      for (let j = 0; j < columns; j++) {
        normalMatrix.set(i, j, normalMatrix.get(i, j) + weights[index]! * line[i]! * line[j]!);
      }
    }
  });
  tolerances.forEach((tolerance, i) => {
    if (tolerance !== null) {
      normalMatrix.set(i, i, normalMatrix.get(i, i) + 1 / tolerance ** 2);
    }
  });
  const covariance = inverse(normalMatrix);
  const solution = covariance.mmul(right).to1DArray();
  const residualOf = (line: number): number =>
    measured[line]! - rows[line]!.reduce((sum, coefficient, i) => sum + coefficient * solution[i]!, 0);
  const residuals = places.map((place, index): Residual => {
    const row = index + 1;
    const isMisnamed = row === misnamed;
    const [west, north] = isMisnamed ? [512.4, -233.7] : [residualOf(2 * index), residualOf(2 * index + 1)];
    return {
      row,
      star: stars[index]!,
      time: new Date(NIGHT_MS + index * MINUTES_PER_STAR * 60_000).toISOString().replace(".000", ""),
      west,
      north,
      distance: Math.hypot(west, north),
      expectedWest: 1 / Math.sqrt(weights[2 * index]!),
      expectedNorth: 1 / Math.sqrt(weights[2 * index + 1]!),
      standing: isMisnamed ? "set aside" : "used",
      likelyStar: isMisnamed ? "Zaurak" : null,
      hourAngleDeg: place.hourAngle / DEGREE,
      declinationDeg: place.declination / DEGREE,
      altitudeDeg: place.altitude / DEGREE,
      azimuthDeg: place.azimuth / DEGREE,
      zeroSet: setOf(row),
      hourAngleZero: solution[0]! + (setOf(row) === "second" ? solution[FITTED.length]! : 0),
      declinationZero: solution[1]! + (setOf(row) === "second" ? solution[FITTED.length + 1]! : 0),
      side: "normal",
      readingHourAngle: Math.round(((place.hourAngle / DEGREE) * 16384) / 360 + 313),
      readingDeclination: Math.round(((-place.declination / DEGREE) * 16384) / 360 + 67),
    };
  });
  const used = residuals.filter((residual) => residual.standing === "used");
  const chi = used.reduce(
    (sum, r) => sum + (r.west / r.expectedWest) ** 2 + (r.north / r.expectedNorth) ** 2,
    0,
  );
  const meanSquare = (values: readonly number[]): number =>
    Math.sqrt(values.reduce((sum, value) => sum + value * value, 0) / values.length);
  const uncertainty = (i: number): number => Math.sqrt(covariance.get(i, i));
  const terms = termsOf(solution, uncertainty, tolerances, options.zerosMoveAtRow !== undefined);
  const order = terms.map((term) => term.column);
  const [altitude, east] = [solution[2]!, solution[3]!];
  const distance = Math.hypot(altitude, east);
  const cosLatitude = Math.cos(latitude);
  return {
    mount,
    sightings: { read: stars.length, used: used.length, setAside: stars.length - used.length },
    terms: terms.map(({ column: _, ...term }) => term),
    covariance: order.map((i) => order.map((j) => covariance.get(i, j))),
    pole: {
      altitude: { value: altitude, uncertainty: uncertainty(2) },
      east: { value: east, uncertainty: uncertainty(3) },
      azimuth: { value: east / cosLatitude, uncertainty: uncertainty(3) / cosLatitude },
      distance: {
        value: distance,
        uncertainty: Math.hypot(altitude * uncertainty(2), east * uncertainty(3)) / distance,
      },
      covariance: covariance.get(2, 3),
    },
    skyRms: {
      found: meanSquare(used.map((r) => r.distance)),
      expected: meanSquare(used.map((r) => Math.hypot(r.expectedWest, r.expectedNorth))),
    },
    chiSquare: { value: chi, degreesOfFreedom: 2 * used.length - columns, probability: 0.55 },
    residuals,
    notes: options.notes ?? [
      {
        code: "misnamed-star",
        row: 7,
        message: "row 7 says Acamar, the readings fit Zaurak to 0.8′",
        remedy: "look at the finder chart; if it was Zaurak, write that name in row 7",
      },
    ],
    sound: true,
    stop: { reason: "converged", iterations: 4 },
    condition: 38.2,
    priors: true,
    meanTimeMs: NIGHT_MS + (stars.length - 1) * MINUTES_PER_STAR * 30_000,
  };
}

interface Place {
  readonly hourAngle: number;
  readonly declination: number;
  readonly altitude: number;
  readonly azimuth: number;
}

/** Places spread evenly over the sky above 22°, by the plastic number's sequence (M. Roberts 2018, from memory), with a little scatter. */
function placeOf(_star: string, index: number, random: () => number, latitude: number): Place {
  const altitude = Math.asin(0.4 + 0.58 * ((index * 0.7549 + 0.1) % 1) + 0.02 * (random() - 0.5));
  const azimuth = (index * 0.5698 * 2 * Math.PI + 0.2 * (random() - 0.5) + 0.3) % (2 * Math.PI);
  const north = Math.cos(altitude) * Math.cos(azimuth);
  const eastward = Math.cos(altitude) * Math.sin(azimuth);
  const up = Math.sin(altitude);
  const x = -Math.sin(latitude) * north + Math.cos(latitude) * up;
  const z = Math.cos(latitude) * north + Math.sin(latitude) * up;
  return {
    hourAngle: Math.atan2(-eastward, x),
    declination: Math.atan2(z, Math.hypot(x, eastward)),
    altitude,
    azimuth,
  };
}

function columnTolerances(mount: Mount, columns: number): (number | null)[] {
  const { cone, squareness, tubeSag, ringSag, trunnionSag } = mount.tolerances;
  const tolerances: (number | null)[] = [
    null,
    null,
    null,
    null,
    cone,
    squareness,
    tubeSag,
    ringSag,
    trunnionSag,
  ];
  return columns === tolerances.length ? tolerances : [...tolerances, null, null];
}

function termsOf(
  solution: readonly number[],
  uncertainty: (i: number) => number,
  tolerances: readonly (number | null)[],
  twoSets: boolean,
): (TermEstimate & { column: number })[] {
  const term = (
    column: number,
    name: (typeof termNames)[number],
    value: number,
    set: string | null,
    sigma: number,
  ) => ({
    column,
    name,
    label: termDescriptions[name].label,
    set,
    unit: termDescriptions[name].unit,
    value,
    uncertainty: sigma,
    tolerance: tolerances[column] ?? null,
    probability: null,
    standing:
      tolerances[column] === null || sigma < 0.5 * tolerances[column]!
        ? ("measured" as const)
        : ("tolerance only" as const),
  });
  return FITTED.flatMap((name, column) => {
    const first = term(
      column,
      name,
      solution[column]!,
      twoSets && column < 2 ? "first" : null,
      uncertainty(column),
    );
    if (!twoSets || column >= 2) {
      return [first];
    }
    const extra = FITTED.length + column;
    const both = Math.hypot(uncertainty(column), uncertainty(extra));
    return [first, term(extra, name, solution[column]! + solution[extra]!, "second", both)];
  });
}

/** The turns for {@link nowhereFit}, worked by hand: 14.2′ too high over 1600 mm, 22.7′ of azimuth at 1500 mm. */
export function nowhereAdvice(): TurnAdvice {
  const drop = -3.25;
  return {
    recommended: true,
    verdict: "turn",
    missing: 0,
    moves: [
      ...(["north-east", "north-west", "south-west", "south-east"] as const).map((adjuster, index) => ({
        adjuster,
        direction: index < 2 ? ("clockwise" as const) : ("anticlockwise" as const),
        mm: 3.25,
        turns: 1.625,
        uncertaintyTurns: 0.06,
      })),
      { adjuster: "azimuth bolts", direction: "east", mm: 9.56, turns: 6.375, uncertaintyTurns: 0.1 },
    ],
    jacks: [
      { name: "north-east", riseMm: 3.25, turns: 1.625, direction: "clockwise", uncertaintyTurns: 0.06 },
      { name: "north-west", riseMm: 3.25, turns: 1.625, direction: "clockwise", uncertaintyTurns: 0.06 },
      { name: "south-west", riseMm: drop, turns: 1.625, direction: "anticlockwise", uncertaintyTurns: 0.06 },
      { name: "south-east", riseMm: drop, turns: 1.625, direction: "anticlockwise", uncertaintyTurns: 0.06 },
    ],
    azimuthBolts: { end: "south", direction: "east", shiftMm: 9.56, turns: 6.375, uncertaintyTurns: 0.1 },
    lowerBearing: null,
    slide: null,
    steps: [
      step("North-east jack: 1/2 turn clockwise.", "north-east", 0.5, "clockwise", 1),
      step("North-west jack: 1/2 turn clockwise.", "north-west", 0.5, "clockwise", 1),
      step("South-west jack: 1/2 turn anticlockwise.", "south-west", 0.5, "anticlockwise", 1),
    ],
    after: { altitude: 0.2, east: -0.4 },
    afterUncertainty: { altitude: 2.9, east: 3.9 },
    hourAngleZeroShift: -3.1,
    warpMm: 0.05,
    aim: { at: "true", altitude: 0 },
    underStar: null,
    notes: [],
    levelChange: { northUpArcmin: 14, eastUpArcmin: 0, northUpMmPerM: 4.07, eastUpMmPerM: 0 },
    choices: [],
    cautions: [
      "Park the tube at its safest and lock both axes before touching a jack",
      "Switch the drive power off",
      "Nothing and nobody under the frame",
    ],
    reasons: ["the azimuth bolts reach: they leave the base level"],
  };
}

function step(
  text: string,
  adjuster: string,
  turns: number,
  direction: string,
  mm: number,
): TurnAdvice["steps"][number] {
  return { text, adjuster, turns, direction, mm };
}
