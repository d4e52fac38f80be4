/**
 * Turning under a star: the telescope is set to the readings at which, once the axis is right, a star will be in the middle.
 * The star then stands off by a known way; each means is turned until the star has moved by its share, and all until it is
 * in the middle. The screws' true pitch and the floor's giving way do not matter.
 *
 * With Ω the wanted rotation of the base and s the star, the readings are those of Ω⁻¹ s by the fitted model. Two means that
 * move the star along two lines and a star in the middle settle both amounts; what is left comes from the fit, from the
 * encoders' steps and from the centring.
 */

import { inverse, Matrix } from "#matrices";
import { ARCMINUTE, DEGREE } from "../angles.js";
import type { MountFit } from "../fit/fit-result.js";
import { insideLimits } from "../mount/limits.js";
import type { Mount } from "../mount/mount.js";
import { readingStep } from "../night/reduce.js";
import { fieldOfCamera, halfFieldArcmin } from "../pointing/field.js";
import {
  type KnownMount,
  knownMount,
  predictReadings,
  skyPartials,
  stanceOf,
  usualSide,
} from "../pointing/known-mount.js";
import { degreesFromSun, SUN_AVOIDANCE_DEG, type SunWatch, sunWatch } from "../pointing/sun-safety.js";
import { catalogueStars } from "../sky/catalogue.js";
import { type HourAngleDirection, horizonFromHourAngle, hourAngleVector } from "../sky/horizon-frame.js";
import { observeIn } from "../sky/observe.js";
import type { SkyFrame } from "../sky/sky-frame.js";
import { skyOverNight } from "../sky/sky-over-night.js";
import type { Star } from "../sky/star.js";
import { formatTime, parseTime } from "../sky/time.js";
import { cross, dot, type Vector } from "../vectors.js";
import type { AxisName, Way } from "./adjusters/adjuster.js";
import { waysOf } from "./adjusters/adjusters.js";
import { type BaseMotion, carriedBy, movedPlace, sumOfMotions } from "./axis-motion.js";
import { motionOf, realTurns, type Setting, type Wish } from "./correction.js";
import { gainOf } from "./gains.js";

/** From when on the star is looked at. */
export interface UnderStarOptions {
  /** Milliseconds of UTC since 1970; ten minutes after the last sighting where it is not given. */
  readonly starFromMs?: number;
}

/** How far, on the sky: west and north positive, arcminutes. */
export interface SkyWay {
  readonly west: number;
  readonly north: number;
}

/** What one means does to the star. */
export interface StarShare extends SkyWay {
  /** What is turned, in words. */
  readonly means: string;
  readonly axis: AxisName;
  readonly by: string;
  /** Its name in the file of turns. */
  readonly adjuster: string;
  /** Where the star stands from the middle after it. */
  readonly leaves: SkyWay;
}

/** The readings to set at a moment, in the mount file's unit; and as they are set. */
export interface StarReading {
  readonly time: string;
  readonly hourAngle: number;
  readonly declination: number;
  readonly hourAngleText: string;
  readonly declinationText: string;
}

/** Turning under a star. */
export interface UnderStar {
  readonly star: string;
  readonly magnitude: number;
  /** At the first reading, degrees. */
  readonly altitudeDeg: number;
  readonly azimuthDeg: number;
  /** The IANA name of the zone that the site's clocks keep; null for UTC. */
  readonly timeZone: string | null;
  /** What to set, minute by minute for half an hour. */
  readonly readings: readonly StarReading[];
  /** Where the star stands from the middle before the first turn. */
  readonly offBefore: SkyWay;
  /** In the order of turning: by how much each means moves the star in the field. Together they bring it to the middle. */
  readonly shares: readonly StarShare[];
  /** How sure the axis will be, 1σ, arcminutes: the fit, the encoders' steps and the centring. */
  readonly afterUncertainty: { readonly altitude: number; readonly east: number };
  /** Half the camera's shorter side, arcminutes; null without a camera. */
  readonly halfFieldArcmin: number | null;
  /** Where the star would begin outside the field: what to add to the readings for each part of the way. */
  readonly stages: readonly {
    /** So much of the way, 0 to 1, is done when the star is in the middle. */
    readonly part: number;
    /** To be added to the table's readings, in the mount file's unit. */
    readonly hourAngle: number;
    readonly declination: number;
  }[];
}

const MINUTES = 30;
const MINUTE_MS = 60_000;
/** After the last sighting the base is made ready first. */
const MADE_READY_MS = 10 * MINUTE_MS;
/** Bright enough for every finder, and few enough not to be mistaken. */
const FAINTEST = 2.5;
const LOWEST_DEG = 25;
const HIGHEST_DEG = 80;
/** Nearer to the pole a star drifts too slowly to show where west is. */
const FARTHEST_DECLINATION_DEG = 80;
/** A star is set no nearer to the rim than this part of half the field. */
const WELL_INSIDE = 0.8;
/** sin² of the least angle between the lines along which two means move a star. */
const ONE_LINE = 0.03;
/** Of stars that show nearly as much the brightest is taken. */
const NEARLY_AS_GOOD = 1.15;

/**
 * How to turn what an advice asks for by what a star shows.
 *
 * @param fit - how the mount stands
 * @param setting - what the correction starts from, and what it moves
 * @param wish - where the axis is to go, by what
 * @returns null where nothing moves, or no star serves at that time
 */
export function underStar(
  fit: MountFit,
  setting: Setting,
  wish: Wish,
  options: UnderStarOptions = {},
): UnderStar | null {
  const motions = wantedMotions(setting, wish);
  const fromMs = options.starFromMs ?? afterLast(fit);
  if (motions.length === 0 || fromMs === null) return null;
  // Whole minutes are what a watch is set by.
  const startMs = Math.ceil(fromMs / MINUTE_MS) * MINUTE_MS;
  const known = knownMount(fit);
  const sky = skyOverNight(startMs, startMs + MINUTES * MINUTE_MS, fit.mount.site);
  const frames = Array.from({ length: MINUTES + 1 }, (_, minute) => sky.at(startMs + minute * MINUTE_MS));
  const task: Task = { known, setting, wish, motions };
  const chosen = bestStar(task, frames);
  if (chosen === null) return null;
  const first = frames[0]!;
  const seen = observeIn(first, chosen.star);
  const places = starPlaces(task, seen);
  const readingAt = (frame: SkyFrame, part = 1) =>
    predictReadings(
      known,
      beforeTurning(task, hourAngleVector(observeIn(frame, chosen.star)), part),
      frame.siderealTime,
      usualSide(fit.mount, seen.hourAngle),
    );
  const half = fit.mount.camera === null ? null : halfFieldArcmin(fieldOfCamera(fit.mount.camera));
  const off = Math.hypot(places[0]!.west, places[0]!.north);
  const count = half === null ? 1 : Math.max(1, Math.ceil(off / (WELL_INSIDE * half)));
  const whole = readingAt(first);
  return {
    star: chosen.star.label,
    magnitude: chosen.star.vMag,
    altitudeDeg: seen.altitude / DEGREE,
    azimuthDeg: seen.azimuth / DEGREE,
    timeZone: fit.mount.site.timeZone ?? null,
    readings: frames.map((frame) => {
      const { hourAngle, declination, hourAngleText, declinationText } = readingAt(frame);
      return { time: formatTime(frame.timeMs), hourAngle, declination, hourAngleText, declinationText };
    }),
    offBefore: places[0]!,
    shares: motions.map(({ way }, index) => ({
      means: way.title,
      axis: way.axis,
      by: way.by,
      adjuster: way.adjuster,
      west: places[index + 1]!.west - places[index]!.west,
      north: places[index + 1]!.north - places[index]!.north,
      leaves: places[index + 1]!,
    })),
    afterUncertainty: chosen.uncertainty,
    halfFieldArcmin: half,
    stages: Array.from({ length: count > 1 ? count : 0 }, (_, index) => {
      const part = (index + 1) / count;
      const stage = readingAt(first, part);
      return {
        part,
        hourAngle: stage.hourAngle - whole.hourAngle,
        declination: stage.declination - whole.declination,
      };
    }),
  };
}

interface Task {
  readonly known: KnownMount;
  readonly setting: Setting;
  readonly wish: Wish;
  /** In the order of turning. */
  readonly motions: readonly WantedMotion[];
}

interface WantedMotion {
  readonly way: Way;
  readonly motion: BaseMotion;
}

/** What each means is really to do, whatever its gain. */
function wantedMotions(setting: Setting, wish: Wish): WantedMotion[] {
  const { up, over } = realTurns(setting, wish);
  return waysOf(setting.adjusters).flatMap((way) => {
    const amount = wish[way.axis]?.way !== way ? 0 : way.axis === "altitude" ? up : over;
    return amount === 0 ? [] : [{ way, motion: way.motion(amount * gainOf(setting.gains, way).value) }];
  });
}

function afterLast(fit: MountFit): number | null {
  const times = fit.residuals
    .filter(({ standing }) => standing === "used")
    .map(({ time }) => parseTime(time));
  return times.length === 0 ? null : Math.max(...times) + MADE_READY_MS;
}

/** What a part of the way does to a direction that is fixed to the mount. */
function carriedPart({ setting, motions }: Task, part: number) {
  const some = sumOfMotions(motions.map(({ motion }) => scaled(motion, part)));
  return carriedBy(setting.from, some, setting.latitudeDeg);
}

/** Where the tube must point before turning for a star to be in the middle when a part of the way is done. */
function beforeTurning(task: Task, star: Vector, part: number): HourAngleDirection {
  return directionOf(carriedPart(task, part).back(star));
}

function scaled(motion: BaseMotion, part: number): BaseMotion {
  return {
    slopeEast: motion.slopeEast * part,
    slopeNorth: motion.slopeNorth * part,
    turn: motion.turn * part,
    bearingEast: motion.bearingEast * part,
    bearingUp: motion.bearingUp * part,
  };
}

function directionOf([x, y, z]: Vector): HourAngleDirection {
  return { hourAngle: Math.atan2(-y, x), declination: Math.atan2(z, Math.hypot(x, y)) };
}

/** Where the star stands from the middle before the first means and after each, arcminutes. */
function starPlaces(task: Task, seen: HourAngleDirection): SkyWay[] {
  const { setting, motions } = task;
  const star = hourAngleVector(seen);
  const tube = hourAngleVector(beforeTurning(task, star, 1));
  return Array.from({ length: motions.length + 1 }, (_, done) => {
    const motion = sumOfMotions(motions.slice(0, done).map((one) => one.motion));
    return inField(carriedBy(setting.from, motion, setting.latitudeDeg).forth(tube), star);
  });
}

/**
 * Where a star stands from the middle of the field, arcminutes. West and north are the star's own, on the plane that
 * touches the sky there: they stay the same while the tube is carried.
 */
export function inField(middle: Vector, star: Vector): SkyWay {
  const pole: Vector = [0, 0, 1];
  const across = cross(pole, star);
  const size = Math.hypot(...across);
  const east: Vector = [across[0] / size, across[1] / size, across[2] / size];
  const north = cross(star, east);
  const along = dot(star, middle) * ARCMINUTE;
  // Adding nothing turns a negative zero, which JSON does not have, into zero.
  return { west: dot(middle, east) / along + 0, north: -dot(middle, north) / along + 0 };
}

/** The star that shows the turns best during the half hour. */
function bestStar(
  task: Task,
  frames: readonly SkyFrame[],
): {
  readonly star: Star;
  readonly uncertainty: { readonly altitude: number; readonly east: number };
} | null {
  const { mount } = task.known;
  const looks = [frames[0]!, frames[frames.length >> 1]!, frames[frames.length - 1]!];
  const suns = looks.map((frame) => sunWatch(frame.timeMs, mount.site));
  if (suns.some((sun) => sun.up)) return null;
  const carried = carriedPart(task, 1);
  const uncertaintyAt = axisUncertainty(task);
  const candidates = catalogueStars().flatMap((star) => {
    if (star.vMag > FAINTEST) return [];
    const seen: HourAngleDirection[] = [];
    // The first look that forbids a star spares it the others.
    for (const [index, frame] of looks.entries()) {
      const direction = observeIn(frame, star);
      const altitude = direction.altitude / DEGREE;
      if (!(altitude > LOWEST_DEG && altitude < HIGHEST_DEG)) return [];
      const tube = directionOf(carried.back(hourAngleVector(direction)));
      const serves =
        Math.abs(direction.declination) < FARTHEST_DECLINATION_DEG * DEGREE &&
        insideLimits(direction, mount.limits) &&
        insideLimits(withHorizon(tube, mount), mount.limits) &&
        clearOfSun([direction, tube], suns[index]!);
      if (!serves) return [];
      seen.push(direction);
    }
    const sameSide = new Set(seen.map(({ hourAngle }) => usualSide(mount, hourAngle))).size === 1;
    const uncertainty = sameSide ? uncertaintyAt(seen[1]!) : null;
    return uncertainty === null ? [] : [{ star, uncertainty }];
  });
  const size = (one: { uncertainty: { altitude: number; east: number } }): number =>
    Math.hypot(one.uncertainty.altitude, one.uncertainty.east);
  const best = Math.min(...candidates.map(size));
  return (
    candidates
      .filter((one) => size(one) <= NEARLY_AS_GOOD * best)
      .sort((a, b) => a.star.vMag - b.star.vMag)[0] ?? null
  );
}

function clearOfSun(directions: readonly HourAngleDirection[], sun: SunWatch): boolean {
  return directions.every((direction) => degreesFromSun(direction, sun) > SUN_AVOIDANCE_DEG);
}

function withHorizon(direction: HourAngleDirection, mount: Mount) {
  return {
    ...direction,
    ...horizonFromHourAngle(direction.hourAngle, direction.declination, mount.site.latitude * DEGREE),
  };
}

/**
 * How sure the axis is after turning until a star is in the middle; null where the star cannot tell the means apart.
 *
 * With e the fit's errors, B what they do to the pointing, n the setting and the centring, J what the means do to the star
 * and K what they do to the axis: the star is in the middle where J x = −(B e + n), so the axis ends at e − K J⁻¹ (B e + n).
 */
function axisUncertainty(
  task: Task,
): (seen: HourAngleDirection) => { readonly altitude: number; readonly east: number } | null {
  const { known, setting, wish } = task;
  const whole = carriedPart(task, 1);
  const { up, over } = realTurns(setting, wish);
  const small = 1e-5;
  const at = (u: number, o: number) => {
    const motion = motionOf(setting, wish, u, o);
    return {
      place: movedPlace(setting.from, motion, setting.latitudeDeg),
      ...carriedBy(setting.from, motion, setting.latitudeDeg),
    };
  };
  const steps: (readonly [number, number])[] = [];
  if (wish.altitude !== null) steps.push([small, 0]);
  if (wish.east !== null) steps.push([0, small]);
  const around = steps.map(([u, o]) => ({ plus: at(up + u, over + o), minus: at(up - u, over - o) }));
  const slope = (plus: number, minus: number): number => (plus - minus) / (2 * small);
  const K = new Matrix([
    around.map(({ plus, minus }) => slope(plus.place.altitude, minus.place.altitude)),
    around.map(({ plus, minus }) => slope(plus.place.east, minus.place.east)),
  ]);
  const count = known.names.length;
  const axis = new Matrix(
    (["polarAltitude", "polarEast"] as const).map((name) =>
      known.names.map((other, index) => (other === name && known.places[index]! >= 0 ? 1 : 0)),
    ),
  );
  const C = Matrix.from1DArray(count, count, known.covariance);
  const { readings, centringArcmin } = known.mount;
  // The axis is set to a whole step, and a whole step is all that the encoder says of where it is: two of them.
  const stepped = (step: number): number => (2 * (step / ARCMINUTE) ** 2) / 12;
  const rows = new Float64Array(2 * count);
  const scratch = new Float64Array(2 + 2 * known.model.size);
  return (seen) => {
    const star = hourAngleVector(seen);
    const tubeDirection = directionOf(whole.back(star));
    const tube = hourAngleVector(tubeDirection);
    const slopes = around.map(({ plus, minus }) => {
      const [far, near] = [inField(plus.forth(tube), star), inField(minus.forth(tube), star)];
      return [slope(far.west, near.west), slope(far.north, near.north)] as const;
    });
    const J = new Matrix([slopes.map(([west]) => west), slopes.map(([, north]) => north)]);
    const normal = J.transpose().mmul(J);
    if (normal.rows === 2) {
      const [a, b, c] = [normal.get(0, 0), normal.get(1, 1), normal.get(0, 1)];
      // Both means move the star along one line: neither can be told from the other.
      if (!(a * b - c * c > ONE_LINE * a * b)) return null;
    }
    const KJ = K.mmul(inverse(normal)).mmul(J.transpose());
    const side = usualSide(known.mount, tubeDirection.hourAngle);
    skyPartials(known, tubeDirection, stanceOf(side), rows, scratch);
    const M = Matrix.sub(axis, KJ.mmul(Matrix.from1DArray(2, count, rows)));
    const N = Matrix.diag([
      stepped(readingStep(readings.hourAngle)) * Math.cos(tubeDirection.declination) ** 2 +
        centringArcmin ** 2,
      stepped(readingStep(readings.declination)) + centringArcmin ** 2,
    ]);
    const variance = Matrix.add(M.mmul(C).mmul(M.transpose()), KJ.mmul(N).mmul(KJ.transpose()));
    return { altitude: Math.sqrt(variance.get(0, 0)), east: Math.sqrt(variance.get(1, 1)) };
  };
}
