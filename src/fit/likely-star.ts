/**
 * Which star a sighting that does not fit was really made of: the catalogue around where the readings point.
 */
import { ARCMINUTE } from "../angles.js";
import { icrsFromObservedIn, observeIn } from "../sky/observe.js";
import { skyFrame } from "../sky/sky-frame.js";
import type { Star } from "../sky/star.js";
import { starsNear } from "../sky/stars-near.js";
import { fittedCoefficients, ownCoefficients } from "./columns.js";
import { chiSquareLimit } from "./distributions.js";
import type { Outcome } from "./outcome.js";
import { comparer } from "./suspicion.js";

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
export function likelyStars(outcome: Outcome, sighting: number): LikelyStar[] {
  const { layout, parameters, bench, rows } = outcome;
  const { night, model, stances } = bench;
  const { readings } = rows;
  if (!readings.hasHourAngle[sighting] || !readings.hasDeclination[sighting]) return [];
  const compare = comparer(outcome);
  const compared = compare(sighting);
  if (!compared.comparable) return [];
  const coefficients = fittedCoefficients(layout, parameters, model.size);
  ownCoefficients(layout, parameters, sighting, coefficients);
  const pointed = model.inverse(
    coefficients,
    readings.hourAngle[sighting]! * readings.hourAngleFactor,
    readings.declination[sighting]! * readings.declinationFactor,
    { ...stances[sighting]!, progress: layout.progress[sighting]! },
  );
  const entry = night.sightings[sighting]!;
  const frame = skyFrame(entry.timeMs, night.mount.site);
  const place = icrsFromObservedIn(frame, pointed);
  const { scale } = outcome.posterior.likeliest;
  const spread = Math.sqrt(1 + compared.uncertainty);
  const radius = Math.min(
    SEARCH_LIMIT,
    6 * scale * spread * Math.max(night.sigmaWest[sighting]!, night.sigmaNorth[sighting]!) + 6 * ARCMINUTE,
  );
  const found: LikelyStar[] = [];
  for (const { star } of starsNear(place, radius)) {
    if (entry.catalogueStar?.hip === star.hip) continue;
    const c = compare(sighting, observeIn(frame, star));
    if (c.distanceSquared > FIT_LIMIT) continue;
    const distance = Math.hypot(c.deltaHourAngle * c.cosDeclination, c.deltaDeclination);
    found.push({ star, distanceArcmin: distance / ARCMINUTE, distanceSquared: c.distanceSquared });
  }
  const score = (likely: LikelyStar): number => likely.distanceSquared + PER_MAGNITUDE * likely.star.vMag;
  found.sort((a, b) => score(a) - score(b));
  return found.filter((likely) => score(likely) < score(found[0]!) + AMBIGUOUS);
}
