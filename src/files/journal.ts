/**
 * Adding lines to the night file so that none is lost.
 *
 * A line is one write(2) to a file opened for appending, then fsync, then the call returns: what was acknowledged is on
 * the disk, and what is already in the file is never written again.
 *
 * Several processes may add at once without a lock. POSIX (write, O_APPEND) has the file's end found and the bytes
 * written in one step, and the local file systems of Linux, macOS and Windows keep to it, so lines cannot fall into
 * each other; each call writes its line whole, its line's end included. A lock file would add a way to fail at the
 * telescope (a stale lock after a power cut) and protect nothing more. Only the look at the file's last byte comes
 * before the write; should another process add a line in between, the worst is a blank line and a comment too many,
 * which the reader passes over. Network file systems do not all promise this; keep the night on a local disk.
 */
import { closeSync, constants, fstatSync, fsyncSync, openSync, readSync, writeSync } from "node:fs";
import { dirname } from "node:path";
import { PolewrightError } from "../errors.js";
import { CUT_SHORT } from "../tables/cut-short.js";

/** A line could not be added; `line` is what should have been written, so that it is not lost. */
export class JournalError extends PolewrightError {
  /** What should have been written, without the line's end. */
  readonly line: string;
  /** The file. */
  readonly file: string;
  constructor(code: string, message: string, line: string, file: string) {
    super(code, message);
    this.name = "JournalError";
    this.line = line;
    this.file = file;
  }
}

/** LF, and CR in a file of an older kind. */
const LINE_ENDS: readonly number[] = [0x0a, 0x0d];
const CUT_SHORT_LINE = `# ${CUT_SHORT} the line above had no end when the next one was written.`;

/**
 * Adds one line to a file and returns when it is on the disk. The file is made when it is missing; its folder is not.
 * When the file does not end in a line's end (power was cut while a line was written) the new line starts on a line of
 * its own, after a comment that says so.
 *
 * @param file - path of the file
 * @param line - the line without its end; may not contain one
 * @throws JournalError `line-not-written` and others, with the line in its message, when it did not reach the disk
 */
export function appendLine(file: string, line: string): void {
  appendLines(file, [line]);
}

/** Adds several lines in one write, as {@link appendLine} adds one. */
export function appendLines(file: string, lines: readonly string[]): void {
  const line = lines.join("\n");
  if (lines.some((one) => /[\n\r]/.test(one))) {
    throw new JournalError("line-with-line-break", "A line to be added contains a line break.", line, file);
  }
  let descriptor: number | null = null;
  try {
    const opened = openForAppending(file);
    descriptor = opened.descriptor;
    const start = endsInNewline(descriptor) ? "" : `\n${CUT_SHORT_LINE}\n`;
    const bytes = Buffer.from(`${start}${line}\n`, "utf8");
    const written = writeSync(descriptor, bytes, 0, bytes.length);
    if (written < bytes.length) {
      // A second write could land behind another process's line; the reader puts the part aside instead.
      throw Object.assign(new Error(`${written} of ${bytes.length} bytes written`), { code: "ENOSPC" });
    }
    fsyncSync(descriptor);
    if (opened.isNew) syncFolder(dirname(file));
  } catch (problem) {
    throw journalError(problem, line, file);
  } finally {
    if (descriptor !== null) closeQuietly(descriptor);
  }
}

/** Writes the folder's list of files to the disk, where the system can do that (Windows cannot, and needs not). */
export function syncFolder(folder: string): void {
  let descriptor: number;
  try {
    descriptor = openSync(folder, constants.O_RDONLY);
  } catch (problem) {
    // Where one may write but not read, that is all that can be done.
    if (process.platform === "win32" || (problem as NodeJS.ErrnoException).code === "EACCES") return;
    throw problem;
  }
  try {
    fsyncSync(descriptor);
  } catch (problem) {
    const { code } = problem as NodeJS.ErrnoException;
    // Some file systems refuse to sync a folder; the file itself is synced.
    if (code !== "EINVAL" && code !== "EPERM" && code !== "EISDIR" && code !== "ENOTSUP") throw problem;
  } finally {
    closeQuietly(descriptor);
  }
}

/** Reading is needed to see the last byte; appending keeps every write at the end. */
function openForAppending(file: string): { readonly descriptor: number; readonly isNew: boolean } {
  const flags = constants.O_RDWR | constants.O_APPEND;
  try {
    return { descriptor: openSync(file, flags), isNew: false };
  } catch (problem) {
    if ((problem as NodeJS.ErrnoException).code !== "ENOENT") throw problem;
    return { descriptor: openSync(file, flags | constants.O_CREAT, 0o666), isNew: true };
  }
}

function endsInNewline(descriptor: number): boolean {
  const status = fstatSync(descriptor);
  if (!status.isFile() || status.size === 0) return true;
  const last = Buffer.alloc(1);
  return readSync(descriptor, last, 0, 1, status.size - 1) === 1 && LINE_ENDS.includes(last[0]!);
}

function closeQuietly(descriptor: number): void {
  try {
    closeSync(descriptor);
  } catch {
    // After fsync nothing can be lost here, and before it another error is on its way already.
  }
}

const reasons: Readonly<Record<string, readonly [code: string, what: string, todo: string]>> = {
  ENOSPC: ["disk-full", "The disk is full", "Free some space and enter the sighting again"],
  EDQUOT: ["disk-full", "Your share of the disk is full", "Free some space and enter the sighting again"],
  EFBIG: ["disk-full", "The file may not grow any more", "Start a new night file"],
  EROFS: ["not-writable", "The disk is read-only", "Keep the night in a folder that can be written to"],
  EACCES: ["not-writable", "You may not write to this file", "Change its permissions, or use another folder"],
  EPERM: ["not-writable", "You may not write to this file", "Change its permissions, or use another folder"],
  ENOENT: ["folder-missing", "The folder does not exist", "Make it, or give the right path"],
  ENOTDIR: ["folder-missing", "A part of the path is a file, not a folder", "Give the right path"],
  EISDIR: ["not-a-file", "A folder stands where the file should be", "Give the path of the night file"],
};

function journalError(problem: unknown, line: string, file: string): JournalError {
  if (problem instanceof JournalError) return problem;
  const { code = "", message = String(problem) } = problem as NodeJS.ErrnoException;
  const [name, what, todo] = reasons[code] ?? [
    "line-not-written",
    message,
    "Write the line down and check the disk",
  ];
  return new JournalError(
    name,
    `The line is NOT safely on the disk: ${what} (${file}). ${todo}. The line was:\n${line}`,
    line,
    file,
  );
}
