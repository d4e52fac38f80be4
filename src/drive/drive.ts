/**
 * The drive from a tracked star's course: its rate, its periodic errors, its play; the axis's part held apart.
 */

import { inverse, Matrix } from "#matrices";
import { ARCSECOND } from "../angles.js";
import type { Estimate } from "../fit/fit-result.js";
import type { Mount } from "../mount/mount.js";
import type { TermName } from "../mount/terms.js";
import { standOfFit, standOfMount, standWith } from "../pointing/field-stand.js";
import type { MountStanding } from "../pointing/known-mount.js";
import { bestRate, meanBestRate } from "./best-rate.js";
import { driveNotes } from "./drive-notes.js";
import { driveRemedy } from "./drive-remedy.js";
import type { DriveResult, WayNoise } from "./drive-result.js";
import { longestWithin, peakToPeak, smearTable } from "./drive-smear.js";
import { courseSegments, type TrackPoint } from "./drive-track.js";
import { spectrum } from "./find-periods.js";
import { type Carrying, type CourseFit, carryingPrior, fitCourse, type WayRows } from "./fit-course.js";
import { powerAt } from "./periodogram.js";
import { carryingTerms, SIDEREAL_ARCSEC } from "./predicted-course.js";
import type { AveragedFit } from "./wander.js";

/** How to read a track: what is known of the axis and the sags, and how it was followed. */
export interface DriveOptions {
  /** A fit or a kept model: says how the axis stands. */
  readonly standing?: MountStanding | null;
  /** The smear that is allowed, arcseconds; two pixels of the camera when not given, else 2″. */
  readonly smearArcsec?: number;
}

const DEFAULT_SMEAR_ARCSEC = 2;
const DEFAULT_SMEAR_PX = 2;
const PPM = 1e-6;

/**
 * What a tracked star's course tells of the drive.
 *
 * @param track - the course, from {@link readTrack}
 * @param mount - the mount file
 * @param options - how the axis stands, the smear allowed
 * @throws {@link InputError} `few-moments` and the other faults of {@link courseSegments}
 * @example
 * ```ts
 * drive(track, mount).rate?.errorPpm; // −412: too slow by 0.37″ a minute
 * ```
 */
export function drive(track: readonly TrackPoint[], mount: Mount, options: DriveOptions = {}): DriveResult {
  const segments = courseSegments(track, mount.site, mount);
  const standing = options.standing ?? null;
  const stand = standing === null ? standOfMount(mount, {}) : { ...standOfFit(standing), site: mount.site };
  const known = carryingPrior(standing, mount);
  // Once more about what was found, where the axis stands far from where it was thought.
  let done = fitCourse(segments, stand, known, mount);
  const moved = carryingTerms.map((name, k) => done.carried.values[k]! - (stand.terms[name] ?? 0));
  if (Math.hypot(...moved) > FAR_ARCMIN) {
    const terms = Object.fromEntries(carryingTerms.map((name, k) => [name, done.carried.values[k]!]));
    done = fitCourse(segments, standWith(stand, terms as Record<TermName, number>), known, mount);
  }
  return resultOf(done, track, mount, standing, options);
}

/** Farther than this the course is no longer straight in the axis's error, arcminutes. */
const FAR_ARCMIN = 15;

/** The part of an unknown's variance that it owes to some others that are not known. */
function owedTo(fit: AveragedFit, place: number, others: readonly number[]): number {
  if (others.length === 0) return 0;
  const size = fit.values.length;
  const block = new Matrix(others.map((i) => others.map((j) => fit.covariance[i * size + j]!)));
  const row = Matrix.rowVector(others.map((j) => fit.covariance[place * size + j]!));
  const owed = row.mmul(inverse(block, true)).mmul(row.transpose()).get(0, 0);
  return Math.min(fit.covariance[place * size + place]!, Math.max(0, owed));
}

function noiseOf(fit: AveragedFit): WayNoise {
  const { scale, shape } = fit.best;
  return {
    scatterArcsec: scale,
    wanderArcsec: scale * Math.sqrt(shape.wander),
    memoryS: shape.wander > 0 ? shape.memoryS : 0,
  };
}

function resultOf(
  done: CourseFit,
  track: readonly TrackPoint[],
  mount: Mount,
  standing: MountStanding | null,
  options: DriveOptions,
): DriveResult {
  const { segments, west, north, flat } = done;
  const first = segments[0]!;
  const span = flat.seconds.at(-1)! - flat.seconds[0]!;
  const size = west?.fit.values.length ?? 0;
  const stand = standWith(
    done.stand,
    Object.fromEntries(carryingTerms.map((name, k) => [name, done.carried.values[k]!])) as Record<
      TermName,
      number
    >,
  );
  const best = {
    starPpm: bestRate(stand, first.start, Math.min(span, 3600), first.beyond),
    meanPpm: meanBestRate(standOfMount(mount, {}), mount.limits),
  };
  const perMinute = -60 * SIDEREAL_ARCSEC * PPM;
  const rate =
    west === null
      ? null
      : (() => {
          const errorPpm = west.fit.values[west.ratePlace]!;
          const uncertaintyPpm = Math.sqrt(west.fit.covariance[west.ratePlace * (size + 1)]!);
          const axisVariance = owedTo(
            west.fit,
            west.ratePlace,
            carryingTerms.map((_, k) => west.carryPlace + k),
          );
          return {
            errorPpm,
            herePpm: {
              value: errorPpm + west.carryPpm.reduce((sum, ppm, k) => sum + ppm * done.carried.values[k]!, 0),
              uncertainty: Math.sqrt(Math.max(0, uncertaintyPpm ** 2 - axisVariance)),
            },
            uncertaintyPpm,
            westArcsecPerMinute: perMinute * errorPpm,
            uncertaintyArcsecPerMinute: -perMinute * uncertaintyPpm,
            fromAxisPpm: Math.sqrt(axisVariance),
            fromSlowPartsPpm: Math.sqrt(
              owedTo(
                west.fit,
                west.ratePlace,
                west.slow.flatMap((_, k) => [west.slowPlace + 2 * k, west.slowPlace + 2 * k + 1]),
              ),
            ),
          };
        })();
  const camera = mount.camera;
  const limitArcsec =
    options.smearArcsec ??
    (camera === null
      ? DEFAULT_SMEAR_ARCSEC
      : (DEFAULT_SMEAR_PX * camera.pixelUm) / 1000 / camera.focalLengthMm / ARCSECOND);
  const waves = west?.waves ?? [];
  const periodic = west?.periodic ?? [];
  const longest =
    rate === null
      ? null
      : {
          limitArcsec,
          asItIsS: longestWithin(waves, rate.errorPpm, limitArcsec),
          rateCorrectedS: longestWithin(waves, 0, limitArcsec),
        };
  const polar =
    north === null
      ? null
      : {
          seen: north.seen,
          expected: north.expected,
          sigmas:
            standing === null
              ? null
              : Math.abs(north.seen.value - north.expected.value) /
                Math.hypot(north.seen.uncertainty, north.expected.uncertainty),
          altitude: estimate(done.carried, 0),
          east: estimate(done.carried, 1),
        };
  const points = segments.flatMap((segment) => segment.points);
  const startMs = first.startMs - 1000 * first.points[0]!.seconds;
  const result: DriveResult = {
    mountName: mount.name,
    stars: [...new Set(segments.map((segment) => segment.label))],
    startMs,
    spanMinutes: span / 60,
    moments: {
      read: track.length,
      used: points.length - flat.out.size,
    },
    segments: segments.length,
    rate,
    periodic,
    peakToPeakArcsec: peakToPeak(waves),
    waves,
    play: done.faults.play.map((one) => ({
      segment: segments[one.segment]!.name,
      timeMs: segments[one.segment]!.startMs,
      seconds: one.seconds,
      arcsec: one.seconds * SIDEREAL_ARCSEC,
    })),
    bumps: done.faults.bumps.map((place) => ({
      timeMs: startMs + 1000 * points[place]!.seconds,
      row: points[place]!.row,
    })),
    polar,
    noise: {
      west: west === null ? null : noiseOf(west.fit),
      north: north === null ? null : noiseOf(north.fit),
    },
    bestRate: best,
    remedy: rate === null ? null : driveRemedy(rate, best.meanPpm, mount.drive, longest!),
    smear: rate === null ? [] : smearTable(waves, rate.errorPpm),
    longest,
    notes: [],
    course: drawnCourse(done),
    periodogram:
      west === null
        ? null
        : {
            points: spectrum(west.course, west.base, west.fit.best.shape),
            power1Percent: powerAt(0.01, west.way.rows.seconds, west.course.range),
          },
    parts: done.parts.map(({ name, periodS }) => ({ name, periodS })),
  };
  return {
    ...result,
    notes: driveNotes(
      result,
      done,
      mount,
      standing,
      points.map((point) => point.row),
    ),
  };
}

function estimate(carrying: Carrying, k: number): Estimate {
  return { value: carrying.values[k]!, uncertainty: Math.sqrt(carrying.covariance[k]![k]!) };
}

/** As many points as a figure shows. */
const MOST_DRAWN = 800;

function drawnCourse(done: CourseFit): DriveResult["course"] {
  const { flat, west, north } = done;
  const count = flat.seconds.length;
  const every = Math.ceil(count / MOST_DRAWN);
  const spread = (way: WayRows | undefined, values: Float64Array | undefined, plus: Float64Array) => {
    const out: (number | null)[] = new Array(count).fill(null);
    way?.places.forEach((row, k) => {
      for (const i of row) out[i] = values![k]! + plus[i]!;
    });
    return out;
  };
  const shown = Array.from({ length: Math.ceil(count / every) }, (_, k) => k * every);
  const pick = (values: ArrayLike<number | null>): (number | null)[] =>
    shown.map((i) => {
      const value = values[i]!;
      return value === null || !Number.isFinite(value) ? null : value;
    });
  return {
    seconds: shown.map((i) => flat.seconds[i]!),
    west: pick(done.seenWest),
    north: pick(done.seenNorth),
    fitWest: pick(spread(west?.way, west?.modelled, done.predictedWest)),
    fitNorth: pick(spread(north?.way, north?.modelled, done.predictedNorth)),
    steadyWest: pick(spread(west?.way, west?.steady, done.predictedWest)),
  };
}
