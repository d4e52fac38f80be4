/**
 * The track: where a tracked star stood against where it was set, moment by moment, while the drive followed.
 */
import { ARCSECOND } from "../angles.js";
import { FaultList } from "../fault-list.js";
import type { Mount } from "../mount/mount.js";
import { type OfMount, readingColumn, sideColumn } from "../night/sighting-fields.js";
import { type Column, numberColumn, textColumn } from "../tables/column.js";
import { readTable } from "../tables/read-table.js";
import { coordinatesText, placeColumns, placeOf, timeColumn } from "../tables/sky-columns.js";
import { type RowCells, readFields, type Table } from "../tables/table.js";
import type { TrackPoint } from "./drive-track.js";

const LARGEST_ARCSEC = 36_000;
const LARGEST_PX = 100_000;
const LONGEST_LABEL = 60;
const LONGEST_NOTE = 2000;
/** A picture a second for a whole night, and half as many again. */
const MOST_ROWS = 100_000;

/** A star or coordinates hold until others are given. */
const carried = <Value>(column: Column<Value>): Column<Value> => ({ ...column, carriesDown: "place" });

function shiftColumn(unit: "arcseconds" | "pixels", way: "west" | "north") {
  const most = unit === "arcseconds" ? LARGEST_ARCSEC : LARGEST_PX;
  return numberColumn(
    {
      meaning: `how far the star stands ${way} of where it was set${unit === "arcseconds" ? ", on the sky" : ""}`,
      unit,
      allowed: `${unit}, ${way} positive, at most ${most} either way`,
      example: "-3.2",
    },
    (value) => Math.abs(value) <= most,
  );
}

const columns = {
  time: timeColumn({ meaning: "when the star stood there", needed: "There is no time." }),
  star: carried(placeColumns.star),
  raDeg: carried(placeColumns.raDeg),
  decDeg: carried(placeColumns.decDeg),
  westArcsec: shiftColumn("arcseconds", "west"),
  northArcsec: shiftColumn("arcseconds", "north"),
  westPixels: shiftColumn("pixels", "west"),
  northPixels: shiftColumn("pixels", "north"),
  hourAngle: readingColumn("hourAngle", "what the hour-angle axis shows while the drive follows"),
  declination: readingColumn("declination", "what the declination axis shows while the drive follows"),
  segment: textColumn(
    {
      meaning: "a label; from this row on the star has been set again",
      example: "second",
      carriesDown: true,
    },
    LONGEST_LABEL,
  ),
  uncertaintyArcsec: numberColumn(
    {
      meaning: "how well this moment is known each way, 1σ",
      unit: "arcseconds",
      allowed: "arcseconds above 0, to 3600",
      example: "0.8",
    },
    (value) => value > 0 && value <= 3600,
  ),
  side: sideColumn,
  note: textColumn({ meaning: "anything else", example: "wind" }, LONGEST_NOTE),
};

const courses = [
  ["westArcsec", "northArcsec"],
  ["westPixels", "northPixels"],
  ["hourAngle", "declination"],
] as const;
const COURSE = "westArcsec and northArcsec, or westPixels and northPixels, or hourAngle and declination";

export const trackTable: Table<typeof columns, TrackPoint, OfMount> = {
  name: "track",
  rowOf: "moment",
  columns,
  example: "time,star,westArcsec,northArcsec",
  mostRows: MOST_ROWS,
  lacks: (has) => [
    ...(has("time") ? [] : ["time"]),
    ...(has("star") || (has("raDeg") && has("decDeg")) ? [] : ["star (or raDeg and decDeg)"]),
    ...(courses.some((pair) => pair.some(has)) ? [] : [COURSE]),
  ],
  row: pointOf,
};

/**
 * Reads a track.
 *
 * A star, or coordinates, and a label in `segment` hold from their row on, until others are given.
 *
 * @param text - the file's text: a header, rows, `#` comments
 * @param mount - its camera turns pixels into arcseconds; it says how the axes are read
 * @param file - the file's name, for messages
 * @returns the moments, in the order of the file
 * @throws InputError with every fault by line, row and column
 * @example
 * ```ts
 * readTrack("time,star,westArcsec,northArcsec\n2026-03-14T19:22:10Z,Canopus,3.2,-0.4\n", mount)[0].westArcsec // 3.2
 * ```
 */
export function readTrack(text: string, mount: Mount, file?: string): TrackPoint[] {
  const { rows } = readTable(trackTable, text, { mount }, file === undefined ? {} : { file });
  return rows.map(({ value }) => value);
}

/** A moment as a program gives it: the file's columns; a number, a text or a Date. */
export type TrackFields = Partial<Record<keyof typeof columns, string | number | Date>>;

/**
 * A course that a program gives, checked; each moment names its star.
 *
 * @throws InputError with every fault of all moments
 * @example
 * ```ts
 * makeTrack([{ time: "2026-03-14T19:22:10Z", star: "Canopus", westArcsec: 3.2, northArcsec: -0.4 }], mount)[0].westArcsec // 3.2
 * ```
 */
export function makeTrack(fields: readonly TrackFields[], mount: Mount): TrackPoint[] {
  const faults = new FaultList();
  const points = fields.map((one, index) => readFields(trackTable, one, index + 1, { mount }, faults));
  faults.throwIfAny();
  return points.filter((point) => point !== null);
}

function pointOf(cells: RowCells<typeof columns, OfMount>): TrackPoint {
  const { values, place, context } = cells;
  const { star, position } = placeOf(cells as unknown as RowCells<typeof placeColumns>);
  const given = courses.filter((pair) => pair.some((name) => cells.has(name)));
  if (given.length === 0) cells.missing("westArcsec", "It is not said where the star stood.", COURSE);
  if (given.length > 1) {
    const message = "The star's course is given in more than one way, and only one of them can count.";
    const found = given.map((pair) => pair.join(" and ")).join("; ");
    cells.fault(given[1]![0], "several-courses", message, COURSE, found);
  }
  const { camera } = context.mount;
  const inPixels = (["westPixels", "northPixels"] as const).find((name) => cells.has(name));
  if (inPixels !== undefined && camera === null) {
    const message = "The course is in pixels, and the mount file has no camera.";
    const allowed = "arcseconds; or a camera in the mount file, with focalLengthMm and pixelUm";
    cells.fault(inPixels, "no-camera", message, allowed);
  }
  const pixelArcsec = camera === null ? 0 : camera.pixelUm / 1000 / camera.focalLengthMm / ARCSECOND;
  const shift = (arcsec: number | null, pixels: number | null): number | null =>
    arcsec ?? (pixels === null ? null : pixels * pixelArcsec);
  const { hourAngle, declination } = values;
  return {
    row: place.row,
    line: place.line,
    timeMs: values.time,
    label: star?.label ?? (position === null ? "" : coordinatesText(position)),
    position: position ?? { raDeg: 0, decDeg: 0 },
    westArcsec: shift(values.westArcsec, values.westPixels),
    northArcsec: shift(values.northArcsec, values.northPixels),
    readings: hourAngle === null && declination === null ? null : { hourAngle, declination },
    segment: values.segment,
    uncertaintyArcsec: values.uncertaintyArcsec,
    beyond: values.side === "beyond",
    note: values.note,
  };
}
