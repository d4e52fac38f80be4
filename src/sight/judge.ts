/**
 * What is said of a sighting as soon as it is entered: whether the star can have stood there, and how it fits.
 */
import { DEGREE } from "../angles.js";
import type { MountFit } from "../fit/fit-result.js";
import { fitMount } from "../fit/mount-fit.js";
import { brokenLimits } from "../mount/limits.js";
import type { Night } from "../night/night.js";
import type { Sighting } from "../night/sighting.js";
import { degreesFromSun, SUN_AVOIDANCE_DEG, SUN_CAUTION, sunWatch } from "../pointing/sun-safety.js";
import { observe } from "../sky/observe.js";
import { noteText } from "../words/notes.js";

/** With fewer sightings than this a new one cannot be judged. */
const JUDGED_FROM = 7;

/** The judgement of one sighting. */
export interface Judgement {
  readonly doubtful: boolean;
  /** One line. */
  readonly text: string;
  /** The fit of the night with it; null while there are too few sightings or the fit failed. */
  readonly fit: MountFit | null;
}

/**
 * What the sky says against a sighting: the star below the horizon or outside the limits at that time, or near the Sun.
 *
 * @returns sentences, none where all is well
 */
export function skyDoubts(sighting: Sighting, { mount }: Pick<Night, "mount">): string[] {
  const seen = observe(sighting.position, sighting.timeMs, mount.site);
  const sun = sunWatch(sighting.timeMs, mount.site);
  const fromSun = degreesFromSun(seen, sun);
  const doubts: string[] = [];
  if (seen.altitude < 0) {
    const depth = (-seen.altitude / DEGREE).toFixed(1);
    doubts.push(
      `${sighting.star} was ${depth}° below the horizon at that time. Check the star and the time with its zone.`,
    );
  } else {
    const broken = brokenLimits(seen, mount.limits).map(({ text }) => text);
    if (broken.length > 0) doubts.push(`Outside the mount's limits: ${broken.join("; ")}.`);
  }
  if (sun.up && fromSun < SUN_AVOIDANCE_DEG) {
    doubts.push(`DANGER: this is only ${fromSun.toFixed(0)}° from the Sun. ${SUN_CAUTION}`);
  }
  return doubts;
}

/**
 * Judges a sighting of a night.
 *
 * @param night - with the sighting in it
 * @param sighting - the one to judge
 * @returns never an error: the sighting is on the disk, and must not seem lost and be entered again
 */
export function judgeSighting(night: Night, sighting: Sighting): Judgement {
  const doubts = skyDoubts(sighting, night);
  let fit: MountFit | null = null;
  let fitted: { readonly doubtful: boolean; readonly text: string };
  try {
    const used = night.sightings.filter(({ use }) => use).length;
    fit = used < JUDGED_FROM ? null : fitMount(night);
    fitted = fit === null ? tooFew(JUDGED_FROM - used) : fitWords(fit, sighting);
  } catch (problem) {
    const reason = problem instanceof Error ? problem.message : String(problem);
    fitted = { doubtful: true, text: `It could not be held against the others: ${reason}` };
  }
  return {
    doubtful: doubts.length > 0 || fitted.doubtful,
    text: [...doubts, fitted.text].filter(Boolean).join(" "),
    fit,
  };
}

const tooFew = (missing: number) => ({
  doubtful: false,
  text: `${missing} more and each new one can be judged.`,
});

function fitWords(fit: MountFit, { row }: Sighting): { readonly doubtful: boolean; readonly text: string } {
  const residual = fit.residuals.find((other) => other.row === row);
  if (residual === undefined || residual.standing === "not used") return { doubtful: false, text: "" };
  if (!fit.sound) return { doubtful: true, text: fit.notes[0]?.message ?? "The night does not fit." };
  if (residual.standing === "used") {
    return { doubtful: false, text: `It fits to ${residual.distance.toFixed(1)}′.` };
  }
  const note = fit.notes.find((other) => other.row === row);
  return { doubtful: true, text: note ? noteText(note) : "It does not fit." };
}
