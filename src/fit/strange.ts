/** Whether a fitted story is so far from an ordinary night that settings, clock and site are to be doubted. */
import { DEGREE } from "../angles.js";
import { chiSquareProbability } from "./distributions.js";
import { type Outcome, termValue } from "./outcome.js";

/** An ordinary night comes out so unlikely once in a hundred thousand. */
const UNLIKELY = 1e-5;
/** The part of the sightings that is excluded on no ordinary night. */
const MANY_EXCLUDED = 0.15;
/** Errors so many times as large as expected. */
const LARGE_SCALE = 1.8;
/** No axis is set as badly as this by daylight. */
const FAR_AXIS = 10 * DEGREE;

export function isStrange(outcome: Outcome): boolean {
  const { story, chiSquare, degreesOfFreedom, posterior } = outcome;
  return (
    story.excludedCount > Math.max(1, MANY_EXCLUDED * (story.usedCount + story.excludedCount)) ||
    posterior.likeliest.scale > LARGE_SCALE ||
    story.hourAngleBreaks.length + story.declinationBreaks.length > 2 ||
    Math.hypot(termValue(outcome, "polarAltitude"), termValue(outcome, "polarEast")) > FAR_AXIS ||
    chiSquareProbability(chiSquare, degreesOfFreedom) < UNLIKELY
  );
}
