import type { Verdict } from "../fit/evidence.js";
import type { Estimate, PoleError } from "../fit/fit-result.js";
import type { RoundVerdict } from "./another-round.js";
import type { AxisPlace } from "./axis-motion.js";
import type { RoundNote } from "./round-note.js";
import type { TurnAdvice } from "./turn-advice.js";
import type { TurnOptions } from "./turn-question.js";
import type { TurnMade } from "./turns-made.js";
import type { UnderStarOptions } from "./under-star.js";

/** How the level changed over a round: the north and the east side up positive, millimetres per metre. */
export interface LevelReading {
  readonly north: number;
  readonly east: number;
}

/** What a term that is the same every night makes of a night's pole: arcminutes for one arcminute of the term. */
export interface SharedPart {
  readonly term: string;
  /** What is known of the term beforehand, 1σ, arcminutes. */
  readonly tolerance: number;
  readonly altitude: number;
  readonly east: number;
}

/** One night and what was turned after it. */
export interface RoundGiven {
  readonly pole: Pick<PoleError, "altitude" | "east" | "covariance">;
  /** False when that night's readings cannot be trusted: the night then teaches nothing. */
  readonly sound: boolean;
  /** Mean time of the sightings, milliseconds since 1970; null when not known. */
  readonly meanTimeMs: number | null;
  /** The turns made after these sightings; empty for none. */
  readonly turnsMade: readonly TurnMade[];
  /** How the level changed by them, where it was read. */
  readonly level?: LevelReading | null;
  /** What is the same in every night's error. */
  readonly shared?: readonly SharedPart[];
  /** What this night alone says of another round: the last night's decides, so that all commands say the same. */
  readonly verdict?: RoundVerdict;
}

/** What learning from rounds may be told. */
export interface RoundsOptions extends Omit<TurnOptions, "gains">, UnderStarOptions {
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
  readonly by: string;
  /** `the azimuth bolts`. */
  readonly means: string;
  /** Whether any round has taught it. */
  readonly learned: boolean;
}

/** What the rounds taught, and what to turn next. */
export interface RoundsResult {
  /** Whether another round is worth it. */
  readonly verdict: Verdict;
  /** Sightings still needed where the verdict is `not-known-yet`, else 0. */
  readonly missing: number;
  readonly rounds: readonly RoundReport[];
  /** The gains of everything that the base has. */
  readonly gains: readonly LearnedGain[];
  /** Where the axis is now, all nights together, arcminutes; `covariance` of altitude and east, arcmin². */
  readonly now: PlaceEstimate & { readonly distance: Estimate; readonly covariance: number };
  /** The next turns with the learned gains; null when turns have been made and not yet been sighted. */
  readonly next: TurnAdvice | null;
  /** How fast the axis wanders of itself, 1σ, arcminutes in the square root of a day; 0 where it stays. */
  readonly wander: number;
  /** True when the next advice is to stop. */
  readonly done: boolean;
  readonly notes: readonly RoundNote[];
  /** The story in sentences. */
  readonly reasons: readonly string[];
}
