import { defineConfig } from "vitest/config";
import { ownImports } from "./own-imports.mjs";

/** `short` for what `npm test` runs, `long` for the rest, which .ci/run adds; else all, so that any file can be named. */
const part = process.env.POLEWRIGHT_TESTS;
const long = "test/**/*.long.test.ts";

export default defineConfig({
  resolve: { alias: ownImports("node") },
  test: {
    include: [part === "long" ? long : "test/**/*.test.ts"],
    exclude: part === "short" ? [long] : [],
    // The files of one worker share what they import: it is the library's rule that no module holds a state between calls.
    isolate: false,
    // Both cores of a small machine: by default one is left for the watcher, which a single run has not.
    maxWorkers: "100%",
    root: new URL("..", import.meta.url).pathname,
    testTimeout: 120_000,
    passWithNoTests: false,
  },
});
