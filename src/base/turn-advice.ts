/** What to do at one jack. */
export interface JackTurn {
  readonly name: string;
  /** After rounding, up positive, millimetres. */
  readonly riseMm: number;
  /** Turns, never negative. */
  readonly turns: number;
  readonly direction: "clockwise" | "anticlockwise" | "none";
  readonly uncertaintyTurns: number;
}

/** What to do at the azimuth bolts. */
export interface BoltTurn {
  readonly end: "north" | "south";
  /** The way that end of the base moves. */
  readonly direction: "east" | "west";
  readonly shiftMm: number;
  readonly turns: number;
  readonly uncertaintyTurns: number;
}

/** What to do at the lower bearing. */
export interface LowerBearingMove {
  /** East positive, millimetres. */
  readonly eastMm: number;
  /** Up positive, millimetres. */
  readonly upMm: number;
  readonly eastTurns: number | null;
  readonly upTurns: number | null;
}

/** Sliding the whole base, when nothing else reaches. */
export interface BaseSlide {
  readonly end: "north" | "south";
  readonly direction: "east" | "west";
  readonly shiftMm: number;
}

/** One step of the order of turning. */
export interface TurnStep {
  readonly text: string;
  /** The adjuster's name: a jack's, or `azimuth bolts`, `lower bearing`, `base`. */
  readonly adjuster: string;
  readonly turns: number;
  readonly direction: string;
}

/** Which jacks and bolts to turn, which way, how far, in what order. */
export interface TurnAdvice {
  readonly recommended: boolean;
  readonly jacks: readonly JackTurn[];
  readonly azimuthBolts: BoltTurn | null;
  readonly lowerBearing: LowerBearingMove | null;
  readonly slide: BaseSlide | null;
  readonly steps: readonly TurnStep[];
  /** The axis error that should be left, arcminutes. */
  readonly after: { readonly altitude: number; readonly east: number };
  /** By how much the hour-angle readings shift, arcminutes. */
  readonly hourAngleZeroShift: number;
  readonly warpMm: number;
  readonly cautions: readonly string[];
  /** Why this and not otherwise, as sentences. */
  readonly reasons: readonly string[];
}
