/**
 * csv-parse, required rather than imported: as one CommonJS file it is there six times as soon as from its eight modules.
 */
import { createRequire } from "node:module";

export const { parse } = createRequire(import.meta.url)("csv-parse/sync") as typeof import("csv-parse/sync");
