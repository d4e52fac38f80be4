/**
 * A table line by line (RFC 4180 with `#` comments): every line's fields, or what is wrong with it.
 *
 * Lines are taken one at a time so that a stray quotation mark spoils its own row and not the rest of the night. A line
 * without a quotation mark is its fields between separators; csv-parse reads the others.
 */
import { parse } from "#csv-parser";

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

/** What stands between the fields of a table. */
export type Separator = "," | ";" | "\t";

/** More than any row needs. */
const LONGEST_LINE = 20_000;
/** A note may have so many lines, no more. */
const MOST_LINES_IN_ROW = 20;
/** Quoted lines are handed to csv-parse in blocks, because a call costs more than a line. */
const BLOCK = 500;

const isQuotedRow = (text: string): boolean =>
  text.includes('"') && !text.startsWith("#") && text.length <= LONGEST_LINE;

/**
 * Goes through the lines of a table. Blank lines, and lines of separators only, are passed over.
 *
 * @param text - the file's text without byte-order mark; lines end in LF, CRLF or CR, also mixed
 * @param separator - what stands between fields
 * @param isRow - says of a line's pieces between commas that the line looks like a row by itself: an opened quotation
 *   mark is not carried across such a line, so that no sighting is swallowed by the note before it
 */
export function* csvLines(
  text: string,
  separator: Separator,
  isRow: (fields: readonly string[]) => boolean,
): Generator<CsvLine> {
  const whole = withNewlines(text);
  // Lines are cut off as they are needed: a file of many million lines is not held twice.
  let block: QuotedBlock | null = null;
  for (let at: PhysicalLine | null = physicalLine(whole, 0, 1); at !== null; at = followingLine(whole, at)) {
    const { text: line, number, ended } = at;
    if (line.startsWith("#")) {
      yield { line: number, text: line, ended, comment: line.slice(1).trim(), fields: [], problem: null };
      continue;
    }
    if (line === "" || isBlank(line, separator)) continue;
    if (line.length > LONGEST_LINE) {
      const problem = `The line has ${line.length} characters; a row needs fewer.`;
      yield { line: number, text: line, ended, comment: null, fields: [], problem };
      continue;
    }
    if (!line.includes('"')) {
      yield { line: number, text: line, ended, comment: null, fields: line.split(separator), problem: null };
      continue;
    }

    if (block === null || number >= block.from + block.count) block = quotedBlock(whole, at, separator);
    const alone = block.rows?.[number - block.from];
    if (alone !== undefined) {
      yield quotedLine({ line: number, text: line, ended, problem: null }, alone);
      continue;
    }
    let joined = line;
    let last: PhysicalLine = at;
    let read = quotedRow(joined, separator);
    while (read === "open" && last.number - number < MOST_LINES_IN_ROW && joined.length <= LONGEST_LINE) {
      const next = followingLine(whole, last);
      if (next === null) break;
      if (isRow(next.text.split(separator))) break;
      joined += `\n${next.text}`;
      last = next;
      read = quotedRow(joined, separator);
    }
    if (typeof read === "string") {
      const problem = read === "open" ? "A quotation mark is opened and not closed." : read;
      yield { line: number, text: line, ended, comment: null, fields: [], problem };
    } else {
      yield quotedLine({ line: number, text: joined, ended: last.ended, problem: null }, read);
      at = last;
    }
  }
}

/** Nothing but blanks and separators, as spreadsheets write empty rows. */
function isBlank(line: string, separator: Separator): boolean {
  return /^[\s,;]/.test(line) && line.replaceAll(separator, "").trim() === "";
}

/** CR alone ends a line too: a spreadsheet of old wrote the file so, and lines were added to it since. */
export function withNewlines(text: string): string {
  return /\r(?!\n)/.test(text) ? text.replace(/\r\n?/g, "\n") : text;
}

interface PhysicalLine {
  readonly text: string;
  /** Counted from 1. */
  readonly number: number;
  /** Whether a line's end follows. */
  readonly ended: boolean;
  /** Where the next line starts. */
  readonly next: number;
}

function physicalLine(text: string, start: number, number: number): PhysicalLine {
  const newline = text.indexOf("\n", start);
  const end = newline < 0 ? text.length : newline;
  const withoutReturn = end > start && text.charCodeAt(end - 1) === 13 ? end - 1 : end;
  return { text: text.slice(start, withoutReturn), number, ended: newline >= 0, next: end + 1 };
}

function followingLine(text: string, line: PhysicalLine): PhysicalLine | null {
  return line.ended && line.next < text.length ? physicalLine(text, line.next, line.number + 1) : null;
}

/** Quoted lines one after the other; `rows` is null when one of them is not a row by itself. */
interface QuotedBlock {
  readonly from: number;
  readonly count: number;
  readonly rows: readonly (readonly string[])[] | null;
}

function quotedBlock(text: string, first: PhysicalLine, separator: Separator): QuotedBlock {
  const lines: string[] = [];
  for (
    let at: PhysicalLine | null = first;
    at !== null && lines.length < BLOCK;
    at = followingLine(text, at)
  ) {
    if (!isQuotedRow(at.text)) break;
    lines.push(at.text);
  }
  const common = { from: first.number, count: lines.length };
  try {
    const rows: string[][] = parse(lines.join("\n"), parserOptions(separator));
    return { ...common, rows: rows.length === lines.length ? rows : null };
  } catch {
    return { ...common, rows: null };
  }
}

/** A spreadsheet puts a comment with a comma in it between quotation marks; such a line stays a comment. */
function quotedLine(common: Omit<CsvLine, "fields" | "comment">, fields: readonly string[]): CsvLine {
  const [first = "", ...rest] = fields;
  if (first.startsWith("#") && rest.every((field) => field.trim() === "")) {
    return { ...common, comment: first.slice(1).trim(), fields: [] };
  }
  return { ...common, comment: null, fields };
}

const parserOptions = (separator: Separator) =>
  ({ relax_column_count: true, record_delimiter: "\n", delimiter: separator }) as const;

/** The fields of one row with quotation marks, `open` when one is not closed, or a sentence on what is wrong. */
export function quotedRow(text: string, separator: Separator): readonly string[] | string {
  try {
    return (parse(text, parserOptions(separator)) as string[][])[0] ?? [];
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
export function csvField(value: string, separator: Separator = ","): string {
  // biome-ignore lint/suspicious/noControlCharactersInRegex: control characters are what is replaced
  const plain = value.replace(/[\u0000-\u001f\u007f\u2028\u2029]+/g, " ").trim();
  return plain.includes(separator) || /"|^#/.test(plain) ? `"${plain.replace(/"/g, '""')}"` : plain;
}
