/**
 * A figure: plain data that plotly draws, and that a test can compare.
 */

/** A JSON value. */
export type Json = string | number | boolean | null | readonly Json[] | { readonly [key: string]: Json };

/** A plotly figure with its own title and a text that says what it shows. */
export interface Figure {
  readonly data: readonly { readonly [key: string]: Json }[];
  readonly layout: { readonly [key: string]: Json };
  /** One or two sentences that stand in for the picture where it cannot be drawn. */
  readonly summary: string;
}
