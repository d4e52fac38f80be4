/**
 * A folder with a mount and a night: `mount.json` and `night.csv`.
 */
import { existsSync, statSync } from "node:fs";
import { join } from "node:path";
import { type Fault, InputError } from "../errors.js";
import type { Mount } from "../mount/mount.js";
import { parseMountText } from "../mount/mount-file.js";
import type { Night } from "../night/night.js";
import {
  type NightHeader,
  type NightReading,
  readNight,
  readNightHeader,
  withdrawalLine,
} from "../night/night-file.js";
import type { Sighting } from "../night/sighting.js";
import {
  makeSighting,
  type SightingFields,
  sightingColumns,
  sightingLine,
} from "../night/sighting-fields.js";
import { appendLine, JournalError } from "./journal.js";
import { readTextFile } from "./text-file.js";

/** The mount file's name in a folder. */
export const MOUNT_FILE = "mount.json";
/** The night file's name in a folder. */
export const NIGHT_FILE = "night.csv";

/**
 * Reads a mount file.
 *
 * @throws InputError with every fault, or that the file is missing
 */
export function readMountFile(path: string): Mount {
  return parseMountText(readTextFile(path, "mount file"), path);
}

/**
 * Reads a night file.
 *
 * @throws InputError with every fault, or that the file is missing
 */
export function readNightFile(path: string, mount: Mount): NightReading {
  return readNight(readTextFile(path, "night file"), mount, path);
}

/** A night on the disk: what was read, and what can be added. */
export interface NightFolder {
  readonly folder: string;
  readonly mountPath: string;
  readonly nightPath: string;
  readonly mount: Mount;
  /** The night as the file stood when it was last read or added to. */
  readonly night: Night;
  /** What the builder should know about the file. */
  readonly warnings: readonly Fault[];
  /**
   * Adds a sighting; it is on the disk when the call returns.
   *
   * @returns the sighting as it now stands in the night
   * @throws InputError when it is faulty (nothing is written), JournalError with the line when the disk refuses it
   */
  append(fields: SightingFields): Sighting;
  /**
   * Takes a sighting back: a line is added that withdraws it, and it stays in the list, out of use.
   *
   * @param row - counted from 1; the latest one that is in use when left out
   * @returns the sighting, out of use
   * @throws InputError `no-such-sighting`; JournalError when the disk refuses the line
   */
  withdraw(row?: number): Sighting;
  /** Reads the night file again, for instance after it was edited by hand. */
  reload(): Night;
}

/**
 * Opens a folder with `mount.json` and `night.csv`.
 *
 * @param folder - path of the folder
 * @returns the night, ready to be added to; the same file may be added to by other programs meanwhile
 * @throws InputError with every fault of both files
 */
export function openNightFolder(folder: string): NightFolder {
  const mountPath = join(folder, MOUNT_FILE);
  const nightPath = join(folder, NIGHT_FILE);
  if (!existsSync(folder) || !statSync(folder).isDirectory()) {
    throw new InputError([
      {
        code: "folder-missing",
        file: folder,
        allowed: `a folder with ${MOUNT_FILE} and ${NIGHT_FILE}; \`polewright new FOLDER\` makes one`,
        message: "There is no such folder.",
      },
    ]);
  }
  const mount = readMountFile(mountPath);
  let reading = readNightFile(nightPath, mount);

  /** After a line was added the file is the truth; should it have become faulty, the sighting is still in it. */
  const reread = (line: string, otherwise: () => NightReading): void => {
    try {
      reading = readNightFile(nightPath, mount);
    } catch (problem) {
      if (!(problem instanceof InputError)) throw problem;
      const before = otherwise();
      const warning: Fault = {
        code: "night-file-changed",
        file: nightPath,
        found: line,
        allowed: "a night file without faults; the line just added is safely in it",
        message: `The night file was changed meanwhile and cannot be read as a whole any more: ${problem.message}`,
      };
      reading = { ...before, warnings: [...before.warnings, warning] };
    }
  };

  const append = (fields: SightingFields): Sighting => {
    const sighting = makeSighting(fields, mount, reading.night.sightings.length + 1);
    const { names, separator } = currentHeader(nightPath, fields, reading.header);
    const line = sightingLine(fields, names, separator);
    appendLine(nightPath, line);
    reread(line, () => ({
      ...reading,
      night: { mount, sightings: [...reading.night.sightings, sighting] },
    }));
    return latestLike(reading.night, sighting) ?? sighting;
  };

  const withdraw = (row?: number): Sighting => {
    reading = readNightFile(nightPath, mount);
    const { sightings } = reading.night;
    const sighting =
      row === undefined
        ? sightings.filter(({ use }) => use).at(-1)
        : sightings.find((one) => one.row === row);
    const line = sighting?.use
      ? withdrawalLine(readTextFile(nightPath, "night file"), mount, sighting.row)
      : null;
    if (sighting === undefined || line === null) {
      throw new InputError([
        {
          code: "no-such-sighting",
          file: nightPath,
          ...(row === undefined ? {} : { row }),
          allowed:
            sightings.length === 0
              ? "a night with sightings"
              : `a sighting in use, of rows 1 to ${sightings.length}`,
          message: "There is no sighting in use to withdraw.",
        },
      ]);
    }
    appendLine(nightPath, line);
    const without = { ...sighting, use: false };
    reread(line, () => ({
      ...reading,
      night: { mount, sightings: sightings.map((one) => (one === sighting ? without : one)) },
    }));
    return reading.night.sightings.find((one) => one.row === sighting.row) ?? without;
  };

  return {
    folder,
    mountPath,
    nightPath,
    mount,
    get night() {
      return reading.night;
    },
    get warnings() {
      return reading.warnings;
    },
    append,
    withdraw,
    reload: () => {
      reading = readNightFile(nightPath, mount);
      return reading.night;
    },
  };
}

/**
 * The file's columns as they are now, because it may have been edited since it was opened. Only the columns: a faulty row
 * elsewhere is no reason to lose a sighting, and where there are no columns the sighting is in the message.
 */
function currentHeader(path: string, fields: SightingFields, before: NightReading["header"]): NightHeader {
  try {
    return readNightHeader(readTextFile(path, "night file"), path);
  } catch (problem) {
    if (!(problem instanceof InputError)) throw problem;
    const line = lineFor(fields, before);
    throw new JournalError(
      "no-night-file",
      `The sighting is NOT on the disk, because the night file cannot be used any more. ${problem.message}\nThe line was:\n${line}`,
      line,
      path,
    );
  }
}

/** The line as it fits into the file that was there, or with every column where that had too few. */
function lineFor(fields: SightingFields, header: NightReading["header"]): string {
  try {
    return sightingLine(fields, header);
  } catch {
    return `${sightingLine(fields, sightingColumns)}\n(columns: ${sightingColumns.join(",")})`;
  }
}

/** The latest sighting of the night that is the one given. */
function latestLike(night: Night, sighting: Sighting): Sighting | undefined {
  return night.sightings
    .filter(
      (one) =>
        one.timeMs === sighting.timeMs &&
        one.star === sighting.star &&
        one.hourAngle === sighting.hourAngle &&
        one.declination === sighting.declination,
    )
    .at(-1);
}
