/**
 * Which star a sighting that does not fit was really made of: the catalogue around where the readings point.
 */
import { ARCMINUTE } from "../angles.js";
import { icrsFromObservedIn, observeIn } from "../sky/observe.js";
import { skyFrame } from "../sky/sky-frame.js";
import type { Star } from "../sky/star.js";
import { starsNear } from "../sky/stars-near.js";
import { chiSquareLimit } from "./distributions.js";
import { readingsUnder } from "./explanation.js";
import { fittedCoefficients, ownCoefficients } from "./layout.js";
import type { Workbench } from "./mount-problem.js";
import { comparer, type Outcome } from "./outcome.js";

/** A star that the readings may have been made of. */
export interface LikelyStar {
  readonly star: Star;
  /** From where the readings point, arcminutes. */
  readonly distanceArcmin: number;
  /** Squared distance in units of its covariance. */
  readonly distanceSquared: number;
}

/** Two named stars whose scores differ by less than this are both said. */
const AMBIGUOUS = 6;
/** A star that fits no better than one true star in a thousand does is not proposed. */
const FIT_LIMIT = chiSquareLimit(0.001, 2);
/** How much likelier a star one magnitude brighter is to be sighted by mistake, in −2 ln odds. */
const PER_MAGNITUDE = 1.5;
/** How far around the readings the catalogue is searched at most. */
const SEARCH_LIMIT = 5 * 60 * ARCMINUTE;

/**
 * The stars that a sighting's readings fit, best first, brightness counted; empty where none does.
 *
 * @param sighting - index of the sighting, set aside in the outcome
 */
export function likelyStars(bench: Workbench, outcome: Outcome, sighting: number): LikelyStar[] {
  const { night, model, stances } = bench;
  const { layout, solution, explanation } = outcome;
  const compare = comparer(bench, outcome);
  const compared = compare(sighting);
  if (!compared.comparable) return [];
  const coefficients = fittedCoefficients(layout, solution.parameters, model.size);
  ownCoefficients(layout, solution.parameters, sighting, coefficients);
  const read = readingsUnder(explanation, night);
  const pointed = model.inverse(
    coefficients,
    read.hourAngle[sighting]! * read.hourAngleFactor,
    read.declination[sighting]! * read.declinationFactor,
    stances[sighting]!,
  );
  const entry = night.sightings[sighting]!;
  const frame = skyFrame(entry.timeMs, night.mount.site);
  const place = icrsFromObservedIn(frame, pointed);
  const spread = Math.sqrt(1 + Math.max(compared.absorbedWest, compared.absorbedNorth));
  const radius = Math.min(
    SEARCH_LIMIT,
    6 * outcome.scale * spread * Math.max(night.sigmaWest[sighting]!, night.sigmaNorth[sighting]!) +
      6 * ARCMINUTE,
  );
  const found: LikelyStar[] = [];
  for (const { star } of starsNear(place, radius)) {
    if (entry.catalogueStar?.hip === star.hip) continue;
    const c = compare(sighting, observeIn(frame, star));
    if (c.distanceSquared > FIT_LIMIT * outcome.scale ** 2) continue;
    const distance = Math.hypot(c.deltaHourAngle * c.cosDeclination, c.deltaDeclination);
    found.push({ star, distanceArcmin: distance / ARCMINUTE, distanceSquared: c.distanceSquared });
  }
  const score = (likely: LikelyStar): number => likely.distanceSquared + PER_MAGNITUDE * likely.star.vMag;
  found.sort((a, b) => score(a) - score(b));
  return found.filter((likely) => score(likely) < score(found[0]!) + AMBIGUOUS);
}
