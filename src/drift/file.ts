/**
 * Drifts from a file or from calls: every fault at once.
 */
import { type Fault, InputError, shown } from "../errors.js";
import { FaultList } from "../fault-list.js";
import type { Camera } from "../mount/mount.js";
import { csvLines } from "../night/csv-lines.js";
import { columnFinder, headerColumns } from "../night/header-columns.js";
import {
  type DriftColumn,
  type DriftFields,
  type DriftObservation,
  type DriftTexts,
  driftColumns,
  driftRow,
  driftTexts,
  readDrift,
  unknownDriftColumn,
} from "./fields.js";

const findColumn = columnFinder(driftColumns);
const EXAMPLE = "time,star,minutes,driftNorthArcsec";
/** An evening of drifts has a dozen; this is a file of another kind. */
const MOST_DRIFTS = 10_000;

export interface DriftFileOptions {
  /** The file's name, for messages. */
  readonly file?: string;
  /** Turns pixels into arcseconds. */
  readonly camera?: Camera | null;
}

/**
 * Reads a drift file: CSV (RFC 4180, UTF-8) with a header, `#` comments and blank lines passed over.
 *
 * Columns, in any order: `minutes` and a drift (`driftNorthArcsec` or `driftNorthPixels`, also `…West…`); where it was
 * seen: `time` and `star`, or `time`, `raDeg` and `decDeg` (ICRS), or `hourAngleDeg` and `declinationDeg` (observed); and
 * `uncertaintyArcsec`, `note`.
 *
 * @param text - the file's text
 * @returns the drifts, in the order of the file
 * @throws {@link InputError} with every fault by line, row and column
 * @example
 * ```ts
 * readDrifts("hourAngleDeg,declinationDeg,minutes,driftNorthArcsec\n0,0,10,-52\n").length // 1
 * ```
 */
export function readDrifts(text: string, options: DriftFileOptions = {}): DriftObservation[] {
  const { file } = options;
  const at = file === undefined ? {} : { file };
  const faults = new FaultList();
  const plain = text.replace(/^\uFEFF/, "");
  refuseOtherFiles(plain, at);
  let header: (DriftColumn | "")[] | null = null;
  const drifts: DriftObservation[] = [];
  let row = 0;
  const isRow = (fields: readonly string[]): boolean => header !== null && fields.length === header.length;
  for (const line of csvLines(plain, isRow)) {
    if (line.comment !== null) continue;
    if (header === null) {
      header = readHeader(line.fields, line.text, line.problem, { ...at, line: line.line }, faults);
      faults.throwIfAny(file);
      continue;
    }
    row += 1;
    if (faults.hopeless || row > MOST_DRIFTS) break;
    const place = { ...at, line: line.line, ...driftRow(row) };
    const surplus = line.fields.slice(header.length).some((field) => field.trim() !== "");
    if (line.problem !== null || line.fields.length < header.length || surplus) {
      faults.add({
        code: line.problem === null ? "wrong-field-count" : "unreadable-row",
        ...place,
        found: line.problem === null ? `${line.fields.length} fields` : shown(line.text),
        allowed: `${header.length} fields separated by commas, a field with a comma in it between quotation marks`,
        message: line.problem ?? "The row has another number of fields than the header.",
      });
      continue;
    }
    const texts: DriftTexts = {};
    header.forEach((column, index) => {
      if (column !== "") texts[column] = line.fields[index] ?? "";
    });
    const drift = readDrift(texts, options.camera ?? null, { ...at, line: line.line, row }, faults);
    if (drift !== null) drifts.push(drift);
  }
  if (header === null) faults.add(noHeaderFault(at));
  else if (row > MOST_DRIFTS) {
    faults.add({
      code: "too-many-rows",
      ...at,
      allowed: `at most ${MOST_DRIFTS} drifts`,
      message: "There are more rows than anyone has timed.",
    });
  }
  faults.throwIfAny(file);
  return drifts;
}

/**
 * Drifts that a program gives, checked.
 *
 * @throws {@link InputError} with every fault of all of them
 * @example
 * ```ts
 * makeDrifts([{ hourAngleDeg: 0, declinationDeg: 0, minutes: 10, driftNorthArcsec: -52 }]);
 * ```
 */
export function makeDrifts(fields: readonly DriftFields[], camera: Camera | null = null): DriftObservation[] {
  const faults = new FaultList();
  const drifts: DriftObservation[] = [];
  fields.forEach((one, index) => {
    const place = { row: index + 1, line: null };
    const drift = readDrift(driftTexts(one, place, faults), camera, place, faults);
    if (drift !== null) drifts.push(drift);
  });
  faults.throwIfAny();
  return drifts;
}

/** The beginning of a new drift file: comments on how to fill it in, and its header. */
export function driftFileStart(columns: readonly DriftColumn[] = defaultColumns): string {
  return [
    "# One drift a line. Set a star on the cross-wire, note the time with its zone, let the mount track by itself for some",
    "# minutes, and write down how far the star has gone: northward positive, in arcseconds or in pixels of the camera.",
    "# Best are a star near the meridian and one five to six hours east or west of it, both high enough (20° and more).",
    columns.join(","),
    "",
  ].join("\n");
}

const defaultColumns: readonly DriftColumn[] = [
  "time",
  "star",
  "minutes",
  "driftNorthArcsec",
  "uncertaintyArcsec",
  "note",
];

type FileName = { readonly file?: string };

function noHeaderFault(at: FileName): Fault {
  return {
    code: "no-header",
    ...at,
    allowed: `a first line with the columns, for instance ${EXAMPLE}`,
    message: "The drift file has no header.",
  };
}

function refuseOtherFiles(text: string, at: FileName): void {
  const refuse = (code: string, message: string, allowed: string): never => {
    throw new InputError([{ code, ...at, message, allowed }]);
  };
  if (text.trim() === "") {
    refuse("empty-file", "The drift file is empty.", `a header and a row for each drift: ${EXAMPLE}`);
  }
  // biome-ignore lint/suspicious/noControlCharactersInRegex: control characters are what is looked for
  if (/[\u0000-\u0008\u000e-\u001f]/.test(text.slice(0, 2000)) || text.startsWith("\uFFFD")) {
    refuse("not-text", "This is not a text file.", "CSV in UTF-8; from a spreadsheet, save as CSV (UTF-8)");
  }
  const header = /^(?![ \t]*(?:#|\r?$)).*$/m.exec(text.slice(0, 20_000))?.[0] ?? "";
  if (header.includes(",")) return;
  for (const [mark, name] of [
    [";", "semicolons"],
    ["\t", "tabs"],
    ["|", "bars"],
  ] as const) {
    if (header.includes(mark)) {
      refuse(
        "wrong-separator",
        `The columns are separated by ${name}.`,
        "commas between columns and points in decimals; save the file so, or set the spreadsheet's region to one that does",
      );
    }
  }
}

function readHeader(
  fields: readonly string[],
  text: string,
  problem: string | null,
  place: FileName & { readonly line: number },
  faults: FaultList,
): (DriftColumn | "")[] {
  if (problem !== null) {
    faults.add({
      code: "unreadable-row",
      ...place,
      found: shown(text),
      allowed: `the columns, for instance ${EXAMPLE}`,
      message: problem,
    });
    return [];
  }
  const { header, faults: nameFaults } = headerColumns(fields, findColumn, unknownDriftColumn, place);
  for (const fault of nameFaults) faults.add(fault);
  const has = (column: DriftColumn): boolean => header.includes(column);
  const lacks: string[] = [];
  if (!has("minutes")) lacks.push("minutes");
  if (!driftColumns.some((column) => column.startsWith("drift") && has(column))) {
    lacks.push("driftNorthArcsec (or driftNorthPixels)");
  }
  if (!has("star") && !(has("raDeg") && has("decDeg")) && !(has("hourAngleDeg") && has("declinationDeg"))) {
    lacks.push("star (or raDeg and decDeg, or hourAngleDeg and declinationDeg)");
  } else if (!has("time") && !has("hourAngleDeg")) lacks.push("time");
  if (lacks.length > 0) {
    faults.add({
      code: "missing-column",
      ...place,
      found: shown(text),
      allowed: `a first line with at least minutes, a drift and a place, for instance ${EXAMPLE}`,
      message: `The header lacks ${lacks.join(", ")}.`,
    });
  }
  return header;
}
