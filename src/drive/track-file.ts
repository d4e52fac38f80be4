/**
 * The track file: a star's course, a moment a line.
 */
import { ARCSECOND } from "../angles.js";
import { InputError } from "../errors.js";
import { FaultList } from "../fault-list.js";
import type { Mount } from "../mount/mount.js";
import { readingFromText } from "../mount/readings.js";
import { type Column, choiceColumn, numberColumn, textColumn } from "../tables/column.js";
import { readTable } from "../tables/read-table.js";
import { placeColumns, placeOf, timeColumn } from "../tables/sky-columns.js";
import { columnNames, type RowCells, readFields, type Table } from "../tables/table.js";
import type { TrackPoint } from "./drive-track.js";

/** One moment as a program gives it. */
export interface TrackFields {
  /** ISO 8601 with a zone, or a Date. */
  readonly time: string | Date;
  /** IAU name, Bayer designation or HIP number; or coordinates. */
  readonly star?: string;
  /** ICRS, J2000.0, degrees. */
  readonly raDeg?: number;
  readonly decDeg?: number;
  /** How far the star stands from where it was set, on the sky. */
  readonly westArcsec?: number;
  readonly northArcsec?: number;
  /** The same in pixels of the mount file's camera. */
  readonly westPixels?: number;
  readonly northPixels?: number;
  /** What the axes read, instead, in the mount file's units. */
  readonly hourAngle?: number | string;
  readonly declination?: number | string;
  readonly segment?: string;
  readonly uncertaintyArcsec?: number;
  readonly side?: "normal" | "beyond";
  readonly note?: string;
}

const LARGEST_ARCSEC = 36_000;
const LARGEST_PX = 100_000;

function wayColumn(unit: "arcseconds" | "pixels", way: "west" | "north") {
  const most = unit === "pixels" ? LARGEST_PX : LARGEST_ARCSEC;
  return numberColumn(
    {
      meaning: `how far ${way} the star stands of where it was set`,
      unit,
      allowed: `${unit}, ${way} positive, at most ${most} either way`,
      example: way === "west" ? "3.4" : "-1.2",
    },
    (value) => Math.abs(value) <= most,
  );
}

function readingColumn(axis: "hourAngle" | "declination"): Column<number | null, { readonly mount: Mount }> {
  return {
    meaning: `what the ${axis === "hourAngle" ? "hour-angle" : "declination"} axis reads while the drive follows`,
    allowed: "the axis's reading as the mount file says, or nothing where it was not read",
    example: "3121",
    blank: null,
    decimal: true,
    read(text, { mount }) {
      try {
        return readingFromText(text, mount.readings[axis]);
      } catch (problem) {
        if (!(problem instanceof InputError)) throw problem;
        const [first] = problem.faults;
        return () => ({ code: first!.code, message: first!.message, allowed: first!.allowed });
      }
    },
  };
}

const columns = {
  time: timeColumn({ meaning: "when", needed: "There is no time." }),
  star: { ...placeColumns.star, meaning: "the star that is followed", carriesDown: true },
  raDeg: { ...placeColumns.raDeg, carriesDown: true },
  decDeg: { ...placeColumns.decDeg, carriesDown: true },
  westArcsec: wayColumn("arcseconds", "west"),
  northArcsec: wayColumn("arcseconds", "north"),
  westPixels: wayColumn("pixels", "west"),
  northPixels: wayColumn("pixels", "north"),
  hourAngle: readingColumn("hourAngle"),
  declination: readingColumn("declination"),
  segment: {
    ...textColumn({ meaning: "a new label where the star was set again", example: "2" }, 60),
    carriesDown: true,
  },
  uncertaintyArcsec: {
    ...numberColumn(
      {
        meaning: "how well each way is known, 1σ",
        unit: "arcseconds",
        allowed: "arcseconds above 0, to 3600",
        example: "0.8",
      },
      (value) => value > 0 && value <= 3600,
    ),
    carriesDown: true,
  },
  side: {
    ...choiceColumn<"normal" | "beyond", "normal">(
      { meaning: "on which side the tube is; beyond: turned over the pole", example: "beyond" },
      { normal: "normal", beyond: "beyond" },
      "normal",
    ),
    carriesDown: true,
  },
  note: textColumn({ meaning: "anything else", example: "clouds" }, 2000),
};

type Cells = RowCells<typeof columns, { readonly mount: Mount }>;
type TrackTable = Table<typeof columns, TrackPoint, { readonly mount: Mount }>;

/** The track file's table. */
export const trackTable: TrackTable = {
  name: "track file",
  rowOf: "moment",
  columns,
  example: "time,star,westArcsec,northArcsec",
  mostRows: 200_000,
  lacks(has) {
    const isWay = WAYS.some(has);
    return [
      ...(has("time") ? [] : ["time"]),
      ...(has("star") || (has("raDeg") && has("decDeg")) ? [] : ["star (or raDeg and decDeg)"]),
      ...(isWay ? [] : ["westArcsec and northArcsec (or westPixels and northPixels, or both readings)"]),
    ];
  },
  row: pointOf,
};

const WAYS = ["westArcsec", "northArcsec", "westPixels", "northPixels", "hourAngle", "declination"] as const;

/** The names of the track file's columns. */
export const trackColumns = columnNames(trackTable);

function pointOf(cells: Cells): TrackPoint {
  const { values, place, context } = cells;
  const { star, position } = placeOf(cells as unknown as Parameters<typeof placeOf>[0]);
  const { camera } = context.mount;
  const pixelArcsec = camera === null ? null : camera.pixelUm / 1000 / camera.focalLengthMm / ARCSECOND;
  const westArcsec = along(cells, "west", pixelArcsec);
  const northArcsec = along(cells, "north", pixelArcsec);
  const hasReadings = cells.has("hourAngle") || cells.has("declination");
  const hasWay = westArcsec !== null || northArcsec !== null;
  if (hasReadings && hasWay) {
    const message = "The row has both readings and the star's way, and only one of them can count.";
    cells.fault("hourAngle", "readings-and-way", message, "the star's way, or the readings");
  } else if (!hasReadings && !WAYS.some((name) => cells.has(name))) {
    const allowed = "westArcsec and northArcsec, 0 where the star stands as it was set; or leave the row out";
    cells.missing("westArcsec", "It is not said where the star stands.", allowed);
  }
  return {
    row: place.row,
    line: place.line,
    timeMs: values.time,
    label: star?.label ?? coordinates(position?.raDeg ?? 0, position?.decDeg ?? 0),
    position: position ?? { raDeg: 0, decDeg: 0 },
    westArcsec,
    northArcsec,
    readings: hasReadings ? { hourAngle: values.hourAngle, declination: values.declination } : null,
    segment: values.segment,
    uncertaintyArcsec: values.uncertaintyArcsec,
    beyond: values.side === "beyond",
    note: values.note,
  };
}

function coordinates(raDeg: number, decDeg: number): string {
  return `RA ${Number(raDeg.toFixed(3))}°, Dec ${decDeg < 0 ? "−" : "+"}${Number(Math.abs(decDeg).toFixed(3))}°`;
}

/** How far the star stands one way, arcseconds; null where it was not seen. */
function along(cells: Cells, way: "west" | "north", pixelArcsec: number | null): number | null {
  const inArcsec = `${way}Arcsec` as const;
  const inPixels = `${way}Pixels` as const;
  if (cells.has(inArcsec) && cells.has(inPixels)) {
    const message = "The way is given in two units, and only one of them can count.";
    const found = `${cells.text(inArcsec)} arcseconds and ${cells.text(inPixels)} pixels`;
    cells.fault(inPixels, "two-units", message, "arcseconds or pixels", found);
  } else if (cells.has(inPixels) && pixelArcsec === null) {
    const message = "The way is in pixels, and the mount file has no camera.";
    const allowed = "arcseconds; or a camera in the mount file, with focalLengthMm and pixelUm";
    cells.fault(inPixels, "no-camera", message, allowed);
  }
  const pixels = cells.values[inPixels];
  return pixels !== null && pixelArcsec !== null ? pixels * pixelArcsec : cells.values[inArcsec];
}

/**
 * Reads a track file: CSV (RFC 4180, UTF-8) with a header, `#` comments and blank lines passed over.
 *
 * Columns, in any order: `time`; `star`, or `raDeg` and `decDeg` (carried down); `westArcsec` and `northArcsec` (how far the star
 * stands from where it was set, on the sky), or `westPixels` and `northPixels`, or `hourAngle` and `declination` (readings);
 * `segment` (the star was set again), `uncertaintyArcsec`, `side`, `note`.
 *
 * @param text - the file's text
 * @param mount - says what readings and pixels mean
 * @throws {@link InputError} with every fault by line, row and column
 * @example
 * ```ts
 * readTrack("time,star,westArcsec\n2026-03-14T20:00:00Z,Procyon,0\n2026-03-14T20:00:30Z,,1.2\n", mount).length // 2
 * ```
 */
export function readTrack(text: string, mount: Mount, file?: string): TrackPoint[] {
  const { rows } = readTable(trackTable, text, { mount }, file === undefined ? {} : { file });
  return rows.map(({ value }) => value);
}

/**
 * A course that a program gives, checked.
 *
 * @throws {@link InputError} with every fault of all moments
 */
export function makeTrack(fields: readonly TrackFields[], mount: Mount): TrackPoint[] {
  const faults = new FaultList();
  const points = fields.map((one, index) => readFields(trackTable, one, index + 1, { mount }, faults));
  faults.throwIfAny();
  return points.filter((point) => point !== null);
}
