/**
 * Whether code can run as it stands, or lacks its end: what a console asks before it runs what was typed.
 *
 * Source: "Messaging in Jupyter" 5.3, "Code completeness".
 */
import type { SyntaxNode } from "./completion.js";

/** A fault that TypeScript's parser found; its place counted in UTF-16 units from 0. */
interface ParseFault {
  readonly start: number;
  readonly code: number;
}

/** TypeScript's parser, as far as it is used here. */
export interface FaultFinder {
  createSourceFile(
    name: string,
    code: string,
    target: number,
    setParents: boolean,
  ): SyntaxNode & { readonly parseDiagnostics?: readonly ParseFault[] };
}

/** The answer; `indent` goes before the next line. */
export type Completeness =
  | { readonly status: "complete" | "invalid" }
  | { readonly status: "incomplete"; readonly indent: string };

const NEWEST_TARGET = 99;
/** As in tslab: with it the code is a module, in which `await` may stand anywhere. */
const MODULE = "export {};\n";
const INDENT = "  ";
/** TypeScript's numbers for a text in quotes and a regular expression without their end: both must end on their line. */
const ENDS_ON_ITS_LINE: readonly number[] = [1002, 1161];

/**
 * Judges code. It lacks its end where the parser finds fault with nothing but the end: an open bracket, template or
 * comment. With any fault before that, more lines would not help.
 *
 * @param parser - TypeScript
 * @param code - TypeScript code
 */
export function completeness(parser: FaultFinder, code: string): Completeness {
  const whole = MODULE + code;
  const faults = parser.createSourceFile("cell.ts", whole, NEWEST_TARGET, false).parseDiagnostics ?? [];
  if (faults.length === 0) return { status: "complete" };
  // The parser names the end of the code as the place, or the last thing before it.
  const atEnd = ({ start, code: fault }: ParseFault) =>
    start >= whole.trimEnd().length && !ENDS_ON_ITS_LINE.includes(fault);
  return faults.every(atEnd) ? { status: "incomplete", indent: nextIndent(code) } : { status: "invalid" };
}

/** The indent of the last line, one step more behind an opening bracket. */
function nextIndent(code: string): string {
  const last = code.trimEnd().split("\n").at(-1) ?? "";
  const own = /^[ \t]*/.exec(last)![0];
  return /[([{]$|=>$/.test(last) ? own + INDENT : own;
}
