/**
 * The file of turns as really made: one line for each adjuster turned in a round.
 *
 * Columns `round`, `adjuster`, `turns` (decimal or a fraction such as `1 1/8`), `direction`; optional `mm` (for what is
 * moved and not turned, and for the base, which has no screw) and `note`. What was seen on a star instead of counted:
 * `star`, `time`, `starWest` and `starNorth`, how far the star moved in the field, arcminutes; the adjuster may then be
 * `jacks`, all of them together. `levelNorth` and `levelEast`: how the level changed over the round, millimetres per metre,
 * the north and the east side up positive.
 */
import { didYouMean } from "../mount/did-you-mean.js";
import type { Base, Mount } from "../mount/mount.js";
import { tryFindStar } from "../sky/find-star.js";
import { nameKey } from "../sky/name-key.js";
import type { Star } from "../sky/star.js";
import { readTime } from "../sky/time.js";
import { type Column, numberColumn, textColumn } from "../tables/column.js";
import { csvField } from "../tables/csv-lines.js";
import { readTable } from "../tables/read-table.js";
import { columnNames, type RowCells, type Table } from "../tables/table.js";
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

/** More than any screw on a base is ever turned, or any base slid, in one round. */
const MOST_TURNS = 200;
const MOST_MM = 5000;
const MOST_ROUNDS = 1000;
const LONGEST_NOTE = 2000;
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

function signedColumn(meaning: string, unit: string, most: number): Column<number | null> {
  const allowed = `a number from −${most} to ${most}, ${unit}`;
  return numberColumn({ meaning, unit, example: "2.5", allowed }, (value) => Math.abs(value) <= most);
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
      const names = base.jacks.length > 0 ? [...adjusterNames(base), ALL_JACKS] : adjusterNames(base);
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
  star: {
    meaning: "what was looked at, where turns were seen and not counted",
    allowed: "a star, by its name or designation",
    example: "Canopus",
    blank: null,
    read(text) {
      const star = tryFindStar(text);
      if (star !== undefined) return star;
      const allowed = "a star, by its name or designation";
      return () => ({ code: "unknown-star", message: "There is no such star.", allowed });
    },
  } as Column<Star | null>,
  time: {
    meaning: "when it was looked at",
    allowed: "a time in ISO 8601 with its zone",
    example: "2026-03-14T22:10:00Z",
    blank: null,
    read(text) {
      const time = readTime(text);
      return typeof time === "number" ? time : () => time;
    },
  } as Column<number | null>,
  starWest: signedColumn("how far the star moved west in the field", "arcminutes", MOST_STAR_ARCMIN),
  starNorth: signedColumn("how far the star moved north in the field", "arcminutes", MOST_STAR_ARCMIN),
  levelNorth: signedColumn(
    "how the level changed over the round, the north side up positive",
    "mm per metre",
    MOST_LEVEL,
  ),
  levelEast: signedColumn(
    "how the level changed over the round, the east side up positive",
    "mm per metre",
    MOST_LEVEL,
  ),
};

/** The table of turns as really made. */
export const turnedTable: Table<typeof columns, TurnedRow, OfBase> = {
  name: "file of turns",
  rowOf: "turn",
  columns,
  example: "round,adjuster,turns,direction",
  shortRows: true,
  lacks: (has) => [
    ...(["round", "adjuster", "direction"] as const).filter((name) => !has(name)),
    ...(has("turns") || has("mm") || has("starWest") ? [] : ["turns"]),
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
  const moved = starMovement(cells);
  const level = levelReading(cells);
  const isSeen = cells.has("starWest") || cells.has("starNorth");
  if (isSeen && amounts > 0) {
    const message = "The line gives turns and a star's movement.";
    cells.fault("starWest", "counted-and-seen", message, "what was counted or what a star showed, not both");
  }
  if (!isSeen && amounts === 0) {
    const allowed = "turns, mm for what has no screw, or how a star moved";
    cells.fault("turns", "missing-amount", "The line does not say how far.", allowed);
  }
  const nothing = turns === 0 || mm === 0 || isSeen;
  const key = nameKey(values.direction);
  const direction = Object.hasOwn(directions, key) ? directions[key] : undefined;
  const own = adjustersOf(context.base, 45).find(({ names }) => names.includes(adjuster));
  const ways = own?.directions(mm !== null) ?? [];
  const stays = nothing && ["", "none", "leave"].includes(key);
  if (adjuster === ALL_JACKS && !isSeen) {
    const message = "All jacks together are named only where a star showed what they did.";
    cells.fault("adjuster", "unknown-adjuster", message, adjusterNames(context.base).join(", "));
  } else if (own !== undefined && !stays && (direction === undefined || !ways.includes(direction))) {
    const meant = didYouMean(values.direction, ways);
    const message = `${adjuster} does not turn that way.${meant === null ? "" : ` Did you mean ${meant}?`}`;
    const isEnd = ways.length === 2 && ways[0] === "east";
    const end = isEnd ? " (the way that end of the base moved)" : "";
    cells.fault("direction", "bad-direction", message, `${ways.join(", ")}${end}`);
  }
  const way = own?.ways.find(
    ({ byJacks, directions: both }) => !byJacks && direction !== undefined && both.includes(direction),
  );
  const hasScrew = own?.ways.some(({ pitchMm }) => pitchMm !== null) ?? true;
  if (way?.pitchMm === null && cells.has("turns") && turns !== 0) {
    const code = hasScrew ? "no-pitch" : "base-has-no-screw";
    const message = `The mount file gives ${adjuster} no screw that way.`;
    const allowed = "how far it was moved, millimetres, in the column mm; or its pitch in the mount file";
    cells.fault("turns", code, message, allowed);
  }
  return {
    round,
    adjuster,
    turns: turns ?? 0,
    direction: direction ?? ways[0] ?? "up",
    mm: mm ?? (way?.pitchMm === null || !hasScrew ? 0 : null),
    line: place.line,
    note,
    ...(moved === null ? {} : { moved }),
    ...(level === null ? {} : { level }),
  };
}

type Cells = RowCells<typeof columns, OfBase>;

function starMovement(cells: Cells): StarMovement | null {
  const { star, time, starWest, starNorth } = cells.values;
  if (!cells.has("starWest") && !cells.has("starNorth")) return null;
  for (const name of ["star", "time", "starWest", "starNorth"] as const) {
    if (!cells.has(name)) {
      cells.missing(name, "A star's movement needs all four columns.", columns[name].allowed);
    }
  }
  return star === null || time === null || starWest === null || starNorth === null
    ? null
    : { star, timeMs: time, west: starWest, north: starNorth };
}

function levelReading(cells: Cells): LevelReading | null {
  const { levelNorth, levelEast } = cells.values;
  if (cells.has("levelNorth") !== cells.has("levelEast")) {
    const name = cells.has("levelNorth") ? "levelEast" : "levelNorth";
    cells.missing(name, "A level reading needs both columns.", columns[name].allowed);
  }
  return levelNorth === null || levelEast === null ? null : { north: levelNorth, east: levelEast };
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
 * @example
 * ```ts
 * turnedRows(jackTurns(fit), 1)[0].round // 1
 * ```
 */
export function turnedRows(advice: TurnsAsked, round: number): TurnedRow[] {
  return turnsOfAdvice(advice).map((turn) => ({ ...turn, round, line: null, note: "" }));
}

/**
 * Writes rows as the file of turns that {@link rounds} reads.
 *
 * @param rows - the rows
 * @returns the file's text
 * @example
 * ```ts
 * turnedFileText(turnedRows(jackTurns(fit), 1)).split("\n")[0] // "round,adjuster,turns,direction,mm,note"
 * ```
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
  return [columnNames(turnedTable).slice(0, 6).join(","), ...lines, ""].join("\n");
}

/** As a fraction where that is exact, else as the full decimal. */
function exactTurns(turns: number): string {
  const figure = turnsFigure(turns);
  return numberOrFraction(figure) === turns ? figure : String(turns);
}
