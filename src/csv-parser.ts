/**
 * csv-parse, required rather than imported: one CommonJS file is there sooner than its modules one by one.
 */
import { createRequire } from "node:module";

export const { parse } = createRequire(import.meta.url)("csv-parse/sync") as typeof import("csv-parse/sync");
