/** All tests that Node.js alone can run. */
import { spawnSync } from "node:child_process";
import { dirname, join } from "node:path";
import { fileURLToPath } from "node:url";

const root = dirname(dirname(fileURLToPath(import.meta.url)));
const vitest = join(root, "node_modules", "vitest", "vitest.mjs");
const done = spawnSync(
  process.execPath,
  [vitest, "run", "--config", join(root, ".dev", "vitest.config.mjs"), ...process.argv.slice(2)],
  { cwd: root, stdio: "inherit" },
);
process.exitCode = done.status ?? 1;
