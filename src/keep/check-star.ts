/**
 * One star held against what is known of the mount: does the telescope stand where the readings say?
 */
import { ARCMINUTE, wrapHalfTurn } from "../angles.js";
import { stanceOf } from "../fit/bench.js";
import { expectedError, reduceNight } from "../night/reduce.js";
import type { Sighting } from "../night/sighting.js";
import { knownMount, type MountStanding, pointingVariance } from "../pointing/known-mount.js";

/** How a star agrees. Angles on the sky, arcminutes. */
export interface StarCheck {
  /** Telescope, by its readings and the model, minus star: westward and northward. */
  readonly west: number;
  readonly north: number;
  readonly distance: number;
  /** What was expected of the distance, 1σ of both ways together: the model's uncertainty and this sighting's own. */
  readonly expected: number;
  /** The distance over its expected size, each way by its own: above 3.5 once in five hundred times. */
  readonly ratio: number;
  readonly agrees: boolean;
}

const AGREES_UNDER = 3.5;

/**
 * Holds one sighting against a fit or a kept model; nothing is changed by it.
 *
 * @param standing - what is known, its zeros included
 * @param sighting - with both readings
 * @returns null where a reading is missing
 * @example
 * ```ts
 * checkStar(fit, night.sightings[0]!)?.agrees
 * ```
 */
export function checkStar(standing: MountStanding, sighting: Sighting): StarCheck | null {
  if (sighting.hourAngle === null || sighting.declination === null) return null;
  const { mount } = standing;
  const known = knownMount(standing);
  const reduced = reduceNight({ mount, sightings: [sighting] });
  const direction = { hourAngle: reduced.hourAngle[0]!, declination: reduced.declination[0]! };
  const stance = stanceOf(sighting);
  const angles = new Float64Array(2);
  known.model.forward(known.coefficients, direction.hourAngle, direction.declination, stance, angles);
  const west =
    (wrapHalfTurn(reduced.readingHourAngle[0]! - angles[0]!) * Math.cos(direction.declination)) / ARCMINUTE;
  const north = wrapHalfTurn(reduced.readingDeclination[0]! - angles[1]!) / ARCMINUTE;
  const own = expectedError(mount, direction.declination, sighting.centringArcmin);
  const model = pointingVariance(known, direction, stance);
  const aa = model.west + (own.west / ARCMINUTE) ** 2;
  const bb = model.north + (own.north / ARCMINUTE) ** 2;
  const ab = model.both;
  const ratio = Math.sqrt(
    (bb * west * west - 2 * ab * west * north + aa * north * north) / (aa * bb - ab * ab),
  );
  return {
    west,
    north,
    distance: Math.hypot(west, north),
    expected: Math.sqrt(aa + bb),
    ratio,
    agrees: ratio < AGREES_UNDER,
  };
}
