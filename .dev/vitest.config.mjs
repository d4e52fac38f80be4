import { defineConfig } from "vitest/config";
import { ownImports } from "./own-imports.mjs";

export default defineConfig({
  resolve: { alias: ownImports("node") },
  test: {
    include: ["test/**/*.test.ts"],
    root: new URL("..", import.meta.url).pathname,
    testTimeout: 120_000,
    passWithNoTests: false,
  },
});
