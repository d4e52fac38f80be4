/**
 * Which pole the axis is to point at.
 *
 * Everything is fitted in the observed frame, where refraction has raised the stars, and the axis error is measured
 * from the true pole there. The stars near the pole are seen to go round the refracted pole instead, higher by the
 * refraction at the pole's altitude.
 */
import { ARCMINUTE, DEGREE } from "../angles.js";
import { refractionConstants, refractionFromTrue } from "../sky/refraction.js";
import type { Site } from "../sky/site.js";
import { arcminutes } from "./base-words.js";
import type { Aim } from "./turn-advice.js";

/** Below this altitude of the pole the formula of refraction is not to be trusted to better than arcminutes, degrees. */
const LOWEST_POLE_DEG = 5;

/** How far above the true pole the refracted pole stands, arcminutes. */
export function refractedPole(site: Site): number {
  return refractionFromTrue(Math.abs(site.latitude) * DEGREE, refractionConstants(site)) / ARCMINUTE;
}

/** The altitude to aim at, from the true pole, arcminutes, and why. */
export function aimAt(site: Site, aim: Aim): { readonly altitude: number; readonly reason: string } {
  const raised = refractedPole(site);
  const low =
    Math.abs(site.latitude) < LOWEST_POLE_DEG
      ? " So near the horizon refraction changes by arcminutes with the weather; the true pole does not."
      : "";
  return aim === "true"
    ? {
        altitude: 0,
        reason: `Aimed at the true pole: the next fit measures from there, and finding corrects refraction star by star. The refracted pole is ${arcminutes(raised)} higher here; stars near the pole go round that one, and aiming there (aim "refracted") would raise the axis by as much.${low}`,
      }
    : {
        altitude: raised,
        reason: `Aimed at the refracted pole, ${arcminutes(raised)} above the true pole here, because stars within some degrees of the pole are seen to go round it; a good fit then shows the axis ${arcminutes(raised)} too high, and nothing is wrong. Far from the pole the true pole (aim "true") serves as well.${low}`,
      };
}
