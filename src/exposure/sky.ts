/**
 * Exposures all over the sky: as a map, and as a table by declination and hour angle.
 */
import { HOUR } from "../angles.js";
import type { Limits, Mount } from "../mount/mount.js";
import { rimPlaces, type SmearUnit, smearUnit } from "../pointing/field.js";
import { isWithinLimits, type SkyPoint, skyPointAt, skyPoints } from "../pointing/field-sky.js";
import { type AnyStand, standAndMount, type TrackingMount, trackingMount } from "../pointing/field-stand.js";
import { directionFromDegrees, trackTarget } from "../pointing/field-track.js";
import {
  type ExposureEnd,
  type ExposureOptions,
  type ExposureTask,
  exposureTask,
  followAs,
  longestExposure,
  smearOver,
} from "./exposure.js";

/** What an exposure at one place of the sky shows. */
export interface SkyExposure extends SkyPoint {
  /** How far a star is drawn out at the worst place of the rim. */
  readonly smear: number;
  /** The longest exposure for the smear allowed, seconds. */
  readonly longestS: number;
  readonly longestEnds: ExposureEnd;
}

/** Exposures all over the sky. */
export interface ExposureSky {
  readonly exposureS: number;
  readonly smearLimit: number;
  readonly unit: SmearUnit;
  readonly guided: boolean;
  readonly latitudeDeg: number;
  readonly places: readonly SkyExposure[];
  /** The place where the smear is largest. */
  readonly worst: SkyExposure;
  /** Half of the sky allows at least this long, seconds. */
  readonly medianLongestS: number;
  /** The part of the sky, 0 to 1, where the exposure stays inside the smear allowed. */
  readonly partInside: number;
}

/** Which places the map has. */
export interface ExposureSkyOptions extends ExposureOptions {
  /** From one place to the next, degrees; 10 when not given. */
  readonly stepDeg?: number;
}

/**
 * Exposures all over the sky that the telescope can reach.
 *
 * @param from - a fit, a kept model, or how the mount stands
 * @throws {@link InputError} for options out of range
 * @example
 * ```ts
 * exposureSky(fit, { field: fieldOfCamera(mount.camera), exposureS: 30 }).partInside; // 0.24
 * ```
 */
export function exposureSky(from: AnyStand, options: ExposureSkyOptions): ExposureSky {
  const { stand, mount: whole } = standAndMount(from);
  const task = exposureTask(options, whole?.limits);
  const mount = trackingMount(stand);
  const places = skyPoints(stand.site.latitude, task.limits, options.stepDeg).map((point) =>
    skyExposure(mount, whole, point, task),
  );
  const byLength = places.map((place) => place.longestS).sort((a, b) => a - b);
  return {
    exposureS: task.exposureS,
    smearLimit: task.smearLimit,
    unit: smearUnit(task.field),
    guided: task.guided,
    latitudeDeg: stand.site.latitude,
    places,
    worst: places.reduce((worst, place) => (place.smear > worst.smear ? place : worst), places[0] ?? nowhere),
    medianLongestS: byLength[Math.floor(byLength.length / 2)] ?? 0,
    partInside: places.filter((place) => place.smear <= task.smearLimit).length / Math.max(1, places.length),
  };
}

/** The longest exposure that nine tenths of the sky allow, seconds. */
export function longestOverMost(sky: ExposureSky): number {
  const byLength = sky.places.map((place) => place.longestS).sort((a, b) => a - b);
  return byLength[Math.floor(byLength.length / 10)] ?? 0;
}

const nowhere: SkyExposure = {
  azimuthDeg: 0,
  altitudeDeg: 90,
  hourAngleDeg: 0,
  declinationDeg: 0,
  smear: 0,
  longestS: 0,
  longestEnds: "limits",
};

function skyExposure(
  mount: TrackingMount,
  whole: Mount | null,
  point: SkyPoint,
  task: ExposureTask,
): SkyExposure {
  const direction = directionFromDegrees(point.hourAngleDeg, point.declinationDeg);
  const track = trackTarget(
    mount,
    direction,
    rimPlaces(task.field),
    followAs(task, whole, direction.hourAngle),
  );
  // Where the target sets is no fault of the mount's: on the map an exposure ends at the horizon only.
  const longest = longestExposure(track, { ...task, limits: null });
  return {
    ...point,
    smear: smearOver(track, task, task.exposureS).rim,
    longestS: longest.seconds,
    longestEnds: longest.ends,
  };
}

/** The longest exposures by declination and hour angle. */
export interface ExposureTable {
  readonly smearLimit: number;
  readonly unit: SmearUnit;
  readonly guided: boolean;
  /** Hours, west positive. */
  readonly hourAnglesH: readonly number[];
  /** From north to south, degrees. */
  readonly declinationsDeg: readonly number[];
  /** Seconds, a row for each declination; null where the telescope cannot point. */
  readonly longestS: readonly (readonly (number | null)[])[];
}

const TABLE_HOURS = [-5, -4, -3, -2, -1, 0, 1, 2, 3, 4, 5];
const TABLE_DECLINATIONS = [80, 60, 40, 20, 0, -20, -40, -60, -80];

/**
 * The longest exposures by declination and hour angle.
 *
 * @param from - a fit, a kept model, or how the mount stands
 * @param options - also which hour angles (hours) and declinations (degrees)
 * @throws {@link InputError} for options out of range
 */
export function exposureTable(
  from: AnyStand,
  options: ExposureOptions & {
    readonly hourAnglesH?: readonly number[];
    readonly declinationsDeg?: readonly number[];
  },
): ExposureTable {
  const { stand, mount: whole } = standAndMount(from);
  const task = exposureTask(options, whole?.limits);
  const mount = trackingMount(stand);
  const reach: Limits | null = task.limits;
  const hourAnglesH = options.hourAnglesH ?? TABLE_HOURS;
  const rows = (options.declinationsDeg ?? TABLE_DECLINATIONS)
    .map((declinationDeg) => ({
      declinationDeg,
      longestS: hourAnglesH.map((hours) => {
        const point = skyPointAt((hours * HOUR * 180) / Math.PI, declinationDeg, stand.site.latitude);
        return isWithinLimits(point, reach) ? skyExposure(mount, whole, point, task).longestS : null;
      }),
    }))
    .filter((row) => row.longestS.some((seconds) => seconds !== null));
  return {
    smearLimit: task.smearLimit,
    unit: smearUnit(task.field),
    guided: task.guided,
    hourAnglesH,
    declinationsDeg: rows.map((row) => row.declinationDeg),
    longestS: rows.map((row) => row.longestS),
  };
}
