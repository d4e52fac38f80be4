/** The checks that need Chromium (CHROMIUM names it; else the usual place). The last line states the counts. */
import { spawnSync } from "node:child_process";
import { mkdirSync, readFileSync, rmSync } from "node:fs";
import { dirname, join } from "node:path";
import { fileURLToPath } from "node:url";

const root = dirname(dirname(dirname(fileURLToPath(import.meta.url))));
const results = join(root, "out", "browser.json");
mkdirSync(join(root, "out"), { recursive: true });
rmSync(results, { force: true });
const { status } = spawnSync(
  process.execPath,
  [
    join(root, "node_modules", "vitest", "vitest.mjs"),
    "run",
    "--config",
    join(root, "test", "browser", "vitest.config.mjs"),
    "--reporter=default",
    "--reporter=json",
    `--outputFile.json=${results}`,
    ...process.argv.slice(2),
  ],
  { cwd: root, stdio: "inherit" },
);
const counts = JSON.parse(readFileSync(results, "utf8"));
let failed = counts.numTotalTests - counts.numPassedTests;
if (status !== 0 && failed === 0) failed = 1;
console.log(`${counts.numPassedTests} passed, ${failed} failed`);
process.exitCode = failed > 0 ? 1 : 0;
