import type { Verdict } from "../fit/evidence.js";
import type { TurnDirection } from "./adjusters/adjuster.js";
import type { AltitudeMeans, AzimuthMeans } from "./adjusters/adjusters.js";
import type { UnderStar } from "./under-star.js";

/** One adjuster to be moved, whichever it is. */
export interface Move {
  /** Its name in the file of turns. */
  readonly adjuster: string;
  readonly direction: TurnDirection;
  /** How far it moves, never negative, millimetres. */
  readonly mm: number;
  /** Turns, never negative; null where there is no screw. */
  readonly turns: number | null;
  /** 1σ, turns; 0 where there is no screw. */
  readonly uncertaintyTurns: number;
}

/** What to do at one jack. */
export interface JackTurn {
  readonly name: string;
  /** After rounding, up positive, millimetres. */
  readonly riseMm: number;
  /** Turns, never negative. */
  readonly turns: number;
  /** As seen from above. */
  readonly direction: "clockwise" | "anticlockwise" | "none";
  /** 1σ. */
  readonly uncertaintyTurns: number;
}

/** What to do at the azimuth bolts. */
export interface BoltTurn {
  readonly end: "north" | "south";
  /** The way that end of the base moves. */
  readonly direction: "east" | "west";
  /** How far it moves, never negative. */
  readonly shiftMm: number;
  /** Turns, never negative. */
  readonly turns: number;
  /** 1σ. */
  readonly uncertaintyTurns: number;
}

/** What to do at the lower bearing. */
export interface LowerBearingMove {
  /** East positive, millimetres. */
  readonly eastMm: number;
  /** Up positive, millimetres. */
  readonly upMm: number;
  /** Turns, never negative; null where there is no screw for it, or it stays. */
  readonly eastTurns: number | null;
  /** Turns, never negative; null where there is no screw for it, or it stays. */
  readonly upTurns: number | null;
}

/** Sliding the whole base, when nothing else reaches. */
export interface BaseSlide {
  readonly end: "north" | "south";
  readonly direction: "east" | "west";
  readonly shiftMm: number;
}

/** How far the base should stand from where it stood, for a bubble or an inclinometer. */
export interface LevelChange {
  /** The north side up positive, arcminutes. */
  readonly northUpArcmin: number;
  /** The east side up positive, arcminutes. */
  readonly eastUpArcmin: number;
  /** The same, millimetres per metre. */
  readonly northUpMmPerM: number;
  readonly eastUpMmPerM: number;
}

/** One step of the order of turning, to be ticked off. */
export interface TurnStep {
  readonly text: string;
  /** The adjuster's name: a jack's, or `azimuth bolts`, `lower bearing`, `base`; `level` for a look at the level. */
  readonly adjuster: string;
  /** Turns, never negative; 0 for what has no screw. */
  readonly turns: number;
  /** `clockwise`, `anticlockwise`, `east`, `west`, `up`, `down`, or `none` for a look at the level. */
  readonly direction: string;
  /** How far it moves the adjuster, never negative, millimetres. */
  readonly mm: number;
  /** What the level should have changed by since the beginning; at a look at the level only. */
  readonly level?: LevelChange;
}

/** One way of making a correction, weighed. */
export interface AdjusterChoice {
  readonly axis: "altitude" | "east";
  readonly by: AzimuthMeans | AltitudeMeans;
  readonly chosen: boolean;
  /** The mount has it and it reaches, within its travel and the builder's limit. */
  readonly possible: boolean;
  /** How far the base would be tilted for it, arcminutes. */
  readonly tiltArcmin: number;
  /** The longest way that any of its screws (or the sliding end) would go, millimetres. */
  readonly travelMm: number;
  /** How far the base would stand from where it stands now, both tilts together, arcminutes. */
  readonly outOfLevelArcmin: number;
  /** By how much the hour-angle readings would shift, arcminutes. */
  readonly hourAngleZeroShift: number;
  /** Why it is possible or not, with numbers. */
  readonly because: string;
}

/** Which pole the axis is to point at. */
export type Aim = "true" | "refracted";

/** Which jacks and bolts to turn, which way, how far, in what order. */
export interface TurnAdvice {
  /** False: turn nothing; `reasons` says why. */
  readonly recommended: boolean;
  /** Whether another round is worth it. */
  readonly verdict: Verdict;
  /** Sightings still needed where the verdict is `not-known-yet`, else 0. */
  readonly missing: number;
  /** Everything that is to be moved, in the order of the steps. */
  readonly moves: readonly Move[];
  /** Every jack, the unmoved too. */
  readonly jacks: readonly JackTurn[];
  readonly azimuthBolts: BoltTurn | null;
  readonly lowerBearing: LowerBearingMove | null;
  readonly slide: BaseSlide | null;
  readonly steps: readonly TurnStep[];
  /** The axis error that should be left, from the true pole, arcminutes. */
  readonly after: { readonly altitude: number; readonly east: number };
  /**
   * How sure `after` is, 1σ, arcminutes: the sightings, the setting by hand, and how truly screws and floor follow
   * (taken as 1 ± 0.2 of what is asked until rounds have taught it).
   */
  readonly afterUncertainty: { readonly altitude: number; readonly east: number };
  /** By how much the hour-angle readings shift, arcminutes. */
  readonly hourAngleZeroShift: number;
  /** The most that a foot will be out of the plane of the others, millimetres; for four feet NE − NW + SW − SE. */
  readonly warpMm: number;
  /** Which pole is aimed at, and how far above the true pole that is, arcminutes. */
  readonly aim: { readonly at: Aim; readonly altitude: number };
  /** The same turned by what a star shows; null where nothing is to be turned, or no star serves. */
  readonly underStar: UnderStar | null;
  /** How the level of the base changes. */
  readonly levelChange: LevelChange;
  /** The ways of making each correction, weighed. */
  readonly choices: readonly AdjusterChoice[];
  /** What limits the advice: to be read before it. */
  readonly notes: readonly string[];
  readonly cautions: readonly string[];
  /** Why this and not otherwise, as sentences. */
  readonly reasons: readonly string[];
}
