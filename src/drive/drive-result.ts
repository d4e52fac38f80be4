/** What a course tells of the drive. */
import type { Estimate } from "../fit/fit-result.js";
import type { SmearAt, Wave } from "./drive-smear.js";
import type { PeriodogramPoint } from "./periodogram.js";

/** A periodic error. */
export interface PeriodicError {
  readonly periodS: number;
  /** 1σ; 0 where the period is the mount file's. */
  readonly periodUncertaintyS: number;
  /** Half from top to bottom, at the equator. */
  readonly amplitudeArcsec: number;
  readonly uncertaintyArcsec: number;
  /** The part with this period; null where none is known. */
  readonly part: string | null;
  /** 1: once a turn of the part; 2: twice; null without a part. */
  readonly harmonic: number | null;
  /** The chance that noise alone would show it. */
  readonly falseAlarm: number;
  /** Whether it counts: a false alarm is unlikely (below 1 in 1000). */
  readonly seen: boolean;
}

/** How the star went north or south, and what did it. */
export interface NorthDrift {
  /** As seen, arcseconds a minute. */
  readonly seen: Estimate;
  /** What air and sags did, and the axis as it was known before. */
  readonly expected: Estimate;
  /** How far seen and expected are apart in units of both uncertainties; null where no sightings stand behind the axis. */
  readonly sigmas: number | null;
  /** The axis by this course together with what was known before, arcminutes. */
  readonly altitude: Estimate;
  readonly east: Estimate;
}

/** The noise of one way. */
export interface WayNoise {
  /** Of each moment by itself, 1σ, arcseconds on the sky. */
  readonly scatterArcsec: number;
  /** Of the slow wander; 0 where none shows. */
  readonly wanderArcsec: number;
  /** How long the wander remembers, seconds. */
  readonly memoryS: number;
}

/** Play after a reversal. */
export interface DrivePlay {
  readonly segment: string;
  /** When the stretch began, milliseconds of UTC since 1970. */
  readonly timeMs: number;
  readonly seconds: number;
  /** Of the hour-angle axis. */
  readonly arcsec: number;
}

/** A jump of the star. */
export interface DriveBump {
  readonly timeMs: number;
  readonly row: number;
}

/** One way to correct the rate. */
export interface RateRemedy {
  readonly means: "step rate" | "roller" | "ratio";
  readonly unit: "Hz" | "mm" | "turns of the motor for one of the axis";
  readonly now: number;
  /** For stars without air: the sidereal rate. */
  readonly sidereal: number;
  /** For a drive of one rate: the mean best rate over the sky. */
  readonly meanBest: number;
  /** 1σ of both. */
  readonly uncertainty: number;
}

/** What to do about the rate. */
export interface DriveRemedy {
  /**
   * `correct`; `step-rate-only`: this star shows it, but axis and sags could do it too, so cut no metal yet; `leave`: it hardly
   * shortens an exposure; `not-known-yet`: it is not told apart from nothing.
   */
  readonly verdict: "correct" | "step-rate-only" | "leave" | "not-known-yet";
  readonly sentence: string;
  readonly ways: readonly RateRemedy[];
}

/** What a note about the drive says. */
export type DriveNoteCode =
  | "axis-unknown"
  | "slow-part"
  | "no-parts"
  | "few-turns"
  | "bumped"
  | "misread"
  | "play"
  | "polar-disagrees"
  | "west-missing"
  | "low-star"
  | "averaged"
  | "stated-gearing"
  | "coarse-steps";

/** Something that the builder must know. */
export interface DriveNote {
  readonly code: DriveNoteCode;
  readonly message: string;
  readonly remedy: string;
}

/** A course as a figure draws it. */
export interface DrawnCourse {
  readonly seconds: readonly number[];
  readonly west: readonly (number | null)[];
  readonly north: readonly (number | null)[];
  /** The whole fit. */
  readonly fitWest: readonly (number | null)[];
  readonly fitNorth: readonly (number | null)[];
  /** The fit without the periodic errors. */
  readonly steadyWest: readonly (number | null)[];
}

/** What a course tells of the drive. */
export interface DriveResult {
  readonly mountName: string;
  readonly stars: readonly string[];
  /** When the course began, milliseconds of UTC since 1970. */
  readonly startMs: number;
  readonly spanMinutes: number;
  readonly moments: { readonly read: number; readonly used: number };
  readonly segments: number;
  /** Null where the course has no westward way. */
  readonly rate: {
    /** The drive's rate over the sidereal one, less 1; negative: too slow. */
    readonly errorPpm: number;
    readonly uncertaintyPpm: number;
    /** How fast a star on the equator goes west by it. */
    readonly westArcsecPerMinute: number;
    readonly uncertaintyArcsecPerMinute: number;
    /** The parts of the uncertainty that come from the axis with the sags, and from slow parts: not from this course's noise. */
    readonly fromAxisPpm: number;
    readonly fromSlowPartsPpm: number;
    /** The rate as this star shows it, what axis and sags do to it included, the air taken off. */
    readonly herePpm: Estimate;
  } | null;
  /** Largest first. */
  readonly periodic: readonly PeriodicError[];
  /** From top to bottom of all that was seen, at the equator. */
  readonly peakToPeakArcsec: number;
  /** The errors that were seen, with their phases: what an exposure's budget takes. */
  readonly waves: readonly Wave[];
  readonly play: readonly DrivePlay[];
  readonly bumps: readonly DriveBump[];
  readonly polar: NorthDrift | null;
  readonly noise: { readonly west: WayNoise | null; readonly north: WayNoise | null };
  /** Parts per million above the sidereal rate. */
  readonly bestRate: { readonly starPpm: number; readonly meanPpm: number };
  readonly remedy: DriveRemedy | null;
  readonly smear: readonly SmearAt[];
  readonly longest: {
    readonly limitArcsec: number;
    /** As it is, at the equator, seconds. */
    readonly asItIsS: number;
    /** With the rate corrected. */
    readonly rateCorrectedS: number;
  } | null;
  readonly notes: readonly DriveNote[];
  readonly course: DrawnCourse;
  /** Null where the course has no westward way. */
  readonly periodogram: {
    readonly points: readonly PeriodogramPoint[];
    /** A peak this high is a false alarm once in a hundred times. */
    readonly power1Percent: number;
  } | null;
  /** The parts with their periods, for the figures. */
  readonly parts: readonly { readonly name: string; readonly periodS: number }[];
}
