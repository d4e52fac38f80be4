import type { Mount } from "../mount/mount.js";
import type { TermName } from "../mount/terms.js";
import type { Side } from "../night/sighting.js";

/** A value and its standard uncertainty (1σ). */
export interface Estimate {
  readonly value: number;
  readonly uncertainty: number;
}

/** `measured`: tonight's stars tell it; `tolerance only`: what is known is mostly what was known before. */
export type Standing = "measured" | "tolerance only";

/** One fitted term, in its own `unit`. */
export interface TermEstimate extends Estimate {
  readonly name: TermName;
  readonly label: string;
  /** The zero set or tube position that it belongs to; null when there is one only. */
  readonly set: string | null;
  /** Arcminutes a radian for scale errors, else arcminutes. */
  readonly unit: "arcmin" | "arcmin/rad";
  readonly standing: Standing;
  /** The prior 1σ that held it; null for a free term. */
  readonly tolerance: number | null;
  /** The probability that it acts at all, for a cause that acts on some nights only; null for the others. */
  readonly probability: number | null;
}

/** Something that the builder must know, with a stable code. */
export interface Note {
  readonly code: NoteCode;
  /** The sighting it is about, or null. */
  readonly row: number | null;
  /** What happened. */
  readonly message: string;
  /** What to do about it. */
  readonly remedy: string;
  /** The other rows concerned, where there are several. */
  readonly rows?: readonly number[];
}

/** What a note of a fit is about. */
export type NoteCode =
  | "misnamed-star"
  | "outlier"
  | "zeros-moved"
  | "sense-reversed"
  | "columns-exchanged"
  | "clock-zone"
  | "clock-step"
  | "site-sign"
  | "not-separable"
  | "few-sightings"
  | "zeros-held"
  | "low-star"
  | "near-sun"
  | "added-term"
  | "poor-fit"
  | "ambiguous"
  | "not-converged"
  | "below-horizon"
  | "creeping"
  | "settling"
  | "play"
  | "meridian-step"
  | "smooth-residue"
  | "errors-too-small"
  | "contradicts-model";

/** How one sighting fits. Angles on the sky. */
export interface Residual {
  /** The sighting, counted from 1. */
  readonly row: number;
  readonly star: string;
  /** ISO 8601, UTC, however the night file writes it. */
  readonly time: string;
  /** Telescope (by its readings and the model) minus star, westward, arcminutes. */
  readonly west: number;
  /** Telescope minus star, northward, arcminutes. */
  readonly north: number;
  /** Both ways together, arcminutes. */
  readonly distance: number;
  /** Expected 1σ, arcminutes: west, north. */
  readonly expectedWest: number;
  readonly expectedNorth: number;
  readonly standing: "used" | "set aside" | "not used";
  /** The star that the readings fit, where it is another one. */
  readonly likelyStar: string | null;
  /** Observed place of the star, degrees. */
  readonly hourAngleDeg: number;
  readonly declinationDeg: number;
  readonly altitudeDeg: number;
  readonly azimuthDeg: number;
  readonly zeroSet: string;
  /** The encoder zeros in force at this row, arcminutes; null where that zero was not fitted. */
  readonly hourAngleZero: number | null;
  readonly declinationZero: number | null;
  readonly side: Side;
  /** The readings as entered, in the mount file's unit; null where an axis was not read. */
  readonly readingHourAngle: number | null;
  readonly readingDeclination: number | null;
}

/** Where the polar axis points, from the pole. Arcminutes. */
export interface PoleError {
  /** Elevated end too high positive. */
  readonly altitude: Estimate;
  /** Elevated end too far east positive, on the sky. */
  readonly east: Estimate;
  /** Too far east in azimuth: east / cos latitude. */
  readonly azimuth: Estimate;
  readonly distance: Estimate;
  /** Covariance of altitude and east, arcmin². */
  readonly covariance: number;
  /** The time (ISO 8601, UTC) at which it points so: that of the last used sighting; null with none. */
  readonly at: string | null;
}

/** Terms with every cause at work, in the order and units of the fit's terms. */
export interface EveryCause {
  readonly values: readonly number[];
  readonly covariance: readonly (readonly number[])[];
}

/** Why the solver stopped. */
export type StopReason = "converged" | "iteration-limit" | "no-progress" | "no-sightings";

/** How the mount stands, as tonight's sightings tell. */
export interface MountFit {
  readonly mount: Mount;
  /** How many were read, used by the fit, and set aside as not fitting; the others were not to be used. */
  readonly sightings: { readonly read: number; readonly used: number; readonly setAside: number };
  readonly terms: readonly TermEstimate[];
  /** Covariance of `terms`, in their order and units squared. */
  readonly covariance: readonly (readonly number[])[];
  /**
   * Values and covariance of `terms` with every cause at work, each held by its tolerance: for comparing nights, of which each
   * may prefer another cause for one thing. Null for a classical fit.
   */
  readonly everyCause: EveryCause | null;
  readonly pole: PoleError;
  /** Root mean square of the used sightings' distances, found and expected, arcminutes. */
  readonly skyRms: { readonly found: number; readonly expected: number };
  readonly chiSquare: {
    readonly value: number;
    readonly degreesOfFreedom: number;
    /** The chance of so large a value or a larger one when model and errors are as stated. */
    readonly probability: number;
  };
  /** What no term explains: how large it is where it is there, and the probability that it is. */
  readonly residue: { readonly amplitudeArcmin: number; readonly probability: number };
  /** By what factor the errors are larger than expected. */
  readonly errorScale: Estimate;
  readonly residuals: readonly Residual[];
  readonly notes: readonly Note[];
  /** False when the readings cannot be trusted as they stand (reversed sense, wrong steps, clock): no turns then. */
  readonly sound: boolean;
  readonly stop: { readonly reason: StopReason; readonly iterations: number };
  /** Ratio of the largest to the smallest singular value of the scaled, weighted problem; 1e16 where it is singular. */
  readonly condition: number;
  /** Whether tolerances were used as prior knowledge. */
  readonly priors: boolean;
  /** Mean time of the sightings, milliseconds since 1970; null with none. */
  readonly meanTimeMs: number | null;
}
