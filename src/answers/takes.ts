/**
 * What a question takes: each place and option with its type, its unit and its help, declared once. The command line,
 * its help and the checks of what goes with what are made from it.
 */
import { InputError } from "../errors.js";
import { type Moment, momentMs } from "./moment.js";

/** One thing that a question takes. */
export interface Take<T> {
  /** `place`: one word by its place; `places`: all the words that are left; `option`: by its name. */
  readonly as: "place" | "places" | "option";
  /** What the value is, for help, with its unit: `degrees`, `file`; null for a flag. */
  readonly value: string | null;
  readonly help: string;
  readonly needed: boolean;
  readonly choices?: readonly string[];
  /** Makes the value of the text given, or says in a sentence why it cannot. */
  parse(text: string): T | NotTaken;
  /** Has an effect only together with that other thing, or only without it. */
  readonly onlyWith?: string;
  readonly onlyWithout?: string;
}

/** Why a text cannot be taken, in a sentence. */
export interface NotTaken {
  readonly notTaken: string;
}

/** All that a question takes, by its keys; `asEntered` is `--as-entered` on the command line. */
export type Takes = Readonly<Record<string, Take<unknown>>>;

/** The values of what a question takes. */
export type ValuesOf<T extends Takes> = {
  readonly [Key in keyof T]: T[Key] extends Take<infer Value> ? Value : never;
};

const asText = (text: string): string => text;

/** A word by its place. */
export function place(value: string, help: string): Take<string> {
  return { as: "place", value, help, needed: true, parse: asText };
}

/** All further words, none where they are not needed. */
export function places(value: string, help: string, needed = false): Take<readonly string[]> {
  return { as: "places", value, help, needed, parse: (text) => [text] };
}

/** True where it is given. */
export function flag(help: string): Take<boolean> {
  return { as: "option", value: null, help, needed: false, parse: () => true };
}

/** A text, or a file's path. */
export function text(value: string, help: string): Take<string | undefined> {
  return { as: "option", value, help, needed: false, parse: asText };
}

/** A finite number; `value` names its unit. */
export function number(value: string, help: string): Take<number | undefined> {
  return { as: "option", value, help, needed: false, parse: numberOf };
}

/** A number above zero. */
export function positive(value: string, help: string): Take<number | undefined> {
  const parse = (given: string): number | NotTaken => {
    const found = numberOf(given);
    return typeof found === "number" && found <= 0 ? { notTaken: "It must be a number above zero." } : found;
  };
  return { as: "option", value, help, needed: false, parse };
}

/** One of a few words. */
export function choice<Word extends string>(
  value: string,
  help: string,
  choices: readonly Word[],
): Take<Word | undefined> {
  return { as: "option", value, help, needed: false, choices, parse: (given) => given as Word };
}

/** Stands in for the site's zone, which is not known before the mount file is read. */
const ANY_SITE = { timeZone: "UTC" };

/** A time: ISO 8601 or `now`. It is handed on as written; {@link momentMs} reads it everywhere, with the site's zone. */
export function time(help: string): Take<Moment | undefined> {
  const parse = (given: string): Moment | NotTaken => {
    try {
      momentMs(given, ANY_SITE);
      return given;
    } catch (problem) {
      if (!(problem instanceof InputError)) throw problem;
      const [fault] = problem.faults;
      return { notTaken: `${fault?.message ?? ""} Allowed: ${fault?.allowed ?? ""}, or now.` };
    }
  };
  return { as: "option", value: "time", help, needed: false, parse };
}

/** The same, and it must be given. */
export function needed<T>(take: Take<T | undefined>): Take<T> {
  return { ...(take as Take<T>), help: `${take.help} (required)`, needed: true };
}

/** A page to write, which begins in the theme asked for. */
export const themedPage = needed(text("file", "the page to write"));

/** The same, refused where the other thing is not given: it would have no effect. */
export function onlyWith<T extends Takes>(other: string, takes: T): T {
  return mapped(takes, (take) => ({ ...take, onlyWith: other }));
}

/** The same, refused where the other thing is given: it would have no effect. */
export function onlyWithout<T extends Takes>(other: string, takes: T): T {
  return mapped(takes, (take) => ({ ...take, onlyWithout: other }));
}

function mapped<T extends Takes>(takes: T, change: (take: Take<unknown>) => Take<unknown>): T {
  return Object.fromEntries(Object.entries(takes).map(([key, take]) => [key, change(take)])) as unknown as T;
}

function numberOf(given: string): number | NotTaken {
  const value = Number(given);
  return given.trim() === "" || !Number.isFinite(value) ? { notTaken: "It must be a number." } : value;
}
