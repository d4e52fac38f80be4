/**
 * The file of turns as really made: one line for each adjuster turned in a round.
 *
 * Columns `round`, `adjuster`, `turns` (decimal or a fraction such as `1 1/8`), `direction`; optional `mm` (for what is
 * moved and not turned, and for the base, which has no screw) and `note`. RFC 4180, `#` comments, any column order.
 */
import { didYouMean } from "../mount/did-you-mean.js";
import type { Base } from "../mount/mount.js";
import { nameKey } from "../sky/name-key.js";
import { type Column, textColumn } from "../tables/column.js";
import { csvField } from "../tables/csv-lines.js";
import { readTable } from "../tables/read-table.js";
import { columnNames, type RowCells, type Table } from "../tables/table.js";
import { turnsFigure } from "./base-words.js";
import {
  AZIMUTH_BOLTS,
  adjusterNames,
  BASE_SLIDE,
  LOWER_BEARING,
  type TurnDirection,
  type TurnMade,
  type TurnsAsked,
  turnsOfAdvice,
} from "./turns-made.js";

/** One line of the file. */
export interface TurnedRow extends TurnMade {
  /** The round in which it was turned, counted from 1: after the first night's sightings is round 1. */
  readonly round: number;
  /** Line of the file, counted from 1; null when it did not come from a file. */
  readonly line: number | null;
  readonly note: string;
}

/** More than any screw on a base is ever turned, or any base slid, in one round. */
const MOST_TURNS = 200;
const MOST_MM = 5000;
const MOST_ROUNDS = 1000;
const LONGEST_NOTE = 2000;

const directions: Readonly<Record<string, TurnDirection>> = {
  clockwise: "clockwise",
  anticlockwise: "anticlockwise",
  counterclockwise: "anticlockwise",
  east: "east",
  west: "west",
  up: "up",
  down: "down",
};

interface OfBase {
  readonly base: Base;
}

function amountColumn(meaning: string, most: number, what: string, example: string): Column<number | null> {
  const allowed = `${what}, 0 to ${most}, with a decimal point and no sign: the direction says which way`;
  return {
    meaning,
    allowed,
    example,
    blank: null,
    decimal: true,
    read(text) {
      const value = numberOrFraction(text);
      if (value !== null && value <= most) return value;
      return () => ({
        code: "bad-amount",
        message: "The amount is not a number that can be used.",
        allowed,
      });
    },
  };
}

const ROUND = `a whole number from 1 to ${MOST_ROUNDS}`;

const columns = {
  round: {
    meaning: "after which night it was turned: 1 after the first",
    allowed: ROUND,
    example: "1",
    blank: 0,
    needed: "There is no round.",
    read(text) {
      const round = /^\d+$/.test(text) ? Number(text) : 0;
      if (round >= 1 && round <= MOST_ROUNDS) return round;
      return () => ({ code: "bad-round", message: "The round is not a round's number.", allowed: ROUND });
    },
  } as Column<number>,
  adjuster: {
    meaning: "what was turned or moved, by its name in the mount file",
    allowed: "an adjuster of the base, by its name in the mount file",
    example: "north-east",
    blank: "",
    needed: "There is no adjuster.",
    read(text, { base }) {
      const names = adjusterNames(base);
      const found =
        names.find((name) => name === text) ?? names.find((name) => nameKey(name) === nameKey(text));
      if (found !== undefined) return found;
      return () => {
        const meant = didYouMean(text, names);
        const message = `The base has no such adjuster.${meant === null ? "" : ` Did you mean ${meant}?`}`;
        return { code: "unknown-adjuster", message, allowed: names.join(", ") };
      };
    },
  } as Column<string, OfBase>,
  turns: amountColumn("how far", MOST_TURNS, "turns as a decimal or a fraction such as 1 1/8", "1 1/8"),
  direction: textColumn(
    {
      meaning: "which way: clockwise or anticlockwise seen from above; or up, down, east, west",
      example: "clockwise",
    },
    LONGEST_NOTE,
  ),
  mm: amountColumn("how far, for what has no screw, instead of turns", MOST_MM, "millimetres", "4.5"),
  note: textColumn({ meaning: "anything else", example: "stiff" }, LONGEST_NOTE),
};

/** The table of turns as really made. */
const turnedTable: Table<typeof columns, TurnedRow, OfBase> = {
  name: "file of turns",
  rowOf: "turn",
  columns,
  example: "round,adjuster,turns,direction",
  shortRows: true,
  lacks: (has) => [
    ...(["round", "adjuster", "direction"] as const).filter((name) => !has(name)),
    ...(has("turns") || has("mm") ? [] : ["turns"]),
  ],
  row: turnOf,
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
  return readTable(turnedTable, text, { base }, file === undefined ? {} : { file }).rows.map(
    ({ value }) => value,
  );
}

function turnOf(cells: RowCells<typeof columns, OfBase>): TurnedRow {
  const { values, place, context } = cells;
  const { round, adjuster, turns, mm, note } = values;
  const amounts = [cells.has("turns"), cells.has("mm")].filter(Boolean).length;
  if (amounts === 2) {
    const message = "The line gives both turns and millimetres.";
    cells.fault("mm", "turns-and-mm", message, "turns or mm, the other left empty");
  }
  if (amounts === 0) {
    cells.fault(
      "turns",
      "missing-amount",
      "The line says not how far.",
      "turns, or mm for what has no screw",
    );
  }
  const nothing = turns === 0 || mm === 0;
  const key = nameKey(values.direction);
  const direction = Object.hasOwn(directions, key) ? directions[key] : undefined;
  const ways = adjuster === "" ? [] : directionsOf(adjuster, mm !== null);
  const stays = nothing && ["", "none", "leave"].includes(key);
  const isEnd = adjuster === AZIMUTH_BOLTS || adjuster === BASE_SLIDE;
  if (adjuster !== "" && !stays && (direction === undefined || !ways.includes(direction))) {
    const meant = didYouMean(values.direction, ways);
    const message = `${adjuster} does not turn that way.${meant === null ? "" : ` Did you mean ${meant}?`}`;
    const end = isEnd ? " (the way that end of the base moved)" : "";
    cells.fault("direction", "bad-direction", message, `${ways.join(", ")}${end}`);
  }
  if (adjuster === BASE_SLIDE && cells.has("turns") && !nothing) {
    const message = "The base is slid, not turned.";
    cells.fault("turns", "base-has-no-screw", message, "how far it was slid, in the column mm");
  }
  const { lowerBearing } = context.base;
  if (adjuster === LOWER_BEARING && lowerBearing !== null && (turns ?? 0) > 0 && direction !== undefined) {
    const sideways = direction === "east" || direction === "west";
    const pitch = sideways ? "eastWestPitchMm" : "upDownPitchMm";
    if (lowerBearing[pitch] === null) {
      const message = "The mount file gives the lower bearing no screw that way.";
      cells.fault(
        "turns",
        "no-pitch",
        message,
        `millimetres in the column mm, or ${pitch} in the mount file`,
      );
    }
  }
  return {
    round,
    adjuster,
    turns: turns ?? 0,
    direction: direction ?? ways[0] ?? "up",
    mm: mm ?? (adjuster === BASE_SLIDE ? 0 : null),
    line: place.line,
    note,
  };
}

function directionsOf(adjuster: string, inMillimetres: boolean): TurnDirection[] {
  if (adjuster === AZIMUTH_BOLTS || adjuster === BASE_SLIDE) return ["east", "west"];
  if (adjuster === LOWER_BEARING) return ["east", "west", "up", "down"];
  return inMillimetres ? ["up", "down"] : ["clockwise", "anticlockwise", "up", "down"];
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
 */
export function turnsOfRound(rows: readonly TurnedRow[], round: number): TurnMade[] {
  return rows
    .filter((row) => row.round === round)
    .map(({ adjuster, turns, direction, mm }) => ({ adjuster, turns, direction, mm }));
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
  const lines = rows.map((row) =>
    [
      String(row.round),
      csvField(row.adjuster),
      row.mm === null ? exactTurns(row.turns) : "",
      row.direction,
      row.mm === null ? "" : String(row.mm),
      csvField(row.note),
    ].join(","),
  );
  return [columnNames(turnedTable).join(","), ...lines, ""].join("\n");
}

/** As a fraction where that is exact, else as the full decimal. */
function exactTurns(turns: number): string {
  const figure = turnsFigure(turns);
  return numberOrFraction(figure) === turns ? figure : String(turns);
}
