/**
 * A pasted table: from a spreadsheet, a message or a page, with or without a header, whatever separates its columns.
 * What was understood can be shown before anything is written.
 */
import { type Fault, fault, InputError } from "../errors.js";
import type { Mount } from "../mount/mount.js";
import { formatReading } from "../mount/readings.js";
import { readNight } from "../night/night-file.js";
import type { Sighting } from "../night/sighting.js";
import { nightTable, type SightingColumn, type SightingFields } from "../night/sighting-fields.js";
import { nameKey } from "../sky/name-key.js";
import type { Separator } from "../tables/csv-lines.js";
import { columnNames } from "../tables/table.js";

/** A pasted table as it was understood. */
export interface PastedTable {
  readonly sightings: readonly Sighting[];
  /** Each sighting as its fields, to be entered. */
  readonly fields: readonly SightingFields[];
  readonly warnings: readonly Fault[];
  /** What was understood: the columns in their order, then a line for each sighting. */
  readonly preview: readonly string[];
}

const PASTED = "pasted table";
const names = columnNames(nightTable);
const separators: readonly (readonly [Separator, string])[] = [
  ["\t", "tabs"],
  [";", "semicolons"],
  [",", "commas"],
];

/**
 * Reads a pasted table as a whole.
 *
 * Columns are known by a header of the night file's names, in any order. Without a header they are known by what stands in
 * them: the times, the stars, and the two columns of readings that are left, the hour angle first.
 *
 * @param text - lines
 * @param mount - says how the axes are read
 * @throws InputError with every fault; `columns-unclear` where a table without a header does not show which column is which
 */
export function readPasted(text: string, mount: Mount): PastedTable {
  const lines = text.split(/\r?\n|\r/).filter((line) => line.trim() !== "");
  const rows = lines.filter((line) => !line.trim().startsWith("#"));
  if (rows.length === 0) {
    const allowed = `lines of ${nightTable.example}`;
    throw new InputError(fault("nothing-pasted", { file: PASTED }, "The table is empty.", allowed));
  }
  const hasHeader = separators.some(([mark]) =>
    rows[0]!.split(mark).some((name) => nameKey(name) === "time"),
  );
  const [separator, separatorName] = separatorOf(rows);
  const header = hasHeader
    ? null
    : evidentColumns(
        rows.map((row) => row.split(separator)),
        mount,
      );
  const whole = header === null ? lines : [header.join(separator), ...lines];
  const { night, warnings, header: columns } = readNight(`${whole.join("\n")}\n`, mount, PASTED);
  // A line of the message is the pasted line, without the header that was put before it.
  const { sightings } = night;
  return {
    sightings,
    fields: sightings.map(fieldsOf),
    warnings,
    preview: [
      `Understood, separated by ${separatorName}: ${columns.map((name) => name || "(nothing)").join(", ")}.`,
      ...sightings.map((sighting) => previewLine(sighting, mount)),
    ],
  };
}

/** What most lines have; a comma inside a number counts least. */
function separatorOf(rows: readonly string[]): readonly [Separator, string] {
  return separators.find(([mark]) => rows.every((row) => row.split(mark).length >= 3)) ?? separators[2]!;
}

/** The columns of a table without a header, by what stands in them. */
function evidentColumns(
  rows: readonly (readonly string[])[],
  mount: Mount,
): readonly (SightingColumn | "")[] {
  const width = Math.max(...rows.map((row) => row.length));
  const cells = Array.from({ length: width }, (_, column) =>
    rows.map((row) => (row[column] ?? "").trim().replace(/^"(.*)"$/, "$1")),
  );
  const header: (SightingColumn | "")[] = cells.map(() => "");
  const isAll = (column: number, name: SightingColumn): boolean => {
    const written = cells[column]!.filter(Boolean);
    const { read, decimal } = nightTable.columns[name];
    const readable = (text: string): boolean =>
      typeof read(decimal ? text.replace(/^([^.,]*\d),(\d[^.,]*)$/, "$1.$2") : text, { mount }) !==
      "function";
    return written.length > 0 && written.every(readable);
  };
  const take = (name: SightingColumn): void => {
    const column = header.findIndex((taken, index) => taken === "" && isAll(index, name));
    if (column >= 0) header[column] = name;
  };
  take("time");
  // A count is also a number of the catalogue: a star is looked for where letters stand.
  const star = header.findIndex(
    (taken, index) =>
      taken === "" && isAll(index, "star") && cells[index]!.some((text) => /\p{L}/u.test(text)),
  );
  if (star >= 0) header[star] = "star";
  take("hourAngle");
  take("declination");
  const left = header.findIndex((taken, index) => taken === "" && cells[index]!.some(Boolean));
  if (left >= 0 && header.includes("declination") && isAll(left, "note")) {
    const isNumber = isAll(left, "hourAngle") || isAll(left, "declination");
    if (!isNumber) header[left] = "note";
  }
  const unclear = header.some((name, index) => name === "" && cells[index]!.some(Boolean));
  const lacks = ["time", "star", "hourAngle", "declination"].filter(
    (name) => !header.includes(name as SightingColumn),
  );
  if (unclear || lacks.length > 0) {
    const why =
      lacks.length > 0
        ? `No column is clearly ${lacks.join(", ")}.`
        : "There are more columns of numbers than two readings.";
    const message = `The table has no header, and it does not show which column is which. ${why}`;
    const allowed = `a first line with the names of the columns, for instance ${nightTable.example}; names: ${names.join(", ")}`;
    throw new InputError(
      fault("columns-unclear", { file: PASTED, line: 1 }, message, allowed, rows[0]!.join(" | ")),
    );
  }
  return header;
}

function previewLine(sighting: Sighting, { readings }: Mount): string {
  const { row, time, star, hourAngle, declination, note } = sighting;
  const read = `hour angle ${formatReading(hourAngle, readings.hourAngle)}, declination ${formatReading(declination, readings.declination)}`;
  return `${row}. ${time}  ${star}  ${read}${note === "" ? "" : `  (${note})`}`;
}

/** A sighting as a program gives it. */
function fieldsOf(sighting: Sighting): SightingFields {
  const place =
    sighting.catalogueStar === null
      ? { raDeg: sighting.position.raDeg, decDeg: sighting.position.decDeg }
      : { star: sighting.star };
  const optional = {
    hourAngle: sighting.hourAngle,
    declination: sighting.declination,
    pressureHPa: sighting.pressureHPa,
    temperatureC: sighting.temperatureC,
    zeroSet: sighting.zeroSet || null,
    tubeSet: sighting.tubeSet || null,
    group: sighting.group,
    side: sighting.side === "normal" ? null : sighting.side,
    hourAngleApproach: sighting.hourAngleApproach,
    declinationApproach: sighting.declinationApproach,
    centringArcmin: sighting.centringArcmin,
    use: sighting.use ? null : false,
    note: sighting.note || null,
  };
  const given = Object.fromEntries(Object.entries(optional).filter(([, value]) => value !== null));
  return { time: sighting.time, ...place, ...given } as SightingFields;
}
