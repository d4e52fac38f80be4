import type { Estimate, PoleError } from "../fit/fit-result.js";
import type { AxisPlace } from "./axis-motion.js";
import type { TurnOptions } from "./jack-turns.js";
import type { RoundNote } from "./round-note.js";
import type { AltitudeMeans, AzimuthMeans, TurnAdvice } from "./turn-advice.js";
import type { TurnMade } from "./turns-made.js";

/** One night and what was turned after it. */
export interface RoundGiven {
  readonly pole: Pick<PoleError, "altitude" | "east" | "covariance">;
  /** False when that night's readings cannot be trusted: the night then teaches nothing. */
  readonly sound: boolean;
  /** Mean time of the sightings, milliseconds since 1970; null when not known. */
  readonly meanTimeMs: number | null;
  /** The turns made after these sightings; empty for none. */
  readonly turnsMade: readonly TurnMade[];
}

/** What learning from rounds may be told. */
export interface RoundsOptions extends Omit<TurnOptions, "gains"> {
  /** What is known of every gain beforehand; 1 ± 0.2 by default. */
  readonly gainBefore?: Estimate;
  /** How far a floor may settle from one night to the next without a word, 1σ on each axis, arcminutes; 0.2 by default. */
  readonly settlingArcmin?: number;
}

/** Altitude and east with their uncertainties, arcminutes. */
export interface PlaceEstimate {
  readonly altitude: Estimate;
  readonly east: Estimate;
}

/** What one round asked for and what came of it. */
export interface RoundReport {
  /** Counted from 1. */
  readonly round: number;
  readonly before: PlaceEstimate;
  readonly turnsMade: readonly TurnMade[];
  /** The change that the turns should have made with true screws and a firm floor, arcminutes. */
  readonly asked: AxisPlace;
  /** The change found by the next night; null where there is none, or one of the two cannot be trusted. */
  readonly found: PlaceEstimate | null;
  /** Found by asked, from these two nights alone; null where too little was asked to tell. */
  readonly gain: { readonly altitude: Estimate | null; readonly east: Estimate | null };
  readonly after: PlaceEstimate | null;
  /** The most that a foot was left out of the plane of the others, millimetres. */
  readonly warpMm: number;
}

/** A gain and how well it is known. */
export interface LearnedGain extends Estimate {
  readonly axis: "altitude" | "east";
  readonly by: AltitudeMeans | AzimuthMeans;
  /** Whether any round has taught it. */
  readonly learned: boolean;
}

/** What the rounds taught, and what to turn next. */
export interface RoundsResult {
  readonly rounds: readonly RoundReport[];
  /** The gains of everything that the base has. */
  readonly gains: readonly LearnedGain[];
  /** Where the axis is now, all nights together, arcminutes; `covariance` of altitude and east, arcmin². */
  readonly now: PlaceEstimate & { readonly distance: Estimate; readonly covariance: number };
  /** The next turns with the learned gains; null when turns have been made and not yet been sighted. */
  readonly next: TurnAdvice | null;
  /** True when the next advice is to stop. */
  readonly done: boolean;
  readonly notes: readonly RoundNote[];
  /** The story in sentences. */
  readonly reasons: readonly string[];
}
