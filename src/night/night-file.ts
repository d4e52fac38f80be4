/**
 * The night file: read, every faulty row reported at once, nothing lost.
 *
 * The file is only ever added to. A sighting is taken back by a comment that repeats its row,
 *
 *     # withdrawn: 2026-03-14T19:22:10Z,Canopus,1877,-1460
 *
 * which any program that passes over comments can read, and which stays true when lines move. The sighting stays in
 * the list, out of use. `# cut short:` marks that the line above it had no end when the next one was written: what
 * stands there is put aside if it is no whole row.
 */
import { type Fault, InputError, shown } from "../errors.js";
import { FaultList } from "../fault-list.js";
import type { Mount } from "../mount/mount.js";
import { readTime } from "../sky/time.js";
import { type CsvLine, csvLines, quotedRow } from "./csv-lines.js";
import { CUT_SHORT, WITHDRAWN } from "./file-marks.js";
import { columnFinder, headerColumns } from "./header-columns.js";
import type { Night } from "./night.js";
import type { Sighting } from "./sighting.js";
import {
  readSighting,
  type SightingColumn,
  type StarLookup,
  sightingColumns,
  unknownColumnFault,
} from "./sighting-fields.js";

/** What a night file holds. */
export interface NightReading {
  readonly night: Night;
  /** What the builder should know though the file can be used, in the order of its lines. */
  readonly warnings: readonly Fault[];
  /** The file's columns, in its order; an unnamed empty column is an empty string. */
  readonly header: readonly (SightingColumn | "")[];
}

// biome-ignore lint/suspicious/noControlCharactersInRegex: control characters are what is looked for
const CONTROL = /[\u0000-\u0008\u000e-\u001f]/;

/**
 * Reads a night file.
 *
 * A label in `zeroSet` or `tubeSet` holds from its row on, until another one is given.
 *
 * @param text - the file's text: CSV (RFC 4180) with a header, `#` comments and blank lines passed over
 * @param mount - says how the axes are read
 * @param file - the file's name, for messages
 * @returns the night, warnings (`torn-line`, `last-line-without-end`, `repeated-row`, `withdrawal-without-sighting`)
 *   and the columns
 * @throws InputError with every fault by line, row and column; after fifty only their number
 * @example
 * ```ts
 * const { night } = readNight("time,star,hourAngle,declination\n2026-03-14T19:22:10Z,Canopus,1877,-1460\n", mount);
 * night.sightings[0]?.star // "Canopus"
 * ```
 */
export function readNight(text: string, mount: Mount, file?: string): NightReading {
  const { rows, ...reading } = readRows(text, mount, file, false);
  return reading;
}

/** The same with the rows as they stand; their texts are kept where they are needed. */
function readRows(
  text: string,
  mount: Mount,
  file: string | undefined,
  keepTexts: boolean,
): NightReading & { readonly rows: readonly Row[] } {
  const at = file === undefined ? {} : { file };
  const faults = new FaultList();
  const warnings = new FaultList();
  const plain = text.replace(/^\uFEFF/, "");
  refuseOtherFiles(plain, at);

  let columns: Columns | null = null;
  const stars: StarLookup = new Map();
  const rows: Row[] = [];
  const withdrawals: Withdrawal[] = [];
  const keep = keepTexts || plain.includes(WITHDRAWN);
  let count = 0;
  let ownFaults = new FaultList();
  // Faults of the latest row wait for the next line, which may say that the row was cut short.
  let waiting: { readonly line: CsvLine; readonly faults: FaultList } | null = null;
  let latest: CsvLine | null = null;
  const settle = (isTorn: boolean): void => {
    if (waiting === null) return;
    if (isTorn) {
      warnings.add(tornLineWarning(waiting.line, at));
      count -= 1;
    } else for (const fault of waiting.faults.listed()) faults.add(fault);
    waiting = null;
  };

  for (const line of csvLines(plain, (pieces) => columns?.looksLikeRow(pieces) ?? false)) {
    if (line.comment !== null) {
      if (line.comment.startsWith(WITHDRAWN)) {
        withdrawals.push({ line: line.line, fields: fieldsOf(line.comment.slice(WITHDRAWN.length).trim()) });
      }
      if (line.comment.startsWith(CUT_SHORT)) {
        if (waiting === null && latest !== null) warnings.add(withoutEndWarning(latest, count, at));
        settle(true);
      }
      continue;
    }
    settle(false);
    latest = null;
    if (faults.hopeless) break;
    if (columns === null) {
      columns = readHeader(line, at, faults, CONTROL.test(plain));
      continue;
    }
    count += 1;
    const sighting = columns.readRow(line, count, mount, ownFaults, stars);
    if (ownFaults.count > 0) {
      waiting = { line, faults: ownFaults };
      ownFaults = new FaultList();
      if (!line.ended) settle(true);
    } else if (sighting !== null) {
      if (!line.ended) warnings.add(withoutEndWarning(line, count, at));
      latest = line;
      rows.push(
        keep ? { sighting, fields: line.fields, text: line.text } : { sighting, fields: [], text: "" },
      );
    }
  }
  settle(false);
  if (columns === null) {
    faults.add(noHeaderFault(at));
  }
  faults.throwIfAny(file);

  const withdrawn = withdrawnSightings(rows, withdrawals, ({ line, fields }) => {
    warnings.add({
      code: "withdrawal-without-sighting",
      ...at,
      line,
      found: shown(fields.join(",")),
      allowed: "the row of a sighting of this file, as it stands there",
      message: "A sighting is withdrawn that is not in the file.",
    });
  });
  const sightings = inForce(
    rows.map((row) => row.sighting),
    withdrawn,
  );
  for (const warning of repeatedRowWarnings(sightings, at)) warnings.add(warning);
  for (const warning of singleReadingWarnings(sightings, at)) warnings.add(warning);
  const listed = [...warnings.listed(file)].sort((a, b) => (a.line ?? Infinity) - (b.line ?? Infinity));
  return { night: { mount, sightings }, warnings: listed, header: columns?.header ?? [], rows };
}

/**
 * The columns of a night file, read even when its rows have faults.
 *
 * @param text - the night file's text
 * @throws InputError when the file has no usable header
 */
export function readNightHeader(text: string, file?: string): readonly (SightingColumn | "")[] {
  const at = file === undefined ? {} : { file };
  const plain = text.replace(/^\uFEFF/, "");
  refuseOtherFiles(plain, at);
  for (const line of csvLines(plain, () => true)) {
    if (line.comment === null) return readHeader(line, at, new FaultList(), false).header;
  }
  throw new InputError([noHeaderFault(at)]);
}

/**
 * The line that withdraws a sighting, to be added to the night file.
 *
 * @param text - the night file's text as it stands
 * @param mount - says how the axes are read
 * @param row - the sighting's row, counted from 1
 * @returns the line without its end, or null when there is no such row
 * @throws InputError when the night file has faults
 */
export function withdrawalLine(text: string, mount: Mount, row: number): string | null {
  const found = readRows(text, mount, undefined, true).rows.find(({ sighting }) => sighting.row === row);
  return found === undefined ? null : `# ${WITHDRAWN} ${found.text.replace(/\s*[\r\n]+\s*/g, " ")}`;
}

/**
 * The beginning of a new night file: its header, and comments on how to fill it in.
 *
 * @param columns - the columns, in order; all of them when left out
 */
export function nightFileStart(columns: readonly SightingColumn[] = sightingColumns): string {
  return [
    "# One sighting a line: the star centred, the time with its zone, the two readings as the mount file says.",
    "# Name a star in the column star, or give raDeg and decDeg (ICRS J2000.0) and leave star empty.",
    "# A label in zeroSet (the zeros were set anew) or tubeSet (the tube was turned) holds from its row on.",
    "# Leave a reading blank where it was not taken. With both blank, group names the locked setting of the declination axis.",
    "# Columns may be left out or change places; time, hourAngle, declination and a star are needed.",
    columns.join(","),
    "",
  ].join("\n");
}

const requiredColumns = ["time", "star", "hourAngle", "declination"] as const;

interface Row {
  readonly sighting: Sighting;
  /** As they stand in the file; kept only where they are needed, for a million rows are large. */
  readonly fields: readonly string[];
  readonly text: string;
}

interface Withdrawal {
  readonly line: number;
  readonly fields: readonly string[];
}

interface Columns {
  readonly header: readonly (SightingColumn | "")[];
  looksLikeRow(pieces: readonly string[]): boolean;
  readRow(line: CsvLine, row: number, mount: Mount, faults: FaultList, stars: StarLookup): Sighting | null;
}

type FileName = { readonly file?: string };

/** Files that are something else are refused with one sentence, before their lines give a thousand. */
function refuseOtherFiles(text: string, at: FileName): void {
  const refuse = (code: string, message: string, allowed: string): never => {
    throw new InputError([{ code, ...at, message, allowed }]);
  };
  if (text.trim() === "") {
    refuse(
      "empty-file",
      "The night file is empty.",
      `a header and a row for each sighting: ${requiredColumns.join(",")}`,
    );
  }
  const start = /^(?:[ \t]*(?:#.*)?\r?\n)*.*/.exec(text.slice(0, 20_000))?.[0] ?? "";
  // Further down, NULs may be what a power cut left of a row, and other control characters are faults of their rows.
  if (CONTROL.test(start) || text.startsWith("\uFFFD")) {
    refuse("not-text", "This is not a text file.", "CSV in UTF-8; from a spreadsheet, save as CSV (UTF-8)");
  }
  const header = start.slice(start.lastIndexOf("\n") + 1);
  if (!header.includes(",")) {
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
    if (/^\s*[{[<]/.test(header)) {
      refuse(
        "not-csv",
        "This is not a table of sightings.",
        `CSV with the columns ${requiredColumns.join(",")}`,
      );
    }
  }
}

const findColumn = columnFinder(sightingColumns);

function noHeaderFault(at: FileName): Fault {
  return {
    code: "no-header",
    ...at,
    allowed: `a first line with the columns, for instance ${requiredColumns.join(",")}`,
    message: "The night file has no header.",
  };
}

function readHeader(line: CsvLine, at: FileName, faults: FaultList, hasControl: boolean): Columns {
  const place = { ...at, line: line.line };
  const headerFaults: Fault[] = [];
  if (line.problem !== null) {
    headerFaults.push({
      code: "unreadable-row",
      ...place,
      found: shown(line.text),
      allowed: `the columns, for instance ${requiredColumns.join(",")}`,
      message: line.problem,
    });
  }
  const given = (column: SightingColumn): boolean => line.fields.some((name) => findColumn(name) === column);
  const { header, faults: nameFaults } = headerColumns(
    line.fields,
    findColumn,
    (name) => unknownColumnFault(name, given),
    place,
  );
  headerFaults.push(...nameFaults);
  // Pictures taken with the encoders off have a group and no readings.
  const required = header.includes("group")
    ? (["time"] as const)
    : (["time", "hourAngle", "declination"] as const);
  const missing: string[] = required.filter((column) => !header.includes(column));
  if (!header.includes("star") && !(header.includes("raDeg") && header.includes("decDeg"))) {
    missing.push("star (or raDeg and decDeg)");
  }
  if (line.problem === null && missing.length > 0) {
    headerFaults.push({
      code: "missing-column",
      ...place,
      found: shown(line.text),
      allowed: `a first line with at least time, hourAngle, declination and star (or raDeg and decDeg)`,
      message: `The header lacks ${missing.join(", ")}.`,
    });
  }
  for (const fault of headerFaults) faults.add(fault);
  // Rows are judged by their header; under a wrong one every row would seem wrong.
  if (headerFaults.length > 0) faults.throwIfAny(at.file);

  const indexes = new Map(header.map((column, index) => [column, index]));
  const unnamed = [...header.keys()].filter((index) => header[index] === "");
  const timeIndex = header.indexOf("time");
  const isLength = (fields: readonly string[]): boolean =>
    fields.length === header.length ||
    (fields.length > header.length && fields.slice(header.length).every((field) => field.trim() === ""));
  return {
    header,
    looksLikeRow: (pieces) => typeof readTime((pieces[timeIndex] ?? "").replaceAll('"', "")) === "number",
    readRow: (row, number, mount, rowFaults, stars) => {
      const rowPlace = () => ({ ...place, line: row.line, row: number });
      const problem =
        row.problem ?? (hasControl && CONTROL.test(row.text) ? "Control characters stand in the row." : null);
      if (problem !== null || !isLength(row.fields)) {
        rowFaults.add(() => ({
          code: problem === null ? "wrong-field-count" : "unreadable-row",
          ...rowPlace(),
          found: problem === null ? `${row.fields.length} fields` : shown(row.text),
          allowed: `${header.length} fields separated by commas, a field with a comma in it between quotation marks`,
          message: problem ?? fieldCountMessage(row.fields, header.length),
        }));
        return null;
      }
      for (const index of unnamed) {
        const field = row.fields[index]!;
        if (field.trim() === "") continue;
        rowFaults.add(() => ({
          code: "unnamed-column",
          ...rowPlace(),
          found: shown(field),
          allowed: "values under a column's name only",
          message: `Column ${index + 1} has no name in the header.`,
        }));
      }
      const textOf = (column: SightingColumn): string | undefined => row.fields[indexes.get(column) ?? -1];
      return readSighting(textOf, mount, { ...at, line: row.line, row: number }, rowFaults, stars);
    },
  };
}

function fieldCountMessage(fields: readonly string[], expected: number): string {
  if (fields.length < expected) return `The row has fewer fields than the header's ${expected}.`;
  const isDecimalComma = fields.some(
    (field, index) => /^\s*[-+−]?\d+$/.test(field) && /^\d+\s*$/.test(fields[index + 1] ?? ""),
  );
  return `The row has more fields than the header's ${expected}.${
    isDecimalComma ? " Is there a decimal comma, or a comma between thousands? Decimals take a point." : ""
  }`;
}

function tornLineWarning(line: CsvLine, at: FileName): Fault {
  return {
    code: "torn-line",
    ...at,
    line: line.line,
    found: shown(line.text),
    allowed: "a whole row; write the sighting again if you still know it",
    message: "This line was cut short while it was written, and is put aside.",
  };
}

function withoutEndWarning(line: CsvLine, row: number, at: FileName): Fault {
  return {
    code: "last-line-without-end",
    ...at,
    line: line.line,
    row,
    found: shown(line.text),
    allowed: "a line's end after every row; check that the last field is whole",
    message: "This line had no end when it was written; it is read as it stands.",
  };
}

function fieldsOf(text: string): readonly string[] {
  if (!text.includes('"')) return text.split(",");
  const read = quotedRow(text);
  return typeof read === "string" ? [text] : read;
}

/** Fields as they compare: blanks at the ends, kinds of blank and empty fields at the end do not count. */
function fieldsKey(fields: readonly string[]): string {
  return fields
    .map((field) => field.trim().replace(/\s+/g, " "))
    .join("\t")
    .trimEnd();
}

/**
 * The sightings that the withdrawals take back: for each the latest one above it with the same fields, else the first
 * one anywhere. `lost` is told of a withdrawal that fits none.
 */
function withdrawnSightings(
  rows: readonly Row[],
  withdrawals: readonly Withdrawal[],
  lost: (withdrawal: Withdrawal) => void,
): ReadonlySet<Sighting> {
  const withdrawn = new Set<Sighting>();
  if (withdrawals.length === 0) return withdrawn;
  const byFields = new Map<string, Sighting[]>();
  for (const { sighting, fields } of rows) {
    const key = fieldsKey(fields);
    const same = byFields.get(key);
    if (same === undefined) byFields.set(key, [sighting]);
    else same.push(sighting);
  }
  for (const withdrawal of withdrawals) {
    const left = (byFields.get(fieldsKey(withdrawal.fields)) ?? []).filter(
      (sighting) => !withdrawn.has(sighting),
    );
    const sighting = left.filter(({ line }) => (line ?? 0) < withdrawal.line).at(-1) ?? left[0];
    if (sighting === undefined) lost(withdrawal);
    else withdrawn.add(sighting);
  }
  return withdrawn;
}

/** The sightings with the labels in force and the withdrawn ones out of use. */
function inForce(sightings: readonly Sighting[], withdrawn: ReadonlySet<Sighting>): readonly Sighting[] {
  let zeroSet = "";
  let tubeSet = "";
  return sightings.map((sighting) => {
    if (withdrawn.has(sighting)) {
      const note = sighting.note === "" ? "withdrawn" : `withdrawn; ${sighting.note}`;
      return {
        ...sighting,
        use: false,
        note,
        zeroSet: sighting.zeroSet || zeroSet,
        tubeSet: sighting.tubeSet || tubeSet,
      };
    }
    zeroSet = sighting.zeroSet || zeroSet;
    tubeSet = sighting.tubeSet || tubeSet;
    return zeroSet === sighting.zeroSet && tubeSet === sighting.tubeSet
      ? sighting
      : { ...sighting, zeroSet, tubeSet };
  });
}

/** One warning for all: a forgotten reading should be noticed, a night with one encoder should not be shouted at. */
function* singleReadingWarnings(sightings: readonly Sighting[], at: FileName): Generator<Fault> {
  const single = sightings.filter(
    ({ use, group, hourAngle, declination }) =>
      use && group === null && (hourAngle === null || declination === null),
  );
  const first = single[0];
  if (first === undefined) return;
  const column = first.hourAngle === null ? "hourAngle" : "declination";
  yield {
    code: "missing-reading",
    ...at,
    ...(first.line === null ? {} : { line: first.line }),
    row: first.row,
    column,
    allowed: "both readings where both were taken",
    message:
      single.length === 1
        ? "This sighting has one reading only, and counts with that one."
        : `This sighting and ${single.length - 1} more have one reading only, and count with that one.`,
  };
}

/** The same sighting twice would count twice. */
function* repeatedRowWarnings(sightings: readonly Sighting[], at: FileName): Generator<Fault> {
  const byTime = new Map<number, Sighting>();
  for (const sighting of sightings) {
    if (!sighting.use) continue;
    const first = byTime.get(sighting.timeMs);
    if (first === undefined) byTime.set(sighting.timeMs, sighting);
    else if (
      first.star === sighting.star &&
      first.hourAngle === sighting.hourAngle &&
      first.declination === sighting.declination
    ) {
      yield {
        code: "repeated-row",
        ...at,
        ...(sighting.line === null ? {} : { line: sighting.line }),
        row: sighting.row,
        found: shown(`${sighting.star}, ${sighting.time}`),
        allowed: "each sighting once; set use to no in one of them",
        message: `This is sighting ${first.row} again, and both are used.`,
      };
    }
  }
}
