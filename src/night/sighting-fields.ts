/**
 * The fields of one sighting: from a row of the night file or from a call, checked in one place, and back to a row.
 */
import { type Fault, InputError, shown } from "../errors.js";
import { FaultList } from "../fault-list.js";
import { didYouMean } from "../mount/did-you-mean.js";
import type { AxisReadings, Mount } from "../mount/mount.js";
import { readingFromText } from "../mount/readings.js";
import { tryFindStar, unknownStarFault } from "../sky/find-star.js";
import { nameKey } from "../sky/name-key.js";
import type { IcrsPosition, Star } from "../sky/star.js";
import { readTime } from "../sky/time.js";
import { csvField } from "./csv-lines.js";
import type { Side, Sighting } from "./sighting.js";

/** The columns of the night file, in the order in which a new file has them. */
export const sightingColumns = [
  "time",
  "star",
  "raDeg",
  "decDeg",
  "hourAngle",
  "declination",
  "side",
  "hourAngleApproach",
  "declinationApproach",
  "zeroSet",
  "tubeSet",
  "group",
  "centringArcmin",
  "pressureHPa",
  "temperatureC",
  "use",
  "note",
] as const;

/** A column of the night file. */
export type SightingColumn = (typeof sightingColumns)[number];

/** A sighting as its columns' texts; a column that is left out or blank is not given. */
type SightingTexts = Partial<Record<SightingColumn, string>>;

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

/** Where a sighting stands, for its faults. */
export interface SightingPlace {
  readonly row: number;
  readonly line: number | null;
  readonly file?: string;
}

const LONGEST_LABEL = 60;
const LONGEST_NOTE = 2000;

/** Stars already looked up, by what was written. */
export type StarLookup = Map<string, Star | null>;

/**
 * Checks the texts of one sighting.
 *
 * @param textOf - a column's text; undefined or blank when it is not given
 * @param mount - says how the axes are read
 * @param place - the row, its line and file, for the faults
 * @param faults - every fault found is added here
 * @param stars - remembers the stars looked up; a fresh map will do
 * @returns the sighting, or null when there was a fault
 */
export function readSighting(
  textOf: (column: SightingColumn) => string | undefined,
  mount: Mount,
  place: SightingPlace,
  faults: FaultList,
  stars: StarLookup,
): Sighting | null {
  const before = faults.count;
  const add = (column: SightingColumn, fault: () => Fault): void =>
    faults.add(() => ({
      ...fault(),
      ...(place.file === undefined ? {} : { file: place.file }),
      ...(place.line === null ? {} : { line: place.line }),
      row: place.row,
      column,
    }));
  const text = (column: SightingColumn): string => textOf(column)?.trim() ?? "";

  const choice = <Value>(
    column: SightingColumn,
    choices: Readonly<Record<string, Value>>,
    otherwise: Value,
  ): Value => {
    const written = text(column).replace("−", "-").toLowerCase();
    if (written === "") return otherwise;
    if (Object.hasOwn(choices, written)) return choices[written]!;
    const words = Object.keys(choices);
    add(column, () => ({
      code: "unknown-choice",
      found: shown(text(column)),
      allowed: `${words.slice(0, 2).join(" or ")}, or nothing`,
      message: "This is none of the choices.",
    }));
    return otherwise;
  };

  const number = (
    column: SightingColumn,
    allowed: string,
    fits: (value: number) => boolean,
  ): number | null => {
    const written = text(column).replace("−", "-");
    if (written === "") return null;
    const value = /^[+-]?(\d+\.?\d*|\.\d+)$/.test(written) ? Number(written) : Number.NaN;
    if (Number.isFinite(value) && fits(value)) return value;
    add(column, () => ({
      code: Number.isFinite(value) ? "out-of-range" : "not-a-number",
      found: shown(text(column)),
      allowed,
      message: Number.isFinite(value) ? "This number is out of its range." : notANumber(written),
    }));
    return null;
  };

  const reading = (column: "hourAngle" | "declination", axis: AxisReadings): number | null => {
    if (text(column) === "") return null;
    try {
      return readingFromText(text(column), axis);
    } catch (problem) {
      if (!(problem instanceof InputError)) throw problem;
      for (const fault of problem.faults) add(column, () => fault);
      return 0;
    }
  };

  const label = (column: SightingColumn, longest: number): string => {
    const written = text(column);
    if (written.length > longest) {
      add(column, () => ({
        code: "text-too-long",
        found: shown(written),
        allowed: `at most ${longest} characters`,
        message: `This text has ${written.length} characters.`,
      }));
    }
    return written;
  };

  const timeText = text("time");
  let timeMs = 0;
  if (timeText === "") {
    add("time", () => ({
      code: "missing-value",
      allowed: "ISO 8601 with date, time and zone, for instance 2026-03-14T19:22:10Z",
      message: "There is no time.",
    }));
  } else {
    const time = readTime(timeText);
    if (typeof time === "number") timeMs = time;
    else add("time", () => time);
  }

  const starText = text("star");
  const raDeg = number("raDeg", "decimal degrees from 0 to below 360", (value) => value >= 0 && value < 360);
  const decDeg = number("decDeg", "decimal degrees from -90 to 90", (value) => Math.abs(value) <= 90);
  const hasRa = text("raDeg") !== "";
  const hasDec = text("decDeg") !== "";
  let star: Star | null = null;
  if (starText !== "" && (hasRa || hasDec)) {
    add("star", () => ({
      code: "star-and-coordinates",
      found: shown(starText),
      allowed: "a star, or raDeg and decDeg; put another name into note",
      message: "The sighting has both a star and coordinates, and only one of them can count.",
    }));
  } else if (starText !== "") {
    star = lookUp(starText, stars);
    if (star === null) add("star", () => unknownStarFault(starText));
  } else if (hasRa !== hasDec) {
    add(hasRa ? "decDeg" : "raDeg", () => ({
      code: "missing-value",
      allowed: "raDeg and decDeg together, decimal degrees, ICRS J2000.0",
      message: "One of the two coordinates is missing.",
    }));
  } else if (!hasRa) {
    add("star", () => ({
      code: "missing-value",
      allowed: "an IAU name, a Bayer designation or a HIP number; or raDeg and decDeg",
      message: "There is neither a star nor coordinates.",
    }));
  }
  if (text("hourAngle") === "" && text("declination") === "" && text("group") === "") {
    add("hourAngle", () => ({
      code: "missing-value",
      allowed:
        "the readings of both axes or of one; or a label in group where the declination axis was locked",
      message: "The row has no reading.",
    }));
  }
  const position: IcrsPosition = star ?? { raDeg: raDeg ?? 0, decDeg: decDeg ?? 0 };

  const sighting: Sighting = {
    row: place.row,
    line: place.line,
    time: timeText,
    timeMs,
    star: star?.label ?? coordinatesText(position),
    catalogueStar: star,
    position,
    hourAngle: reading("hourAngle", mount.readings.hourAngle),
    declination: reading("declination", mount.readings.declination),
    pressureHPa: number(
      "pressureHPa",
      "hectopascals at the telescope, 300 to 1100, or 0 for no air",
      (value) => value === 0 || (value >= 300 && value <= 1100),
    ),
    temperatureC: number(
      "temperatureC",
      "degrees Celsius from -80 to 60",
      (value) => value >= -80 && value <= 60,
    ),
    zeroSet: label("zeroSet", LONGEST_LABEL),
    tubeSet: label("tubeSet", LONGEST_LABEL),
    group: label("group", LONGEST_LABEL) || null,
    side: choice<Side>("side", { normal: "normal", beyond: "beyond" }, "normal"),
    hourAngleApproach: choice<1 | -1 | null>("hourAngleApproach", approaches, null),
    declinationApproach: choice<1 | -1 | null>("declinationApproach", approaches, null),
    centringArcmin: number(
      "centringArcmin",
      "arcminutes above 0, to 600",
      (value) => value > 0 && value <= 600,
    ),
    use: choice("use", { yes: true, no: false }, true),
    note: label("note", LONGEST_NOTE),
  };
  return faults.count === before ? sighting : null;
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
  const texts = sightingTexts(fields);
  const sighting = readSighting((column) => texts[column], mount, { row, line: null }, faults, new Map());
  faults.throwIfAny();
  return sighting!;
}

/**
 * The texts of a sighting that a program gives, as its row in the night file has them.
 *
 * @throws InputError `unknown-column` for a field that no sighting has, `wrong-type` for a value that is neither text
 *   nor number nor a truth value nor a Date
 */
function sightingTexts(fields: SightingFields): SightingTexts {
  const texts: SightingTexts = {};
  const faults = new FaultList();
  for (const [key, value] of Object.entries(fields) as [string, unknown][]) {
    const column = sightingColumns.find((name) => name === key);
    if (column === undefined) {
      faults.add(() => unknownColumnFault(key, (name) => name in fields));
      continue;
    }
    if (value === undefined || value === null) continue;
    const text = fieldText(column, value);
    if (text === null) {
      faults.add({
        code: "wrong-type",
        column,
        found: shown(value),
        allowed: "a text or a number",
        message: "This is of another kind.",
      });
    } else if (text !== "") texts[column] = text;
  }
  faults.throwIfAny();
  return texts;
}

/**
 * The line of the night file for a sighting, without the line's end.
 *
 * @param fields - the sighting; a Date is written in UTC
 * @param header - the file's columns, in its order; an unnamed column stays empty
 * @returns one line (RFC 4180); line breaks in a note become spaces
 * @throws InputError `column-missing` when the file has no column for something that is given
 * @example
 * ```ts
 * sightingLine({ time: "2026-03-14T19:22:10Z", star: "Canopus", hourAngle: 1877, declination: -1460 },
 *   ["time", "star", "hourAngle", "declination"]) // "2026-03-14T19:22:10Z,Canopus,1877,-1460"
 * ```
 */
export function sightingLine(fields: SightingFields, header: readonly (SightingColumn | "")[]): string {
  const texts = sightingTexts(fields);
  const faults = new FaultList();
  for (const column of Object.keys(texts) as SightingColumn[]) {
    if (header.includes(column)) continue;
    faults.add({
      code: "column-missing",
      column,
      found: shown(texts[column]),
      allowed: `one of the file's columns (${header.join(", ")}); or add ${column} to its header, and to its rows a comma for each`,
      message: `The night file has no column ${column} to write this in.`,
    });
  }
  faults.throwIfAny();
  return header.map((column) => (column === "" ? "" : csvField(texts[column] ?? ""))).join(",");
}

/** How builders shorten the readings' names; by their letters alone `Dec` is nearer to decDeg, the star's place. */
const shortNames: Readonly<Record<string, "hourAngle" | "declination">> = {
  dec: "declination",
  ha: "hourAngle",
  hour: "hourAngle",
};

/**
 * The fault of a column or field that does not exist.
 *
 * @param name - as written
 * @param given - whether a column is there; one that is not is the likelier meant
 */
export function unknownColumnFault(name: string, given: (column: SightingColumn) => boolean): Fault {
  const key = nameKey(name.slice(0, 20));
  const reading = Object.hasOwn(shortNames, key) ? shortNames[key]! : null;
  const near = reading !== null && !given(reading) ? reading : didYouMean(name, sightingColumns);
  return {
    code: "unknown-column",
    found: shown(name),
    allowed: sightingColumns.join(", "),
    message: `A sighting has no such column.${near === null ? "" : ` Did you mean ${near}?`}`,
  };
}

const approaches: Readonly<Record<string, 1 | -1>> = { "+": 1, "-": -1, "+1": 1, "1": 1, "-1": -1 };

function fieldText(column: SightingColumn, value: unknown): string | null {
  if (typeof value === "string") return value.trim();
  if (typeof value === "boolean") return column === "use" ? (value ? "yes" : "no") : null;
  if (value instanceof Date) {
    if (column !== "time") return null;
    return Number.isNaN(value.getTime()) ? "an invalid Date" : value.toISOString().replace(".000Z", "Z");
  }
  if (typeof value !== "number") return null;
  if (column.endsWith("Approach")) return value === 1 ? "+" : value === -1 ? "-" : String(value);
  return plainNumber(value);
}

/** A number without an exponent wherever figures can say it. */
function plainNumber(value: number): string {
  const text = String(value);
  return /e-/.test(text) ? value.toFixed(15).replace(/\.?0+$/, "") : text;
}

function lookUp(text: string, stars: StarLookup): Star | null {
  const known = stars.get(text);
  if (known !== undefined) return known;
  const star = tryFindStar(text.slice(0, 200)) ?? null;
  stars.set(text, star);
  return star;
}

function coordinatesText({ raDeg, decDeg }: IcrsPosition): string {
  return `RA ${raDeg.toFixed(4)}° Dec ${decDeg < 0 ? "−" : "+"}${Math.abs(decDeg).toFixed(4)}°`;
}

function notANumber(written: string): string {
  if (/^[+-]?[\d.]*,\d+$/.test(written)) return "A comma stands in the number; write a point.";
  if (/[:°hm′]/.test(written)) return "This is sexagesimal; write decimal degrees.";
  if (/^[+-]?[\d.]+e[+-]?\d+$/i.test(written))
    return "The number is shortened with an exponent; write it in full.";
  return "This is not a number.";
}
