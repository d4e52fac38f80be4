/**
 * The catalogue's stars around a place in the sky.
 */
import { DEGREE } from "../angles.js";
import { dot, fromSpherical, separation, type Vector } from "../vectors.js";
import { catalogueStars } from "./catalogue.js";
import type { IcrsPosition, Star } from "./star.js";

/** A star and how far it is from the place asked for. */
export interface NearStar {
  readonly star: Star;
  /** Radians. */
  readonly separation: number;
}

let cached: readonly Vector[] | undefined;

/** The unit vector of a position, ICRS, at its epoch J2000.0: X to right ascension 0 h, Z to the north pole. */
export function icrsVector(position: IcrsPosition): Vector {
  return fromSpherical(position.raDeg * DEGREE, position.decDeg * DEGREE);
}

/**
 * The stars within a radius of a place, nearest first. Catalogue positions (ICRS, J2000.0) are compared as they
 * stand; the fastest star of the catalogue moves by 2′ in thirty years.
 *
 * @param place - ICRS, degrees
 * @param radius - radians
 * @example
 * ```ts
 * starsNear({ raDeg: 200.98, decDeg: 54.93 }, 0.005).map((near) => near.star.label); // ["Mizar", "Alcor"]
 * ```
 */
export function starsNear(place: IcrsPosition, radius: number): NearStar[] {
  const stars = catalogueStars();
  cached ??= stars.map(icrsVector);
  const centre = icrsVector(place);
  // A coarse sieve first; the margin keeps what the cosine cannot tell apart for small radii.
  const leastCosine = radius >= Math.PI ? -2 : Math.cos(radius) - 1e-12;
  const near: NearStar[] = [];
  for (let index = 0; index < stars.length; index++) {
    const direction = cached[index]!;
    if (dot(centre, direction) < leastCosine) continue;
    const distance = separation(centre, direction);
    if (distance <= radius) near.push({ star: stars[index]!, separation: distance });
  }
  return near.sort((a, b) => a.separation - b.separation);
}
