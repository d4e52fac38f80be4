/**
 * A table: its columns and how a row of cells becomes a value, whether from a file or from a program.
 */
import { type Fault, type FaultPlace, fault, shown } from "../errors.js";
import { FaultList } from "../fault-list.js";
import { didYouMean } from "../mount/did-you-mean.js";
import { nameKey } from "../sky/name-key.js";
import type { Column, Columns, Values } from "./column.js";
import { csvField, type Separator } from "./csv-lines.js";

/** A kind of table that a builder fills in. */
export interface Table<C extends Columns<Context>, Row, Context = unknown> {
  /** What the file is called, for messages: `night file`. */
  readonly name: string;
  /** What a row holds: `sighting`. */
  readonly rowOf: string;
  readonly columns: C;
  /** A header that will do, for messages. */
  readonly example: string;
  /** What a header lacks that has these columns. */
  lacks(has: (column: keyof C) => boolean): readonly string[];
  /** The row's value; faults are told to the cells. */
  row(cells: RowCells<C, Context>): Row;
  /** More rows than this are no such file. */
  readonly mostRows?: number;
  /** Whether a row may end before the header does. */
  readonly shortRows?: boolean;
  /** Whether programs add to it while it is in use: a faulty last line without an end was cut short, and is put aside. */
  readonly isJournal?: boolean;
  /** Whether what carries down is carried here, not by the reader. */
  readonly carriesItself?: boolean;
  /** Other names of columns, by their key; a column that the header has is not meant. */
  readonly nicknames?: Readonly<Record<string, keyof C & string>>;
}

/** Where a row stands. */
export interface RowPlace {
  /** Counted from 1. */
  readonly row: number;
  /** Line of the file, counted from 1; null when it did not come from a file. */
  readonly line: number | null;
  readonly file?: string;
}

/** One row: its cells as written, their values, and where its faults go. */
export class RowCells<C extends Columns<Context>, Context = unknown> {
  readonly values: Values<C>;
  readonly place: RowPlace;
  readonly context: Context;
  readonly #text: (column: keyof C & string) => string;
  readonly #faults: FaultList;
  readonly #rowOf: string;

  /**
   * @param names - the columns to read; all others are blank
   * @param text - a column's text, trimmed; empty where it is blank
   */
  constructor(
    table: Pick<Table<C, unknown, Context>, "columns" | "rowOf">,
    names: readonly (keyof C & string)[],
    text: (column: keyof C & string) => string,
    place: RowPlace,
    context: Context,
    faults: FaultList,
  ) {
    this.place = place;
    this.context = context;
    this.#text = text;
    this.#faults = faults;
    this.#rowOf = table.rowOf;
    const values: Record<string, unknown> = {};
    for (const name in table.columns) values[name] = table.columns[name]!.blank;
    for (const name of names) {
      const column = table.columns[name]!;
      const written = text(name);
      if (written === "") {
        if (column.needed !== undefined) this.missing(name, column.needed, column.allowed);
        continue;
      }
      const value = column.read(written, context);
      if (typeof value === "function") {
        const misread = value as () => Fault;
        faults.add(() => ({ found: shown(written), ...misread(), ...this.#at(name) }));
      } else values[name] = value;
    }
    this.values = values as Values<C>;
  }

  /** A cell as written, trimmed. */
  text(column: keyof C & string): string {
    return this.#text(column);
  }

  /** Whether anything is written there. */
  has(column: keyof C & string): boolean {
    return this.#text(column) !== "";
  }

  /** Tells a fault of a cell. */
  fault(
    column: keyof C & string,
    code: string,
    message: string,
    allowed: string,
    found: unknown = this.text(column),
  ): void {
    this.#faults.add(() => fault(code, this.#at(column), message, allowed, found));
  }

  /** Tells that a cell should not be blank. */
  missing(column: keyof C & string, message: string, allowed: string): void {
    this.#faults.add(() => fault("missing-value", this.#at(column), message, allowed));
  }

  #at(column: string): FaultPlace {
    return { ...rowPlace(this.#rowOf, this.place), column };
  }
}

/** A row's place as faults have it. */
export function rowPlace(rowOf: string, { file, line, row }: RowPlace): FaultPlace {
  return {
    ...(file === undefined ? {} : { file }),
    ...(line === null ? {} : { line }),
    row,
    ...(rowOf === "sighting" ? {} : { rowOf }),
  };
}

/** The names of a table's columns, in their order. */
export function columnNames<C extends object>({ columns }: { readonly columns: C }): (keyof C & string)[] {
  return Object.keys(columns) as (keyof C & string)[];
}

/**
 * The row that a program gives, checked as a file's row is.
 *
 * @param fields - text, numbers, or what a column's `write` takes; undefined and null are blank
 * @param row - counted from 1
 * @param faults - every fault is added here
 * @returns the row, or null when there was a fault
 */
export function readFields<C extends Columns<Context>, Row, Context>(
  table: Table<C, Row, Context>,
  fields: object,
  row: number,
  context: Context,
  faults: FaultList,
): Row | null {
  const before = faults.count;
  const place = { row, line: null };
  const texts = fieldTexts(table, fields, rowPlace(table.rowOf, place), faults);
  if (faults.count > before) return null;
  const names = columnNames(table);
  const cells = new RowCells(table, names, (name) => texts[name] ?? "", place, context, faults);
  const value = table.row(cells);
  return faults.count > before ? null : value;
}

/** The texts of the fields that a program gives, as a file has them. */
function fieldTexts<C extends Columns<Context>, Context>(
  table: Table<C, unknown, Context>,
  fields: object,
  place: FaultPlace,
  faults: FaultList,
): Partial<Record<keyof C & string, string>> {
  const texts: Partial<Record<keyof C & string, string>> = {};
  for (const [key, value] of Object.entries(fields) as [string, unknown][]) {
    if (!Object.hasOwn(table.columns, key)) {
      faults.add(() => unknownColumn(table, key, (name) => name in fields, place));
      continue;
    }
    if (value === undefined || value === null) continue;
    const text = fieldText(table.columns[key]!, value);
    if (text === null) {
      const at = { ...place, column: key };
      faults.add(() => fault("wrong-type", at, "This is of another kind.", "a text or a number", value));
    } else if (text !== "") texts[key as keyof C & string] = text;
  }
  return texts;
}

function fieldText<Context>(column: Column<unknown, Context>, value: unknown): string | null {
  if (typeof value === "string") return value.trim();
  return column.write?.(value) ?? (typeof value === "number" ? plainNumber(value) : null);
}

/** A number without an exponent wherever figures can say it. */
function plainNumber(value: number): string {
  const text = String(value);
  return /e-/.test(text) ? value.toFixed(15).replace(/\.?0+$/, "") : text;
}

/**
 * The fault of a column or field that does not exist.
 *
 * @param name - as written
 * @param given - whether a column is there; one that is not is the likelier meant
 */
export function unknownColumn<C extends Columns<Context>, Context>(
  table: Table<C, unknown, Context>,
  name: string,
  given: (column: keyof C & string) => boolean,
  place: FaultPlace,
): Fault {
  const names = columnNames(table);
  const key = nameKey(name.slice(0, 20));
  const nicknames = table.nicknames ?? {};
  const nickname = Object.hasOwn(nicknames, key) ? nicknames[key]! : null;
  const near = nickname !== null && !given(nickname) ? nickname : didYouMean(name, names);
  const meant = near === null ? "" : ` Did you mean ${near}?`;
  return fault(
    "unknown-column",
    place,
    `A ${table.rowOf} has no such column.${meant}`,
    names.join(", "),
    name,
  );
}

/**
 * The line of a file for a row that a program gives, without the line's end.
 *
 * @param header - the file's columns, in its order; an unnamed column stays empty
 * @param separator - as the file has it; where it is a semicolon, decimals are written with a comma
 * @returns one line (RFC 4180); line breaks become spaces
 * @throws InputError `column-missing` when the file has no column for something that is given
 */
export function rowLine<C extends Columns<Context>, Context>(
  table: Table<C, unknown, Context>,
  fields: object,
  header: readonly ((keyof C & string) | "")[],
  separator: Separator = ",",
): string {
  const faults = new FaultList();
  const texts = fieldTexts(table, fields, {}, faults);
  for (const column of Object.keys(texts) as (keyof C & string)[]) {
    if (header.includes(column)) continue;
    const message = `The ${table.name} has no column ${column} to write this in.`;
    const allowed = `one of the file's columns (${header.join(", ")}); or add ${column} to its header, and to its rows a comma for each`;
    faults.add(fault("column-missing", { column }, message, allowed, texts[column]));
  }
  faults.throwIfAny();
  const cell = (column: keyof C & string): string => {
    const text = texts[column] ?? "";
    return separator === ";" && table.columns[column]!.decimal ? text.replace(".", ",") : text;
  };
  return header.map((column) => (column === "" ? "" : csvField(cell(column), separator))).join(separator);
}
