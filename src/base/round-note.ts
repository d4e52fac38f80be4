/** What a round's note is about. */
export type RoundNoteCode =
  | "gain-learned"
  | "jack-did-not-follow"
  | "turned-the-wrong-way"
  | "nothing-moved"
  | "unexplained-change"
  | "level-differs"
  | "settling"
  | "unsound-night"
  | "sight-again";

/** Something about a round that the builder must know. */
export interface RoundNote {
  readonly code: RoundNoteCode;
  /** The round it is about, counted from 1. */
  readonly round: number;
  /** The adjusters concerned. */
  readonly adjusters: readonly string[];
  readonly message: string;
  readonly remedy: string;
}
