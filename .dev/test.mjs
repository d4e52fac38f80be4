/**
 * The tests that Node.js alone can run: formatting, lint, unused code, then vitest. The last line states the counts.
 * `--long` runs the long files (*.long.test.ts) instead; names of files run just those, of either kind.
 */
import { spawnSync } from "node:child_process";
import { mkdirSync, readFileSync, rmSync } from "node:fs";
import { dirname, join } from "node:path";
import { fileURLToPath } from "node:url";

const root = dirname(dirname(fileURLToPath(import.meta.url)));
const node = (args) => spawnSync(process.execPath, args, { cwd: root, stdio: "inherit" }).status ?? 1;
const long = process.argv.includes("--long");
const some = process.argv.slice(2).filter((word) => word !== "--long");

let failed = 0;
let passed = 0;
const whole = some.length === 0;
if (whole) process.env.POLEWRIGHT_TESTS = long ? "long" : "short";
if (whole && !long) {
  const biome = join(root, "node_modules", "@biomejs", "biome", "bin", "biome");
  const knip = join(root, "node_modules", "knip", "bin", "knip.js");
  for (const check of [
    [biome, "check", "--error-on-warnings", root],
    [knip, "--config", ".dev/knip.json", "--no-progress", "--treat-config-hints-as-errors"],
  ]) {
    if (node(check) === 0) passed++;
    else failed++;
  }
}

const results = join(root, "out", "tests.json");
mkdirSync(join(root, "out"), { recursive: true });
rmSync(results, { force: true });
const status = node([
  join(root, "node_modules", "vitest", "vitest.mjs"),
  "run",
  "--config",
  join(root, ".dev", "vitest.config.mjs"),
  "--reporter=default",
  "--reporter=json",
  `--outputFile.json=${results}`,
  ...some,
]);
const counts = JSON.parse(readFileSync(results, "utf8"));
passed += counts.numPassedTests;
// A skipped test is no pass, and a file that does not load counts as a failure.
failed += counts.numTotalTests - counts.numPassedTests;
if (status !== 0 && failed === 0) failed = 1;
console.log(`${passed} passed, ${failed} failed`);
process.exitCode = failed > 0 ? 1 : 0;
