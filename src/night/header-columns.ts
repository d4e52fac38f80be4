/** The header of a table of the builder's: names forgiving of case and spacing, each known and each once. */
import { type Fault, shown } from "../errors.js";
import { nameKey } from "../sky/name-key.js";

/** More of a name than this is no column's. */
const LONGEST_NAME = 100;

/** Looks up columns by their names as written. */
export function columnFinder<Column extends string>(
  columns: readonly Column[],
): (name: string) => Column | undefined {
  const known = new Map(columns.map((name) => [nameKey(name), name]));
  return (name) => known.get(nameKey(name.slice(0, LONGEST_NAME)));
}

/**
 * The columns of a header line.
 *
 * @param fields - the line's fields
 * @param find - from {@link columnFinder}
 * @param unknown - the fault of a name that is no column's
 * @param place - file and line, for the faults
 * @returns the columns in order, an empty string for an unnamed or unknown one, and every fault
 */
export function headerColumns<Column extends string>(
  fields: readonly string[],
  find: (name: string) => Column | undefined,
  unknown: (name: string) => Fault,
  place: Pick<Fault, "file" | "line">,
): { header: (Column | "")[]; faults: Fault[] } {
  const header: (Column | "")[] = [];
  const faults: Fault[] = [];
  for (const name of fields) {
    const column = name.trim() === "" ? "" : find(name);
    if (column === undefined) faults.push({ ...unknown(name.trim()), ...place });
    else if (column !== "" && header.includes(column)) {
      faults.push({
        code: "repeated-column",
        ...place,
        column,
        found: shown(name),
        allowed: "each column once",
        message: "This column stands twice in the header.",
      });
    }
    header.push(column ?? "");
  }
  return { header, faults };
}
