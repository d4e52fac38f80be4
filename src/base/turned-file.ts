/**
 * The file of turns as really made: one line for each adjuster turned in a round.
 *
 * Columns `round`, `adjuster`, `turns` (decimal or a fraction such as `1 1/8`), `direction`; optional `mm` (for what is
 * moved and not turned, and for the base, which has no screw) and `note`. What was seen on a star instead of counted:
 * `star`, `time`, `starWest` and `starNorth`, how far the star moved in the field, arcminutes; the adjuster may then be
 * `jacks`, all of them together. `levelNorth` and `levelEast`: how the level changed over the round, millimetres per metre,
 * the north and the east side up positive. RFC 4180, `#` comments, any column order.
 */

import { parse } from "#csv-parser";
import { type Fault, InputError, shown } from "../errors.js";
import { FaultList } from "../fault-list.js";
import { didYouMean } from "../mount/did-you-mean.js";
import type { Base, Mount } from "../mount/mount.js";
import { tryFindStar } from "../sky/find-star.js";
import { readTime } from "../sky/time.js";
import type { TurnDirection, TurnMade } from "./adjusters/adjuster.js";
import { adjusterNames, adjustersOf } from "./adjusters/adjusters.js";
import { ALL_JACKS } from "./adjusters/jacks.js";
import { turnsFigure } from "./base-words.js";
import type { LevelReading } from "./rounds-result.js";
import { type StarMovement, starMoved } from "./star-movement.js";
import { type TurnsAsked, turnsOfAdvice } from "./turns-made.js";

/** One line of the file. */
export interface TurnedRow extends TurnMade {
  /** The round in which it was turned, counted from 1: after the first night's sightings is round 1. */
  readonly round: number;
  /** Line of the file, counted from 1; null when it did not come from a file. */
  readonly line: number | null;
  readonly note: string;
  /** How a star moved by it, where it was seen and not counted. */
  readonly moved?: StarMovement;
  /** How the level changed over the round, where this line says it. */
  readonly level?: LevelReading;
}

const columns = [
  "round",
  "adjuster",
  "turns",
  "direction",
  "mm",
  "note",
  "star",
  "time",
  "starWest",
  "starNorth",
  "levelNorth",
  "levelEast",
] as const;
type Column = (typeof columns)[number];
const neededColumns: readonly Column[] = ["round", "adjuster", "direction"];
/** More than any screw on a base is ever turned, or any base slid, in one round. */
const MOST_TURNS = 200;
const MOST_MM = 5000;
const MOST_ROUNDS = 1000;
/** A star moves no farther in a finder, arcminutes; a base is no farther out of level, millimetres per metre. */
const MOST_STAR_ARCMIN = 600;
const MOST_LEVEL = 200;

const directions: Readonly<Record<string, TurnDirection>> = {
  clockwise: "clockwise",
  anticlockwise: "anticlockwise",
  counterclockwise: "anticlockwise",
  east: "east",
  west: "west",
  up: "up",
  down: "down",
};

/**
 * Reads a file of turns as really made.
 *
 * @param text - the file's text
 * @param base - the base whose adjusters it names
 * @param file - the file's name, for messages
 * @returns the rows in the file's order; a line of zero turns is a row of zero turns
 * @throws InputError with every fault of the file: line, column, what was found, what is allowed
 * @example
 * ```ts
 * parseTurned("round,adjuster,turns,direction\n1,north-east,1 1/8,clockwise\n", base)[0].turns // 1.125
 * ```
 */
export function parseTurned(text: string, base: Base, file?: string): TurnedRow[] {
  const where = file === undefined ? {} : { file };
  const faults = new FaultList();
  let records: readonly { readonly record: readonly string[]; readonly info: { readonly lines: number } }[];
  try {
    records = parse(text, {
      bom: true,
      comment: "#",
      comment_no_infix: true,
      info: true,
      relax_column_count: true,
      skip_empty_lines: true,
      skip_records_with_empty_values: true,
      trim: true,
    }) as unknown as typeof records;
  } catch (error) {
    const line = (error as { lines?: unknown }).lines;
    throw new InputError([
      {
        code: "unreadable-csv",
        ...where,
        ...(typeof line === "number" ? { line } : {}),
        found: shown(error instanceof Error ? error.message : String(error)),
        allowed:
          "fields between commas, each quotation mark closed and followed by a comma or the line's end",
        message: "The file of turns cannot be read as comma-separated values.",
      },
    ]);
  }
  const [head, ...body] = records;
  if (head === undefined) {
    throw new InputError([
      {
        code: "empty-file",
        ...where,
        allowed: `a header line ${columns.join(",")} and a line for each adjuster turned`,
        message: "The file of turns is empty.",
      },
    ]);
  }
  const places = headerPlaces(head.record, head.info.lines, where, faults);
  faults.throwIfAny(file);
  const rows: TurnedRow[] = [];
  for (const { record, info } of body) {
    if (faults.hopeless) break;
    const row = readRow(record, info.lines, places, base, where, faults);
    if (row !== null) rows.push(row);
  }
  faults.throwIfAny(file);
  return rows;
}

/** What is compared: small letters and figures only, so that case, spaces and hyphens do not matter. */
function plainWord(word: string): string {
  return word.toLowerCase().replace(/[^\p{L}\p{N}]/gu, "");
}

type Where = { readonly file?: string };

function headerPlaces(
  head: readonly string[],
  line: number,
  where: Where,
  faults: FaultList,
): ReadonlyMap<Column, number> {
  const places = new Map<Column, number>();
  head.forEach((name, index) => {
    const column = columns.find((known) => plainWord(known) === plainWord(name));
    if (column === undefined) {
      const meant = didYouMean(name, columns);
      faults.add({
        code: "unknown-column",
        ...where,
        line,
        found: shown(name),
        allowed: columns.join(", "),
        message: `There is no such column.${meant === null ? "" : ` Did you mean ${meant}?`}`,
      });
    } else if (places.has(column)) {
      faults.add({
        code: "repeated-column",
        ...where,
        line,
        column,
        allowed: "each column once",
        message: "The column stands twice.",
      });
    } else places.set(column, index);
  });
  for (const column of neededColumns) {
    if (!places.has(column)) missing(column);
  }
  if (!["turns", "mm", "starWest"].some((column) => places.has(column as Column))) missing("turns");
  return places;

  function missing(column: Column): void {
    faults.add({
      code: "missing-column",
      ...where,
      line,
      column,
      allowed: `a header with ${columns.slice(0, 4).join(", ")} (and mm, note where needed)`,
      message: "The column is missing.",
    });
  }
}

function readRow(
  record: readonly string[],
  line: number,
  places: ReadonlyMap<Column, number>,
  base: Base,
  where: Where,
  faults: FaultList,
): TurnedRow | null {
  const cell = (column: Column): string => record[places.get(column) ?? -1] ?? "";
  let sound = true;
  const fault = (column: Column, code: string, allowed: string, message: string): void => {
    sound = false;
    const found: Fault = { code, ...where, line, column, found: shown(cell(column)), allowed, message };
    faults.add(found);
  };
  if (record.length > places.size) {
    faults.add({
      code: "too-many-fields",
      ...where,
      line,
      found: String(record.length),
      allowed: `${places.size} fields, as in the header; write decimals with a point, and put a note with commas in quotation marks`,
      message: "The line has more fields than the header.",
    });
    return null;
  }
  const round = Number(cell("round"));
  if (!/^\d+$/.test(cell("round")) || round < 1 || round > MOST_ROUNDS) {
    fault(
      "round",
      "bad-round",
      `a whole number from 1 to ${MOST_ROUNDS}`,
      "The round is not a round's number.",
    );
  }
  const moved = starMovement();
  const level = levelReading();
  const names = [
    ...adjusterNames(base),
    ...(moved !== undefined && base.jacks.length > 0 ? [ALL_JACKS] : []),
  ];
  const adjuster =
    names.find((name) => name === cell("adjuster")) ??
    names.find((name) => plainWord(name) === plainWord(cell("adjuster")));
  if (adjuster === undefined) {
    const meant = didYouMean(cell("adjuster"), names);
    fault(
      "adjuster",
      "unknown-adjuster",
      names.join(", "),
      `The base has no such adjuster.${meant === null ? "" : ` Did you mean ${meant}?`}`,
    );
  }
  const turns = amount("turns", MOST_TURNS, "turns as a decimal or a fraction such as 1 1/8");
  const mm = amount("mm", MOST_MM, "millimetres");
  if (cell("turns") !== "" && cell("mm") !== "") {
    fault(
      "mm",
      "turns-and-mm",
      "turns or mm, the other left empty",
      "The line gives both turns and millimetres.",
    );
  }
  if (cell("turns") === "" && cell("mm") === "" && moved === undefined) {
    fault(
      "turns",
      "missing-amount",
      "turns, mm for what has no screw, or how a star moved",
      "The line does not say how far.",
    );
  }
  if (moved !== undefined && (cell("turns") !== "" || cell("mm") !== "")) {
    fault(
      "starWest",
      "counted-and-seen",
      "what was counted or what a star showed, not both",
      "The line gives turns and a star's movement.",
    );
  }
  const nothing = turns === 0 || mm === 0;
  const direction = directions[plainWord(cell("direction"))];
  const own = adjustersOf(base, 45).find(({ names: known }) => known.some((name) => name === adjuster));
  const allowed = own?.directions(mm !== null) ?? [];
  const stays =
    (nothing || moved !== undefined) && ["", "none", "leave"].includes(cell("direction").toLowerCase());
  if (adjuster !== undefined && !stays && (direction === undefined || !allowed.includes(direction))) {
    const meant = didYouMean(cell("direction"), allowed);
    fault(
      "direction",
      "bad-direction",
      `${allowed.join(", ")}${allowed.length === 2 && allowed[0] === "east" ? " (the way that end of the base moved)" : ""}`,
      `${adjuster} does not turn that way.${meant === null ? "" : ` Did you mean ${meant}?`}`,
    );
  }
  const way = own?.ways.find(
    ({ byJacks, directions: both }) => !byJacks && direction !== undefined && both.includes(direction),
  );
  if (way?.pitchMm === null && turns !== null && !nothing) {
    fault(
      "turns",
      own?.ways.every(({ pitchMm }) => pitchMm === null) ? "base-has-no-screw" : "no-pitch",
      "how far it was moved, millimetres, in the column mm; or its pitch in the mount file",
      `The mount file gives ${adjuster} no screw that way.`,
    );
  }
  if (!sound || adjuster === undefined) return null;
  return {
    round,
    adjuster,
    turns: turns ?? 0,
    direction: direction ?? allowed[0] ?? "up",
    mm: mm ?? (way?.pitchMm === null || own?.ways.every(({ pitchMm }) => pitchMm === null) ? 0 : null),
    line,
    note: cell("note"),
    ...(moved === undefined ? {} : { moved }),
    ...(level === undefined ? {} : { level }),
  };

  /** A signed number of a column; null where the cell is empty, which must not be. */
  function signed(column: Column, most: number, unit: string): number | null {
    const written = cell(column).replace("\u2212", "-");
    const value = /^[+-]?(\d+(\.\d*)?|\.\d+)$/.test(written) ? Number(written) : Number.NaN;
    if (Math.abs(value) <= most) return value;
    fault(
      column,
      "bad-amount",
      `a number from −${most} to ${most}, ${unit}`,
      "This is not a number that can be used.",
    );
    return null;
  }

  function levelReading(): LevelReading | undefined {
    if (cell("levelNorth") === "" && cell("levelEast") === "") return undefined;
    const unit = "millimetres per metre, both columns";
    const north = signed("levelNorth", MOST_LEVEL, unit);
    const east = signed("levelEast", MOST_LEVEL, unit);
    return north === null || east === null ? undefined : { north, east };
  }

  function starMovement(): StarMovement | undefined {
    if (cell("starWest") === "" && cell("starNorth") === "") return undefined;
    const unit = "arcminutes on the sky, both columns";
    const west = signed("starWest", MOST_STAR_ARCMIN, unit);
    const north = signed("starNorth", MOST_STAR_ARCMIN, unit);
    const star = tryFindStar(cell("star")) ?? null;
    if (star === null) {
      fault(
        "star",
        "unknown-star",
        "the star that was looked at, by its name or designation",
        "There is no such star.",
      );
    }
    const timeMs = readTime(cell("time"));
    if (typeof timeMs !== "number") {
      fault("time", timeMs.code, timeMs.allowed ?? "an ISO 8601 time with its zone", timeMs.message);
    }
    if (west === null || north === null || star === null || typeof timeMs !== "number") return undefined;
    return { star, timeMs, west, north };
  }

  function amount(column: "turns" | "mm", most: number, what: string): number | null {
    const written = cell(column);
    if (written === "") return null;
    const value = numberOrFraction(written);
    if (value === null || value > most) {
      fault(
        column,
        "bad-amount",
        `${what}, 0 to ${most}, with a decimal point and no sign: the direction says which way`,
        "The amount is not a number that can be used.",
      );
      return null;
    }
    return value;
  }
}

/** `1.125`, `9/8`, `1 1/8`; null for anything else. */
function numberOrFraction(written: string): number | null {
  if (/^(\d+(\.\d*)?|\.\d+)$/.test(written)) return Number(written);
  const match = /^(?:(\d+)[ +])?(\d+)\/(\d+)$/.exec(written);
  if (match === null || Number(match[3]) === 0) return null;
  return Number(match[1] ?? 0) + Number(match[2]) / Number(match[3]);
}

/**
 * The turns made in one round.
 *
 * @param rows - from {@link parseTurned}
 * @param round - counted from 1
 * @param mount - needed where a star showed what was turned
 */
export function turnsOfRound(rows: readonly TurnedRow[], round: number, mount?: Mount): TurnMade[] {
  return rows
    .filter((row) => row.round === round)
    .map(({ adjuster, turns, direction, mm, moved }) => ({
      adjuster,
      turns,
      direction,
      mm,
      ...(moved === undefined || mount === undefined ? {} : { seen: starMoved(mount, adjuster, moved) }),
    }));
}

/** How the level changed over a round; null where no line of it says so. */
export function levelOfRound(rows: readonly TurnedRow[], round: number): LevelReading | null {
  return rows.find((row) => row.round === round && row.level !== undefined)?.level ?? null;
}

/**
 * The rows that say an advice was followed to the letter: to be changed where it was not.
 *
 * @param advice - the advice
 * @param round - the round, counted from 1
 */
export function turnedRows(advice: TurnsAsked, round: number): TurnedRow[] {
  return turnsOfAdvice(advice).map((turn) => ({ ...turn, round, line: null, note: "" }));
}

/**
 * Writes rows as the file of turns that {@link rounds} reads.
 *
 * @param rows - the rows
 * @returns the file's text
 */
export function turnedFileText(rows: readonly TurnedRow[]): string {
  const quoted = (text: string): string =>
    /[",\r\n]|^\s|\s$|^#/.test(text) ? `"${text.replaceAll('"', '""')}"` : text;
  const lines = rows.map((row) =>
    [
      String(row.round),
      quoted(row.adjuster),
      row.mm === null ? exactTurns(row.turns) : "",
      row.direction,
      row.mm === null ? "" : String(row.mm),
      quoted(row.note),
    ].join(","),
  );
  return [columns.slice(0, 6).join(","), ...lines, ""].join("\n");
}

/** As a fraction where that is exact, else as the full decimal. */
function exactTurns(turns: number): string {
  const figure = turnsFigure(turns);
  return numberOrFraction(figure) === turns ? figure : String(turns);
}
