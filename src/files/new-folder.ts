/**
 * A new folder for a night: a mount file, an empty night, a first notebook.
 */
import {
  closeSync,
  existsSync,
  fsyncSync,
  mkdirSync,
  openSync,
  rmSync,
  statSync,
  writeFileSync,
} from "node:fs";
import { join } from "node:path";
import { PolewrightError } from "../errors.js";
import { firstMount } from "../mount/first-mount.js";
import { mountFileText } from "../mount/mount-file.js";
import { nightFileStart } from "../night/night-file.js";
import { firstNotebookText } from "./first-notebook.js";
import { syncFolder } from "./journal.js";
import { MOUNT_FILE, NIGHT_FILE } from "./night-folder.js";
import { writeProblem } from "./output-file.js";

/** The first notebook's name in a folder. */
const NOTEBOOK_FILE = "first-night.ipynb";

/**
 * Makes a folder with `mount.json` (an invented example to be replaced), `night.csv` (a header, no sightings) and
 * `first-night.ipynb`. Folders above it are made too; a folder that is there already is used.
 *
 * @param path - the folder
 * @returns the paths of the files written
 * @throws PolewrightError `already-there` when one of the files exists or a file has the folder's name (nothing is written then), `not-writable` when the
 *   folder or a file cannot be made
 */
export function createFolder(path: string): readonly string[] {
  const files: readonly (readonly [string, string])[] = [
    [MOUNT_FILE, mountFileText(firstMount)],
    [NIGHT_FILE, nightFileStart()],
    [NOTEBOOK_FILE, firstNotebookText()],
  ];
  if (existsSync(path) && !statSync(path).isDirectory()) {
    throw new PolewrightError(
      "already-there",
      `Nothing was written, because ${path} is a file that is there already, not a folder. Give another name for the folder.`,
    );
  }
  const there = files.map(([name]) => join(path, name)).filter((file) => existsSync(file));
  if (there.length > 0) {
    throw new PolewrightError(
      "already-there",
      `Nothing was written, because ${there.join(", ")} ${there.length === 1 ? "is" : "are"} there already. Give another folder.`,
    );
  }
  const written: string[] = [];
  try {
    mkdirSync(path, { recursive: true });
    for (const [name, text] of files) {
      const file = join(path, name);
      // "wx" refuses a file that appeared since the look above.
      const descriptor = openSync(file, "wx");
      written.push(file);
      try {
        writeFileSync(descriptor, text);
        fsyncSync(descriptor);
      } finally {
        closeSync(descriptor);
      }
    }
    syncFolder(path);
    return written;
  } catch (problem) {
    // Nothing half made is left, which the next try would have to refuse.
    for (const file of written) rmSync(file, { force: true });
    const { code } = problem as NodeJS.ErrnoException;
    throw new PolewrightError(
      code === "EEXIST" ? "already-there" : "not-writable",
      `The folder ${path} could not be filled. ${writeProblem(problem, path)}`,
    );
  }
}
