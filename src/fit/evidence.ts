/**
 * What a night allows one to say: the one place that every command, the notebook and the pages ask.
 */
import type { MountFit } from "./fit-result.js";

/** What a fit may be used for. */
export interface Evidence {
  /**
   * `nothing`: no figure at all; `values`: figures with their uncertainties, but no turns, no "stop", no promise that an
   * object will stand in the field; `advice`: everything.
   */
  readonly allows: "nothing" | "values" | "advice";
  /** How many more sightings advice needs; 0 where advice is allowed or where more sightings would not help. */
  readonly missing: number;
  /** The readings contradict each other or the mount file: the notes say what to correct first. */
  readonly unsound: boolean;
}

/** The verdict that `turns`, `rounds`, `exposure` and `fit` share. */
export type Verdict = "turn" | "stop" | "not-known-yet" | "unsound";

/** From so many used sightings on, a night stands on its own: fewer do not show a misidentified star. */
export const ENOUGH_ALONE = 6;
/** So many are enough where earlier rounds or a kept model hold the rest. */
export const ENOUGH_WITH_OTHERS = 3;

/** Notes that speak against every promise, whatever the number of sightings. */
const AGAINST: ReadonlySet<string> = new Set(["not-converged", "ambiguous", "contradicts-model"]);

/**
 * What a fit allows one to say.
 *
 * @param fit - a night's fit
 * @param othersHold - earlier rounds or a kept model hold what this night's stars do not tell
 */
export function evidenceOf(fit: MountFit, othersHold = false): Evidence {
  const { used } = fit.sightings;
  const enough = othersHold ? ENOUGH_WITH_OTHERS : ENOUGH_ALONE;
  if (fit.sightings.read === 0) return { allows: "nothing", missing: enough, unsound: false };
  if (!fit.sound || fit.notes.some(({ code }) => AGAINST.has(code))) {
    return { allows: "nothing", missing: 0, unsound: true };
  }
  if (used === 0) return { allows: "nothing", missing: enough, unsound: true };
  if (used < enough) return { allows: "values", missing: enough - used, unsound: false };
  return { allows: "advice", missing: 0, unsound: false };
}
