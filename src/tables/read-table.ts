/**
 * Reads a table: every fault at once, each with its line, row and column; nothing of a row is lost without a word.
 *
 * Commas, semicolons or tabs separate the columns, as the header shows; with semicolons, decimals may have a comma.
 * `# cut short:` marks that the line above it had no end when the next one was written: what stands there is put
 * aside if it is no whole row.
 */
import { type Fault, fault, InputError } from "../errors.js";
import { FaultList } from "../fault-list.js";
import { nameKey } from "../sky/name-key.js";
import type { Columns } from "./column.js";
import { type CsvLine, csvLines, type Separator, withNewlines } from "./csv-lines.js";
import { CUT_SHORT } from "./cut-short.js";
import { columnNames, RowCells, rowPlace, type Table, unknownColumn } from "./table.js";

/** The columns as a file has them. */
export interface Header<Name extends string> {
  /** In the file's order; an unnamed empty column is an empty string. */
  readonly names: readonly (Name | "")[];
  readonly separator: Separator;
}

/** One row of a file. */
export interface TableRow<Row> {
  readonly value: Row;
  /** Counted from 1 at the top of the file. */
  readonly line: number;
  /** As it stands in the file; kept only where asked for, because a million rows are large. */
  readonly fields: readonly string[];
  readonly text: string;
}

/** What a file holds. */
export interface TableReading<Name extends string, Row> {
  readonly header: Header<Name>;
  readonly rows: readonly TableRow<Row>[];
  /** The comments that begin as asked for, without the beginning. */
  readonly remarks: readonly { readonly line: number; readonly text: string }[];
  /** What should be known though the file can be used. */
  readonly warnings: FaultList;
}

/** How a table is read. */
export interface ReadOptions {
  /** The file's name, for messages. */
  readonly file?: string;
  /** Comments that begin so are handed out, and rows are kept as they stand where there are any. */
  readonly remark?: string;
  readonly keepTexts?: boolean;
}

// biome-ignore lint/suspicious/noControlCharactersInRegex: control characters are what is looked for
const CONTROL = /[\u0000-\u0008\u000e-\u001f]/;
/** The start of a file, in which its header is looked for. */
const START = 20_000;
/** More of a name than this is no column's. */
const LONGEST_NAME = 100;

/**
 * Reads a table.
 *
 * @param text - the file's text: a header, rows, `#` comments; blank lines are passed over
 * @param context - what its columns need besides the cells
 * @throws InputError with every fault by line, row and column; after fifty only their number
 */
export function readTable<C extends Columns<Context>, Row, Context>(
  table: Table<C, Row, Context>,
  text: string,
  context: Context,
  { file, remark, keepTexts = false }: ReadOptions = {},
): TableReading<keyof C & string, Row> {
  type Name = keyof C & string;
  const at = file === undefined ? {} : { file };
  const faults = new FaultList();
  const warnings = new FaultList();
  const plain = plainText(text);
  refuseOtherFiles(plain, table, at);
  const separator = separatorOf(plain, table, at);
  const hasControl = CONTROL.test(plain);
  const keep = keepTexts || (remark !== undefined && plain.includes(remark));
  const { carriesItself = false, shortRows = false, isJournal = false } = table;

  let header: readonly (Name | "")[] | null = null;
  let names: readonly Name[] = [];
  let carrying: readonly Name[] = [];
  const index = new Map<Name | "", number>();
  const above = new Map<Name, string>();
  const rows: TableRow<Row>[] = [];
  const remarks: { line: number; text: string }[] = [];
  let count = 0;
  let ownFaults = new FaultList();
  // Faults of the latest row wait for the next line, which may say that the row was cut short.
  let waiting: { readonly line: CsvLine; readonly faults: FaultList } | null = null;
  let latest: CsvLine | null = null;

  const settle = (isTorn: boolean): void => {
    if (waiting === null) return;
    if (isTorn) {
      const place = { ...at, line: waiting.line.line };
      const message = "This line was cut short while it was written, and is put aside.";
      const allowed = `a whole row; write the ${table.rowOf} again if you still know it`;
      warnings.add(fault("torn-line", place, message, allowed, waiting.line.text));
      count -= 1;
    } else for (const one of waiting.faults.listed()) faults.add(one);
    waiting = null;
  };
  const warnOfNoEnd = (line: CsvLine): void => {
    const place = rowPlace(table.rowOf, { ...at, line: line.line, row: count });
    const message = "This line had no end when it was written; it is read as it stands.";
    const allowed = "a line's end after every row; check that the last field is whole";
    warnings.add(fault("last-line-without-end", place, message, allowed, line.text));
  };
  /** What is wrong with the row as a whole, else null. */
  const rowProblem = (line: CsvLine, width: number): (() => Fault) | null => {
    const place = rowPlace(table.rowOf, { ...at, line: line.line, row: count });
    const allowed = `${width} fields separated by ${separatorName(separator)}, a field with one in it between quotation marks`;
    const problem =
      line.problem ?? (hasControl && CONTROL.test(line.text) ? "Control characters stand in the row." : null);
    if (problem !== null) return () => fault("unreadable-row", place, problem, allowed, line.text);
    const { fields } = line;
    const isShort = fields.length < width && !shortRows;
    if (!isShort && fields.slice(width).every((field) => field.trim() === "")) return null;
    const message = fieldCountMessage(fields, width);
    return () => fault("wrong-field-count", place, message, allowed, `${fields.length} fields`);
  };
  const readRow = (line: CsvLine, columns: readonly (Name | "")[]): Row | null => {
    const problem = rowProblem(line, columns.length);
    if (problem !== null) {
      ownFaults.add(problem);
      return null;
    }
    const place = { ...at, line: line.line, row: count };
    for (const [column, name] of columns.entries()) {
      const field = name === "" ? (line.fields[column] ?? "").trim() : "";
      if (field === "") continue;
      const message = `Column ${column + 1} has no name in the header.`;
      const allowed = "values under a column's name only";
      ownFaults.add(() => fault("unnamed-column", rowPlace(table.rowOf, place), message, allowed, field));
    }
    const cell = (name: Name): string => {
      const field = (line.fields[index.get(name) ?? -1] ?? "").trim();
      const column = table.columns[name]!;
      if (field === "") return above.get(name) ?? "";
      if (separator === ";" && column.decimal && /^[^.,]*\d,\d[^.,]*$/.test(field))
        return field.replace(",", ".");
      return field;
    };
    for (const name of carrying) {
      if ((line.fields[index.get(name)!] ?? "").trim() === "") continue;
      above.delete(name);
      const { carriesDown } = table.columns[name]!;
      if (carriesDown === true) continue;
      for (const other of carrying)
        if (table.columns[other]!.carriesDown === carriesDown) above.delete(other);
    }
    const value = table.row(new RowCells(table, names, cell, place, context, ownFaults));
    for (const name of carrying) above.set(name, cell(name));
    return ownFaults.count > 0 ? null : value;
  };
  /** A row that stands by itself, whatever quotation mark was opened above it. */
  const looksLikeRow = (pieces: readonly string[]): boolean =>
    header !== null &&
    pieces.length >= header.length &&
    names.some((name) => {
      const { needed, read } = table.columns[name]!;
      const piece = (pieces[index.get(name)!] ?? "").replaceAll('"', "").trim();
      return needed !== undefined && piece !== "" && typeof read(piece, context) !== "function";
    });

  for (const line of csvLines(plain, separator, looksLikeRow)) {
    if (line.comment !== null) {
      if (remark !== undefined && line.comment.startsWith(remark)) {
        remarks.push({ line: line.line, text: line.comment.slice(remark.length).trim() });
      }
      if (line.comment.startsWith(CUT_SHORT)) {
        if (waiting === null && latest !== null) warnOfNoEnd(latest);
        settle(true);
      }
      continue;
    }
    settle(false);
    latest = null;
    if (faults.hopeless) break;
    if (header === null) {
      header = readHeader(table, line, at);
      for (const [column, name] of header.entries()) index.set(name, column);
      names = header.filter((name) => name !== "");
      carrying = carriesItself ? [] : names.filter((name) => table.columns[name]!.carriesDown);
      continue;
    }
    count += 1;
    if (count > (table.mostRows ?? Number.POSITIVE_INFINITY)) {
      const allowed = `at most ${table.mostRows} rows`;
      faults.add(
        fault(
          "too-many-rows",
          { ...at, line: line.line },
          "There are more rows than anyone has written.",
          allowed,
        ),
      );
      break;
    }
    const value = readRow(line, header);
    if (value === null) {
      waiting = { line, faults: ownFaults };
      ownFaults = new FaultList();
      if (!line.ended && isJournal) settle(true);
    } else {
      if (!line.ended && isJournal) warnOfNoEnd(line);
      latest = line;
      const kept = keep ? { fields: line.fields, text: line.text } : NOTHING_KEPT;
      rows.push({ value, line: line.line, ...kept });
    }
  }
  settle(false);
  if (header === null) faults.add(noHeader(table, at));
  faults.throwIfAny(file);
  return { header: { names: header!, separator }, rows, remarks, warnings };
}

const NOTHING_KEPT = { fields: [], text: "" } as const;

/**
 * The header of a table, read even when its rows have faults.
 *
 * @throws InputError when the file has no usable header
 */
export function tableHeader<C extends Columns<Context>, Row, Context>(
  table: Table<C, Row, Context>,
  text: string,
  file?: string,
): Header<keyof C & string> {
  const at = file === undefined ? {} : { file };
  const plain = plainText(text);
  refuseOtherFiles(plain, table, at);
  const separator = separatorOf(plain, table, at);
  for (const line of csvLines(plain, separator, () => true)) {
    if (line.comment === null) return { names: readHeader(table, line, at), separator };
  }
  throw new InputError(noHeader(table, at));
}

type FileName = { readonly file?: string };

function plainText(text: string): string {
  return text.replace(/^\uFEFF/, "");
}

function noHeader({ name, example }: { name: string; example: string }, at: FileName): Fault {
  const allowed = `a first line with the columns, for instance ${example}`;
  return fault("no-header", at, `The ${name} has no header.`, allowed);
}

/** Files that are something else are refused with one sentence, before their lines give a thousand. */
function refuseOtherFiles(
  text: string,
  { name, rowOf, example }: { name: string; rowOf: string; example: string },
  at: FileName,
): void {
  const refuse = (code: string, message: string, allowed: string): never => {
    throw new InputError(fault(code, at, message, allowed));
  };
  if (text.trim() === "") {
    refuse("empty-file", `The ${name} is empty.`, `a header and a row for each ${rowOf}: ${example}`);
  }
  const header = headerLine(text);
  // Further down, NULs may be what a power cut left of a row, and other control characters are faults of their rows.
  if (CONTROL.test(text.slice(0, text.indexOf(header) + header.length)) || text.startsWith("\uFFFD")) {
    refuse("not-text", "This is not a text file.", "CSV in UTF-8; from a spreadsheet, save as CSV (UTF-8)");
  }
  if (/^\s*[{[<]/.test(header) && !header.includes(",")) {
    refuse("not-csv", `This is not a table of ${rowOf}s.`, `CSV with the columns ${example}`);
  }
}

/** The first line that is neither blank nor a comment. */
function headerLine(text: string): string {
  const start = withNewlines(text.slice(0, START));
  return start.split("\n").find((line) => line.trim() !== "" && !/^\s*#/.test(line)) ?? "";
}

const separators: readonly (readonly [Separator, string])[] = [
  [",", "commas"],
  [";", "semicolons"],
  ["\t", "tabs"],
];

function separatorName(separator: Separator): string {
  return separators.find(([mark]) => mark === separator)![1];
}

/** The separator under which the header has most known names. */
function separatorOf<C extends object>(
  text: string,
  table: { readonly columns: C; example: string },
  at: FileName,
): Separator {
  const header = headerLine(text);
  const find = columnFinder(columnNames(table));
  const known = ([mark]: readonly [Separator, string]): number =>
    header.split(mark).filter((name) => find(name.replaceAll('"', "")) !== undefined).length;
  const best = separators.reduce((one, other) => (known(other) > known(one) ? other : one));
  if (known(best) === 0 && header.includes("|") && !header.includes(",")) {
    const allowed = "commas, semicolons or tabs between columns";
    throw new InputError(fault("wrong-separator", at, "The columns are separated by bars.", allowed, header));
  }
  // A header of one known name under each of them says nothing; what it has most of does.
  if (known(best) <= 1 && !header.includes(","))
    return separators.find(([mark]) => header.includes(mark))?.[0] ?? ",";
  return best[0];
}

/** Looks up columns by their names as written. */
function columnFinder<Name extends string>(columns: readonly Name[]): (name: string) => Name | undefined {
  const known = new Map(columns.map((name) => [nameKey(name), name]));
  return (name) => known.get(nameKey(name.slice(0, LONGEST_NAME)));
}

/** Rows are judged by their header; under a wrong one every row would seem wrong, so its faults are thrown alone. */
function readHeader<C extends Columns<Context>, Row, Context>(
  table: Table<C, Row, Context>,
  line: CsvLine,
  at: FileName,
): ((keyof C & string) | "")[] {
  type Name = keyof C & string;
  const place = { ...at, line: line.line };
  const faults = new FaultList();
  const find = columnFinder(columnNames(table));
  const given = (column: Name): boolean => line.fields.some((name) => find(name) === column);
  const header: (Name | "")[] = [];
  if (line.problem !== null) {
    faults.add(
      fault("unreadable-row", place, line.problem, `the columns, for instance ${table.example}`, line.text),
    );
  }
  for (const name of line.fields.map((field) => field.trim())) {
    const column = name === "" ? "" : find(name);
    if (column === undefined) faults.add(() => unknownColumn(table, name, given, place));
    else if (column !== "" && header.includes(column)) {
      const message = "This column stands twice in the header.";
      faults.add(fault("repeated-column", { ...place, column }, message, "each column once", name));
    }
    header.push(column ?? "");
  }
  const lacks = line.problem === null ? table.lacks((column) => header.includes(column as Name)) : [];
  if (lacks.length > 0) {
    const message = `The header lacks ${lacks.join(", ")}.`;
    const allowed = `a first line with at least ${table.example}`;
    faults.add(fault("missing-column", place, message, allowed, line.text));
  }
  faults.throwIfAny(at.file);
  return header;
}

function fieldCountMessage(fields: readonly string[], expected: number): string {
  if (fields.length < expected) return `The row has fewer fields than the header's ${expected}.`;
  const isDecimalComma = fields.some(
    (field, index) => /^\s*[-+−]?\d+$/.test(field) && /^\d+\s*$/.test(fields[index + 1] ?? ""),
  );
  return `The row has more fields than the header's ${expected}.${
    isDecimalComma ? " Is there a decimal comma, or a comma between thousands? Decimals take a point." : ""
  }`;
}
