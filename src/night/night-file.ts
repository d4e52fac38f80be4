/**
 * The night file: read, every faulty row reported at once, nothing lost.
 *
 * The file is only ever added to. A sighting is taken back by a comment that repeats its row,
 *
 *     # withdrawn: 2026-03-14T19:22:10Z,Canopus,1877,-1460
 *
 * which any program that passes over comments can read, and which stays true when lines move. The sighting stays in
 * the list, out of use.
 */
import { type Fault, fault } from "../errors.js";
import type { Mount } from "../mount/mount.js";
import { tryFindStar } from "../sky/find-star.js";
import { readTime } from "../sky/time.js";
import { quotedRow, type Separator } from "../tables/csv-lines.js";
import {
  type Header,
  readTable,
  type TableReading,
  type TableRow,
  tableHeader,
} from "../tables/read-table.js";
import { rowPlace } from "../tables/table.js";
import type { Night } from "./night.js";
import type { Sighting } from "./sighting.js";
import { nightTable, type SightingColumn, sightingColumns } from "./sighting-fields.js";

/** What a night file holds. */
export interface NightReading {
  readonly night: Night;
  /** What the builder should know though the file can be used, in the order of its lines. */
  readonly warnings: readonly Fault[];
  /** The file's columns, in its order; an unnamed empty column is an empty string. */
  readonly header: readonly (SightingColumn | "")[];
}

/** A night file's columns and what separates them. */
export type NightHeader = Header<SightingColumn>;

/** Begins a comment that takes a sighting back; its row follows as it stands. */
const WITHDRAWN = "withdrawn:";

/**
 * Reads a night file.
 *
 * A label in `zeroSet` or `tubeSet` applies from its row on, until another one is given.
 *
 * @param text - the file's text: CSV (RFC 4180) with a header, `#` comments and blank lines passed over; semicolons or
 *   tabs separate the columns where the header shows them
 * @param mount - says how the axes are read
 * @param file - the file's name, for messages
 * @returns the night, warnings (`torn-line`, `last-line-without-end`, `repeated-row`, `missing-reading`,
 *   `withdrawal-without-sighting`) and the columns
 * @throws InputError with every fault by line, row and column; after fifty only their number
 * @example
 * ```ts
 * const { night } = readNight("time,star,hourAngle,declination\n2026-03-14T19:22:10Z,Canopus,1877,-1460\n", mount);
 * night.sightings[0]?.star // "Canopus"
 * ```
 */
export function readNight(text: string, mount: Mount, file?: string): NightReading {
  const at = file === undefined ? {} : { file };
  const { header, rows, remarks, warnings } = readRows(text, mount, file);
  const withdrawn = withdrawnSightings(rows, remarks, header.separator, ({ line, text: found }) => {
    const message = "A sighting is withdrawn that is not in the file.";
    const allowed = "the row of a sighting of this file, as it stands there";
    warnings.add(fault("withdrawal-without-sighting", { ...at, line }, message, allowed, found));
  });
  const sightings = inForce(
    rows.map((row) => row.value),
    withdrawn,
  );
  for (const warning of repeatedRowWarnings(sightings, at)) warnings.add(warning);
  for (const warning of singleReadingWarnings(sightings, at)) warnings.add(warning);
  const listed = [...warnings.listed(file)].sort((a, b) => (a.line ?? Infinity) - (b.line ?? Infinity));
  return { night: { mount, sightings, warnings: listed }, warnings: listed, header: header.names };
}

function readRows(
  text: string,
  mount: Mount,
  file?: string,
  keepTexts = false,
): TableReading<SightingColumn, Sighting> {
  const name = file === undefined ? {} : { file };
  return readTable(nightTable, text, { mount }, { ...name, remark: WITHDRAWN, keepTexts });
}

/**
 * The columns of a night file, read even when its rows have faults.
 *
 * @param text - the night file's text
 * @throws InputError when the file has no usable header
 */
export function readNightHeader(text: string, file?: string): NightHeader {
  return tableHeader(nightTable, text, file);
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
  const found = readRows(text, mount, undefined, true).rows.find(({ value }) => value.row === row);
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
    "# A label in zeroSet (the zeros were set again) or tubeSet (the tube was turned) applies from its row on.",
    "# Leave a reading blank where it was not taken. With both blank, group names the locked setting of the declination axis.",
    "# Columns may be left out or change places; time, hourAngle, declination and a star are needed.",
    columns.join(","),
    "",
  ].join("\n");
}

type Withdrawal = { readonly line: number; readonly text: string };

/** One cell by what it means: a moment, a number, an angle, a star, however they are spelt; else its letters. */
function cellKey(cell: string): string {
  const text = cell
    .trim()
    .replace(/\s+/g, " ")
    .replace(/[−‐‑‒–]/g, "-");
  if (text === "") return "";
  const time = readTime(text);
  if (typeof time === "number") return `time ${time}`;
  const number = Number(text.replace(/^([^.,]*\d),(\d+)$/, "$1.$2"));
  if (Number.isFinite(number)) return `number ${number}`;
  const angle = /^([+-]?)(\d+)\s*[:°h]\s*(\d+(?:\.\d*)?)(?:\s*[:′'m]\s*(\d+(?:\.\d*)?))?\s*[″"s′'m]?$/.exec(
    text,
  );
  if (angle !== null) {
    const size = Number(angle[2]) + Number(angle[3]) / 60 + Number(angle[4] ?? 0) / 3600;
    return `number ${Number(((angle[1] === "-" ? -1 : 1) * size).toFixed(9))}`;
  }
  return `star ${tryFindStar(text.slice(0, 100))?.label ?? text}`;
}

/** The cells of a row, as they compare. */
function cellKeys(fields: readonly string[]): Set<string> {
  return new Set(fields.map(cellKey).filter(Boolean));
}

/**
 * The sightings that the withdrawals take back. A withdrawal repeats a row; it takes the latest row above it that has all
 * of its cells, else the first one anywhere: so it stays true when the row was spelt otherwise since, put between quotation
 * marks, or given further cells. `lost` is told of a withdrawal that fits none.
 */
function withdrawnSightings(
  rows: readonly TableRow<Sighting>[],
  withdrawals: readonly Withdrawal[],
  separator: Separator,
  lost: (withdrawal: Withdrawal) => void,
): ReadonlySet<Sighting> {
  const withdrawn = new Set<Sighting>();
  if (withdrawals.length === 0) return withdrawn;
  const cellsOf = ({ text }: Withdrawal): readonly string[] => {
    const read = quotedRow(text, separator);
    return [...cellKeys(typeof read === "string" ? [text] : read)];
  };
  const told = withdrawals.map((withdrawal) => ({ withdrawal, cells: cellsOf(withdrawal) }));
  const byTime = new Map<string, { readonly row: TableRow<Sighting>; readonly keys: Set<string> }[]>();
  for (const { cells } of told) for (const cell of cells) byTime.set(cell, []);
  for (const row of rows) byTime.get(`time ${row.value.timeMs}`)?.push({ row, keys: cellKeys(row.fields) });
  for (const { withdrawal, cells } of told) {
    const time = cells.find((cell) => cell.startsWith("time "));
    const left = (byTime.get(time ?? "") ?? []).filter(
      ({ row, keys }) => !withdrawn.has(row.value) && cells.every((cell) => keys.has(cell)),
    );
    const found = left.filter(({ row }) => row.line < withdrawal.line).at(-1) ?? left[0];
    if (found === undefined) lost(withdrawal);
    else withdrawn.add(found.row.value);
  }
  return withdrawn;
}

type FileName = { readonly file?: string };

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
        withdrawn: true,
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
  const message =
    single.length === 1
      ? "This sighting has one reading only, and counts with that one."
      : `This sighting and ${single.length - 1} more have one reading only, and count with that one.`;
  const place = { ...rowPlace("sighting", { ...first, ...at }), column };
  yield fault("missing-reading", place, message, "both readings where both were taken");
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
      const message = `This is sighting ${first.row} again, and both are used.`;
      const allowed = "each sighting once; set use to no in one of them";
      const found = `${sighting.star}, ${sighting.time}`;
      yield fault("repeated-row", rowPlace("sighting", { ...sighting, ...at }), message, allowed, found);
    }
  }
}
