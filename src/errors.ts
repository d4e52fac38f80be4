/**
 * Faults in what the builder gave us are data, collected and reported all at once.
 */

import { listText } from "./words/lists.js";

/** One fault in the input: what, where, what was found and what is allowed. */
export interface Fault {
  /** A stable code in kebab case, for instance `time-without-zone`. */
  readonly code: string;
  /** The file, when the input came from one. */
  readonly file?: string;
  /** The place inside a JSON file, for instance `base.jacks[2].eastMm`. */
  readonly path?: string;
  /** The line in a text file, counted from 1. */
  readonly line?: number;
  /** The row of the sighting, or of what {@link Fault.rowOf} says, counted from 1 at the first. */
  readonly row?: number;
  /** What the row holds where it is no sighting: `drift`, `turn`, `picture`. */
  readonly rowOf?: string;
  /** The column's name. */
  readonly column?: string;
  /** What was found there, shortened if long. */
  readonly found?: string;
  /** What is allowed there, and what to do. */
  readonly allowed: string;
  /** One sentence of what is wrong. */
  readonly message: string;
}

/**
 * The base of every error that Polewright throws on purpose.
 *
 * @example
 * ```ts
 * try {
 *   openNight("nowhere");
 * } catch (error) {
 *   if (error instanceof PolewrightError) console.log(error.code);
 * }
 * ```
 */
export class PolewrightError extends Error {
  /** A stable code in kebab case. */
  readonly code: string;
  /** Makes an error with its stable code and a message for a human. */
  constructor(code: string, message: string) {
    super(message);
    this.name = "PolewrightError";
    this.code = code;
  }
}

/**
 * The input cannot be used; `faults` says everything that is wrong with it.
 *
 * @example
 * ```ts
 * try {
 *   parseMount({});
 * } catch (error) {
 *   if (error instanceof InputError) console.log(error.faults.length);
 * }
 * ```
 */
export class InputError extends PolewrightError {
  /** Every fault of the input. */
  readonly faults: readonly Fault[];
  /** Makes an error of one fault or several; its message has a line for each, or for what many rows share, its code is that of a single fault, else `several-faults`. */
  constructor(faults: Fault | readonly Fault[]) {
    const all = "code" in faults ? [faults] : faults;
    super(all.length === 1 ? all[0]!.code : "several-faults", faultTexts(all).join("\n"));
    this.name = "InputError";
    this.faults = all;
  }
}

/** Where a fault is. */
export type FaultPlace = Pick<Fault, "file" | "path" | "line" | "row" | "rowOf" | "column">;

/**
 * Makes a fault.
 *
 * @param code - stable, in kebab case
 * @param place - file, path, line, row, column, as far as known
 * @param message - one sentence of what is wrong
 * @param allowed - what is allowed there, and what to do
 * @param found - what was found there, shortened if long; left out where there is nothing to show
 */
export function fault(
  code: string,
  place: FaultPlace,
  message: string,
  allowed: string,
  found?: unknown,
): Fault {
  return { code, ...place, ...(found === undefined ? {} : { found: shown(found) }), allowed, message };
}

const FOUND_LIMIT = 60;

/** Shortens and makes printable what was found, for a message. */
export function shown(value: unknown): string {
  const text = typeof value === "string" ? value : (JSON.stringify(value) ?? String(value));
  // biome-ignore lint/suspicious/noControlCharactersInRegex: control characters are what is replaced
  const printable = text.slice(0, FOUND_LIMIT).replace(/[\u0000-\u001f\u007f-\u009f\u2028\u2029]/g, "·");
  return text.length > FOUND_LIMIT ? `${printable}…` : printable;
}

/** One fault as a line of text: where, what, found, allowed. */
export function faultText(fault: Fault): string {
  return sharedFaultText([fault]);
}

/** Faults as lines of text; what many rows of a file share is said once, with their lines and rows. */
export function faultTexts(faults: readonly Fault[]): string[] {
  const groups = new Map<string, Fault[]>();
  for (const fault of faults) {
    const { code, file, path, column, message, allowed, rowOf } = fault;
    const shared =
      fault.row === undefined
        ? groups.size
        : JSON.stringify([code, file, path, column, message, allowed, rowOf]);
    const key = String(shared);
    const group = groups.get(key);
    if (group === undefined) groups.set(key, [fault]);
    else group.push(fault);
  }
  return [...groups.values()].map(sharedFaultText);
}

function sharedFaultText(faults: readonly Fault[]): string {
  const [fault] = faults as [Fault, ...Fault[]];
  const places = [
    fault.file,
    numbersText(
      "line",
      faults.map(({ line }) => line),
    ),
    numbersText(
      fault.rowOf ?? "sighting",
      faults.map(({ row }) => row),
    ),
    fault.column === undefined ? undefined : `column ${fault.column}`,
    fault.path,
  ].filter((place) => place !== undefined && place !== "");
  const where = places.length > 0 ? `${places.join(", ")}: ` : "";
  const first = faults.length > 1 ? " first" : "";
  const found = fault.found === undefined ? "" : ` Found${first}: ${fault.found}.`;
  return `${where}${fault.message}${found} Allowed: ${fault.allowed}.`;
}

const MOST_RANGES = 6;

/** `line 3`, `lines 2 to 19 and 21`; undefined where there is none. */
function numbersText(word: string, numbers: readonly (number | undefined)[]): string | undefined {
  const ranges: [number, number][] = [];
  for (const number of numbers) {
    if (number === undefined) continue;
    const last = ranges.at(-1);
    if (last !== undefined && number === last[1] + 1) last[1] = number;
    else ranges.push([number, number]);
  }
  if (ranges.length === 0) return undefined;
  const texts = ranges.map(([from, to]) =>
    from === to ? `${from}` : `${from}${to === from + 1 ? " and " : " to "}${to}`,
  );
  const shown = texts.length > MOST_RANGES ? [...texts.slice(0, MOST_RANGES), "others"] : texts;
  return `${word}${numbers.length > 1 ? "s" : ""} ${listText(shown)}`;
}
