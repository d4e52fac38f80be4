/**
 * The columns of the night file, and how a row becomes a sighting: from a file or from a call, checked in one place.
 */
import { InputError } from "../errors.js";
import { FaultList } from "../fault-list.js";
import type { Mount } from "../mount/mount.js";
import { readingFromText } from "../mount/readings.js";
import { type Column, choiceColumn, numberColumn, textColumn } from "../tables/column.js";
import type { Separator } from "../tables/csv-lines.js";
import { coordinatesText, placeColumns, placeOf, timeColumn } from "../tables/sky-columns.js";
import { columnNames, type RowCells, readFields, rowLine, type Table } from "../tables/table.js";
import type { Side, Sighting } from "./sighting.js";

/** A sighting as a program gives it. */
export interface SightingFields {
  /** ISO 8601 with a zone, or a Date. */
  readonly time: string | Date;
  /** IAU name, Bayer designation or HIP number; or give `raDeg` and `decDeg`. */
  readonly star?: string;
  /** ICRS right ascension, J2000.0, degrees. */
  readonly raDeg?: number;
  /** ICRS declination, J2000.0, degrees. */
  readonly decDeg?: number;
  /** The reading in the unit of the mount file, or as text, for instance `"12h34m56s"`; left out where not read. */
  readonly hourAngle?: number | string | null;
  /** The reading in the unit of the mount file, or as text; left out where not read. */
  readonly declination?: number | string | null;
  /** Label of the setting in which the declination axis was locked; needed where neither axis was read. */
  readonly group?: string | null;
  /** The air at this sighting; as the mount file says when not given. */
  readonly pressureHPa?: number;
  readonly temperatureC?: number;
  readonly zeroSet?: string;
  readonly tubeSet?: string;
  readonly side?: Side;
  readonly hourAngleApproach?: 1 | -1 | "+" | "-";
  readonly declinationApproach?: 1 | -1 | "+" | "-";
  /** How well this star was centred, 1σ; as the mount file says when not given. */
  readonly centringArcmin?: number;
  readonly use?: boolean;
  readonly note?: string;
}

const LONGEST_LABEL = 60;
const LONGEST_NOTE = 2000;

/** Readings are read as the mount file says. */
export interface OfMount {
  readonly mount: Mount;
}

/** What an axis showed, in the mount file's unit; null where it was not read. */
export function readingColumn(
  axis: "hourAngle" | "declination",
  meaning: string,
): Column<number | null, OfMount> {
  return {
    meaning,
    unit: "as the mount file says",
    allowed: "the axis's reading as the mount file says, or nothing where it was not read",
    example: axis === "hourAngle" ? "1877" : "-1460",
    blank: null,
    decimal: true,
    read(text, { mount }) {
      try {
        return readingFromText(text, mount.readings[axis]);
      } catch (problem) {
        if (!(problem instanceof InputError)) throw problem;
        return () => problem.faults[0]!;
      }
    },
  };
}

function approachColumn(meaning: string): Column<1 | -1 | null> {
  const words: Readonly<Record<string, 1 | -1>> = { "+": 1, "-": -1, "+1": 1, "1": 1, "-1": -1 };
  return choiceColumn<1 | -1 | null, null>({ meaning, example: "+" }, words, null, (value) =>
    value === 1 ? "+" : value === -1 ? "-" : null,
  );
}

/** On which side of the mount the tube was. */
export const sideColumn = choiceColumn<Side, "normal">(
  { meaning: "on which side of the mount the tube was; beyond: turned over the pole", example: "beyond" },
  { normal: "normal", beyond: "beyond" },
  "normal",
);

const columns = {
  time: timeColumn<OfMount>(
    { meaning: "when the star was centred", needed: "There is no time." },
    ({ mount }) => mount.site.timeZone ?? null,
  ),
  ...placeColumns,
  hourAngle: readingColumn("hourAngle", "what the hour-angle axis showed"),
  declination: readingColumn("declination", "what the declination axis showed"),
  side: sideColumn,
  hourAngleApproach: approachColumn("from which side the hour-angle axis came: + while its angle grew"),
  declinationApproach: approachColumn("from which side the declination axis came: + while its angle grew"),
  zeroSet: textColumn(
    {
      meaning: "a label; from this row on the encoders' zeros are new",
      example: "second",
      carriesDown: true,
    },
    LONGEST_LABEL,
  ),
  tubeSet: textColumn(
    {
      meaning: "a label; from this row on the tube lies turned in its rings",
      example: "turned",
      carriesDown: true,
    },
    LONGEST_LABEL,
  ),
  group: textColumn(
    {
      meaning: "a label; in all rows that have it the declination axis was locked at one place",
      example: "a",
    },
    LONGEST_LABEL,
  ),
  centringArcmin: numberColumn(
    {
      meaning: "how well this star was centred, 1σ; as the mount file says where blank",
      unit: "arcminutes",
      allowed: "arcminutes above 0, to 600",
      example: "1.5",
    },
    (value) => value > 0 && value <= 600,
  ),
  pressureHPa: numberColumn(
    {
      meaning: "the air's pressure at this sighting; as the mount file says where blank",
      unit: "hectopascals",
      allowed: "hectopascals at the telescope, 300 to 1100, or 0 for no air",
      example: "911.5",
    },
    (value) => value === 0 || (value >= 300 && value <= 1100),
  ),
  temperatureC: numberColumn(
    {
      meaning: "the air's temperature at this sighting; as the mount file says where blank",
      unit: "degrees Celsius",
      allowed: "degrees Celsius from -80 to 60",
      example: "-3",
    },
    (value) => value >= -80 && value <= 60,
  ),
  use: choiceColumn<boolean, true>(
    { meaning: "no: the fit leaves this sighting out", example: "no" },
    { yes: true, no: false },
    true,
    (value) => (typeof value === "boolean" ? (value ? "yes" : "no") : null),
  ),
  note: textColumn({ meaning: "anything else", example: "thin cloud" }, LONGEST_NOTE),
};

/** A column of the night file. */
export type SightingColumn = keyof typeof columns;

/** The night file's table. */
export const nightTable: Table<typeof columns, Sighting, OfMount> = {
  name: "night file",
  rowOf: "sighting",
  columns,
  example: "time,star,hourAngle,declination",
  // By their letters alone `Dec` is nearer to decDeg, the star's place.
  nicknames: { dec: "declination", ha: "hourAngle", hour: "hourAngle" },
  isJournal: true,
  // Labels of withdrawn rows do not hold on.
  carriesItself: true,
  lacks: (has) => [
    ...(has("time") ? [] : ["time"]),
    // Pictures taken with the encoders off have a group and no readings.
    ...(["hourAngle", "declination"] as const).filter((axis) => !has(axis) && !has("group")),
    ...(has("star") || (has("raDeg") && has("decDeg")) ? [] : ["star (or raDeg and decDeg)"]),
  ],
  row: sightingOf,
};

/** The columns of the night file, in the order in which a new file has them. */
export const sightingColumns: readonly SightingColumn[] = columnNames(nightTable);

function sightingOf(cells: RowCells<typeof columns, OfMount>): Sighting {
  const { values, place } = cells;
  const { star, position } = placeOf(cells as unknown as RowCells<typeof placeColumns>);
  if (!cells.has("hourAngle") && !cells.has("declination") && !cells.has("group")) {
    cells.missing(
      "hourAngle",
      "The row has no reading.",
      "the readings of both axes or of one; or a label in group where the declination axis was locked",
    );
  }
  return {
    row: place.row,
    line: place.line,
    time: cells.text("time"),
    timeMs: values.time,
    star: star?.label ?? (position === null ? "" : coordinatesText(position)),
    catalogueStar: star,
    position: position ?? { raDeg: 0, decDeg: 0 },
    hourAngle: values.hourAngle,
    declination: values.declination,
    group: values.group || null,
    pressureHPa: values.pressureHPa,
    temperatureC: values.temperatureC,
    zeroSet: values.zeroSet,
    tubeSet: values.tubeSet,
    side: values.side,
    hourAngleApproach: values.hourAngleApproach,
    declinationApproach: values.declinationApproach,
    centringArcmin: values.centringArcmin,
    use: values.use,
    note: values.note,
  };
}

/**
 * Checks a sighting that a program gives.
 *
 * @param fields - the sighting; its time must be given
 * @param mount - says how the axes are read
 * @param row - counted from 1 at the first sighting of the night
 * @returns the sighting; labels are as given, nothing is taken over from the sighting before
 * @throws InputError with every fault
 * @example
 * ```ts
 * makeSighting({ time: "2026-03-14T19:22:10Z", star: "Canopus", hourAngle: 1877, declination: -1460 }, mount, 1)
 * ```
 */
export function makeSighting(fields: SightingFields, mount: Mount, row: number): Sighting {
  const faults = new FaultList();
  const sighting = readFields(nightTable, fields, row, { mount }, faults);
  faults.throwIfAny();
  return sighting!;
}

/**
 * The line of the night file for a sighting, without the line's end.
 *
 * @param fields - the sighting; a Date is written in UTC
 * @param header - the file's columns, in its order; an unnamed column stays empty
 * @param separator - what stands between the file's columns
 * @returns one line (RFC 4180); line breaks in a note become spaces
 * @throws InputError `column-missing` when the file has no column for something that is given
 * @example
 * ```ts
 * const canopus = { time: "2026-03-14T19:22:10Z", star: "Canopus", hourAngle: 1877, declination: -1460 };
 * sightingLine(canopus, ["time", "star", "hourAngle", "declination"]) // "2026-03-14T19:22:10Z,Canopus,1877,-1460"
 * ```
 */
export function sightingLine(
  fields: SightingFields,
  header: readonly (SightingColumn | "")[],
  separator?: Separator,
): string {
  return rowLine(nightTable, fields, header, separator);
}
