/**
 * A question and its answer: what it takes, what it asks of the core, how the result is said, drawn and written as JSON.
 * The command line, notebooks and pages drive every question alike.
 */
import { type Fault, faultText, PolewrightError } from "../errors.js";
import type { Mount } from "../mount/mount.js";
import type { Night } from "../night/night.js";
import type { PageParts, PageTheme } from "../page/page-text.js";
import type { Figure } from "../plots/figure.js";
import type { Report } from "../report/report.js";
import type { Takes, ValuesOf } from "./takes.js";

/** What a question may read; the face that drives it hands it in, for answers know no disk. */
export interface Reading {
  /** A night with its mount; the faults of both files come together. The night's path may be its folder. */
  night(path: string, mountPath?: string): { readonly mount: Mount; readonly night: Night };
  /** The mount file: the one given, else the one beside the file given, else the one in the working folder. */
  mount(mountPath?: string, besides?: string): Mount;
  /** A file's text; `what` says in messages what it should be, for instance `file of turns`. */
  text(path: string, what: string): string;
  /** A file's text, or null where there is none. */
  textIfThere(path: string, what: string): string | null;
  /** The path of a file in the night's folder. */
  beside(nightPath: string, name: string): string;
  /** What the build made for pages. */
  readonly page: PageParts;
  /** The colours that a page has at first. */
  readonly pageTheme: PageTheme;
}

/** A file that an answer wants written, besides what it says. */
export interface Written {
  readonly path: string;
  /** Or a function that makes it, where that takes loading more. */
  readonly text: string | (() => Promise<string>);
  readonly kind: "class list" | "kept model" | "file of turns" | "page";
  /** The option that named it, for messages. */
  readonly option: string;
}

/** A note as JSON has it; notes of fits, drifts and rounds all have these. */
export interface AnswerNote {
  readonly code: string;
  readonly message: string;
  readonly remedy: string;
}

/** An answer in all its forms. */
export interface Told {
  readonly json: object;
  readonly reports: readonly Report[];
  /** Made only where a page is written. */
  figures(): Promise<readonly Figure[]>;
  /** False: the input was read but is unsound; exit code 1. */
  readonly sound: boolean;
  readonly writes: readonly Written[];
}

/** A question, whatever it takes and whatever its result is. */
export interface Question {
  /** The command's name. */
  readonly name: string;
  /** What it answers, in one line without a full stop. */
  readonly asks: string;
  /** A command line that works on the demonstration night. */
  readonly example: string;
  readonly takes: Takes;
  /** @throws InputError, PolewrightError or {@link WrongUsage}, each in sentences */
  answer(values: Readonly<Record<string, unknown>>, read: Reading): Promise<Told>;
}

/** A question as its file describes it. */
export interface QuestionSpec<T extends Takes, Result> {
  readonly name: string;
  readonly asks: string;
  readonly example: string;
  /** Places in the order of the command line, then options. */
  readonly takes: T;
  ask(values: ValuesOf<T>, read: Reading): Result;
  say(result: Result, values: ValuesOf<T>): readonly Report[];
  /** Its pictures; they load with `import()`, so that an answer without a page starts sooner. */
  draw?(result: Result): Promise<readonly Figure[]>;
  /** Its JSON, described by data/schema; its `notes` stand there or in {@link notes}. */
  json(result: Result): object;
  /** What else is to be known of it in JSON, for instance the notes of the fit that it stands on. */
  notes?(result: Result): readonly AnswerNote[];
  /** Sound where left out. */
  sound?(result: Result): boolean;
  writes?(result: Result, values: ValuesOf<T>): readonly Written[];
}

/** Makes a question of its description. */
export function question<T extends Takes, Result>(spec: QuestionSpec<T, Result>): Question {
  return {
    name: spec.name,
    asks: spec.asks,
    example: spec.example,
    takes: spec.takes,
    async answer(given, read) {
      const values = given as ValuesOf<T>;
      const result = spec.ask(values, read);
      return {
        json: withNotes(spec.json(result), spec.notes?.(result) ?? []),
        reports: spec.say(result, values),
        figures: async () => (await spec.draw?.(result)) ?? [],
        sound: spec.sound?.(result) ?? true,
        writes: spec.writes?.(result, values) ?? [],
      };
    },
  };
}

function withNotes(json: object, notes: readonly AnswerNote[]): object {
  const own = (json as { notes?: readonly AnswerNote[] }).notes ?? [];
  // What the fit says, a finding may repeat as its own caution.
  const more = own.filter(({ message }) => !notes.some((note) => note.message === message));
  return { ...json, notes: [...notes, ...more] };
}

/** What a reader warned of, as a note of the answer. */
export function noteOfWarning(warning: Fault): AnswerNote & { readonly row: number | null } {
  const { code, row = null, allowed, ...rest } = warning;
  const message = faultText({ ...rest, code, allowed }).replace(` Allowed: ${allowed}.`, "");
  return { code, row, message, remedy: `Allowed: ${allowed}.` };
}

/** Wrong usage that only the question itself can see, for instance an unknown term in `--terms`. */
export class WrongUsage extends PolewrightError {
  constructor(message: string) {
    super("wrong-usage", message);
    this.name = "WrongUsage";
  }
}
