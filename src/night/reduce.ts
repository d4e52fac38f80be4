/**
 * From what was entered to what the fit needs: where each star was seen, and the angles that were read.
 */
import { ARCMINUTE, ARCSECOND, DEGREE, HOUR, TURN } from "../angles.js";
import type { AxisReadings, Mount } from "../mount/mount.js";
import { readingAngle } from "../mount/readings.js";
import { observeIn } from "../sky/observe.js";
import type { Air } from "../sky/site.js";
import { skyOverNight } from "../sky/sky-over-night.js";
import type { Night } from "./night.js";
import type { Side, Sighting } from "./sighting.js";

/** The sky turns 15.041″ of hour angle a second of time. */
const SKY_RATE = 15.041067 * ARCSECOND;

/** A night's sightings reduced: one place in each array for each sighting, in the order of the night. Radians. */
export interface ReducedNight {
  readonly mount: Mount;
  readonly sightings: readonly Sighting[];
  readonly count: number;
  /** Observed direction of the star. */
  readonly hourAngle: Float64Array;
  readonly declination: Float64Array;
  readonly altitude: Float64Array;
  readonly azimuth: Float64Array;
  /** The readings as angles, zeros still in them, not wrapped; NaN where an axis was not read. */
  readonly readingHourAngle: Float64Array;
  readonly readingDeclination: Float64Array;
  /** 1 where the axis was read, 0 where its reading is missing. */
  readonly hasHourAngle: Uint8Array;
  readonly hasDeclination: Uint8Array;
  /** Expected errors on the sky, 1σ. */
  readonly sigmaWest: Float64Array;
  readonly sigmaNorth: Float64Array;
}

/** One step of an axis's reading, radians. */
export function readingStep(axis: AxisReadings): number {
  if (axis.as === "rightAscension") return axis.smallest * HOUR;
  return (axis.smallest * TURN) / axis.perTurn;
}

/** A uniform error of one whole step has this standard deviation. */
const UNIFORM = 1 / Math.sqrt(12);

/**
 * The expected error of one sighting on the sky: half-steps of the encoder, centring and timing in quadrature.
 *
 * @param mount - encoder steps, centring, timing
 * @param declination - of the star, radians
 * @param centringArcmin - of this sighting; the mount's where null
 * @returns 1σ westward and northward, radians
 */
export function expectedError(
  mount: Mount,
  declination: number,
  centringArcmin: number | null = null,
): { west: number; north: number } {
  const centring = (centringArcmin ?? mount.centringArcmin) * ARCMINUTE;
  const cosDeclination = Math.cos(declination);
  const stepWest = readingStep(mount.readings.hourAngle) * UNIFORM * cosDeclination;
  const stepNorth = readingStep(mount.readings.declination) * UNIFORM;
  const timing = mount.timingS * SKY_RATE * cosDeclination;
  return {
    west: Math.sqrt(centring * centring + stepWest * stepWest + timing * timing),
    north: Math.sqrt(centring * centring + stepNorth * stepNorth),
  };
}

/**
 * The declination axis's angle where a dial shows a declination again beyond the pole (90° and down): the axis
 * itself has turned past the pole.
 */
export function unfoldedDeclination(angle: number, side: Side, mount: Mount): number {
  if (side !== "beyond" || mount.readings.declination.as === "counts") return angle;
  if (Math.abs(angle) > 90 * DEGREE) return angle;
  return (mount.site.latitude >= 0 ? Math.PI : -Math.PI) - angle;
}

/**
 * Reduces a night: proper motion, precession, nutation, aberration and refraction on the sky's side, sense and
 * steps on the mount's.
 *
 * @throws {@link InputError} `air-out-of-range`
 */
export function reduceNight(night: Night): ReducedNight {
  const { mount, sightings } = night;
  const count = sightings.length;
  const column = (): Float64Array => new Float64Array(count);
  const reduced = {
    mount,
    sightings,
    count,
    hourAngle: column(),
    declination: column(),
    altitude: column(),
    azimuth: column(),
    readingHourAngle: column(),
    readingDeclination: column(),
    hasHourAngle: Uint8Array.from(sightings, (sighting) => (sighting.hourAngle === null ? 0 : 1)),
    hasDeclination: Uint8Array.from(sightings, (sighting) => (sighting.declination === null ? 0 : 1)),
    sigmaWest: column(),
    sigmaNorth: column(),
  };
  if (count === 0) return reduced;
  let from = sightings[0]!.timeMs;
  let to = from;
  for (const { timeMs } of sightings) {
    if (timeMs < from) from = timeMs;
    if (timeMs > to) to = timeMs;
  }
  // Days are prepared as they are asked for: a file with one stray date must not compute a century of them.
  const sky = skyOverNight(from, Math.min(to, from + 86_400_000), mount.site);
  const { site } = mount;
  for (let i = 0; i < count; i++) {
    const sighting = sightings[i]!;
    const frame = sky.at(sighting.timeMs);
    const air: Air | undefined =
      sighting.pressureHPa === null && sighting.temperatureC === null
        ? undefined
        : {
            pressureHPa: sighting.pressureHPa ?? site.pressureHPa,
            temperatureC: sighting.temperatureC ?? site.temperatureC,
          };
    const seen = observeIn(frame, sighting.position, air);
    reduced.hourAngle[i] = seen.hourAngle;
    reduced.declination[i] = seen.declination;
    reduced.altitude[i] = seen.altitude;
    reduced.azimuth[i] = seen.azimuth;
    reduced.readingHourAngle[i] = readingAngle(sighting.hourAngle ?? Number.NaN, mount.readings.hourAngle, {
      siderealTime: frame.siderealTime,
    });
    reduced.readingDeclination[i] = unfoldedDeclination(
      readingAngle(sighting.declination ?? Number.NaN, mount.readings.declination),
      sighting.side,
      mount,
    );
    const expected = expectedError(mount, seen.declination, sighting.centringArcmin);
    reduced.sigmaWest[i] = expected.west;
    reduced.sigmaNorth[i] = expected.north;
  }
  return reduced;
}
