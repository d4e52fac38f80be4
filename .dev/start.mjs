/** The demonstration: the first night's notebook, run without Jupyter, with its pictures on a page to open. */
import { spawnSync } from "node:child_process";
import { mkdirSync } from "node:fs";
import { dirname, join } from "node:path";
import { fileURLToPath } from "node:url";

const root = dirname(dirname(fileURLToPath(import.meta.url)));
const out = join(root, "out");
mkdirSync(out, { recursive: true });
const page = join(out, "first-night.html");
const main = join(root, "dist", "cli", "main.js");
const polewright = (...args) =>
  spawnSync(process.execPath, [main, ...args], { cwd: root, stdio: "inherit" }).status;

let status = polewright("turns", "data/first-light/night.csv", "--brief");
console.log("\nNow the same evening as a notebook:");
status ||= polewright(
  "run",
  "notebooks/01-first-night.ipynb",
  "--out",
  join(out, "first-night.ipynb"),
  "--html",
  page,
);
if (status === 0) {
  console.log(`
The page with the pictures:  ${page}
Open it in any browser.

To work in the notebook yourself:
  Jupyter     npx polewright kernel add   then   jupyter notebook notebooks
  VS Code     npx polewright kernel add   then open notebooks/01-first-night.ipynb
              and choose the kernel "Polewright (TypeScript)"`);
}
process.exitCode = status ?? 1;
