/**
 * The course that a star takes while a perfect drive turns the mount as it stands, and how that changes with the axis and the
 * sags: what is held apart from the drive's own errors.
 */
import { ARCSECOND } from "../angles.js";
import type { TermName } from "../mount/terms.js";
import { type MountStand, standWith, trackingMount } from "../pointing/field-stand.js";
import { SIDEREAL_RATE, trackTarget } from "../pointing/field-track.js";
import type { CourseSegment } from "./drive-track.js";

/** The terms that carry a star through the picture though the drive be perfect. */
export const carryingTerms = ["polarAltitude", "polarEast", "tubeSag", "ringSag", "trunnionSag"] as const;

/** A course of both ways, arcseconds, in the order of the segments' points. */
interface Course {
  readonly west: Float64Array;
  readonly north: Float64Array;
}

/** How the course changes with each of {@link carryingTerms}, arcseconds an arcminute. */
export interface PredictedCourse extends Course {
  readonly partials: readonly Course[];
}

/** Step for the partial derivatives, arcminutes. */
const STEP = 1;

/**
 * The course with a perfect drive, from where each stretch begins.
 *
 * @param stand - how the mount stands
 */
export function predictedCourse(segments: readonly CourseSegment[], stand: MountStand): PredictedCourse {
  const here = courseOf(segments, stand);
  const partials = carryingTerms.map((name): Course => {
    const value = stand.terms[name] ?? 0;
    const up = courseOf(segments, standWith(stand, { [name]: value + STEP } as Record<TermName, number>));
    const down = courseOf(segments, standWith(stand, { [name]: value - STEP } as Record<TermName, number>));
    return {
      west: up.west.map((at, i) => (at - down.west[i]!) / (2 * STEP)),
      north: up.north.map((at, i) => (at - down.north[i]!) / (2 * STEP)),
    };
  });
  return { ...here, partials };
}

function courseOf(segments: readonly CourseSegment[], stand: MountStand): Course {
  const count = segments.reduce((sum, segment) => sum + segment.points.length, 0);
  const west = new Float64Array(count);
  const north = new Float64Array(count);
  const mount = trackingMount(stand);
  let at = 0;
  for (const segment of segments) {
    const track = trackTarget(mount, segment.start, [], { beyond: segment.beyond });
    const from = segment.points[0]!.seconds;
    for (const point of segment.points) {
      const place = track.placesAt(point.seconds - from)[0]!;
      west[at] = -place.east / ARCSECOND;
      north[at] = place.north / ARCSECOND;
      at += 1;
    }
  }
  return { west, north };
}

/** How fast the sky turns, arcseconds a second. */
export const SIDEREAL_ARCSEC = SIDEREAL_RATE / ARCSECOND;
