/** A table told column by column: the head, the side and the cells of a column stand together. */
import type { TableBlock } from "./report.js";

/** One column of a table. */
export interface Column<Row> {
  readonly head: string;
  readonly align: "left" | "right";
  readonly cell: (row: Row) => string;
}

/**
 * A table of columns.
 *
 * @param columns - null for one that is left out here
 */
export function columnTable<Row>(
  caption: string,
  columns: readonly (Column<Row> | null)[],
  rows: readonly Row[],
): TableBlock {
  const shown = columns.filter((column) => column !== null);
  return {
    kind: "table",
    caption,
    head: shown.map(({ head }) => head),
    align: shown.map(({ align }) => align),
    rows: rows.map((row) => shown.map(({ cell }) => cell(row))),
  };
}
