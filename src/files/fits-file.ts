/**
 * Pictures from the disk; only their headers are read.
 */
import { closeSync, openSync, readSync } from "node:fs";
import { fault, InputError } from "../errors.js";
import type { Mount } from "../mount/mount.js";
import { readPicture, type SolvedPicture } from "../sight/fits-sighting.js";

/**
 * Reads a solved picture's header.
 *
 * @throws InputError with the file and the card
 */
export function readPictureFile(path: string, mount: Mount): SolvedPicture {
  let descriptor: number;
  try {
    descriptor = openSync(path, "r");
  } catch (problem) {
    const { code = "" } = problem as NodeJS.ErrnoException;
    const message = code === "ENOENT" ? "There is no picture here." : `The picture cannot be read (${code}).`;
    const allowed = "the path of a FITS file that may be read";
    throw new InputError(fault("file-missing", { file: path }, message, allowed));
  }
  try {
    return readPicture(
      path,
      (position, length) => {
        const bytes = Buffer.alloc(length);
        return bytes.subarray(0, readSync(descriptor, bytes, 0, length, position));
      },
      mount,
    );
  } catch (problem) {
    if ((problem as NodeJS.ErrnoException).code !== "EISDIR") throw problem;
    const allowed = "FITS files; `FOLDER/*.fits` gives the shell all of a folder";
    throw new InputError(fault("not-fits", { file: path }, "This is a folder.", allowed));
  } finally {
    closeSync(descriptor);
  }
}
