/**
 * What a column of a table holds: its name's meaning, what may be written, and how that is read. Reading, writing,
 * checking and describing a table all go by these.
 */
import type { Fault } from "../errors.js";

/** What is wrong with a cell; a function, because a fault that is not listed need not be worded. */
type Misread = () => Pick<Fault, "code" | "message" | "found" | "allowed">;

/** One column. `Context` is what reading needs besides the cell, for instance the mount. */
export interface Column<Value = unknown, Context = unknown> {
  /** What it holds, for whoever fills it in. */
  readonly meaning: string;
  readonly unit?: string;
  /** What may be written. */
  readonly allowed: string;
  readonly example: string;
  /** The value of a blank cell. */
  readonly blank: Value;
  /** What is said of a blank cell where there must be a value. */
  readonly needed?: string;
  /** Whether a value holds from its row on until another one is given; columns with one name here give way together. */
  readonly carriesDown?: boolean | string;
  /** Whether it holds a number: where semicolons separate the columns, a decimal comma is read as a point. */
  readonly decimal?: boolean;
  /** The value of a cell that is not blank. */
  read(written: string, context: Context): Value | Misread;
  /** How a value that a program gives is written, where it is neither text nor a plain number; null for a wrong type. */
  write?(value: unknown): string | null;
}

/** The columns of a table, in the order in which a new file has them. */
export type Columns<Context> = Readonly<Record<string, Column<unknown, Context>>>;

/** A row's values by column. */
export type Values<C> = {
  readonly [Name in keyof C]: C[Name] extends { readonly blank: infer V } ? V : never;
};

/** What a column of any kind may say besides its reading. */
type About = Pick<Column, "meaning" | "unit" | "example" | "needed" | "carriesDown">;

const PLAIN_DECIMAL = /^[+-]?(\d+\.?\d*|\.\d+)$/;

/** A plain decimal number. */
export function numberColumn(
  about: About & { readonly allowed: string },
  fits: (value: number) => boolean,
): Column<number | null> {
  return {
    ...about,
    blank: null,
    decimal: true,
    read(text) {
      const written = text.replace("−", "-");
      const value = PLAIN_DECIMAL.test(written) ? Number(written) : Number.NaN;
      if (Number.isFinite(value) && fits(value)) return value;
      const { allowed } = about;
      return Number.isFinite(value)
        ? () => ({ code: "out-of-range", message: "This number is out of its range.", allowed })
        : () => ({ code: "not-a-number", message: notANumber(written), allowed });
    },
  };
}

function notANumber(written: string): string {
  if (/^[+-]?[\d.]*,\d+$/.test(written)) return "A comma stands in the number; write a point.";
  if (/[:°hm′]/.test(written)) return "This is sexagesimal; write decimal degrees.";
  if (/^[+-]?[\d.]+e[+-]?\d+$/i.test(written))
    return "The number is shortened with an exponent; write it in full.";
  return "This is not a number.";
}

/** One of a few words; `words` says what each stands for, the two that messages name first. */
export function choiceColumn<Value, Blank extends Value>(
  about: About,
  words: Readonly<Record<string, Value>>,
  blank: Blank,
  write?: (value: unknown) => string | null,
): Column<Value> {
  const allowed = `${Object.keys(words).slice(0, 2).join(" or ")}, or nothing`;
  return {
    ...about,
    allowed,
    blank,
    ...(write === undefined ? {} : { write }),
    read(text) {
      const written = text.replace("−", "-").toLowerCase();
      if (Object.hasOwn(words, written)) return words[written]!;
      return () => ({ code: "unknown-choice", message: "This is none of the choices.", allowed });
    },
  };
}

/** Free text, not longer than so many characters. */
export function textColumn(about: About, longest: number): Column<string> {
  const allowed = `at most ${longest} characters`;
  return {
    ...about,
    allowed,
    blank: "",
    read: (text) =>
      text.length <= longest
        ? text
        : () => ({
            code: "text-too-long",
            message: `This text has ${text.length} characters.`,
            allowed,
          }),
  };
}
