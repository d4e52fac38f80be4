/**
 * Text files from the disk, with faults that say what to do.
 */
import { closeSync, fstatSync, openSync, readFileSync } from "node:fs";
import { type Fault, InputError } from "../errors.js";

/** Larger than any mount or night file; more would not fit into a text. */
const LARGEST_FILE = 400_000_000;

/**
 * Reads a file as UTF-8.
 *
 * @param path - the file
 * @param what - what it should be, for messages, for instance `night file`
 * @returns its text; bytes that are no UTF-8 become U+FFFD
 * @throws InputError `file-missing`, `file-unreadable`, `file-too-large` or `not-utf8` (UTF-16)
 */
export function readTextFile(path: string, what: string): string {
  const refuse = (fault: Omit<Fault, "file">): never => {
    throw new InputError([{ ...fault, file: path }]);
  };
  let bytes: Buffer;
  try {
    const descriptor = openSync(path, "r");
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
      bytes = readFileSync(descriptor);
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
