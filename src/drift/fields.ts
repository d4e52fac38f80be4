/**
 * One drift: what was seen of a star while the mount tracked and nobody touched it, checked in one place, whether it comes from a
 * file or from a call.
 */
import { ARCSECOND } from "../angles.js";
import { type Fault, shown } from "../errors.js";
import type { FaultList } from "../fault-list.js";
import { didYouMean } from "../mount/did-you-mean.js";
import type { Camera } from "../mount/mount.js";
import { tryFindStar, unknownStarFault } from "../sky/find-star.js";
import type { IcrsPosition } from "../sky/star.js";
import { readTime } from "../sky/time.js";

/** The columns of a drift file, in the order in which a new file has them. */
export const driftColumns = [
  "time",
  "star",
  "raDeg",
  "decDeg",
  "hourAngleDeg",
  "declinationDeg",
  "minutes",
  "driftNorthArcsec",
  "driftNorthPixels",
  "driftWestArcsec",
  "driftWestPixels",
  "uncertaintyArcsec",
  "note",
] as const;

/** A column of a drift file. */
export type DriftColumn = (typeof driftColumns)[number];

/** A drift as its columns' texts; a column that is left out or blank is not given. */
export type DriftTexts = Partial<Record<DriftColumn, string>>;

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

/** Where a drift stands, for its faults. */
export interface DriftPlace {
  readonly row: number;
  readonly line: number | null;
  readonly file?: string;
}

/** Where a fault is: in which drift. */
export function driftRow(row: number): Pick<Fault, "row" | "rowOf"> {
  return { row, rowOf: "drift" };
}

/**
 * Checks the texts of one drift.
 *
 * @param texts - the columns' texts
 * @param camera - turns pixels into arcseconds; null where the mount file has none
 * @param place - the row, its line and file, for the faults
 * @param faults - every fault found is added here
 * @returns the drift, or null when there was a fault
 */
export function readDrift(
  texts: DriftTexts,
  camera: Camera | null,
  place: DriftPlace,
  faults: FaultList,
): DriftObservation | null {
  const before = faults.count;
  const at = {
    ...(place.file === undefined ? {} : { file: place.file }),
    ...(place.line === null ? {} : { line: place.line }),
    ...driftRow(place.row),
  };
  const add = (column: DriftColumn | undefined, fault: Fault): void =>
    faults.add({ ...fault, ...at, ...(column === undefined ? {} : { column }) });
  const text = (column: DriftColumn): string => texts[column]?.trim() ?? "";
  const has = (column: DriftColumn): boolean => text(column) !== "";
  const number = (column: DriftColumn, allowed: string, fits: (value: number) => boolean): number | null => {
    const written = text(column).replace("−", "-");
    if (written === "") return null;
    const value = /^[+-]?(\d+\.?\d*|\.\d+)$/.test(written) ? Number(written) : Number.NaN;
    if (Number.isFinite(value) && fits(value)) return value;
    const isNumber = Number.isFinite(value);
    const comma = /^[+-]?\d*,\d+$/.test(written) ? " A comma stands in the number; write a point." : "";
    add(column, {
      code: isNumber ? "out-of-range" : "not-a-number",
      found: shown(text(column)),
      allowed,
      message: isNumber ? "This number is out of its range." : `This is not a number.${comma}`,
    });
    return null;
  };
  const missing = (column: DriftColumn, allowed: string, message: string): void =>
    add(column, { code: "missing-value", allowed, message });

  const minutes = number(
    "minutes",
    `minutes above 0, to ${LONGEST_MINUTES}`,
    (value) => value > 0 && value <= LONGEST_MINUTES,
  );
  if (!has("minutes"))
    missing("minutes", "how long the mount tracked, minutes", "There is no length of time.");

  // Where: a star or coordinates with a time, or an hour angle and a declination.
  const raDeg = number("raDeg", "decimal degrees from 0 to below 360", (value) => value >= 0 && value < 360);
  const decDeg = number("decDeg", "decimal degrees from -90 to 90", (value) => Math.abs(value) <= 90);
  const hourAngleDeg = number(
    "hourAngleDeg",
    "decimal degrees from -180 (east) to 180 (west)",
    (value) => Math.abs(value) <= 180,
  );
  const declinationDeg = number(
    "declinationDeg",
    "decimal degrees from -90 to 90",
    (value) => Math.abs(value) <= 90,
  );
  const ways = [
    has("star"),
    has("raDeg") || has("decDeg"),
    has("hourAngleDeg") || has("declinationDeg"),
  ].filter(Boolean).length;
  const PLACE = "a star, or raDeg and decDeg, or hourAngleDeg and declinationDeg";
  let position: IcrsPosition | null = null;
  let label = "";
  if (ways === 0) {
    missing("star", PLACE, "It is not said where the drift was seen.");
  } else if (ways > 1) {
    add("star", {
      code: "several-places",
      found: shown(
        (["star", "raDeg", "decDeg", "hourAngleDeg", "declinationDeg"] as const)
          .filter(has)
          .map((column) => `${column} ${text(column)}`)
          .join(", "),
      ),
      allowed: `one of them: ${PLACE}; put other names into note`,
      message: "The place is given in more than one way, and only one of them can count.",
    });
  } else if (has("star")) {
    const star = tryFindStar(text("star").slice(0, 200));
    if (star === undefined) add("star", unknownStarFault(text("star")));
    else {
      position = star;
      label = star.label;
    }
  } else if (has("raDeg") || has("decDeg")) {
    for (const column of ["raDeg", "decDeg"] as const) {
      if (!has(column))
        missing(column, "raDeg and decDeg together", "One of the two coordinates is missing.");
    }
    position = { raDeg: raDeg ?? 0, decDeg: decDeg ?? 0 };
    label = `RA ${signedText(raDeg ?? 0)} Dec ${signedText(decDeg ?? 0)}`;
  } else {
    for (const column of ["hourAngleDeg", "declinationDeg"] as const) {
      if (!has(column)) {
        missing(column, "hourAngleDeg and declinationDeg together", "One of the two angles is missing.");
      }
    }
    label = `at ${signedText(hourAngleDeg ?? 0)}, ${signedText(declinationDeg ?? 0)}`;
  }

  let timeMs: number | null = null;
  if (has("time")) {
    const time = readTime(text("time"));
    if (typeof time === "number") timeMs = time;
    else add("time", time);
  } else if (has("star") || has("raDeg")) {
    missing(
      "time",
      "when the star was set on the cross-wire, ISO 8601 with a zone, for instance 2026-03-14T19:22:10Z",
      "A star or coordinates need a time.",
    );
  }

  const pixelArcsec = camera === null ? null : camera.pixelUm / 1000 / camera.focalLengthMm / ARCSECOND;
  const drift = (way: "North" | "West"): number | null => {
    const inArcsec = `drift${way}Arcsec` as const;
    const inPixels = `drift${way}Pixels` as const;
    const arcsec = number(
      inArcsec,
      `arcseconds, ${way.toLowerCase()} positive, at most ${LARGEST_DRIFT_ARCSEC} either way`,
      (value) => Math.abs(value) <= LARGEST_DRIFT_ARCSEC,
    );
    const pixels = number(
      inPixels,
      `pixels, ${way.toLowerCase()} positive`,
      (value) => Math.abs(value) <= LARGEST_DRIFT_PX,
    );
    if (has(inArcsec) && has(inPixels)) {
      add(inPixels, {
        code: "two-units",
        found: shown(`${text(inArcsec)} arcseconds and ${text(inPixels)} pixels`),
        allowed: "arcseconds or pixels",
        message: "The drift is given in two units, and only one of them can count.",
      });
    } else if (pixels !== null && pixelArcsec === null) {
      add(inPixels, {
        code: "no-camera",
        found: shown(text(inPixels)),
        allowed: "arcseconds; or a camera in the mount file, with focalLengthMm and pixelUm",
        message: "The drift is in pixels, and the mount file has no camera.",
      });
    }
    if (pixels !== null && pixelArcsec !== null) return pixels * pixelArcsec;
    return arcsec;
  };
  const northArcsec = drift("North");
  const westArcsec = drift("West");
  if (
    !has("driftNorthArcsec") &&
    !has("driftNorthPixels") &&
    !has("driftWestArcsec") &&
    !has("driftWestPixels")
  ) {
    missing(
      "driftNorthArcsec",
      "driftNorthArcsec or driftNorthPixels: how far the star went, northward positive; 0 where it stayed",
      "There is no drift.",
    );
  }
  const uncertainty = number(
    "uncertaintyArcsec",
    "arcseconds above 0, to 3600",
    (value) => value > 0 && value <= 3600,
  );
  const inPixels = has("driftNorthPixels") || has("driftWestPixels");
  const note = text("note");
  if (note.length > LONGEST_NOTE) {
    add("note", {
      code: "text-too-long",
      found: shown(note),
      allowed: `at most ${LONGEST_NOTE} characters`,
      message: `This text has ${note.length} characters.`,
    });
  }
  if (faults.count > before) return null;
  return {
    row: place.row,
    line: place.line,
    label,
    timeMs: position === null ? null : timeMs,
    position,
    hourAngleDeg: position === null ? hourAngleDeg : null,
    declinationDeg: position === null ? declinationDeg : null,
    minutes: minutes!,
    northArcsec,
    westArcsec,
    uncertaintyArcsec:
      uncertainty ??
      (inPixels && pixelArcsec !== null
        ? DEFAULT_DRIFT_UNCERTAINTY_PX * pixelArcsec
        : DEFAULT_DRIFT_UNCERTAINTY_ARCSEC),
    note,
  };
}

/**
 * The texts of a drift that a program gives, as its row in a drift file has them.
 *
 * @param fields - the drift
 * @param place - for the faults
 * @param faults - `unknown-column` and `wrong-type` are added here
 */
export function driftTexts(fields: DriftFields, place: DriftPlace, faults: FaultList): DriftTexts {
  const texts: DriftTexts = {};
  for (const [key, value] of Object.entries(fields) as [string, unknown][]) {
    const column = driftColumns.find((name) => name === key);
    if (column === undefined) {
      faults.add({ ...unknownDriftColumn(key), ...driftRow(place.row) });
    } else if (typeof value === "string" || typeof value === "number") {
      // Without an exponent, which a file is not allowed either.
      texts[column] =
        typeof value === "number" && /e/.test(String(value)) ? value.toFixed(12) : String(value);
    } else if (value instanceof Date && column === "time") {
      texts[column] = Number.isNaN(value.getTime()) ? "an invalid Date" : value.toISOString();
    } else if (value !== undefined && value !== null) {
      faults.add({
        code: "wrong-type",
        ...driftRow(place.row),
        column,
        found: shown(value),
        allowed: "a text or a number",
        message: "This is of another kind.",
      });
    }
  }
  return texts;
}

/** The fault of a column that a drift file does not have. */
export function unknownDriftColumn(name: string): Fault {
  const near = didYouMean(name, driftColumns);
  return {
    code: "unknown-column",
    found: shown(name),
    allowed: driftColumns.join(", "),
    message: `A drift has no such column.${near === null ? "" : ` Did you mean ${near}?`}`,
  };
}

function signedText(degrees: number): string {
  return `${degrees < 0 ? "−" : "+"}${Number(Math.abs(degrees).toFixed(4))}°`;
}
