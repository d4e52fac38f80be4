/**
 * How well the telescope finds things, all over the sky.
 */
import { ARCMINUTE, DEGREE } from "../angles.js";
import { readingStep } from "../night/reduce.js";
import { checkField, halfFieldArcmin, type ImageField } from "../pointing/field.js";
import { LOWEST_ALTITUDE_DEG, type SkyPoint, skyPoint, skyPoints } from "../pointing/field-sky.js";
import {
  type KnownMount,
  knownMount,
  type MountStanding,
  pointingVariance,
  stanceOf,
  usualSide,
} from "../pointing/known-mount.js";
import { radiusHolding } from "./good-enough-radius.js";

/** How well the telescope finds things at one place. Arcminutes on the sky. */
export interface PointingPlace extends SkyPoint {
  /** 1σ of the model's terms and of what no term explains, westward and northward. */
  readonly modelWest: number;
  readonly modelNorth: number;
  /** 1σ with the encoder's steps and the scatter beyond what was expected. */
  readonly west: number;
  readonly north: number;
  /** 1σ of both ways together. */
  readonly together: number;
  /** 19 of 20 pointings fall inside this distance. */
  readonly within95: number;
}

/** How well the telescope finds things over the sky; also what the figure `pointingUncertainty` draws. */
export interface PointingUncertaintyMap {
  readonly mountName: string;
  readonly latitudeDeg: number;
  /** Ascending, degrees, from 0 to below 360. */
  readonly azimuthsDeg: readonly number[];
  /** Ascending, degrees. */
  readonly altitudesDeg: readonly number[];
  /** 1σ of both ways together, arcminutes, for each altitude and in it for each azimuth. */
  readonly arcmin: readonly (readonly number[])[];
  /** 19 of 20 pointings fall inside this distance, on the same grid. */
  readonly within95Arcmin: readonly (readonly number[])[];
  /** Half the shorter side of the field, arcminutes; null without a field. */
  readonly halfFieldArcmin: number | null;
  /** Places evenly spread over what the telescope can reach. */
  readonly places: readonly PointingPlace[];
  /** Where it finds worst. */
  readonly worst: PointingPlace;
  /** Half of the sky is found within this distance 19 times in 20, arcminutes. */
  readonly medianWithin95: number;
  /** The part of the sky, 0 to 1, where 19 of 20 targets come into the field; null without a field. */
  readonly partInside: number | null;
}

export interface PointingMapOptions {
  /** The camera's or eyepiece's field; of a fit: its mount's camera. */
  readonly field?: ImageField | null;
  /** From one place to the next, degrees; 10 when not given. */
  readonly stepDeg?: number;
  /**
   * How far pointings scatter beyond what the model and the readings explain, 1σ each way, arcminutes; 0 when not given. See
   * {@link scatterBeyond}.
   */
  readonly scatterArcmin?: number;
}

const MAP_STEP_DEG = 10;
const UNIFORM = 1 / Math.sqrt(12);

/** A fit's figures that tell whether pointings scatter more than expected. */
export interface ScatterGrounds {
  readonly skyRms: { readonly found: number; readonly expected: number };
  readonly chiSquare: { readonly probability: number };
}

/** χ² less probable than this: the readings scatter more than the steps, the centring and the timing explain. */
const SCATTER_PROBABILITY = 0.05;

/** How far sightings scatter beyond what was expected, 1σ each way, arcminutes; 0 where chance explains it. */
export function scatterBeyond(fit: ScatterGrounds): number {
  if (fit.chiSquare.probability >= SCATTER_PROBABILITY) return 0;
  return Math.sqrt(Math.max(0, fit.skyRms.found ** 2 - fit.skyRms.expected ** 2) / 2);
}

/**
 * How well the telescope finds things over the sky: the fit's uncertainty at each place (model, zeros and axis together),
 * the encoder's steps, and the scatter that the model does not explain.
 *
 * It holds while the encoder zeros stay as in the fit: after a power cut or a slip one star must be sighted first.
 *
 * @param standing - a fit or a kept model
 * @throws {@link InputError} for a field without a usable size
 * @example
 * ```ts
 * pointingUncertaintyMap(fit, { field: fieldOfCamera(mount.camera) }).worst.within95; // 3.40
 * ```
 */
export function pointingUncertaintyMap(
  standing: MountStanding,
  options: PointingMapOptions = {},
): PointingUncertaintyMap {
  const field = options.field ?? null;
  if (field !== null) checkField(field);
  const known = knownMount(standing);
  const { mount } = known;
  const latitudeDeg = mount.site.latitude;
  const scatter = options.scatterArcmin ?? 0;
  const at = (point: SkyPoint): PointingPlace => pointingPlace(known, point, scatter);
  const step = options.stepDeg ?? MAP_STEP_DEG;
  const places = skyPoints(latitudeDeg, mount.limits, step).map(at);
  const lowest = Math.max(0, Math.min(mount.limits.altitudeDeg, LOWEST_ALTITUDE_DEG));
  const rings = Math.max(1, Math.round((90 - lowest) / step));
  const altitudesDeg = Array.from({ length: rings + 1 }, (_, k) => lowest + ((90 - lowest) * k) / rings);
  const count = Math.max(4, Math.round(360 / step));
  const azimuthsDeg = Array.from({ length: count }, (_, k) => (360 * k) / count);
  const half = field === null ? null : halfFieldArcmin(field);
  const grid = altitudesDeg.map((altitude) =>
    azimuthsDeg.map((azimuth) => at(skyPoint(azimuth, altitude, latitudeDeg))),
  );
  const radii = places.map((place) => place.within95).sort((a, b) => a - b);
  return {
    mountName: mount.name,
    latitudeDeg,
    azimuthsDeg,
    altitudesDeg,
    arcmin: grid.map((ring) => ring.map(({ together }) => together)),
    within95Arcmin: grid.map((ring) => ring.map(({ within95 }) => within95)),
    halfFieldArcmin: half,
    places,
    worst: places.reduce(
      (worst, place) => (place.within95 > worst.within95 ? place : worst),
      places[0] ?? at(skyPoint(0, 90, latitudeDeg)),
    ),
    medianWithin95: radii[Math.floor(radii.length / 2)] ?? 0,
    partInside:
      half === null
        ? null
        : places.filter((place) => place.within95 <= half).length / Math.max(1, places.length),
  };
}

/** How well the telescope finds things at one place. */
export function pointingPlace(known: KnownMount, point: SkyPoint, scatterArcmin = 0): PointingPlace {
  const direction = { hourAngle: point.hourAngleDeg * DEGREE, declination: point.declinationDeg * DEGREE };
  const model = pointingVariance(known, direction, stanceOf(usualSide(known.mount, direction.hourAngle)));
  const { readings } = known.mount;
  const stepWest = (readingStep(readings.hourAngle) / ARCMINUTE) * UNIFORM * Math.cos(direction.declination);
  const stepNorth = (readingStep(readings.declination) / ARCMINUTE) * UNIFORM;
  // What no term explains is part of the scatter that was found, so it counts once.
  const scatter = Math.max(0, scatterArcmin ** 2 - known.residueVariance);
  const west = model.west + stepWest ** 2 + scatter;
  const north = model.north + stepNorth ** 2 + scatter;
  return {
    ...point,
    modelWest: Math.sqrt(model.west),
    modelNorth: Math.sqrt(model.north),
    west: Math.sqrt(west),
    north: Math.sqrt(north),
    together: Math.sqrt(west + north),
    within95: radiusHolding(0.95, west, north, model.both),
  };
}
