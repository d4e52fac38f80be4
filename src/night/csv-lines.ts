/**
 * The night file line by line (RFC 4180 with `#` comments): every line's fields, or what is wrong with it.
 *
 * Lines are taken one at a time so that a stray quotation mark spoils its own row and not the rest of the night. A line
 * without a quotation mark is its fields between commas; csv-parse reads the others.
 */
import { parse } from "csv-parse/sync";

/** A line that is neither blank nor a comment, or a comment. */
export interface CsvLine {
  /** Counted from 1; of a row that spans lines the first. */
  readonly line: number;
  /** As it stands, without the line's end. */
  readonly text: string;
  /** Whether a line's end follows; false only at the end of a file that was cut short. */
  readonly ended: boolean;
  /** The text after `#`, or null when this is a row. */
  readonly comment: string | null;
  /** The fields as they stand; empty when there is a problem or a comment. */
  readonly fields: readonly string[];
  /** What is wrong with the row's quotation marks or its length, in a sentence; null when nothing is. */
  readonly problem: string | null;
}

/** More than any sighting needs. */
const LONGEST_LINE = 20_000;
/** A note may have so many lines, no more. */
const MOST_LINES_IN_ROW = 20;
/** Quoted lines are handed to csv-parse in blocks, because a call costs more than a line. */
const BLOCK = 500;

const isQuotedRow = (text: string): boolean =>
  text.includes('"') && !text.startsWith("#") && text.length <= LONGEST_LINE;

/**
 * Goes through the lines of a night file. Blank lines, and lines of commas only, are passed over.
 *
 * @param text - the file's text without byte-order mark; lines end in LF, CRLF or CR
 * @param isRow - says of the fields of a single line that they are a row by themselves: an opened quotation mark is
 *   not carried across such a line, so that no sighting is swallowed by the note before it
 */
export function* csvLines(text: string, isRow: (fields: readonly string[]) => boolean): Generator<CsvLine> {
  const lines = (text.includes("\n") ? text : text.replace(/\r/g, "\n")).split("\n");
  const ended = (index: number): boolean => index < lines.length - 1;
  const lineAt = (index: number): string => {
    const line = lines[index]!;
    return line.endsWith("\r") ? line.slice(0, -1) : line;
  };
  let block: { readonly from: number; readonly rows: readonly (readonly string[])[] | null } = {
    from: 0,
    rows: [],
  };

  for (let index = 0; index < lines.length; index++) {
    const line = lineAt(index);
    const common = { line: index + 1, text: line, ended: ended(index), comment: null, problem: null };
    if (/^[\s,]*$/.test(line)) continue;
    if (line.startsWith("#")) {
      yield { ...common, comment: line.slice(1).trim(), fields: [] };
      continue;
    }
    if (line.length > LONGEST_LINE) {
      yield {
        ...common,
        fields: [],
        problem: `The line has ${line.length} characters; a sighting needs fewer.`,
      };
      continue;
    }
    if (!line.includes('"')) {
      yield { ...common, fields: line.split(",") };
      continue;
    }

    if (block.rows === null ? index >= block.from + BLOCK : index >= block.from + block.rows.length) {
      let end = index;
      while (end < lines.length && end < index + BLOCK && isQuotedRow(lineAt(end))) end += 1;
      block = { from: index, rows: quotedBlock(lines.slice(index, end).map((_, n) => lineAt(index + n))) };
    }
    const whole = block.rows?.[index - block.from];
    if (whole !== undefined) {
      yield quotedLine(common, whole);
      continue;
    }
    let joined = line;
    let last = index;
    let read = quotedRow(joined);
    while (
      read === "open" &&
      ended(last) &&
      last - index < MOST_LINES_IN_ROW &&
      joined.length <= LONGEST_LINE
    ) {
      const next = lineAt(last + 1);
      const alone = next.includes('"') ? quotedRow(next) : next.split(",");
      if (typeof alone !== "string" && isRow(alone)) break;
      joined += `\n${next}`;
      last += 1;
      read = quotedRow(joined);
    }
    if (read === "open") {
      yield { ...common, fields: [], problem: "A quotation mark is opened and not closed." };
    } else if (typeof read === "string") {
      yield { ...common, fields: [], problem: read };
    } else {
      yield quotedLine({ ...common, text: joined, ended: ended(last) }, read);
      index = last;
    }
  }
}

/** A spreadsheet puts a comment with a comma in it between quotation marks; such a line stays a comment. */
function quotedLine(common: Omit<CsvLine, "fields">, fields: readonly string[]): CsvLine {
  const [first = "", ...rest] = fields;
  if (first.startsWith("#") && rest.every((field) => field.trim() === "")) {
    return { ...common, comment: first.slice(1).trim(), fields: [] };
  }
  return { ...common, fields };
}

const options = { relax_column_count: true, record_delimiter: "\n" } as const;

/** The rows of a block of quoted lines when each line is a row, else null. */
function quotedBlock(lines: readonly string[]): string[][] | null {
  try {
    const rows: string[][] = parse(lines.join("\n"), options);
    return rows.length === lines.length ? rows : null;
  } catch {
    return null;
  }
}

/** The fields of one row with quotation marks, `open` when one is not closed, or a sentence on what is wrong. */
export function quotedRow(text: string): readonly string[] | string {
  try {
    return (parse(text, options) as string[][])[0] ?? [];
  } catch (problem) {
    const code = (problem as { readonly code?: string }).code ?? "";
    if (code === "CSV_QUOTE_NOT_CLOSED") return "open";
    if (/QUOTE/.test(code)) {
      return "A quotation mark stands inside a field: put the field between quotation marks and double those inside it.";
    }
    return `The row cannot be taken apart (${code}).`;
  }
}

/**
 * A field as RFC 4180 writes it, on one line: line breaks and other control characters become spaces.
 *
 * @example
 * ```ts
 * csvField('seeing 3", gusts') // '"seeing 3"", gusts"'
 * ```
 */
export function csvField(value: string): string {
  // biome-ignore lint/suspicious/noControlCharactersInRegex: control characters are what is replaced
  const plain = value.replace(/[\u0000-\u001f\u007f\u2028\u2029]+/g, " ").trim();
  return /[",]|^#/.test(plain) ? `"${plain.replace(/"/g, '""')}"` : plain;
}
