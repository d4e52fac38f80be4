/**
 * A folder with a mount and a night: `mount.json` and `night.csv`.
 */
import { existsSync, statSync } from "node:fs";
import { dirname, join } from "node:path";
import { type Fault, fault, InputError, shown } from "../errors.js";
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
import { Acknowledged, type Acknowledgement, identity } from "./acknowledged.js";
import { appendLine, appendLines, JournalError } from "./journal.js";
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
  /** The night as the file has it now; while it cannot be read, as it was before. */
  readonly night: Night;
  /** What the builder should know about the file. */
  readonly warnings: readonly Fault[];
  /** Whether the file could be read when it was last looked at: only then does it hold what the night has. */
  readonly current: boolean;
  /** Looks into the file once more: whether it holds all that was acknowledged. */
  isWhole(): boolean;
  /** What happened to the file since this was last asked: rows that others took away, changed, or made unreadable. */
  news(): readonly Fault[];
  /**
   * Adds a sighting; it is in the file and on the disk when the call returns. What was acknowledged is remembered: should
   * an editor take it away, it is entered again at the next look into the file, and said.
   *
   * @returns the sighting as it now stands in the night
   * @throws InputError when it is faulty (nothing is written), JournalError with the line when the disk refuses it
   */
  append(fields: SightingFields): Sighting;
  /** Adds several in one write. */
  appendAll(all: readonly SightingFields[]): Sighting[];
  /**
   * Checks sightings that are to be added together, so that none is written if one cannot be.
   *
   * @throws InputError with every fault; JournalError where the night file cannot be used
   */
  check(fields: readonly SightingFields[]): void;
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
    throw new InputError({
      code: "folder-missing",
      file: folder,
      allowed: `a folder with ${MOUNT_FILE} and ${NIGHT_FILE}; \`polewright new FOLDER\` makes one`,
      message: "There is no such folder.",
    });
  }
  return openNightFiles(mountPath, nightPath);
}

/**
 * Opens a night file with its mount file, wherever they are.
 *
 * @throws InputError with every fault of both files
 */
export function openNightFiles(mountPath: string, nightPath: string): NightFolder {
  const mount = readMountFile(mountPath);
  const acknowledged = new Acknowledged();
  /** What happened to the file since it was opened. */
  const remarks: Fault[] = [];
  let told = 0;
  let current = true;
  let stamp = stampOf(nightPath);
  let reading = readNightFile(nightPath, mount);
  /** Set when rows were entered again under another zero set or tube position than the latest one. */
  let resume = false;

  const say = (code: string, message: string, allowed: string, found?: string): void => {
    if (remarks.some((one) => one.message === message && one.found === (found && shown(found)))) return;
    remarks.push(fault(code, { file: nightPath }, message, allowed, found));
  };

  /** Reads the file as it is now; one that cannot be read as a night leaves the night as it was. */
  const read = (): InputError | null => {
    stamp = stampOf(nightPath);
    try {
      reading = readNightFile(nightPath, mount);
      current = true;
      return null;
    } catch (problem) {
      if (!(problem instanceof InputError)) throw problem;
      current = false;
      return problem;
    }
  };

  /** The file's text; null where there is no text any more: it is gone, or a folder, or of another kind. */
  const textNow = (): string | null => {
    try {
      return readTextFile(nightPath, "night file");
    } catch (problem) {
      if (problem instanceof InputError) return null;
      throw problem;
    }
  };

  const writeAgain = ({ fields, sighting, line }: Acknowledgement): void => {
    const end = reading.night.sightings.at(-1);
    const others = (["zeroSet", "tubeSet"] as const).filter((label) => end && end[label] !== sighting[label]);
    const labels = Object.fromEntries(others.map((label) => [label, sighting[label] || EARLIER]));
    if (others.length > 0) resume = true;
    const what = `${sighting.star} at ${sighting.time}`;
    try {
      const { names, separator } = currentHeader(nightPath, fields, reading.header);
      const again = sightingLine({ ...fields, time: sighting.time, ...labels }, names, separator);
      appendLine(nightPath, again);
      say(
        "row-entered-again",
        `${what} was entered, and was no longer in the file. It was entered again.`,
        "to take a sighting back, withdraw it; its line stays in the file",
        again,
      );
    } catch (problem) {
      const reason = problem instanceof Error ? problem.message : String(problem);
      const message = `${what} was entered, is no longer in the file, and could not be entered again. ${reason}`;
      say("row-missing", message, "write the row into the file, or enter the sighting again", line);
    }
  };

  /** Holds the file against what was acknowledged, and enters again what is missing. */
  const settle = (): void => {
    for (let turn = 0; turn < MOST_TURNS; turn++) {
      const problem = read();
      if (problem !== null) {
        const code = "night-file-changed";
        const text = textNow();
        const what = `The night file was changed meanwhile and cannot be read as a whole any more: ${problem.message}`;
        if (text === null) {
          const allowed = "the night file in its place; write these lines into it";
          say(code, [what, "Entered earlier:", ...acknowledged.lines].join("\n"), allowed);
          return;
        }
        say(code, what, "a night file without faults; what was entered is safely in it");
        for (const one of acknowledged.missingLines(text)) writeAgain(one);
        return;
      }
      const { lost, revived, changed } = acknowledged.differences(reading.night.sightings);
      for (const change of changed) {
        acknowledged.accept(change);
        const { was, now } = change;
        const message = `Row ${now.row} was changed by hand after it was entered. It counts as it stands now.`;
        say("row-changed", message, "a change by hand is allowed; check it", was.line);
      }
      for (const one of lost) writeAgain(one);
      for (const sighting of revived) {
        const line = withdrawalLine(readTextFile(nightPath, "night file"), mount, sighting.row);
        if (line !== null) appendLine(nightPath, line);
        const message = `${sighting.star} at ${sighting.time} was withdrawn, and was in use again. It was withdrawn again.`;
        say("withdrawn-again", message, "to use the sighting, enter it again");
      }
      if (lost.length + revived.length === 0) return;
    }
  };

  const settleIfChanged = (): void => {
    if (stampOf(nightPath) !== stamp) settle();
  };

  const check = (fields: readonly SightingFields[]): void => {
    const faults: Fault[] = [];
    for (const [index, one] of fields.entries()) {
      try {
        const sighting = makeSighting(one, mount, index + 1);
        const { names, separator } = currentHeader(nightPath, one, reading.header);
        sightingLine({ ...one, time: sighting.time }, names, separator);
      } catch (problem) {
        if (!(problem instanceof InputError)) throw problem;
        for (const one of problem.faults) faults.push({ row: index + 1, ...one });
      }
    }
    if (faults.length > 0) throw new InputError(faults);
  };

  const appendAll = (all: readonly SightingFields[]): Sighting[] => {
    if (all.length === 0) return [];
    try {
      settleIfChanged();
    } catch (problem) {
      // A file that is none any more: reading its columns says so and gives the sighting back.
      if (!(problem instanceof InputError)) throw problem;
    }
    const last = acknowledged.latest?.sighting;
    const kept =
      resume && last ? { zeroSet: last.zeroSet || undefined, tubeSet: last.tubeSet || undefined } : {};
    const count = reading.night.sightings.length;
    const entries = all.map((fields, index) => {
      const given = { ...kept, ...fields } as SightingFields;
      const sighting = makeSighting(given, mount, count + index + 1);
      const { names, separator } = currentHeader(nightPath, given, reading.header, acknowledged.lines);
      // The moment as it was checked: a Date may change, and "now" goes on.
      return {
        fields: { ...given, time: sighting.time },
        sighting,
        line: sightingLine(given, names, separator),
      };
    });
    appendLines(
      nightPath,
      entries.map(({ line }) => line),
    );
    resume = false;
    for (const { fields, sighting, line } of entries) acknowledged.add(fields, sighting, line);
    settle();
    return entries.map((entry) => standing(entry));
  };

  /** The sighting as the file has it now. */
  const standing = ({ fields, sighting, line }: Omit<Acknowledgement, "withdrawn">): Sighting => {
    const there = reading.night.sightings.filter((one) => identity(one) === identity(sighting)).at(-1);
    if (there !== undefined) {
      acknowledged.add(fields, there, line);
      return there;
    }
    // The file cannot be read as a night, or an editor replaced it at every turn.
    if (
      !textNow()
        ?.split(/\r?\n|\r/)
        .includes(line)
    ) {
      // It is for the builder to enter it again, once: so it was not acknowledged.
      acknowledged.forget(sighting);
      const message = `The sighting is NOT in the night file: another program replaces the file (${nightPath}). Close it and enter the sighting again. The line was:\n${line}`;
      throw new JournalError("line-not-kept", message, line, nightPath);
    }
    reading = {
      ...reading,
      night: { ...reading.night, sightings: [...reading.night.sightings, sighting] },
    };
    return sighting;
  };

  const withdraw = (row?: number): Sighting => {
    settleIfChanged();
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
      const place = { file: nightPath, ...(row === undefined ? {} : { row }) };
      const allowed =
        sightings.length === 0
          ? "a night with sightings"
          : `a sighting in use, of rows 1 to ${sightings.length}`;
      const message = "There is no sighting in use to withdraw.";
      throw new InputError(fault("no-such-sighting", place, message, allowed));
    }
    appendLine(nightPath, line);
    acknowledged.withdraw(sighting);
    settle();
    const there = reading.night.sightings.find((one) => one.row === sighting.row);
    return there?.use === false ? there : { ...sighting, use: false };
  };

  const warnings = (): readonly Fault[] => [...reading.warnings, ...remarks];
  return {
    folder: dirname(nightPath),
    mountPath,
    nightPath,
    mount,
    get night() {
      settleIfChanged();
      return { ...reading.night, warnings: warnings() };
    },
    get warnings() {
      return warnings();
    },
    get current() {
      return current;
    },
    isWhole() {
      settleIfChanged();
      return current && acknowledged.differences(reading.night.sightings).lost.length === 0;
    },
    news() {
      const fresh = remarks.slice(told);
      told = remarks.length;
      return fresh;
    },
    check,
    append: (fields) => appendAll([fields])[0]!,
    appendAll,
    withdraw,
    reload: () => {
      settle();
      // What stands there now cannot be used: say so where the builder asked for it.
      reading = readNightFile(nightPath, mount);
      return { ...reading.night, warnings: warnings() };
    },
  };
}

/** An editor may put the file back again and again; so often what is missing is entered again at once. */
const MOST_TURNS = 5;
/** The label for rows entered again whose zeros or tube position had no label. */
const EARLIER = "earlier";

/** Changes with every change of the file, also where an editor puts another in its place. */
function stampOf(path: string): string {
  try {
    const { ino, size, mtimeNs, ctimeNs } = statSync(path, { bigint: true });
    return `${ino} ${size} ${mtimeNs} ${ctimeNs}`;
  } catch {
    return "none";
  }
}

/**
 * The file's columns as they are now, because it may have been edited since it was opened. Only the columns: a faulty row
 * elsewhere is no reason to lose a sighting, and where there are no columns the sighting is in the message.
 */
function currentHeader(
  path: string,
  fields: SightingFields,
  before: NightReading["header"],
  entered: readonly string[] = [],
): NightHeader {
  try {
    return readNightHeader(readTextFile(path, "night file"), path);
  } catch (problem) {
    if (!(problem instanceof InputError)) throw problem;
    const line = lineFor(fields, before);
    throw new JournalError(
      "no-night-file",
      `The sighting is NOT on the disk, because the night file cannot be used any more. ${problem.message}\n${entered.length === 0 ? "" : `\nEntered earlier:\n${entered.join("\n")}`}\nThe line was:\n${line}`,
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
