/**
 * A tracked star's course: where the star stood against where it was set, moment by moment, while the drive followed.
 */
import { ARCSECOND, TURN, wrapHalfTurn } from "../angles.js";
import { type Fault, InputError } from "../errors.js";
import type { Mount } from "../mount/mount.js";
import { readingAngle } from "../mount/readings.js";
import { observe } from "../sky/observe.js";
import { siderealTime } from "../sky/sidereal-time.js";
import type { Site } from "../sky/site.js";
import type { IcrsPosition, ObservedDirection } from "../sky/star.js";

/** One moment of a course as it was written down. */
export interface TrackPoint {
  /** Counted from 1. */
  readonly row: number;
  /** Line of the file, counted from 1; null when it did not come from a file. */
  readonly line: number | null;
  readonly timeMs: number;
  /** The star's name or its coordinates as text. */
  readonly label: string;
  readonly position: IcrsPosition;
  /** How far the star stands west of where it was set, arcseconds on the sky; null where that was not seen. */
  readonly westArcsec: number | null;
  /** The same northward. */
  readonly northArcsec: number | null;
  /** What both axes read while the drive follows, in the mount file's units; null without them. */
  readonly readings: { readonly hourAngle: number | null; readonly declination: number | null } | null;
  /** From one setting of the star to the next. */
  readonly segment: string;
  /** 1σ of each way as stated, arcseconds; null when not stated. */
  readonly uncertaintyArcsec: number | null;
  /** The tube is turned over the pole. */
  readonly beyond: boolean;
  readonly note: string;
}

/** A stretch of a course between two settings, ready for the fit. */
export interface CourseSegment {
  readonly label: string;
  readonly name: string;
  readonly beyond: boolean;
  readonly startMs: number;
  /** Where the star was seen when the stretch began. */
  readonly start: ObservedDirection;
  readonly points: readonly CoursePoint[];
}

/** One moment of a course, both ways in arcseconds on the sky. */
interface CoursePoint {
  readonly row: number;
  /** Seconds since the course began. */
  readonly seconds: number;
  readonly west: number | null;
  readonly north: number | null;
  readonly uncertainty: number | null;
}

/** Fewer moments in one stretch tell nothing of it. */
const LEAST_POINTS = 3;
/** A course needs this many moments in all. */
const LEAST_MOMENTS = 8;
/** A course of a drive is a night's at most. */
const LONGEST_HOURS = 16;

/**
 * Puts a course in order: stretches by segment and side, times ascending, readings turned into the star's course.
 *
 * @param points - in any order
 * @param site - where the telescope stands
 * @param mount - needed for a course of readings
 * @throws {@link InputError} `few-moments`, `track-too-long`, `star-below-horizon`, `same-moment-twice`,
 *   `readings-without-mount`
 */
export function courseSegments(
  points: readonly TrackPoint[],
  site: Site,
  mount: Mount | null,
): CourseSegment[] {
  const faults: Fault[] = [];
  const told = points.filter(
    (point) => point.westArcsec !== null || point.northArcsec !== null || point.readings !== null,
  );
  if (told.length < LEAST_MOMENTS) {
    throw new InputError({
      code: "few-moments",
      found: String(told.length),
      allowed: `${LEAST_MOMENTS} moments or more; a picture every 10 to 30 s for an hour shows much`,
      message: "The course has too few moments.",
    });
  }
  const ordered = [...told].sort((a, b) => a.timeMs - b.timeMs);
  const firstMs = ordered[0]!.timeMs;
  const hours = (ordered.at(-1)!.timeMs - firstMs) / 3_600_000;
  if (hours > LONGEST_HOURS) {
    faults.push({
      code: "track-too-long",
      found: `${hours.toFixed(1)} hours`,
      allowed: `one night, at most ${LONGEST_HOURS} hours; give each night its own file`,
      message: "The course is longer than a night.",
    });
  }
  const stretches: TrackPoint[][] = [];
  for (const point of ordered) {
    const before = stretches.at(-1)?.at(-1);
    const goesOn =
      before !== undefined &&
      before.segment === point.segment &&
      before.label === point.label &&
      before.beyond === point.beyond;
    if (before !== undefined && before.timeMs === point.timeMs) {
      faults.push({
        code: "same-moment-twice",
        ...(point.line === null ? {} : { line: point.line }),
        row: point.row,
        rowOf: "moment",
        column: "time",
        found: new Date(point.timeMs).toISOString(),
        allowed: "a time of its own for each row; add decimals of the second",
        message: "Two rows have the same time.",
      });
    }
    if (goesOn) stretches.at(-1)!.push(point);
    else stretches.push([point]);
  }
  const segments = stretches
    .filter((stretch) => stretch.length >= LEAST_POINTS)
    .map((stretch): CourseSegment => {
      const first = stretch[0]!;
      const start = observe(first.position, first.timeMs, site);
      if (start.altitude <= 0) {
        faults.push({
          code: "star-below-horizon",
          ...(first.line === null ? {} : { line: first.line }),
          row: first.row,
          rowOf: "moment",
          found: `${first.label}, altitude ${((start.altitude * 360) / TURN).toFixed(1)}°`,
          allowed: "a star above the horizon: check the time, its zone, the longitude and the star",
          message: "The star was below the horizon then.",
        });
      }
      return {
        label: first.label,
        name: first.segment,
        beyond: first.beyond,
        startMs: first.timeMs,
        start,
        points: stretch.map((point) => coursePoint(point, firstMs, site, mount)),
      };
    });
  if (segments.length === 0) {
    faults.push({
      code: "few-moments",
      found: `${stretches.length} settings of the star, none with ${LEAST_POINTS} moments`,
      allowed: `${LEAST_POINTS} moments or more after a setting`,
      message: "Every stretch of the course is too short.",
    });
  }
  if (faults.length > 0) throw new InputError(faults);
  return segments;
}

function coursePoint(point: TrackPoint, firstMs: number, site: Site, mount: Mount | null): CoursePoint {
  const seconds = (point.timeMs - firstMs) / 1000;
  const uncertainty = point.uncertaintyArcsec;
  if (point.readings === null) {
    return { row: point.row, seconds, west: point.westArcsec, north: point.northArcsec, uncertainty };
  }
  if (mount === null) {
    throw new InputError({
      code: "readings-without-mount",
      row: point.row,
      rowOf: "moment",
      allowed: "a mount file, which says what the readings mean",
      message: "The course is given by readings.",
    });
  }
  // The star stands west of where the shafts have come by its own angle less theirs; zeros are in each stretch's offset.
  const seen = observe(point.position, point.timeMs, site);
  const sidereal = siderealTime(point.timeMs, site);
  const { hourAngle, declination } = point.readings;
  const side = point.beyond ? -1 : 1;
  const shaft =
    hourAngle === null ? null : readingAngle(hourAngle, mount.readings.hourAngle, { siderealTime: sidereal });
  const tilt = declination === null ? null : readingAngle(declination, mount.readings.declination);
  return {
    row: point.row,
    seconds,
    west:
      shaft === null ? null : (wrapHalfTurn(seen.hourAngle - shaft) * Math.cos(seen.declination)) / ARCSECOND,
    north: tilt === null ? null : (side * wrapHalfTurn(side * seen.declination - tilt)) / ARCSECOND,
    uncertainty: uncertainty ?? readingStep(mount),
  };
}

/** How well a reading tells a moment: the encoder's step, spread evenly. */
function readingStep(mount: Mount): number {
  const { perTurn, smallest } = mount.readings.hourAngle;
  return ((smallest / perTurn) * TURN) / ARCSECOND / Math.sqrt(12);
}
