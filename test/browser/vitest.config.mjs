import { defineConfig } from "vitest/config";
import { ownImports } from "../../.dev/own-imports.mjs";

/** The checks that need a browser; they are no part of the test command. */
export default defineConfig({
  resolve: { alias: ownImports("node") },
  test: {
    include: ["test/browser/**/*.spec.ts"],
    root: new URL("../..", import.meta.url).pathname,
    testTimeout: 120_000,
    hookTimeout: 120_000,
    fileParallelism: false,
    passWithNoTests: false,
  },
});
