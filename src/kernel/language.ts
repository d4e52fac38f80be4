/**
 * What the kernel knows about code that is being written: completion, explanation, completeness. Cursors are counted as
 * Jupyter counts them, in Unicode characters; TypeScript counts UTF-16 units.
 */
import { type Completeness, completeness, type FaultFinder } from "./completeness.js";
import {
  calledName,
  charactersOf,
  literalAround,
  matchingNames,
  type NamesAt,
  type Parser,
  unitsOf,
} from "./completion.js";
import { explanation } from "./explanation.js";
import type { TslabExecutor } from "./tslab.js";

/** Names that may stand at a cursor; they replace what stands from `start` to `end`. */
export interface Candidates {
  readonly matches: readonly string[];
  readonly start: number;
  readonly end: number;
}

export class Language {
  readonly #executor: Pick<TslabExecutor, "complete" | "inspect">;
  readonly #parser: Parser & FaultFinder;

  constructor(executor: Pick<TslabExecutor, "complete" | "inspect">, parser: Parser & FaultFinder) {
    this.#executor = executor;
    this.#parser = parser;
  }

  /** The names that may stand at a place in code, counted in UTF-16 units. */
  readonly namesAt: NamesAt = (code, position) => this.#executor.complete(code, position).candidates;

  /** Completes code at a cursor. */
  complete(code: string, cursor: number): Candidates {
    const { matches, start, end } = this.#completed(code, unitsOf(code, cursor));
    return { matches, start: charactersOf(code, start), end: charactersOf(code, end) };
  }

  #completed(code: string, position: number): Candidates {
    try {
      const place = literalAround(this.#parser, code, position);
      if (place === undefined) {
        const { candidates: matches, start, end } = this.#executor.complete(code, position);
        return { matches, start, end };
      }
      // tslab offers every name inside quotes, whatever was typed, and puts it after what was typed.
      return { ...place, matches: matchingNames(this.namesAt(code, position), place.typed) };
    } catch {
      // TypeScript stumbles over some half-typed code. Without an answer Jupyter would wait for one.
      return { matches: [], start: position, end: position };
    }
  }

  /**
   * What is known about the name at a cursor as plain text; empty where nothing is. Behind the bracket that opens a
   * call's arguments, where one stops to ask, the function is explained.
   */
  explain(code: string, cursor: number): string {
    const position = unitsOf(code, cursor);
    const explained = (at: number | undefined): string => {
      const info = at === undefined ? undefined : this.#executor.inspect(code, at);
      return info ? explanation(info) : "";
    };
    try {
      return explained(position) || explained(calledName(code, position));
    } catch {
      // TypeScript stumbles over some half-typed code.
      return "";
    }
  }

  /** Whether code can run as it stands. */
  judge(code: string): Completeness {
    return helpWanted(code) === undefined ? completeness(this.#parser, code) : { status: "complete" };
  }
}

/** The name that a cell such as `fitMount?` asks about; nothing where it is code. */
export function helpWanted(code: string): string | undefined {
  return /^\s*([\p{L}_$][\p{L}\p{N}_$.]*)\s*\?\s*$/u.exec(code)?.[1];
}
