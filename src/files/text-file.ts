/**
 * Text files from the disk, with faults that say what to do.
 */
import { closeSync, fstatSync, openSync, readFileSync, readSync } from "node:fs";
import { type Fault, InputError } from "../errors.js";

/** Larger than any mount or night file; more would not fit into a text. */
const LARGEST_FILE = 400_000_000;

/** Instead of a path. */
const STANDARD_INPUT = "-";

/** A pipe or device gives no size beforehand, and some never end. */
const LARGEST_STREAM = 64_000_000;

function readStream(descriptor: number): Buffer {
  const parts: Buffer[] = [];
  let size = 0;
  for (;;) {
    const part = Buffer.alloc(65_536);
    const count = readSync(descriptor, part, 0, part.length, null);
    if (count === 0) return Buffer.concat(parts);
    size += count;
    if (size > LARGEST_STREAM) throw Object.assign(new Error("it does not end"), { code: "EFBIG" });
    parts.push(part.subarray(0, count));
  }
}

/**
 * Reads a file as UTF-8.
 *
 * @param path - the file; `-` is standard input
 * @param what - what it should be, for messages, for instance `night file`
 * @returns its text; bytes that are no UTF-8 become U+FFFD
 * @throws InputError `file-missing`, `file-unreadable`, `file-too-large` or `not-utf8` (UTF-16)
 */
export function readTextFile(path: string, what: string): string {
  const refuse = (fault: Omit<Fault, "file">): never => {
    throw new InputError({ ...fault, file: path });
  };
  let bytes: Buffer;
  try {
    const descriptor = path === STANDARD_INPUT ? 0 : openSync(path, "r");
    try {
      const status = fstatSync(descriptor);
      if (status.isDirectory()) throw Object.assign(new Error("a folder"), { code: "EISDIR" });
      if (status.size > LARGEST_FILE) {
        return refuse({
          code: "file-too-large",
          found: `${status.size} bytes`,
          allowed: `a ${what} of at most ${LARGEST_FILE} bytes`,
          message: `This is too large for a ${what}.`,
        });
      }
      bytes = status.isFile() ? readFileSync(descriptor) : readStream(descriptor);
    } finally {
      closeSync(descriptor);
    }
  } catch (problem) {
    if (problem instanceof InputError) throw problem;
    const { code } = problem as NodeJS.ErrnoException;
    if (code === "ENOENT" || code === "ENOTDIR") {
      return refuse({
        code: "file-missing",
        allowed: `the path of a ${what}; \`polewright new FOLDER\` writes a first one`,
        message: `There is no ${what} here.`,
      });
    }
    if (code === "EFBIG") {
      return refuse({
        code: "file-too-large",
        found: `more than ${LARGEST_STREAM} bytes`,
        allowed: `a ${what} of at most ${LARGEST_STREAM} bytes through a pipe or device`,
        message: `This is too large for a ${what}, or does not end.`,
      });
    }
    return refuse({
      code: "file-unreadable",
      allowed: `a ${what} that may be read`,
      message:
        code === "EISDIR" ? "This is a folder." : `The file cannot be read (${code ?? String(problem)}).`,
    });
  }
  if ((bytes[0] === 0xff && bytes[1] === 0xfe) || (bytes[0] === 0xfe && bytes[1] === 0xff)) {
    return refuse({
      code: "not-utf8",
      allowed: "UTF-8; save the file so",
      message: "The file is in UTF-16.",
    });
  }
  return bytes.toString("utf8");
}
