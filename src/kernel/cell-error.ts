/**
 * What a notebook shows when a cell fails: what is wrong, and the line of the cell where it is.
 */
import { inspect } from "node:util";
import { type NamesAt, nearestName } from "./completion.js";

/** An error as Jupyter's messages and notebooks carry it. */
export interface CellError {
  readonly ename: string;
  readonly evalue: string;
  readonly traceback: readonly string[];
}

/** One finding of the type checker; line and column counted from 1. */
export interface TypeFinding {
  /** The file, where it is not the cell itself. */
  readonly file?: string;
  readonly line: number;
  readonly column: number;
  readonly text: string;
}

/** A place in a cell; line and column counted from 1. */
export interface CellPlace {
  /** The run of which the frame speaks, counted from 1. */
  readonly run: number;
  /** The cell's execution count. */
  readonly count: number;
  readonly line: number;
  readonly column: number;
}

/** Frames of what runs the cells, not of what they do. */
const MACHINERY = /node:|[\\/]tslab[\\/]|[\\/]kernel[\\/](?:cells|serve|server)\.js|cell\[\d+\]:/;

/**
 * The error of a cell that the type checker refused.
 *
 * @param code - the cell's code
 * @param findings - at least one
 * @param namesAt - knows which names may stand where
 */
export function typeCellError(code: string, findings: readonly TypeFinding[], namesAt: NamesAt): CellError {
  const blocks: string[] = [];
  let evalue = "";
  let before: TypeFinding | undefined;
  for (const finding of findings) {
    // The checker gives its reasons as further findings at the same place.
    if (before !== undefined && before.line === finding.line && before.column === finding.column) {
      blocks.push(`    ${finding.text}`);
      continue;
    }
    before = finding;
    const where = finding.file === undefined ? "" : `${finding.file}, `;
    const meant = finding.file === undefined ? meantName(code, finding, namesAt) : undefined;
    const advice = meant === undefined ? "" : ` Did you mean ${JSON.stringify(meant)}?`;
    const text = `${where}line ${finding.line}, column ${finding.column}: ${finding.text}${advice}`;
    if (evalue === "") evalue = text;
    blocks.push(text);
    if (finding.file === undefined) blocks.push(...pointer(code, finding.line, finding.column));
  }
  return { ename: "TypeScript", evalue, traceback: blocks };
}

function meantName(code: string, finding: TypeFinding, namesAt: NamesAt): string | undefined {
  if (finding.text.includes("Did you mean")) return undefined;
  const rest = (code.split("\n")[finding.line - 1] ?? "").slice(finding.column - 1);
  const written = /^(["'])(.*?)\1/.exec(rest)?.[2];
  if (written === undefined) return undefined;
  const lines = code.split("\n").slice(0, finding.line - 1);
  const position = lines.reduce((sum, line) => sum + line.length + 1, 0) + finding.column;
  return nearestName(namesAt(code, position), written);
}

/**
 * The error of a cell that threw.
 *
 * @param thrown - whatever was thrown
 * @param code - the cell's code
 * @param run - the run that threw
 * @param place - finds the place in a cell that a frame of the stack speaks of
 */
export function thrownCellError(
  thrown: unknown,
  code: string,
  run: number,
  place: (frame: string) => CellPlace | undefined,
): CellError {
  if (!(thrown instanceof Error) && !isErrorLike(thrown)) {
    const text = typeof thrown === "string" ? thrown : inspect(thrown);
    return { ename: "Thrown", evalue: text, traceback: [`Thrown: ${text}`] };
  }
  const { name, message, stack } = thrown;
  const traceback = [message === "" ? name : `${name}: ${message}`];
  const frames = (stack ?? "").split("\n").filter((line) => /^\s+at /.test(line));
  let pointed = false;
  for (const frame of frames) {
    const found = place(frame);
    if (found === undefined) {
      // What the builder did wrong is in his cell; where the library noticed it is no help to him.
      if (!isOwnError(thrown) && !MACHINERY.test(frame)) traceback.push(frame);
      continue;
    }
    const here = found.run === run;
    traceback.push(
      `    at ${here ? "" : `cell [${found.count}], `}line ${found.line}, column ${found.column}`,
    );
    if (here && !pointed) {
      pointed = true;
      traceback.push(...pointer(code, found.line, found.column));
    }
  }
  if (thrown.cause !== undefined) traceback.push(`Cause: ${inspect(thrown.cause)}`);
  return { ename: name, evalue: message, traceback };
}

function isErrorLike(thrown: unknown): thrown is Error {
  return Object.prototype.toString.call(thrown) === "[object Error]";
}

/** Errors that the library throws on purpose carry a code in kebab case; Node's own are in capitals. */
function isOwnError(error: Error): boolean {
  const { code } = error as { code?: unknown };
  return typeof code === "string" && /^[a-z][a-z0-9-]*$/.test(code);
}

function pointer(code: string, line: number, column: number): string[] {
  const text = code.split("\n")[line - 1];
  if (text === undefined) return [];
  // Tabs stay, so that the mark stands under its place.
  const indent = text.slice(0, column - 1).replace(/[^\t]/g, " ");
  return [`    ${text}`, `    ${indent}^`];
}
