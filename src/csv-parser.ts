/**
 * csv-parse as Node.js has it: required rather than imported, for one CommonJS file is there sooner than its modules one
 * by one. A browser gets the package's own build for browsers: "imports" in package.json.
 */
import { createRequire } from "node:module";

export const { parse } = createRequire(import.meta.url)("csv-parse/sync") as typeof import("csv-parse/sync");
