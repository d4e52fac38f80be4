/**
 * A report is one structure with several renderings: text for the terminal, HTML for notebooks and pages.
 */

/** A table of plain text cells. */
export interface TableBlock {
  readonly kind: "table";
  readonly caption: string;
  readonly head: readonly string[];
  readonly rows: readonly (readonly string[])[];
  /** For each column; the first cell of a row is its header. */
  readonly align: readonly ("left" | "right")[];
  /** Rows that no longer count, by their place from 0: struck through where that can be shown. */
  readonly struck?: readonly number[];
}

/** Reasons and long cautions, which stand behind: folded up on a page, and in the terminal with `--why`. */
export interface BehindBlock {
  readonly kind: "behind";
  readonly title: string;
  readonly blocks: readonly Block[];
}

/** A part of a report: a heading, a sentence, a list, a table, a place for a picture, or what stands behind. */
export type Block =
  | { readonly kind: "heading"; readonly text: string }
  | { readonly kind: "sentence"; readonly text: string; readonly tone?: Tone }
  | { readonly kind: "list"; readonly items: readonly string[]; readonly ordered: boolean }
  | { readonly kind: "picture"; readonly place: number }
  | BehindBlock
  | TableBlock;

type Tone = "plain" | "verdict" | "caution" | "note";

/** The blocks that a report is made of, each by its name. */
export const block = {
  heading: (text: string): Block => ({ kind: "heading", text }),
  sentence: (text: string): Block => ({ kind: "sentence", text }),
  toned: (text: string, tone: Tone): Block => ({ kind: "sentence", tone, text }),
  verdict: (text: string): Block => ({ kind: "sentence", tone: "verdict", text }),
  caution: (text: string): Block => ({ kind: "sentence", tone: "caution", text }),
  note: (text: string): Block => ({ kind: "sentence", tone: "note", text }),
  /** A list without numbers. */
  list: (items: readonly string[]): Block => ({ kind: "list", ordered: false, items }),
};

/** A title and what stands under it; {@link reportText} and {@link reportHtml} write it. */
export interface Report {
  readonly title: string;
  readonly blocks: readonly Block[];
}

/** A report with what stands behind set out in full. */
export function setOut(report: Report): Report {
  const blocks = report.blocks.flatMap((one): readonly Block[] =>
    one.kind === "behind"
      ? [block.heading(one.title), ...setOut({ title: one.title, blocks: one.blocks }).blocks]
      : [one],
  );
  return { ...report, blocks };
}
