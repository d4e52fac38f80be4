/**
 * Three-vectors and rotations. Right-handed throughout.
 */

/** A vector or direction: three components. */
export type Vector = readonly [number, number, number];

export function dot(a: Vector, b: Vector): number {
  return a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
}

export function cross(a: Vector, b: Vector): Vector {
  return [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]];
}

/** a + factor · b. */
export function add(a: Vector, b: Vector, factor: number): Vector {
  return [a[0] + factor * b[0], a[1] + factor * b[1], a[2] + factor * b[2]];
}

export function scale(a: Vector, factor: number): Vector {
  return [a[0] * factor, a[1] * factor, a[2] * factor];
}

export function length(a: Vector): number {
  return Math.sqrt(a[0] * a[0] + a[1] * a[1] + a[2] * a[2]);
}

/** The vector scaled to unit length. */
export function unit(a: Vector): Vector {
  return scale(a, 1 / length(a));
}

/**
 * The angle between two directions, exact for small and large angles alike.
 *
 * @returns radians, 0 to π
 */
export function separation(a: Vector, b: Vector): number {
  return Math.atan2(length(cross(a, b)), dot(a, b));
}

/**
 * Rotates a vector by a rotation vector: right-handed about its direction, by its length in radians
 * (Rodrigues' formula). The inverse is the rotation by the negated rotation vector.
 */
export function rotate(a: Vector, rotation: Vector): Vector {
  const angle = length(rotation);
  const sinOverAngle = angle < 1e-9 ? 1 - (angle * angle) / 6 : Math.sin(angle) / angle;
  const half = angle / 2;
  const sinHalfOverHalf = half < 1e-9 ? 1 : Math.sin(half) / half;
  const oneMinusCosOverSquare = (sinHalfOverHalf * sinHalfOverHalf) / 2;
  const first = cross(rotation, a);
  const second = cross(rotation, first);
  return add(add(a, first, sinOverAngle), second, oneMinusCosOverSquare);
}

/**
 * A direction from a longitude-like angle counted from X towards Y, and a latitude-like angle from the XY plane
 * towards Z, both radians.
 */
export function fromSpherical(longitude: number, latitude: number): Vector {
  const cosLatitude = Math.cos(latitude);
  return [cosLatitude * Math.cos(longitude), cosLatitude * Math.sin(longitude), Math.sin(latitude)];
}

/** The inverse of {@link fromSpherical}: `longitude` in (−π, π], `latitude` in [−π/2, π/2], radians. */
export function toSpherical(a: Vector): { longitude: number; latitude: number } {
  return { longitude: Math.atan2(a[1], a[0]), latitude: Math.atan2(a[2], Math.hypot(a[0], a[1])) };
}
