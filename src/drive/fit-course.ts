/**
 * The fit of a course: northward first, which tells of the axis, then westward with what is then known of it.
 *
 * The star's course is that of a perfect drive (the exact model, with the air), changed by the axis and the sags as far as they are
 * not known, plus the drive's own errors and noise that remembers.
 */

import { CholeskyDecomposition, inverse, Matrix } from "#matrices";
import type { Estimate } from "../fit/fit-result.js";
import type { Mount } from "../mount/mount.js";
import type { MountStand } from "../pointing/field-stand.js";
import type { MountStanding } from "../pointing/known-mount.js";
import { type CourseFaults, courseFaults } from "./course-faults.js";
import { type DrivePart, driveParts, partOf } from "./drive-parts.js";
import type { PeriodicError } from "./drive-result.js";
import type { Wave } from "./drive-smear.js";
import type { CourseSegment } from "./drive-track.js";
import { findPeriods, SEEN_BELOW, type SearchedCourse, usualStep, waveColumns } from "./find-periods.js";
import { frequencyRange } from "./periodogram.js";
import { carryingTerms, predictedCourse, SIDEREAL_ARCSEC } from "./predicted-course.js";
import {
  type AveragedFit,
  fitAveraged,
  fitUnder,
  median,
  type NoisyFit,
  type PriorRows,
  type TimedRows,
} from "./wander.js";

/** An axis set by daylight and never sighted, 1σ, arcminutes. */
const AXIS_UNKNOWN_ARCMIN = 60;
/** A part slower than the course may be out of round by so much, 1σ, arcseconds: common practice, no source. */
const SLOW_PART_ARCSEC = 20;
/** More moments are averaged first. */
const MOST_ROWS = 1500;
/** A part is fitted where the course holds so much of its turn. */
const LEAST_TURNS = 1;
const PPM = 1e-6;

/** What is known of the carrying terms: values and covariance, arcminutes. */
export interface Carrying {
  readonly values: readonly number[];
  readonly covariance: readonly (readonly number[])[];
}

export function carryingPrior(standing: MountStanding | null, mount: Mount): Carrying {
  const places = carryingTerms.map((name) =>
    standing === null ? -1 : standing.terms.map((term) => term.name).lastIndexOf(name),
  );
  const alone = (name: (typeof carryingTerms)[number]): number =>
    name === "polarAltitude" || name === "polarEast"
      ? AXIS_UNKNOWN_ARCMIN
      : Math.max(mount.tolerances[name], 1e-3);
  return {
    values: places.map((place) => (place < 0 ? 0 : standing!.terms[place]!.value)),
    covariance: places.map((i, row) =>
      places.map((j, column) => {
        if (i < 0 || j < 0) return row === column ? alone(carryingTerms[row]!) ** 2 : 0;
        const both = (standing!.covariance[i]![j]! + standing!.covariance[j]![i]!) / 2;
        return row === column ? Math.max(both, 1e-8) : both;
      }),
    ),
  };
}

/** Rows of unit spread from a covariance. */
function whitening(covariance: readonly (readonly number[])[]): number[][] {
  const matrix = new Matrix(covariance.map((row) => [...row]));
  const cholesky = new CholeskyDecomposition(matrix);
  if (cholesky.isPositiveDefinite()) return inverse(cholesky.lowerTriangularMatrix).to2DArray();
  return covariance.map((row, i) =>
    row.map((_, j) => (i === j ? 1 / Math.sqrt(Math.max(row[i]!, 1e-12)) : 0)),
  );
}

/** One way of the course as rows. */
export interface WayRows {
  readonly rows: TimedRows;
  readonly leastScale: number;
  /** For each row its places in the whole course. */
  readonly places: readonly (readonly number[])[];
  readonly averaged: number;
}

interface Flat {
  readonly seconds: Float64Array;
  readonly group: Int32Array;
  readonly segment: Int32Array;
  readonly cosDeclination: Float64Array;
  readonly uncertainty: readonly (number | null)[];
  readonly out: ReadonlySet<number>;
}

export interface CourseFit {
  readonly segments: readonly CourseSegment[];
  readonly stand: MountStand;
  readonly flat: Flat;
  readonly seenWest: Float64Array;
  readonly seenNorth: Float64Array;
  readonly predictedWest: Float64Array;
  readonly predictedNorth: Float64Array;
  readonly faults: CourseFaults;
  readonly parts: readonly DrivePart[];
  /** After the northward way, before the westward one. */
  readonly carried: Carrying;
  readonly north: NorthFit | null;
  readonly west: WestFit | null;
}

interface NorthFit {
  readonly way: WayRows;
  readonly fit: AveragedFit;
  readonly modelled: Float64Array;
  readonly seen: Estimate;
  readonly expected: Estimate;
}

interface WestFit {
  readonly way: WayRows;
  readonly fit: AveragedFit;
  readonly course: SearchedCourse;
  readonly base: readonly Float64Array[];
  readonly modelled: Float64Array;
  readonly steady: Float64Array;
  readonly ratePlace: number;
  readonly carryPlace: number;
  readonly slow: readonly DrivePart[];
  readonly slowPlace: number;
  readonly periodic: readonly PeriodicError[];
  readonly waves: readonly Wave[];
  readonly carried: Carrying;
  /** What an arcminute of each carrying term does to the rate as this course shows it, parts per million. */
  readonly carryPpm: readonly number[];
}

export function fitCourse(
  segments: readonly CourseSegment[],
  stand: MountStand,
  known: Carrying,
  mount: Mount,
): CourseFit {
  const points = segments.flatMap((segment) => segment.points);
  const predicted = predictedCourse(segments, stand);
  const seenWest = Float64Array.from(points, (point) => point.west ?? Number.NaN);
  const seenNorth = Float64Array.from(points, (point) => point.north ?? Number.NaN);
  const leftWest = seenWest.map((value, i) => value - predicted.west[i]!);
  const leftNorth = seenNorth.map((value, i) => value - predicted.north[i]!);
  const faults = courseFaults(segments, { west: leftWest, north: leftNorth });
  const flat = flatten(segments, faults);
  const at = carryingTerms.map((name) => stand.terms[name] ?? 0);

  // The data are the course less the prediction; the carrying terms are counted from where it was predicted.
  const shifted = (carrying: Carrying): Carrying => ({
    ...carrying,
    values: carrying.values.map((value, k) => value - at[k]!),
  });
  const back = (carrying: Carrying): Carrying => ({
    ...carrying,
    values: carrying.values.map((value, k) => value + at[k]!),
  });
  const northWay = wayRows(flat, seenNorth);
  const north =
    northWay === null
      ? null
      : fitNorth(
          northWay,
          flat,
          leftNorth,
          predicted.partials.map((one) => one.north),
          shifted(known),
          predicted.north,
        );
  const carried = north === null ? known : back(north.carried);
  const westWay = wayRows(flat, seenWest);
  const parts = driveParts(mount.drive);
  const west =
    westWay === null
      ? null
      : fitWest(
          westWay,
          flat,
          leftWest,
          predicted.partials.map((one) => one.west),
          shifted(carried),
          parts,
        );
  return {
    segments,
    stand,
    flat,
    seenWest,
    seenNorth,
    predictedWest: predicted.west,
    predictedNorth: predicted.north,
    faults,
    parts,
    carried: west === null ? carried : back(west.carried),
    north: north?.fit ?? null,
    west,
  };
}

/** All points in one row: which offset each belongs to, and which are left out. */
function flatten(segments: readonly CourseSegment[], faults: CourseFaults): Flat {
  const points = segments.flatMap((segment, index) =>
    segment.points.map((point) => ({ point, index, segment })),
  );
  const bumps = new Set(faults.bumps);
  const group = new Int32Array(points.length);
  let current = -1;
  let before = -1;
  points.forEach(({ index }, i) => {
    if (index !== before || bumps.has(i)) current += 1;
    before = index;
    group[i] = current;
  });
  return {
    seconds: Float64Array.from(points, ({ point }) => point.seconds),
    group,
    segment: Int32Array.from(points, ({ index }) => index),
    cosDeclination: Float64Array.from(points, ({ segment }) => Math.cos(segment.start.declination)),
    uncertainty: points.map(({ point }) => point.uncertainty),
    out: new Set([...faults.misread, ...faults.play.flatMap((one) => one.places)]),
  };
}

/** The rows of one way, averaged where there are very many; null where that way was not seen. */
function wayRows(flat: Flat, seen: Float64Array): WayRows | null {
  const used: number[] = [];
  for (let i = 0; i < seen.length; i++) if (Number.isFinite(seen[i]!) && !flat.out.has(i)) used.push(i);
  if (used.length < LEAST_ROWS) return null;
  const together = Math.ceil(used.length / MOST_ROWS);
  const places: number[][] = [];
  for (const i of used) {
    const last = places.at(-1);
    if (last !== undefined && last.length < together && flat.group[last[0]!] === flat.group[i]) last.push(i);
    else places.push([i]);
  }
  const stated = used.map((i) => flat.uncertainty[i]!);
  const allStated = stated.every((value) => value !== null);
  const usual = allStated ? median(stated as number[]) : 1;
  const mean = (of: (i: number) => number, row: readonly number[]): number =>
    row.reduce((sum, i) => sum + of(i), 0) / row.length;
  const starts: number[] = [];
  places.forEach((row, k) => {
    if (k === 0 || flat.group[row[0]!] !== flat.group[places[k - 1]![0]!]) starts.push(k);
  });
  return {
    rows: {
      seconds: Float64Array.from(places, (row) => mean((i) => flat.seconds[i]!, row)),
      starts,
      sigma: Float64Array.from(
        places,
        (row) => (allStated ? mean((i) => flat.uncertainty[i]!, row) / usual : 1) / Math.sqrt(row.length),
      ),
    },
    leastScale: allStated ? usual : LEAST_SCALE_ARCSEC,
    places,
    averaged: together,
  };
}

const LEAST_ROWS = 6;
/** No scatter is smaller, arcseconds. */
const LEAST_SCALE_ARCSEC = 1e-3;

function averaged(way: WayRows, of: ArrayLike<number>): Float64Array {
  return Float64Array.from(way.places, (row) => row.reduce((sum, i) => sum + of[i]!, 0) / row.length);
}

/** A column of ones for each offset. */
function offsetColumns(way: WayRows, flat: Flat): Float64Array[] {
  const groups = [...new Set(way.places.map((row) => flat.group[row[0]!]!))];
  return groups.map((group) =>
    Float64Array.from(way.places, (row) => (flat.group[row[0]!] === group ? 1 : 0)),
  );
}

/** Prior rows for the carrying terms at their place among the unknowns. */
function priorAt(carrying: Carrying, place: number, size: number): PriorRows {
  const rows = whitening(carrying.covariance).map((weights) => {
    const row = new Array<number>(size).fill(0);
    weights.forEach((weight, k) => {
      row[place + k] = weight;
    });
    return row;
  });
  return {
    rows,
    values: rows.map((row) => carrying.values.reduce((sum, value, k) => sum + row[place + k]! * value, 0)),
  };
}

function carryingOf(fit: AveragedFit, place: number): Carrying {
  const size = fit.values.length;
  return {
    values: carryingTerms.map((_, k) => fit.values[place + k]!),
    covariance: carryingTerms.map((_, i) =>
      carryingTerms.map((__, j) => fit.covariance[(place + i) * size + place + j]!),
    ),
  };
}

function fitNorth(
  way: WayRows,
  flat: Flat,
  left: Float64Array,
  partials: readonly Float64Array[],
  known: Carrying,
  predicted: Float64Array,
): { fit: NorthFit; carried: Carrying } {
  const offsets = offsetColumns(way, flat);
  const data = averaged(way, left);
  const carry = partials.map((column) => averaged(way, column));
  const columns = [...offsets, ...carry];
  const place = offsets.length;
  const fit = fitAveraged(way.rows, columns, data, priorAt(known, place, columns.length), way.leastScale);
  const carried = carryingOf(fit, place);
  // As drifts are usually told: so many arcseconds a minute, and what was to be expected.
  const minutes = way.rows.seconds.map((at) => at / 60);
  const none: PriorRows = { rows: [], values: [] };
  const line = fitAveraged(way.rows, [...offsets, minutes], data, none, way.leastScale);
  const slopeOf = (column: Float64Array): number =>
    slopeIn(way, offsets.length, [...offsets, minutes], column, line.best);
  const before = slopeOf(averaged(way, predicted));
  const slopes = carry.map(slopeOf);
  const size = offsets.length + 1;
  let variance = 0;
  slopes.forEach((a, i) => {
    slopes.forEach((b, j) => {
      variance += a * b * known.covariance[i]![j]!;
    });
  });
  const shift = slopes.reduce((sum, slope, k) => sum + slope * known.values[k]!, 0);
  return {
    carried,
    fit: {
      way,
      fit,
      modelled: modelledBy(columns, fit),
      seen: {
        value: line.values[size - 1]! + before,
        uncertainty: tFactor(way, size) * Math.sqrt(line.covariance[size * size - 1]!),
      },
      expected: { value: before + shift, uncertainty: Math.sqrt(variance) },
    },
  };
}

/** The slope that a column would show in the same rows. */
function slopeIn(
  way: WayRows,
  place: number,
  columns: readonly Float64Array[],
  column: Float64Array,
  like: NoisyFit,
): number {
  return fitUnder(way.rows, like.shape, columns, column, { rows: [], values: [] }, 1).values[place]!;
}

function modelledBy(columns: readonly Float64Array[], fit: AveragedFit): Float64Array {
  const modelled = new Float64Array(columns[0]!.length);
  columns.forEach((column, j) => {
    for (let i = 0; i < modelled.length; i++) modelled[i]! += column[i]! * fit.values[j]!;
  });
  return modelled;
}

/** What makes two standard deviations from few rows hold in 95 % (Cornish and Fisher's series of Student's t). */
function tFactor(way: WayRows, unknowns: number): number {
  const free = Math.max(3, way.rows.seconds.length - unknowns);
  const z = 1.96;
  return 1 + (z ** 2 + 1) / (4 * free) + (5 * z ** 4 + 16 * z ** 2 + 3) / (96 * free ** 2);
}

function fitWest(
  way: WayRows,
  flat: Flat,
  left: Float64Array,
  partials: readonly Float64Array[],
  known: Carrying,
  parts: readonly DrivePart[],
): WestFit {
  const { rows, leastScale } = way;
  const offsets = offsetColumns(way, flat);
  const data = averaged(way, left);
  const cosDeclination = averaged(way, flat.cosDeclination);
  const first = rows.seconds[0]!;
  const span = rows.seconds.at(-1)! - first;
  const middleS = first + span / 2;
  const step = usualStep(rows);
  // The rate's error, in parts per million: the star stays behind a drive that is too fast.
  const rate = rows.seconds.map((at, i) => -SIDEREAL_ARCSEC * PPM * cosDeclination[i]! * (at - middleS));
  const range = frequencyRange(rows.seconds, step);
  const base = [...offsets, rate];
  const searched: SearchedCourse = { rows, data, base, cosDeclination, range, leastScale, middleS };
  const fitted = parts.filter((part) => part.periodS <= span / LEAST_TURNS && part.periodS >= 2.5 * step);
  const slow = parts.filter((part) => part.periodS > span / LEAST_TURNS);
  const partColumns = fitted.flatMap((part) => waveColumns(searched, 1 / part.periodS));
  const found = findPeriods({ ...searched, base: [...base, ...partColumns] });

  const carry = partials.map((column) => averaged(way, column));
  const slowColumns = slow.flatMap((part) => waveColumns(searched, 1 / part.periodS));
  const steadyColumns = [...offsets, rate, ...carry, ...slowColumns];
  const ratePlace = offsets.length;
  const carryPlace = ratePlace + 1;
  const slowPlace = carryPlace + carry.length;
  const partPlace = steadyColumns.length;
  const foundPlace = partPlace + partColumns.length;
  const frequencies = found.map((one) => one.frequency);
  const columnsAt = (waves: readonly [number, number][]): Float64Array[] => [
    ...steadyColumns,
    ...partColumns,
    ...frequencies.flatMap((frequency, k) => {
      const [cosine, sine] = waveColumns(searched, frequency);
      const [a, b] = waves[k]!;
      // How the wave changes with its frequency, for one cycle more in the whole course.
      const drift = rows.seconds.map(
        (at, i) => ((2 * Math.PI * (at - middleS)) / span) * (b * cosine[i]! - a * sine[i]!),
      );
      return [cosine, sine, drift];
    }),
  ];
  const size = foundPlace + 3 * found.length;
  const carryPrior = priorAt(known, carryPlace, size);
  const slowPrior = slowColumns.map((_, k) => {
    const row = new Array<number>(size).fill(0);
    row[slowPlace + k] = 1 / SLOW_PART_ARCSEC;
    return row;
  });
  // A frequency was found to a part of a cycle in the whole course; this keeps a lost one from running off.
  const frequencyPrior = found.map((_, k) => {
    const row = new Array<number>(size).fill(0);
    row[foundPlace + 3 * k + 2] = 1;
    return row;
  });
  const prior: PriorRows = {
    rows: [...carryPrior.rows, ...slowPrior, ...frequencyPrior],
    values: [...carryPrior.values, ...slowPrior.map(() => 0), ...frequencyPrior.map(() => 0)],
  };
  // Amplitudes first, then frequencies with them, a few times; the noise's shape as found without.
  let waves: [number, number][] = frequencies.map(() => [0, 0]);
  let columns = columnsAt(waves);
  let fit = fitAveraged(rows, columns, data, prior, leastScale);
  for (let round = 0; round < (found.length > 0 ? 4 : 0); round++) {
    waves = frequencies.map((_, k) => [fit.values[foundPlace + 3 * k]!, fit.values[foundPlace + 3 * k + 1]!]);
    columns = columnsAt(waves);
    const next = fitUnder(rows, fit.best.shape, columns, data, prior, leastScale);
    frequencies.forEach((frequency, k) => {
      const change = next.values[foundPlace + 3 * k + 2]! / span;
      frequencies[k] = frequency + Math.max(-0.2 / span, Math.min(0.2 / span, change));
    });
    waves = frequencies.map((_, k) => [
      next.values[foundPlace + 3 * k]!,
      next.values[foundPlace + 3 * k + 1]!,
    ]);
    columns = columnsAt(waves);
    if (round === 3) fit = fitAveraged(rows, columns, data, prior, leastScale);
    else fit = { ...fit, values: next.values };
  }

  const factor = tFactor(way, size);
  const covariance = fit.covariance.map((value) => value * factor * factor);
  const whole: AveragedFit = { ...fit, covariance };
  const wave = (place: number) => {
    const [a, b] = [whole.values[place]!, whole.values[place + 1]!];
    const caa = covariance[place * size + place]!;
    const cab = covariance[place * size + place + 1]!;
    const cbb = covariance[(place + 1) * size + place + 1]!;
    const amplitude = Math.hypot(a, b);
    const along =
      amplitude > 0 ? (a * a * caa + 2 * a * b * cab + b * b * cbb) / amplitude ** 2 : Math.max(caa, cbb);
    const determinant = caa * cbb - cab * cab;
    const square = (cbb * a * a - 2 * cab * a * b + caa * b * b) / Math.max(determinant, 1e-300);
    return { cosine: a, sine: b, amplitude, uncertainty: Math.sqrt(along), power: square / 2 };
  };
  const periodic: (PeriodicError & { readonly wave: Wave })[] = [];
  fitted.forEach((part, k) => {
    const one = wave(partPlace + 2 * k);
    const chance = 1 - (1 - Math.exp(-one.power)) ** fitted.length;
    periodic.push({
      periodS: part.periodS,
      periodUncertaintyS: 0,
      amplitudeArcsec: one.amplitude,
      uncertaintyArcsec: one.uncertainty,
      part: part.name,
      harmonic: 1,
      falseAlarm: chance,
      seen: chance < SEEN_BELOW,
      wave: { periodS: part.periodS, amplitudeArcsec: one.amplitude, cosine: one.cosine, sine: one.sine },
    });
  });
  found.forEach(({ falseAlarm }, k) => {
    const one = wave(foundPlace + 3 * k);
    const periodS = 1 / frequencies[k]!;
    const place = foundPlace + 3 * k + 2;
    const periodUncertaintyS = (periodS ** 2 * Math.sqrt(covariance[place * size + place]!)) / span;
    const match = partOf(periodS, periodUncertaintyS, parts);
    periodic.push({
      periodS,
      periodUncertaintyS,
      amplitudeArcsec: one.amplitude,
      uncertaintyArcsec: one.uncertainty,
      part: match?.name ?? null,
      harmonic: match?.harmonic ?? null,
      falseAlarm,
      seen: true,
      wave: { periodS, amplitudeArcsec: one.amplitude, cosine: one.cosine, sine: one.sine },
    });
  });
  periodic.sort((a, b) => b.amplitudeArcsec - a.amplitudeArcsec);
  const steady = new Float64Array(data.length);
  steadyColumns.forEach((column, j) => {
    for (let i = 0; i < steady.length; i++) steady[i]! += column[i]! * whole.values[j]!;
  });
  return {
    way,
    fit: whole,
    course: searched,
    base,
    modelled: modelledBy(
      columns.map((column, j) =>
        j >= foundPlace && (j - foundPlace) % 3 === 2 ? new Float64Array(column.length) : column,
      ),
      whole,
    ),
    steady,
    ratePlace,
    carryPlace,
    slow,
    slowPlace,
    periodic: periodic.map(({ wave: _, ...rest }) => rest),
    waves: periodic.filter((one) => one.seen).map((one) => one.wave),
    carried: carryingOf(whole, carryPlace),
    carryPpm: carry.map((column) => slopeIn(way, ratePlace, base, column, whole.best)),
  };
}
