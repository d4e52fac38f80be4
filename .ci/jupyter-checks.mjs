// Runs notebooks in Debian's Jupyter: through nbconvert, and in a live classic Notebook in headless Chromium.
// The last line states the counts.
import { spawn, spawnSync } from "node:child_process";
import { cpSync, mkdirSync, mkdtempSync, readFileSync, rmSync, statSync } from "node:fs";
import { createServer } from "node:net";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { chromium } from "playwright-core";

const root = new URL("..", import.meta.url).pathname;
const PYTHON = "/usr/bin/python3";
const LARGEST_BYTES = 2.5e6;
const FIGURES_FIRST_NIGHT = 4;
let passed = 0;
let failed = 0;
function check(what, holds, detail = "") {
  if (holds) passed++;
  else {
    failed++;
    console.log(`FAILED: ${what} ${detail}`);
  }
}

const work = mkdtempSync(join(tmpdir(), "polewright-jupyter-"));
cpSync(join(root, "notebooks"), join(work, "notebooks"), { recursive: true });
cpSync(join(root, "data"), join(work, "data"), { recursive: true });
const env = {
  ...process.env,
  JUPYTER_DATA_DIR: join(work, "jupyter"),
  JUPYTER_CONFIG_DIR: join(work, "config"),
  JUPYTER_RUNTIME_DIR: join(work, "runtime"),
};
const notebook = join(work, "notebooks", "01-first-night.ipynb");
const outputsOf = (path) =>
  JSON.parse(readFileSync(path, "utf8")).cells.flatMap((cell) => cell.outputs ?? []);

let server = null;
let browser = null;
try {
  const added = spawnSync(process.execPath, [join(root, "dist/cli/main.js"), "kernel", "add"], { env });
  check("kernel add", added.status === 0, String(added.stderr));

  const executed = join(work, "executed.ipynb");
  const convert = (...args) => spawnSync(PYTHON, ["-m", "nbconvert", ...args], { env, encoding: "utf8" });
  const run = convert("--to", "notebook", "--execute", "--output", executed, notebook);
  check("nbconvert --execute", run.status === 0, run.stderr?.slice(-800));
  if (run.status === 0) {
    check(
      "nbconvert: no error outputs",
      outputsOf(executed).every((output) => output.output_type !== "error"),
    );
    const page = convert("--to", "html", "--output", join(work, "executed.html"), executed);
    check("nbconvert --to html", page.status === 0, page.stderr?.slice(-400));
  }

  const port = await new Promise((resolve) => {
    const probe = createServer().listen(0, "127.0.0.1", () => {
      const chosen = probe.address().port;
      probe.close(() => resolve(chosen));
    });
  });
  server = spawn(
    PYTHON,
    [
      "-m",
      "notebook",
      "--no-browser",
      "--allow-root",
      "--ip=127.0.0.1",
      `--port=${port}`,
      "--NotebookApp.token=polewright",
      `--notebook-dir=${work}`,
    ],
    { env, stdio: "ignore" },
  );
  const address = `http://127.0.0.1:${port}`;
  for (let k = 0; k < 120; k++) {
    const up = await fetch(`${address}/api?token=polewright`).then(
      (answer) => answer.ok,
      () => false,
    );
    if (up) break;
    await new Promise((resolve) => setTimeout(resolve, 500));
  }
  browser = await chromium.launch({
    executablePath: process.env.CHROMIUM ?? "/usr/bin/chromium",
    args: [
      "--no-sandbox",
      "--disable-gpu",
      "--disable-quic",
      "--no-first-run",
      "--disable-background-networking",
      "--disable-component-update",
      "--disable-sync",
    ],
  });
  const errors = [];
  const open = async () => {
    const page = await browser.newPage({ viewport: { width: 1200, height: 1000 } });
    page.on("pageerror", (error) => errors.push(error.message));
    await page.goto(`${address}/notebooks/notebooks/01-first-night.ipynb?token=polewright`);
    await page.waitForFunction(() => globalThis.Jupyter?.notebook?.kernel?.is_connected(), null, {
      timeout: 90_000,
    });
    return page;
  };
  const drawn = (page) =>
    page.waitForFunction(
      (count) => document.querySelectorAll(".js-plotly-plot .main-svg").length >= count,
      FIGURES_FIRST_NIGHT,
      { timeout: 60_000 },
    );
  const first = await open();
  await first.evaluate(() => globalThis.Jupyter.notebook.execute_all_cells());
  await first.waitForFunction(
    () =>
      globalThis.Jupyter.notebook
        .get_cells()
        .filter((cell) => cell.cell_type === "code")
        .every((cell) => typeof cell.input_prompt_number === "number"),
    null,
    { timeout: 120_000 },
  );
  check(
    "live Notebook: plots drawn",
    await drawn(first).then(
      () => true,
      () => false,
    ),
  );
  await first.evaluate(() => globalThis.Jupyter.notebook.save_notebook());
  await first.waitForFunction(() => !globalThis.Jupyter.notebook.dirty, null, { timeout: 30_000 });
  mkdirSync(join(root, "out", "screenshots"), { recursive: true });
  await first.screenshot({ path: join(root, "out", "screenshots", "first-night-run.png") });
  await first.close();
  check(
    "live Notebook: no error outputs",
    outputsOf(notebook).every((output) => output.output_type !== "error"),
  );
  check(
    "saved notebook below 2.5 MB",
    statSync(notebook).size < LARGEST_BYTES,
    `${statSync(notebook).size} bytes`,
  );
  const again = await open();
  check(
    "live Notebook: plots drawn again after reopening",
    await drawn(again).then(
      () => true,
      () => false,
    ),
  );
  await again.screenshot({ path: join(root, "out", "screenshots", "first-night-reopened.png") });
  check("live Notebook: no script errors", errors.length === 0, errors.join("; "));
} catch (error) {
  check("the checks ran through", false, error.stack);
} finally {
  await browser?.close();
  server?.kill();
  rmSync(work, { recursive: true, force: true });
}
console.log(`${passed} passed, ${failed} failed`);
process.exit(failed === 0 ? 0 : 1);
