/** Which lines of the core the tests reach; fails below 95 %. */
import { spawnSync } from "node:child_process";
import { join } from "node:path";

const root = new URL("..", import.meta.url).pathname;
const core = [
  "sky",
  "mount",
  "night",
  "fit",
  "base",
  "pointing",
  "plan",
  "find",
  "drift",
  "exposure",
  "keep",
  "daylight",
];
const done = spawnSync(
  process.execPath,
  [
    join(root, "node_modules/vitest/vitest.mjs"),
    "run",
    "--config",
    join(root, ".dev/vitest.config.mjs"),
    "--coverage.enabled",
    "--coverage.provider=v8",
    "--coverage.reporter=text-summary",
    "--coverage.reporter=html",
    "--coverage.reportsDirectory=out/coverage",
    "--coverage.thresholds.lines=95",
    ...core.map((room) => `--coverage.include=src/${room}/**`),
    ...core.map((room) => `test/${room}`),
    "test/hardening/strange-nights.test.ts",
    "test/simulate",
  ],
  { cwd: root, stdio: "inherit" },
);
process.exitCode = done.status ?? 1;
