/**
 * What an exposure shows of the mount's errors: how far the stars drift, how far the picture turns, how long one may
 * expose for a given smear.
 *
 * Assumed: the drive turns its axis at exactly the sidereal rate, or as its track showed where one is given, and nobody corrects
 * it (or, guided, somebody keeps the target in the middle and nothing more). Wind and seeing come on top.
 */
import { ARCMINUTE, ARCSECOND, DEGREE } from "../angles.js";
import { CLASS_EXPOSURE_S, CLASS_SMEAR_PX } from "../base/another-round.js";
import type { DriveResult } from "../drive/drive-result.js";
import { type Fault, InputError, shown } from "../errors.js";
import { type ModelDirection, POLAR_ALTITUDE, POLAR_EAST } from "../mount/model.js";
import type { Limits, Mount } from "../mount/mount.js";
import {
  checkField,
  type ImageField,
  inSmearUnit,
  rimPlaces,
  type SmearUnit,
  smearUnit,
} from "../pointing/field.js";
import { isWithinLimits, type SkyPoint, skyPointAt } from "../pointing/field-sky.js";
import { type AnyStand, standAndMount, type TrackingMount, trackingMount } from "../pointing/field-stand.js";
import {
  directionFromDegrees,
  type FieldPlace,
  type OwnMotion,
  type Track,
  trackTarget,
} from "../pointing/field-track.js";
import { usualSide } from "../pointing/known-mount.js";
import { type DriveBudget, driveBudget, LONGEST_EXPOSURE_S } from "./drive-budget.js";
import { seeingFaults, smearOfSeeing } from "./seeing.js";

/** What to expose on: where it is seen when the exposure begins. */
export interface ExposureTarget {
  readonly label: string;
  /** Observed hour angle, west positive, degrees. */
  readonly hourAngleDeg: number;
  /** Observed declination, degrees. */
  readonly declinationDeg: number;
  /** How it moves among the stars, arcseconds a minute on the sky; not given for what stands among them. */
  readonly ownMotion?: OwnMotion;
}

/** What an exposure is asked for. All but the field may be left out. */
export interface ExposureOptions {
  /** The camera's or eyepiece's field: see {@link fieldOfCamera} and {@link fieldOfEyepiece}. */
  readonly field: ImageField;
  /** How long, seconds; 60 when not given. */
  readonly exposureS?: number;
  /** The most that a star may be drawn out: pixels for a camera (2 when not given), arcseconds for an eyepiece (60). */
  readonly smearLimit?: number;
  /**
   * The seeing, full width of a star at half its height, arcseconds: the smear allowed is then what widens a star by a tenth, where
   * `smearLimit` is not given.
   */
  readonly seeingArcsec?: number;
  /** What a track told of the drive: its rate error and its periodic error count, unguided. */
  readonly drive?: Pick<DriveResult, "rate" | "waves" | "peakToPeakArcsec"> | null;
  /** Somebody, or a guiding camera, keeps the target in the middle: only the turning of the picture is left. */
  readonly guided?: boolean;
  /** The tube is turned over the pole; as usual on the mount (a German one east of the meridian) when not given. */
  readonly beyond?: boolean;
  /** Where the telescope may point: ends the exposure where the target leaves it. Of a fit: its mount's limits. */
  readonly limits?: Limits | null;
}

/** How far one cause alone would draw out a star at the rim, in the unit of the smear. */
export interface SmearCauses {
  readonly polarAxis: number;
  readonly refraction: number;
  /** Sags, cone and squareness, and a builder's own terms. */
  readonly tubeAndAxes: number;
  /** The target's own motion among the stars: of the Moon and the planets. */
  readonly ownMotion: number;
  /** The drive's rate error and periodic error; 0 where no track told them. */
  readonly drive: number;
}

/** How one star runs in the picture, from the middle of the picture in the unit of the smear. */
export interface Trail {
  readonly startEast: number;
  readonly startNorth: number;
  /** Where it is at equal steps of time, from its start. */
  readonly east: readonly number[];
  readonly north: readonly number[];
}

/** Why an exposure can be no longer. */
export type ExposureEnd = "smear" | "limits" | "four hours";

/** An exposure foreseen. */
export interface Exposure {
  readonly target: ExposureTarget & SkyPoint;
  /** How long it is, seconds. */
  readonly exposureS: number;
  readonly guided: boolean;
  /** The unit of `smear`, `smearLimit`, `causes` and `trails`. */
  readonly unit: SmearUnit;
  /** Star minus the middle of the picture at the end of the exposure, unguided, arcseconds. */
  readonly drift: { readonly west: number; readonly north: number; readonly distance: number };
  /** The same as a rate at the beginning, arcseconds a minute. */
  readonly driftRate: { readonly west: number; readonly north: number };
  /** How far the stars turn in the picture, from north through east positive, arcminutes. */
  readonly fieldRotationArcmin: number;
  /** How far a star is drawn out, in `unit`: in the middle, and at the worst place of the rim. */
  readonly smear: { readonly middle: number; readonly rim: number };
  /** The most that a star may be drawn out, in `unit`. */
  readonly smearLimit: number;
  readonly causes: SmearCauses;
  /** How stars run in the picture: the target first, then stars at the rim. */
  readonly trails: readonly Trail[];
  /** Whether the smear stays inside the limit and the target inside the telescope's limits. */
  readonly holds: boolean;
  /** The longest exposure from the same beginning, seconds, and what ends it. */
  readonly longestS: number;
  readonly longestEnds: ExposureEnd;
}

/** What an eye at an eyepiece does not mind over a look: a minute of arc at low power (common practice, no source). */
const DEFAULT_SMEAR_ARCSEC = 60;

const PATH_STEPS = 8;
const LONGEST_TOLERANCE = 1e-4;

/** The options with their defaults, checked. */
export interface ExposureTask {
  readonly field: ImageField;
  readonly exposureS: number;
  readonly smearLimit: number;
  readonly guided: boolean;
  /** Null: taken to run at the sidereal rate without periodic errors. */
  readonly drive: DriveBudget | null;
  /** Null: as usual on the mount. */
  readonly beyond: boolean | null;
  readonly limits: Limits | null;
}

/**
 * Fills in and checks the options.
 *
 * @throws {@link InputError} `exposure-out-of-range`, `smear-out-of-range`, `seeing-out-of-range`, `field-out-of-range`,
 *   `pixel-out-of-range`
 */
export function exposureTask(options: ExposureOptions, limits: Limits | null = null): ExposureTask {
  checkField(options.field);
  const exposureS = options.exposureS ?? CLASS_EXPOSURE_S;
  const smearLimit = options.smearLimit ?? usualSmear(options);
  const faults: Fault[] = seeingFaults(options.seeingArcsec);
  if (!(exposureS > 0 && exposureS <= LONGEST_EXPOSURE_S)) {
    faults.push({
      code: "exposure-out-of-range",
      path: "exposureS",
      found: shown(exposureS),
      allowed: `seconds, more than 0 and at most ${LONGEST_EXPOSURE_S} (four hours)`,
      message: "The exposure cannot be so long.",
    });
  }
  const isBySeeing = options.smearLimit === undefined && options.seeingArcsec !== undefined;
  if (!isBySeeing && !(smearLimit > 0 && Number.isFinite(smearLimit))) {
    faults.push({
      code: "smear-out-of-range",
      path: "smearLimit",
      found: shown(smearLimit),
      allowed: "more than 0 pixels (arcseconds for an eyepiece)",
      message: "The smear that is allowed has no usable size.",
    });
  }
  if (faults.length > 0) throw new InputError(faults);
  return {
    field: options.field,
    exposureS,
    smearLimit,
    guided: options.guided ?? false,
    drive: options.drive ? driveBudget(options.drive) : null,
    beyond: options.beyond ?? null,
    limits: options.limits === undefined ? limits : options.limits,
  };
}

function usualSmear({ field, seeingArcsec }: ExposureOptions): number {
  if (seeingArcsec !== undefined) return smearOfSeeing(seeingArcsec, field);
  return field.kind === "camera" ? CLASS_SMEAR_PX : DEFAULT_SMEAR_ARCSEC;
}

/** How a target is followed. */
export interface Follow {
  readonly beyond: boolean;
  readonly guided: boolean;
  /** The drive's rate error. */
  readonly ratePpm: number;
}

/** The same for a target that may move among the stars. */
interface TargetFollow extends Follow {
  readonly ownMotion?: OwnMotion;
}

/** How a target is followed in an exposure: the side that the task says, or the mount's usual one. */
export function followAs(task: ExposureTask, mount: Mount | null, hourAngle: number): Follow {
  const usual = mount !== null && usualSide(mount, hourAngle) === "beyond";
  return { beyond: task.beyond ?? usual, guided: task.guided, ratePpm: task.drive?.ratePpm ?? 0 };
}

function checkTarget(target: ExposureTarget): void {
  const faults: Fault[] = [];
  const check = (path: "hourAngleDeg" | "declinationDeg", most: number): void => {
    if (Math.abs(target[path]) <= most) return;
    faults.push({
      code: "target-out-of-range",
      path: `target.${path}`,
      found: shown(target[path]),
      allowed: `degrees, −${most} to ${most}`,
      message: `The target ${shown(target.label)} has no usable place.`,
    });
  };
  check("hourAngleDeg", 180);
  check("declinationDeg", 90);
  if (faults.length > 0) throw new InputError(faults);
}

/**
 * What an exposure on a target shows of the mount's errors, from the exact model.
 *
 * @param stand - a fit, a kept model, or how the mount stands
 * @param target - where the target is seen when the exposure begins
 * @param options - field, length, smear
 * @throws {@link InputError} for options or a target out of range
 * @example
 * ```ts
 * const field = fieldOfCamera({ focalLengthMm: 1800, widthMm: 7.2, heightMm: 5.4, pixelUm: 8.6 });
 * exposure(fit, { label: "M 83", hourAngleDeg: -20, declinationDeg: -29.9 }, { field, exposureS: 30 }).longestS;
 * ```
 */
export function exposure(stand: AnyStand, target: ExposureTarget, options: ExposureOptions): Exposure {
  checkTarget(target);
  const known = standAndMount(stand);
  const task = exposureTask(options, known.mount?.limits);
  const mount = trackingMount(known.stand);
  const { hourAngleDeg, declinationDeg } = target;
  const direction = directionFromDegrees(hourAngleDeg, declinationDeg);
  const follow: TargetFollow = {
    ...followAs(task, known.mount, direction.hourAngle),
    ...(target.ownMotion === undefined ? {} : { ownMotion: target.ownMotion }),
  };
  const track = trackTarget(mount, direction, rimPlaces(task.field), follow);
  const alone = trackTarget(mount, direction, [], { ...follow, guided: false });
  const middle = alone.placesAt(task.exposureS)[0]!;
  const smear = smearOver(track, task, task.exposureS);
  const longest = longestExposure(track, task);
  const rate = alone.placesAt(RATE_SECONDS)[0]!;
  const west = -middle.east / ARCSECOND;
  const north = middle.north / ARCSECOND;
  return {
    target: { ...skyPointAt(hourAngleDeg, declinationDeg, known.stand.site.latitude), label: target.label },
    exposureS: task.exposureS,
    guided: task.guided,
    unit: smearUnit(task.field),
    drift: { west, north, distance: Math.hypot(west, north) },
    driftRate: {
      west: (-rate.east / ARCSECOND / RATE_SECONDS) * 60,
      north: (rate.north / ARCSECOND / RATE_SECONDS) * 60,
    },
    fieldRotationArcmin: fieldRotation(track.placesAt(0), track.placesAt(task.exposureS)) / ARCMINUTE,
    smear,
    smearLimit: task.smearLimit,
    trails: trailsOf(track, task),
    causes: smearCauses(mount, direction, task, follow),
    holds: longest.seconds >= task.exposureS,
    longestS: longest.seconds,
    longestEnds: longest.ends,
  };
}

/** A moment over which a rate is taken, seconds: short against the sky's turning, long against rounding. */
const RATE_SECONDS = 1;

/**
 * How far the stars have turned about the target in the picture: the rotation that best carries the one set of places into the
 * other, from north through east positive, radians.
 */
function fieldRotation(from: readonly FieldPlace[], to: readonly FieldPlace[]): number {
  let sine = 0;
  let cosine = 0;
  for (let k = 1; k < from.length; k++) {
    const a = { east: from[k]!.east - from[0]!.east, north: from[k]!.north - from[0]!.north };
    const b = { east: to[k]!.east - to[0]!.east, north: to[k]!.north - to[0]!.north };
    sine += a.north * b.east - a.east * b.north;
    cosine += a.north * b.north + a.east * b.east;
  }
  return Math.atan2(sine, cosine);
}

function trailsOf(track: Track, task: ExposureTask): Trail[] {
  const moments = Array.from({ length: PATH_STEPS + 1 }, (_, step) =>
    track.placesAt((task.exposureS * step) / PATH_STEPS),
  );
  const unit = (tangent: number): number => inSmearUnit(task.field, tangent);
  return moments[0]!.map((start, star) => ({
    startEast: unit(start.east),
    startNorth: unit(start.north),
    east: moments.map((places) => unit(places[star]!.east - start.east)),
    north: moments.map((places) => unit(places[star]!.north - start.north)),
  }));
}

/**
 * How far stars are drawn out until a moment: the longest distance between any two places of a star's path, the drive's periodic
 * error at its worst added along the drive's way.
 */
export function smearOver(
  track: Track,
  task: ExposureTask,
  seconds: number,
): { middle: number; rim: number } {
  const paths: FieldPlace[][] = [];
  const waves = wavesOver(track, task, seconds);
  for (let step = 0; step <= PATH_STEPS; step++) {
    paths.push(track.placesAt((seconds * step) / PATH_STEPS));
  }
  const smears = paths[0]!.map((_, star) => {
    let longest = 0;
    for (let a = 0; a < paths.length; a++) {
      for (let b = a + 1; b < paths.length; b++) {
        const from = paths[a]![star]!;
        const to = paths[b]![star]!;
        const along = Math.abs(to.east - from.east) + waves[b - a]!;
        longest = Math.max(longest, Math.hypot(along, to.north - from.north));
      }
    }
    return inSmearUnit(task.field, longest);
  });
  return { middle: smears[0]!, rim: Math.max(...smears) };
}

/** What the periodic errors add between two of the path's steps, by how many steps are between; guided, nothing. */
function wavesOver(track: Track, { drive, guided }: ExposureTask, seconds: number): number[] {
  const isFelt = drive !== null && !guided;
  const cosine = isFelt ? Math.cos(track.targetAt(0).declination) : 0;
  return Array.from({ length: PATH_STEPS + 1 }, (_, steps) =>
    isFelt ? drive.wavesArcsec((seconds * steps) / PATH_STEPS) * cosine * ARCSECOND : 0,
  );
}

/** The longest exposure whose smear stays inside the limit everywhere in the picture. */
export function longestExposure(track: Track, task: ExposureTask): { seconds: number; ends: ExposureEnd } {
  const reach = reachableSeconds(track, task.limits);
  const excess = (seconds: number): number => smearOver(track, task, seconds).rim - task.smearLimit;
  if (reach === 0) return { seconds: 0, ends: "limits" };
  // The smear so far never shrinks, so there is one place where it passes the limit: go outward from a first guess.
  let outside = Math.min(reach, 60);
  let beyond = excess(outside);
  while (beyond <= 0) {
    if (outside >= reach)
      return { seconds: reach, ends: reach < LONGEST_EXPOSURE_S ? "limits" : "four hours" };
    const stretch = task.smearLimit / Math.max(beyond + task.smearLimit, 1e-9);
    outside = Math.min(reach, outside * Math.min(8, Math.max(1.3, 1.2 * stretch)));
    beyond = excess(outside);
  }
  return { seconds: crossing(excess, outside, beyond, task.smearLimit), ends: "smear" };
}

const REACH_STEPS = 48;

/** How long the telescope can follow, seconds: until the target leaves the limits, or sets. */
export function reachableSeconds(track: Track, limits: Limits | null): number {
  const reachable = (seconds: number): boolean => {
    const seen = track.targetAt(seconds);
    if (limits === null) return seen.altitude >= 0;
    return isWithinLimits(
      {
        hourAngleDeg: seen.hourAngle / DEGREE,
        declinationDeg: seen.declination / DEGREE,
        altitudeDeg: seen.altitude / DEGREE,
        azimuthDeg: seen.azimuth / DEGREE,
      },
      limits,
    );
  };
  if (!reachable(0)) return 0;
  let inside = 0;
  for (let step = 1; step <= REACH_STEPS; step++) {
    let outside = (LONGEST_EXPOSURE_S * step) / REACH_STEPS;
    if (reachable(outside)) {
      inside = outside;
      continue;
    }
    while (outside - inside > LONGEST_TOLERANCE * outside) {
      const between = (inside + outside) / 2;
      if (reachable(between)) inside = between;
      else outside = between;
    }
    return inside;
  }
  return LONGEST_EXPOSURE_S;
}

/** Where a function that grows from below nothing passes zero: false position with Illinois' halving; a bit too early. */
function crossing(
  excess: (seconds: number) => number,
  longest: number,
  atLongest: number,
  smearLimit: number,
): number {
  let [inside, below] = [0, -smearLimit];
  let [outside, above] = [longest, atLongest];
  let side = 0;
  for (let round = 0; round < 60 && outside - inside > LONGEST_TOLERANCE * outside; round++) {
    const share = below / (below - above);
    // Not nearer an end than a part of the tolerance, so that both ends close in.
    const least = 0.4 * LONGEST_TOLERANCE;
    const guess = inside + (outside - inside) * Math.min(1 - least, Math.max(least, share));
    const value = excess(guess);
    if (value <= 0) {
      inside = guess;
      below = value;
      if (side === -1) above /= 2;
      side = -1;
      if (-value < LONGEST_TOLERANCE * smearLimit) break;
    } else {
      outside = guess;
      above = value;
      if (side === 1) below /= 2;
      side = 1;
    }
  }
  return inside;
}

/** What each cause alone would do to a star at the rim. */
function smearCauses(
  mount: TrackingMount,
  direction: ModelDirection,
  task: ExposureTask,
  follow: TargetFollow,
): SmearCauses {
  const { ownMotion, ...driven } = follow;
  const amongStars = { ...driven, ratePpm: 0 };
  const alone = (
    part: TrackingMount,
    as: TargetFollow = amongStars,
    drive: DriveBudget | null = null,
  ): number =>
    smearOver(trackTarget(part, direction, rimPlaces(task.field), as), { ...task, drive }, task.exposureS)
      .rim;
  const perfect = (): TrackingMount => ({ ...mount, refraction: noAir, coefficients: without(() => false) });
  const without = (keep: (index: number) => boolean): Float64Array =>
    mount.coefficients.map((value, index) => (keep(index) ? value : 0));
  const noAir = { a: 0, b: 0 };
  return {
    polarAxis: alone({ ...mount, refraction: noAir, coefficients: without(isPolar) }),
    refraction: alone({ ...mount, coefficients: without(() => false) }),
    tubeAndAxes: alone({ ...mount, refraction: noAir, coefficients: without((index) => !isPolar(index)) }),
    ownMotion: ownMotion === undefined ? 0 : alone(perfect(), { ...follow, ratePpm: 0 }),
    drive: task.drive === null ? 0 : alone(perfect(), driven, task.drive),
  };
}

function isPolar(index: number): boolean {
  return index === POLAR_ALTITUDE || index === POLAR_EAST;
}
