/**
 * What is said of the causes that act on some nights only: play, creep, settling, a step at the meridian, eccentric encoders,
 * scales, what no term explains, and errors that are larger or smaller than expected.
 */
import type { CauseName } from "../mount/terms.js";
import { chiSquareProbability } from "./distributions.js";
import type { MountFit, Note, NoteCode, TermEstimate } from "./fit-result.js";
import { withUncertainty } from "./note-words.js";
import type { Posterior } from "./posterior.js";

/** How a cause is told. */
interface CauseWords {
  readonly code: NoteCode;
  /** The probability from which it is told. */
  readonly from: number;
  readonly what: string;
  readonly remedy: string;
}

/**
 * On 2000 clean nights (`node test/study/worlds.mjs --world clean,clean-any --nights 1000 --seed 41 --failing`) play came to
 * more than this on six, settling on three, creep on none; a step at the meridian came to more than its own limit on seven.
 */
const LIKELY = 0.6;
/** A step moves the pole unseen: it is told once it is likelier than not. */
const LIKELIER_THAN_NOT = 0.55;
/** From here on the readings say it; below they suggest it. */
const SAID_FROM = 0.8;
/** What is common on encoders is told when it is sure: it changes nothing that a builder does tonight. */
const SURE = 0.95;

const SCALE_REMEDY =
  "Turn the axis through a known angle, as large as it goes, and count. Correct perTurn in the mount file, or clean and tighten the roller or coupling.";
const ECCENTRIC_REMEDY =
  "The model allows for it. To remove it, centre the encoder's disc or wheel with a dial gauge.";
const PLAY_REMEDY =
  "Always come to a star from the same side, or write the columns hourAngleApproach and declinationApproach. Check gear teeth, coupling and belt for play.";
const STEP_REMEDY =
  "Check what changes sides there: the mirror in its cell, its edge supports and sling, rollers, bearings, balance. Sight stars close to the meridian on both sides.";
const CREEP_REMEDY =
  "Clean and tighten the clutch, the friction roller or the encoder wheel. Sight the first star again to see the creep directly.";

const words: Readonly<Record<CauseName, CauseWords>> = {
  hourAngleEccentricity: {
    code: "added-term",
    from: SURE,
    what: "the hour-angle encoder is eccentric",
    remedy: ECCENTRIC_REMEDY,
  },
  declinationEccentricity: {
    code: "added-term",
    from: SURE,
    what: "the declination encoder is eccentric",
    remedy: ECCENTRIC_REMEDY,
  },
  hourAngleScale: {
    code: "added-term",
    from: SURE,
    what: "the hour-angle reading has a scale error",
    remedy: SCALE_REMEDY,
  },
  declinationScale: {
    code: "added-term",
    from: SURE,
    what: "the declination reading has a scale error",
    remedy: SCALE_REMEDY,
  },
  hourAngleBacklash: {
    code: "play",
    from: LIKELY,
    what: "the hour-angle axis has play",
    remedy: PLAY_REMEDY,
  },
  declinationBacklash: {
    code: "play",
    from: LIKELY,
    what: "the declination axis has play",
    remedy: PLAY_REMEDY,
  },
  hourAngleMeridianStep: {
    code: "meridian-step",
    from: LIKELIER_THAN_NOT,
    what: "the hour-angle readings step at the meridian",
    remedy: STEP_REMEDY,
  },
  declinationMeridianStep: {
    code: "meridian-step",
    from: LIKELIER_THAN_NOT,
    what: "the declination readings step at the meridian",
    remedy: STEP_REMEDY,
  },
  hourAngleCreep: {
    code: "creeping",
    from: LIKELY,
    what: "the hour-angle zero creeps through the night",
    remedy: CREEP_REMEDY,
  },
  declinationCreep: {
    code: "creeping",
    from: LIKELY,
    what: "the declination zero creeps through the night",
    remedy: CREEP_REMEDY,
  },
  settling: {
    code: "settling",
    from: LIKELY,
    what: "the polar axis moves during the night: the base settles",
    remedy:
      "The pole is given as at the last sighting. Put plates under the feet, lock the jacks, let the base stand loaded, and sight again before you turn.",
  },
};

/** Notes on the causes that act tonight. */
export function causeNotes(
  posterior: Posterior,
  terms: readonly TermEstimate[],
  causeOf: (term: TermEstimate) => CauseName | null,
): Note[] {
  const notes: Note[] = [];
  for (const [name, probability] of posterior.acts) {
    const { code, from, what, remedy } = words[name];
    if (probability < from) continue;
    const values = terms
      .filter((term) => causeOf(term) === name)
      .map(
        (term) =>
          `${term.label} ${withUncertainty(term.value, term.uncertainty)}${term.unit === "arcmin" ? "′" : "′ a radian"}`,
      );
    notes.push({
      code,
      row: null,
      message: `The readings ${probability < SAID_FROM ? "suggest" : "say"} that ${what} (there or not: ${percent(probability)}): ${values.join(", ")}.`,
      remedy,
    });
  }
  return notes;
}

/** A probability, never quite sure: `97 %`. */
function percent(probability: number): string {
  const whole = Math.round(100 * probability);
  return whole >= 100 ? "over 99 %" : `${whole} %`;
}

/** The residue is told from this probability on. */
const RESIDUE_FROM = 0.9;
/** Of an ordinary night, so small or so large a χ² comes once in ten thousand. */
const RARE = 1e-4;
/** Errors this much larger than expected are told. */
const LARGE_ERRORS = 1.5;

/** Notes on how well the night fits as a whole. */
export function fitQualityNotes(
  fit: Pick<MountFit, "skyRms" | "chiSquare" | "residue" | "errorScale" | "sightings" | "priors">,
): Note[] {
  const notes: Note[] = [];
  const { chiSquare, residue, errorScale, skyRms } = fit;
  if (residue.probability >= RESIDUE_FROM) {
    notes.push({
      code: "smooth-residue",
      row: null,
      message: `Over the sky the readings are off smoothly by some ${residue.amplitudeArcmin.toFixed(residue.amplitudeArcmin < 0.2 ? 2 : 1)}′ that no term explains (there or not: ${percent(residue.probability)}). The uncertainties allow for it.`,
      remedy:
        "Look for a pattern in the residuals: a ring out of round, a tube that twists, an encoder wheel with several lobes. A term of your own in customTerms can describe it.",
    });
  }
  if (fit.sightings.used < 3) return notes;
  const poor = fit.priors
    ? errorScale.value - errorScale.uncertainty > LARGE_ERRORS || chiSquare.probability < RARE
    : chiSquare.probability < RARE;
  if (poor) {
    notes.push({
      code: "poor-fit",
      row: null,
      message: `The sightings fit to ${skyRms.found.toFixed(2)}′, expected ${skyRms.expected.toFixed(2)}′. Stars are centred less well than the mount file says, or something acts that the model does not know.`,
      remedy:
        "The uncertainties allow for it. Give a truer centringArcmin, look for something loose, or for a pattern in the residuals.",
    });
  }
  if (
    chiSquare.degreesOfFreedom > 0 &&
    1 - chiSquareProbability(chiSquare.value, chiSquare.degreesOfFreedom) < RARE
  ) {
    notes.push({
      code: "errors-too-small",
      row: null,
      message: `The sightings fit to ${skyRms.found.toFixed(2)}′, far better than expected (${skyRms.expected.toFixed(2)}′): the expected errors are too large.`,
      remedy:
        "Give a smaller centringArcmin or timingS in the mount file: the uncertainties then come out smaller. Check that the readings are real ones, not computed.",
    });
  }
  return notes;
}
