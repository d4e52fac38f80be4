import type { Report, TableBlock } from "../report/report.js";
import { fixed } from "../words/numbers.js";

/** A record whose values can stand in cells. */
export type RecordRow = Readonly<Record<string, unknown>>;

/**
 * Records as a table: the keys of the first one are the columns, numbers stand to the right.
 *
 * @param caption - what the table shows
 * @param records - one row each
 * @param columns - the keys to show, in order; all of the first record's when not given
 */
export function tableReport(
  caption: string,
  records: readonly RecordRow[],
  columns?: readonly string[],
): Report {
  const keys = columns ?? Object.keys(records[0] ?? {});
  const isNumeric = keys.map((key) => records.every((record) => typeof record[key] === "number"));
  const table: TableBlock = {
    kind: "table",
    caption,
    head: keys,
    rows: records.map((record) => keys.map((key) => cellText(record[key]))),
    align: isNumeric.map((numeric) => (numeric ? "right" : "left")),
  };
  return { title: caption === "" ? "Table" : caption, blocks: [table] };
}

/** Whether a thing is a list of plain records that a table can show. */
export function isRecords(thing: unknown): thing is readonly RecordRow[] {
  return (
    Array.isArray(thing) &&
    thing.length > 0 &&
    thing.every((row) => row !== null && typeof row === "object" && !Array.isArray(row))
  );
}

function cellText(value: unknown): string {
  if (value === null || value === undefined) return "";
  if (typeof value === "number") {
    return Number.isInteger(value) ? fixed(value, 0) : fixed(value, decimalsOf(value));
  }
  return typeof value === "object" ? (JSON.stringify(value) ?? "") : String(value);
}

/** Four significant figures, as far as decimals go. */
function decimalsOf(value: number): number {
  return Math.max(0, Math.min(6, 3 - Math.floor(Math.log10(Math.abs(value)))));
}
