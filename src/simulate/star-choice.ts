/**
 * Which stars a simulated builder sights.
 */
import { DEGREE } from "../angles.js";
import { insideLimits } from "../mount/limits.js";
import type { Limits } from "../mount/mount.js";
import { catalogueStars } from "../sky/catalogue.js";
import { observeIn } from "../sky/observe.js";
import type { SkyFrame } from "../sky/sky-frame.js";
import type { ObservedDirection, Star } from "../sky/star.js";
import { starsNear } from "../sky/stars-near.js";

/** Half the width of the strip for the choice `equator`, degrees. */
const STRIP_DEG = 12;
/** A star nearer than this is not mistaken but seen together, degrees; Alcor is 0.197° from Mizar. */
const NEIGHBOUR_FROM_DEG = 0.15;
const NEIGHBOUR_TO_DEG = 15;
/** Decimals of a solved picture's degrees: 0.04″. */
const PLACE_DECIMALS = 5;

/** A star and where it is seen. */
export interface ChosenStar {
  readonly star: Star;
  readonly seen: ObservedDirection;
}

/**
 * A star drawn by chance among those that can be sighted; used stars again only when nothing else is up.
 *
 * @param reachable - whether the axes can bring the tube there
 */
export function drawStar(
  frame: SkyFrame,
  limits: Limits,
  reachable: (seen: ObservedDirection) => boolean,
  choice: "sky" | "equator",
  faintest: number,
  used: ReadonlySet<number>,
  random: () => number,
): ChosenStar | null {
  const stars = catalogueStars();
  const first = Math.floor(random() * stars.length);
  // Coprime to the number of stars, so that every star comes up once.
  const stride = strideFor(stars.length, random);
  let again: ChosenStar | null = null;
  for (let k = 0; k < stars.length; k++) {
    const star = stars[(first + k * stride) % stars.length]!;
    if (star.vMag > faintest) continue;
    if (choice === "equator" && Math.abs(star.decDeg) > STRIP_DEG) continue;
    if (again !== null && used.has(star.hip)) continue;
    const seen = observeIn(frame, star);
    if (!insideLimits(seen, limits) || !reachable(seen)) continue;
    if (!used.has(star.hip)) return { star, seen };
    again ??= { star, seen };
  }
  return again;
}

/** Tries for a place within the limits. */
const PLACES = 10_000;

/** A place drawn evenly over the sky among those within the limits, coordinates as a solved picture gives them. */
export function drawPlace(
  frame: SkyFrame,
  limits: Limits,
  reachable: (seen: ObservedDirection) => boolean,
  random: () => number,
): ChosenStar | null {
  for (let k = 0; k < PLACES; k++) {
    const raDeg = Number((360 * random()).toFixed(PLACE_DECIMALS));
    const decDeg = Number((Math.asin(2 * random() - 1) / DEGREE).toFixed(PLACE_DECIMALS));
    const star = { ...unnamed, raDeg, decDeg, label: `${raDeg} ${decDeg}` };
    const seen = observeIn(frame, star);
    if (insideLimits(seen, limits) && reachable(seen)) return { star, seen };
  }
  return null;
}

/** A place that is no star of the catalogue. */
const unnamed = {
  hip: 0,
  name: "",
  bayer: "",
  flamsteed: "",
  constellation: "",
  vMag: 0,
  pmRaCosDecMasYr: 0,
  pmDecMasYr: 0,
  parallaxMas: 0,
  radialVelocityKmS: 0,
};

function strideFor(count: number, random: () => number): number {
  let stride = 1 + Math.floor(random() * (count - 1));
  while (greatestCommonDivisor(stride, count) !== 1) stride = stride === count - 1 ? 1 : stride + 1;
  return stride;
}

function greatestCommonDivisor(a: number, b: number): number {
  return b === 0 ? a : greatestCommonDivisor(b, a % b);
}

/** A star that a builder could take for this one: near it in the sky, or any that is high enough and within reach. */
export function drawMistake(
  frame: SkyFrame,
  written: Star,
  instead: "neighbour" | "any",
  lowestDeg: number,
  reachable: (seen: ObservedDirection) => boolean,
  random: () => number,
): ChosenStar | null {
  const pool =
    instead === "neighbour"
      ? starsNear(written, NEIGHBOUR_TO_DEG * DEGREE).map((near) => near.star)
      : [...catalogueStars()];
  const tooNear = new Set(starsNear(written, NEIGHBOUR_FROM_DEG * DEGREE).map((near) => near.star.hip));
  const possible = pool.filter((star) => !tooNear.has(star.hip));
  while (possible.length > 0) {
    const [star] = possible.splice(Math.floor(random() * possible.length), 1);
    const seen = observeIn(frame, star!);
    if (seen.altitude > lowestDeg * DEGREE && reachable(seen)) return { star: star!, seen };
  }
  return null;
}
