/**
 * One drift: what was seen of a star while the mount tracked and nobody touched it, checked in one place, whether it comes from a
 * file or from a call.
 */
import { ARCSECOND } from "../angles.js";
import type { Fault } from "../errors.js";
import type { Camera } from "../mount/mount.js";
import type { Side } from "../night/sighting.js";
import type { IcrsPosition } from "../sky/star.js";
import { choiceColumn, numberColumn, textColumn } from "../tables/column.js";
import { placeColumns, timeColumn } from "../tables/sky-columns.js";
import { columnNames, type RowCells, type Table } from "../tables/table.js";

/** A drift as a program gives it. */
export interface DriftFields {
  /** When the star was set on the cross-wire: ISO 8601 with a zone, or a Date. Needed with a star or coordinates. */
  readonly time?: string | Date;
  /** IAU name, Bayer designation or HIP number. */
  readonly star?: string;
  /** ICRS right ascension, J2000.0, degrees, instead of a star. */
  readonly raDeg?: number;
  readonly decDeg?: number;
  /** Observed hour angle at the beginning, west positive, degrees, instead of a star and a time. */
  readonly hourAngleDeg?: number;
  readonly declinationDeg?: number;
  /** How long the mount tracked, minutes. */
  readonly minutes: number;
  /** How far the star went northward from where it was set, arcseconds. */
  readonly driftNorthArcsec?: number;
  /** The same in pixels of the mount file's camera. */
  readonly driftNorthPixels?: number;
  /** How far it went westward, where that was seen too. */
  readonly driftWestArcsec?: number;
  readonly driftWestPixels?: number;
  /** How well the drift is known, 1σ, arcseconds. */
  readonly uncertaintyArcsec?: number;
  /** Whether the tube was turned over the pole; as usual on the mount when not given. */
  readonly side?: Side;
  readonly note?: string;
}

/** A drift, checked. */
export interface DriftObservation {
  /** Counted from 1. */
  readonly row: number;
  /** Line of the file, counted from 1; null when it did not come from a file. */
  readonly line: number | null;
  /** The star's label, or the place as text. */
  readonly label: string;
  /** When the star was set; null where its hour angle is given instead. */
  readonly timeMs: number | null;
  /** Where it stands among the stars; null where its hour angle is given instead. */
  readonly position: IcrsPosition | null;
  /** Observed at the beginning, degrees; null where a star or coordinates are given. */
  readonly hourAngleDeg: number | null;
  readonly declinationDeg: number | null;
  readonly minutes: number;
  /** Northward, arcseconds; null where it was not seen. */
  readonly northArcsec: number | null;
  /** Westward, arcseconds; null where it was not seen. */
  readonly westArcsec: number | null;
  /** 1σ of both, arcseconds. */
  readonly uncertaintyArcsec: number;
  /** Null: as usual on the mount, a German one's eastern stars beyond the pole. */
  readonly side: Side | null;
  readonly note: string;
}

/** Taken where a drift by eye comes without an uncertainty, arcseconds (common practice: a cross-wire at high power). */
const DEFAULT_DRIFT_UNCERTAINTY_ARCSEC = 3;
/** Taken where a drift in pixels comes without one: a centroid at either end, and the seeing. */
const DEFAULT_DRIFT_UNCERTAINTY_PX = 1;

const LONGEST_MINUTES = 360;
const LARGEST_DRIFT_ARCSEC = 36_000;
const LARGEST_DRIFT_PX = 100_000;
const LONGEST_NOTE = 2000;

const within = (most: number) => (value: number) => Math.abs(value) <= most;

function driftColumn(unit: "arcseconds" | "pixels", way: "northward" | "westward") {
  const most = unit === "pixels" ? LARGEST_DRIFT_PX : LARGEST_DRIFT_ARCSEC;
  const allowed = `${unit}, ${way} positive, at most ${most} either way`;
  const meaning = `how far the star went ${way} from where it was set`;
  return numberColumn({ meaning, unit, allowed, example: "-12.5" }, within(most));
}

const columns = {
  time: timeColumn<OfCamera>(
    { meaning: "when the star was set on the cross-wire" },
    ({ timeZone }) => timeZone ?? null,
  ),
  ...placeColumns,
  hourAngleDeg: numberColumn(
    {
      meaning: "observed hour angle at the beginning, west positive, instead of a star and a time",
      unit: "degrees",
      allowed: "decimal degrees from -180 (east) to 180 (west)",
      example: "-75",
    },
    within(180),
  ),
  declinationDeg: numberColumn(
    {
      meaning: "observed declination, with hourAngleDeg",
      unit: "degrees",
      allowed: "decimal degrees from -90 to 90",
      example: "-10",
    },
    within(90),
  ),
  minutes: numberColumn(
    {
      meaning: "how long the mount tracked",
      unit: "minutes",
      allowed: `minutes above 0, to ${LONGEST_MINUTES}`,
      example: "10",
      needed: "There is no length of time.",
    },
    (value) => value > 0 && value <= LONGEST_MINUTES,
  ),
  driftNorthArcsec: driftColumn("arcseconds", "northward"),
  driftNorthPixels: driftColumn("pixels", "northward"),
  driftWestArcsec: driftColumn("arcseconds", "westward"),
  driftWestPixels: driftColumn("pixels", "westward"),
  uncertaintyArcsec: numberColumn(
    {
      meaning: "how well the drift is known, 1σ",
      unit: "arcseconds",
      allowed: "arcseconds above 0, to 3600",
      example: "2",
    },
    (value) => value > 0 && value <= 3600,
  ),
  side: choiceColumn<Side | null, null>(
    {
      meaning: "on which side of the mount the tube was; beyond: turned over the pole",
      example: "beyond",
    },
    { normal: "normal", beyond: "beyond" },
    null,
  ),
  note: textColumn({ meaning: "anything else", example: "by eye" }, LONGEST_NOTE),
};

interface OfCamera {
  /** Turns pixels into arcseconds; null where the mount file has none. */
  readonly camera: Camera | null;
  /** The zone of times that have none. */
  readonly timeZone?: string | null;
}

/** The drift file's table. */
export const driftTable: Table<typeof columns, DriftObservation, OfCamera> = {
  name: "drift file",
  rowOf: "drift",
  columns,
  example: "time,star,minutes,driftNorthArcsec",
  // An evening of drifts has a dozen; a longer file is one of another kind.
  mostRows: 10_000,
  lacks(has) {
    const isPlace = has("star") || (has("raDeg") && has("decDeg"));
    const isAngle = has("hourAngleDeg") && has("declinationDeg");
    return [
      ...(has("minutes") ? [] : ["minutes"]),
      ...(driftNames.some(has) ? [] : ["driftNorthArcsec (or driftNorthPixels)"]),
      ...(isPlace || isAngle ? [] : ["star (or raDeg and decDeg, or hourAngleDeg and declinationDeg)"]),
      ...(isPlace && !isAngle && !has("time") ? ["time"] : []),
    ];
  },
  row: driftOf,
};

const driftNames = columnNames(driftTable).filter((name) => name.startsWith("drift"));

/** Where a fault is: in which drift. */
export function driftRow(row: number): Pick<Fault, "row" | "rowOf"> {
  return { row, rowOf: "drift" };
}

type Cells = RowCells<typeof columns, OfCamera>;

function driftOf(cells: Cells): DriftObservation {
  const { values, place } = cells;
  const { label, position, isAngle } = whereOf(cells);
  if (!cells.has("time") && !isAngle && (cells.has("star") || cells.has("raDeg"))) {
    const allowed = `when the star was set on the cross-wire, ${columns.time.allowed}`;
    cells.missing("time", "A star or coordinates need a time.", allowed);
  }
  const { camera } = cells.context;
  const pixelArcsec = camera === null ? null : camera.pixelUm / 1000 / camera.focalLengthMm / ARCSECOND;
  const northArcsec = driftAlong(cells, "North", pixelArcsec);
  const westArcsec = driftAlong(cells, "West", pixelArcsec);
  if (!driftNames.some((name) => cells.has(name))) {
    cells.missing(
      "driftNorthArcsec",
      "There is no drift.",
      "driftNorthArcsec or driftNorthPixels: how far the star went, northward positive; 0 where it stayed",
    );
  }
  const inPixels = cells.has("driftNorthPixels") || cells.has("driftWestPixels");
  return {
    row: place.row,
    line: place.line,
    label,
    timeMs: isAngle ? null : values.time,
    position,
    hourAngleDeg: isAngle ? values.hourAngleDeg : null,
    declinationDeg: isAngle ? values.declinationDeg : null,
    minutes: values.minutes ?? 0,
    northArcsec,
    westArcsec,
    uncertaintyArcsec:
      values.uncertaintyArcsec ??
      (inPixels && pixelArcsec !== null
        ? DEFAULT_DRIFT_UNCERTAINTY_PX * pixelArcsec
        : DEFAULT_DRIFT_UNCERTAINTY_ARCSEC),
    side: values.side,
    note: values.note,
  };
}

const PLACE = "a star, or raDeg and decDeg, or hourAngleDeg and declinationDeg";

/** Where the drift was seen: a star or coordinates, or an hour angle and a declination. */
function whereOf(cells: Cells): {
  readonly label: string;
  readonly position: IcrsPosition | null;
  readonly isAngle: boolean;
} {
  const { star, raDeg, decDeg, hourAngleDeg, declinationDeg } = cells.values;
  const pairs = [
    ["raDeg", "decDeg", "One of the two coordinates is missing."],
    ["hourAngleDeg", "declinationDeg", "One of the two angles is missing."],
  ] as const;
  const given = pairs.filter(([one, other]) => cells.has(one) || cells.has(other));
  const ways = given.length + (cells.has("star") ? 1 : 0);
  if (ways === 0) cells.missing("star", "It is not said where the drift was seen.", PLACE);
  if (ways > 1) {
    const found = (["star", "raDeg", "decDeg", "hourAngleDeg", "declinationDeg"] as const)
      .filter((name) => cells.has(name))
      .map((name) => `${name} ${cells.text(name)}`)
      .join(", ");
    const message = "The place is given in more than one way, and only one of them can count.";
    cells.fault("star", "several-places", message, `one of them: ${PLACE}; put other names into note`, found);
  } else {
    for (const [one, other, message] of given) {
      for (const name of [one, other]) {
        if (!cells.has(name)) cells.missing(name, message, `${one} and ${other} together`);
      }
    }
  }
  if (star !== null) return { label: star.label, position: star, isAngle: false };
  const isAngle = cells.has("hourAngleDeg");
  return isAngle
    ? {
        label: `at ${signedText(hourAngleDeg ?? 0)}, ${signedText(declinationDeg ?? 0)}`,
        position: null,
        isAngle,
      }
    : {
        label: `RA ${signedText(raDeg ?? 0)} Dec ${signedText(decDeg ?? 0)}`,
        position: { raDeg: raDeg ?? 0, decDeg: decDeg ?? 0 },
        isAngle,
      };
}

/** The drift one way, arcseconds; null where it was not seen. */
function driftAlong(cells: Cells, way: "North" | "West", pixelArcsec: number | null): number | null {
  const inArcsec = `drift${way}Arcsec` as const;
  const inPixels = `drift${way}Pixels` as const;
  if (cells.has(inArcsec) && cells.has(inPixels)) {
    const message = "The drift is given in two units, and only one of them can count.";
    const found = `${cells.text(inArcsec)} arcseconds and ${cells.text(inPixels)} pixels`;
    cells.fault(inPixels, "two-units", message, "arcseconds or pixels", found);
  } else if (cells.has(inPixels) && pixelArcsec === null) {
    const message = "The drift is in pixels, and the mount file has no camera.";
    const allowed = "arcseconds; or a camera in the mount file, with focalLengthMm and pixelUm";
    cells.fault(inPixels, "no-camera", message, allowed);
  }
  const pixels = cells.values[inPixels];
  return pixels !== null && pixelArcsec !== null ? pixels * pixelArcsec : cells.values[inArcsec];
}

function signedText(degrees: number): string {
  return `${degrees < 0 ? "−" : "+"}${Number(Math.abs(degrees).toFixed(4))}°`;
}
