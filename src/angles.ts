/**
 * Angles: radians inside, degrees, hours and arcminutes at the edge.
 */

/** Radians in one degree. */
export const DEGREE = Math.PI / 180;
/** Radians in one arcminute. */
export const ARCMINUTE = DEGREE / 60;
/** Radians in one arcsecond. */
export const ARCSECOND = DEGREE / 3600;
/** Radians in one hour of right ascension or hour angle. */
export const HOUR = Math.PI / 12;
/** A full turn, in radians. */
export const TURN = 2 * Math.PI;

/**
 * The same angle in the half-open range (−π, π].
 *
 * @param angle - any finite angle, radians
 * @returns the angle, radians
 * @example
 * ```ts
 * wrapHalfTurn(1.5 * Math.PI) / Math.PI // -0.5
 * ```
 */
export function wrapHalfTurn(angle: number): number {
  if (angle > -Math.PI && angle <= Math.PI) return angle;
  const wrapped = angle - TURN * Math.round(angle / TURN);
  return wrapped <= -Math.PI ? wrapped + TURN : wrapped;
}

/**
 * The same angle in the range [0, 2π).
 *
 * @param angle - any finite angle, radians
 * @returns the angle, radians
 * @example
 * ```ts
 * wrapTurn(-0.5 * Math.PI) / Math.PI // 1.5
 * ```
 */
export function wrapTurn(angle: number): number {
  const wrapped = angle - TURN * Math.floor(angle / TURN);
  // A denormal below zero underflows in the division and would come back negative.
  return wrapped >= TURN || wrapped < 0 ? 0 : wrapped;
}
