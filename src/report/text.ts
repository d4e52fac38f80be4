/**
 * A report as text for a terminal: never wider than asked, long cells wrapped inside their columns.
 */
import { unbroken } from "../base/base-words.js";
import { plainText } from "../words/escape.js";
import type { BehindBlock, Block, Report, TableBlock } from "./report.js";

/** How a report is written as text. */
export interface TextOptions {
  /** Columns; 80 when not given, at least 30. */
  readonly width?: number;
  /** Columns that a table may take; as `width` when not given or less. */
  readonly tableWidth?: number;
  /** `ansi` makes titles and verdicts bold, cautions red; `bold` leaves colours out; `none` (the default) is bare text. */
  readonly colour?: "none" | "bold" | "ansi";
}

const DEFAULT_WIDTH = 80;
const LEAST_WIDTH = 30;
const GAP = "  ";
/** No column is squeezed under this many letters while others can give. */
const LEAST_COLUMN = 4;

const styles = {
  bold: ["\u001b[1m", "\u001b[22m"],
  caution: ["\u001b[1;31m", "\u001b[22;39m"],
} as const;

/**
 * A report as lines of text.
 *
 * @param report - the report
 * @param options - the widths in columns and whether to use terminal styles
 * @returns lines joined by newlines, none wider than its width; ends with a newline
 * @example
 * ```ts
 * reportText(fitReport(fit), { width: 80 })
 * ```
 */
export function reportText(report: Report, options: TextOptions = {}): string {
  const width = Math.max(LEAST_WIDTH, Math.floor(options.width ?? DEFAULT_WIDTH));
  const tableWidth = Math.max(width, Math.floor(options.tableWidth ?? width));
  const { colour = "none" } = options;
  const style = (line: string, name: keyof typeof styles): string => {
    const [begin, end] = styles[colour === "ansi" ? name : "bold"];
    return colour === "none" ? line : `${begin}${line}${end}`;
  };
  const lines: string[] = [];
  for (const line of wrap(plainText(report.title), width)) {
    lines.push(style(line, "bold"));
  }
  lines.push("=".repeat(Math.min(width, letters(plainText(report.title)))));
  for (const block of withoutBehind(report.blocks)) {
    if (block.kind === "picture") continue;
    lines.push("");
    // Not spread into one call: a long night's table has more lines than a call may have arguments.
    for (const line of blockLines(block, block.kind === "table" ? tableWidth : width, style))
      lines.push(line);
  }
  return `${lines.map((line) => line.trimEnd().replaceAll(FIXED_SPACE, " ")).join("\n")}\n`;
}

/** What stands behind is left for another time, and a line says how to see it. */
function withoutBehind(blocks: readonly Block[]): Exclude<Block, BehindBlock>[] {
  const front = blocks.flatMap((block) => (block.kind === "behind" ? [] : [block]));
  if (front.length < blocks.length) {
    front.push({ kind: "sentence", text: "With --why: the reasons, and the cautions in full." });
  }
  return front;
}

const FIXED_SPACE = "\u00a0";

type Styler = (line: string, name: keyof typeof styles) => string;

function blockLines(block: Exclude<Block, BehindBlock>, width: number, style: Styler): string[] {
  switch (block.kind) {
    case "heading": {
      const lines = wrap(plainText(block.text), width);
      const longest = Math.max(...lines.map(letters));
      return [...lines.map((line) => style(line, "bold")), "-".repeat(longest)];
    }
    case "sentence": {
      if (block.tone === "caution") {
        return hanging("! ", plainText(block.text), width).map((line) => style(line, "caution"));
      }
      if (block.tone === "note") return hanging("* ", plainText(block.text), width);
      const lines = wrap(plainText(block.text), width);
      return block.tone === "verdict" ? lines.map((line) => style(line, "bold")) : lines;
    }
    case "list":
      return block.items.flatMap((item, index) =>
        hanging(
          block.ordered ? `${String(index + 1).padStart(String(block.items.length).length)}. ` : "- ",
          plainText(item),
          width,
        ),
      );
    case "table":
      return tableLines(block, width, style);
    case "picture":
      return [];
  }
}

function hanging(mark: string, text: string, width: number): string[] {
  const indent = " ".repeat(mark.length);
  return wrap(text, width - mark.length).map((line, index) => `${index === 0 ? mark : indent}${line}`);
}

/** How many columns a text takes: its code points, those that combine with the one before not counted. */
function letters(text: string): number {
  return [...text.replace(/\p{Mark}/gu, "")].length;
}

/** Words in lines of at most `width` letters; a word that is longer is broken. */
export function wrap(text: string, width: number): string[] {
  const lines: string[] = [];
  for (const paragraph of unbroken(text).split("\n")) {
    let line = "";
    for (const word of paragraph.split(/[ \t]+/)) {
      let rest = word;
      if (line !== "" && letters(line) + 1 + letters(rest) <= width) {
        line += ` ${rest}`;
        continue;
      }
      if (line !== "") {
        lines.push(line);
      }
      while (letters(rest) > width) {
        const points = [...rest];
        lines.push(points.slice(0, width).join(""));
        rest = points.slice(width).join("");
      }
      line = rest;
    }
    lines.push(line);
  }
  return lines;
}

function tableLines(table: TableBlock, width: number, style: Styler): string[] {
  const columns = table.head.length;
  const cells = [table.head, ...table.rows].map((row) =>
    Array.from({ length: columns }, (_, column) => plainText(row[column] ?? "")),
  );
  const widths = columnWidths(cells, width - GAP.length * (columns - 1));
  const rowLines = (row: readonly string[]): string[] => {
    const wrapped = row.map((cell, column) => wrap(cell, widths[column]!));
    const height = Math.max(...wrapped.map((lines) => lines.length));
    return Array.from({ length: height }, (_, index) =>
      wrapped
        .map((lines, column) => pad(lines[index] ?? "", widths[column]!, table.align[column] ?? "left"))
        .join(GAP)
        .trimEnd(),
    );
  };
  const rule = widths.map((columnWidth) => "-".repeat(columnWidth)).join(GAP);
  const [head, ...rows] = cells;
  return [
    ...wrap(plainText(table.caption), width),
    ...rowLines(head!).map((line) => style(line, "bold")),
    rule,
    ...rows.flatMap(rowLines),
  ];
}

function pad(text: string, width: number, align: "left" | "right"): string {
  const space = " ".repeat(Math.max(0, width - letters(text)));
  return align === "right" ? space + text : text + space;
}

/** Letters of the longest of those words that match. */
function longestWord(text: string, which: RegExp): number {
  return Math.max(0, ...text.split(/[ \t]+/).map((word) => (which.test(word) ? letters(word) : 0)));
}

/**
 * Each column as wide as its widest cell; where that is too much, the widest columns give first, down to their longest
 * word; then words are broken, and figures only where nothing else is left to give.
 */
function columnWidths(cells: readonly (readonly string[])[], available: number): number[] {
  const columns = cells[0]!.length;
  const widths = Array.from({ length: columns }, (_, column) =>
    cells.reduce((widest, row) => Math.max(widest, letters(row[column]!)), 1),
  );
  const longest = (which: RegExp) =>
    Array.from({ length: columns }, (_, column) =>
      cells.reduce((widest, row) => Math.max(widest, longestWord(row[column]!, which)), 1),
    );
  const figures = longest(/\d/).map((width) => Math.max(width, LEAST_COLUMN));
  for (const floors of [longest(/./), figures, widths.map(() => LEAST_COLUMN), widths.map(() => 1)]) {
    let excess = widths.reduce((sum, columnWidth) => sum + columnWidth, 0) - available;
    while (excess > 0) {
      let widest = -1;
      for (let column = 0; column < columns; column++) {
        if (widths[column]! > floors[column]! && (widest < 0 || widths[column]! > widths[widest]!)) {
          widest = column;
        }
      }
      if (widest < 0) break;
      widths[widest]!--;
      excess--;
    }
  }
  return widths;
}
