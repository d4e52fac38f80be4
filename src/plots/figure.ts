/**
 * A figure: plain data that plotly draws, and that a test can compare.
 */

/** A JSON value. */
export type Json = string | number | boolean | null | readonly Json[] | { readonly [key: string]: Json };

/** Properties of a trace, an axis or a layout. */
export type Properties = { readonly [key: string]: Json };

/** A plotly figure with its own title and a text that says what it shows. */
export interface Figure {
  readonly data: readonly { readonly [key: string]: Json }[];
  readonly layout: { readonly [key: string]: Json };
  /** One or two sentences that stand in for the picture where it cannot be drawn. */
  readonly summary: string;
  /** What moves when the reader asks for it; the still picture shows its end. */
  readonly motion?: Motion;
}

/** One trace of a figure that moves. */
export interface Motion {
  /** Which trace, by its place from 0. */
  readonly trace: number;
  /** Its points, frame by frame. */
  readonly places: readonly { readonly x: readonly number[]; readonly y: readonly number[] }[];
  /** What stands on the button that starts it. */
  readonly button: string;
}
