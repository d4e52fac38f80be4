/**
 * Files that a command was asked to write: only there, whole or not at all, and never over something of another kind.
 */
import {
  accessSync,
  closeSync,
  constants,
  existsSync,
  fsyncSync,
  openSync,
  readSync,
  renameSync,
  rmSync,
  statSync,
  writeFileSync,
} from "node:fs";
import { dirname, resolve } from "node:path";
import { PolewrightError } from "../errors.js";
import { syncFolder } from "./journal.js";

/** How the beginning of a file shows that it was written by the same command earlier, and may be replaced; null: never. */
const kinds = {
  page: { what: "web page", start: /^\uFEFF?\s*<!doctype html>/i },
  "class list": { what: "class list", start: /^bestTime,object,/ },
  "file of turns": { what: "file of turns", start: null },
  "kept model": { what: "model", start: null },
  notebook: { what: "notebook", start: /^\uFEFF?\s*\{[\s\S]*"cells"/ },
} as const;

/** A kind of file that a command writes. */
export type OutputKind = keyof typeof kinds;

/** So much of a file tells its kind. */
const START_BYTES = 4096;

/**
 * Says no before the work is done, where the file could not be written afterwards.
 *
 * @param path - the file to be written
 * @param kind - what it will be
 * @param option - the option that named it, for messages
 * @throws PolewrightError `already-there` for a kept model, which is never replaced; `would-overwrite` where a file of another kind stands there, for instance the night file;
 *   `not-writable` where its folder is missing or may not be written to, or a folder stands there
 */
export function checkOutputFile(path: string, kind: OutputKind, option: string): void {
  const { what, start } = kinds[kind];
  const status = existsSync(path) ? statSync(path) : null;
  if (status?.isDirectory()) {
    throw new PolewrightError(
      "not-writable",
      `${option} ${path}: this is a folder. Give the path of a file in it.`,
    );
  }
  if (start === null && status?.isFile()) {
    throw new PolewrightError(
      "already-there",
      `${option} ${path}: a file stands there already, and a ${what} is never written over: choose another name.`,
    );
  }
  // A device, such as /dev/null, keeps nothing that could be lost, and is written in place.
  if (status !== null && !status.isFile()) return;
  if (status !== null && status.size > 0 && start?.test(startOf(path)) === false) {
    throw new PolewrightError(
      "would-overwrite",
      `${option} ${path}: a file stands there that is no ${what}, so nothing was written. Give another name, or take that file away first.`,
    );
  }
  try {
    // The file itself need not be writable: it is replaced by one that is written beside it.
    const folder = dirname(asideOf(path));
    if (!statSync(folder).isDirectory()) throw Object.assign(new Error(), { code: "ENOTDIR" });
    accessSync(folder, constants.W_OK | constants.X_OK);
  } catch (problem) {
    throw notWritable(path, kind, option, problem);
  }
}

/** Whether two paths lead to one file, however they are spelt. */
export function isSameFile(one: string, other: string): boolean {
  if (resolve(one) === resolve(other)) return true;
  const [first, second] = [one, other].map((path) => statSync(path, { throwIfNoEntry: false }));
  // A device, such as /dev/null, takes both.
  return first?.isFile() === true && first.dev === second?.dev && first.ino === second.ino;
}

/** Where a file is written before it takes its name. */
function asideOf(path: string): string {
  return `${path}.part`;
}

function notWritable(path: string, kind: OutputKind, option: string, problem: unknown): PolewrightError {
  return new PolewrightError(
    "not-writable",
    `${option} ${path}: the ${kinds[kind].what} could not be written. ${writeProblem(problem, asideOf(path))}`,
  );
}

/**
 * Writes a file that was asked for. It is written aside and renamed, so that one that stands there stays whole until
 * the new one is.
 *
 * @throws PolewrightError `would-overwrite` or `not-writable`, in sentences
 */
export function writeOutputFile(path: string, text: string, kind: OutputKind, option: string): void {
  checkOutputFile(path, kind, option);
  const isDevice = existsSync(path) && !statSync(path).isFile();
  const aside = isDevice ? path : asideOf(path);
  // What another run left or is writing is not ours to remove.
  let isOurs = false;
  try {
    const descriptor = openSync(aside, isDevice ? "w" : "wx");
    isOurs = !isDevice;
    try {
      writeFileSync(descriptor, text);
      if (!isDevice) fsyncSync(descriptor);
    } finally {
      closeSync(descriptor);
    }
    if (isDevice) return;
    // On the disk before the old one goes: a power cut leaves the one or the other whole.
    renameSync(aside, path);
    syncFolder(dirname(path));
  } catch (problem) {
    if (isOurs) rmSync(aside, { force: true });
    throw notWritable(path, kind, option, problem);
  }
}

function startOf(path: string): string {
  const descriptor = openSync(path, "r");
  try {
    const bytes = Buffer.alloc(START_BYTES);
    return bytes.toString("utf8", 0, readSync(descriptor, bytes, 0, START_BYTES, 0));
  } finally {
    closeSync(descriptor);
  }
}

/** Why a file could not be written and what to do, in a sentence. */
export function writeProblem(problem: unknown, aside: string): string {
  switch ((problem as NodeJS.ErrnoException).code) {
    case "ENOENT":
      return "Its folder does not exist: make it first, or give another path.";
    case "ENOTDIR":
      return "A part of the path is a file, not a folder: give another path.";
    case "EACCES":
    case "EPERM":
    case "EROFS":
      return "You may not write there: give a path in a folder of your own.";
    case "ENOSPC":
    case "EDQUOT":
      return "The disk is full: free some space and try again.";
    case "EEXIST":
      return `${aside} is there already, left by a run that was stopped or being written by another: take it away and try again.`;
    case "ENAMETOOLONG":
      return "The name is too long: give a shorter one.";
    default:
      return `${problem instanceof Error ? problem.message : String(problem)}.`;
  }
}
