/**
 * Stellar aberration: a star seems moved towards where the observer is going.
 *
 * Special relativity's exact formula (Explanatory Supplement to the Astronomical Almanac, 3rd ed. 2012, 7.2.3; Klioner 2003,
 * Astronomical Journal 125, 1580). The same formula with the opposite velocity is its exact inverse.
 */
import { dot, type Vector } from "../vectors.js";

/**
 * The direction that a moving observer sees.
 *
 * @param direction - unit vector, for an observer at rest
 * @param velocity - the observer's, in units of the speed of light, same frame
 * @returns unit vector
 */
export function aberrated(direction: Vector, velocity: Vector): Vector {
  const along = dot(direction, velocity);
  const contraction = Math.sqrt(1 - dot(velocity, velocity));
  const factor = 1 + along / (1 + contraction);
  const denominator = 1 + along;
  return [
    (contraction * direction[0] + factor * velocity[0]) / denominator,
    (contraction * direction[1] + factor * velocity[1]) / denominator,
    (contraction * direction[2] + factor * velocity[2]) / denominator,
  ];
}

/** The inverse of {@link aberrated}. */
export function withoutAberration(direction: Vector, velocity: Vector): Vector {
  return aberrated(direction, [-velocity[0], -velocity[1], -velocity[2]]);
}
