// Runs notebooks in Debian's Jupyter: through nbconvert, and in a live classic Notebook in headless Chromium.
// The last line states the counts.
import { spawn, spawnSync } from "node:child_process";
import {
  cpSync,
  mkdirSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  rmSync,
  statSync,
  writeFileSync,
} from "node:fs";
import { createServer } from "node:net";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { chromium } from "playwright-core";
import { FLAGS, PROGRAM } from "../.dev/chromium.mjs";
import { check, stateCounts } from "../test/support/counting.mjs";

const root = new URL("..", import.meta.url).pathname;
const PYTHON = "/usr/bin/python3";
const LARGEST_BYTES = 2.5e6;
/** As bright as green and blue may be at night, of 255. */
const DARK = 60;
/** Names of notebooks, to try only those. */
const only = process.argv.slice(2);

const work = mkdtempSync(join(tmpdir(), "polewright-jupyter-"));
cpSync(join(root, "notebooks"), join(work, "notebooks"), { recursive: true });
cpSync(join(root, "data"), join(work, "data"), { recursive: true });
const env = {
  ...process.env,
  JUPYTER_DATA_DIR: join(work, "jupyter"),
  JUPYTER_CONFIG_DIR: join(work, "config"),
  JUPYTER_RUNTIME_DIR: join(work, "runtime"),
};
const names = readdirSync(join(work, "notebooks")).filter(
  (name) => name.endsWith(".ipynb") && (only.length === 0 || only.some((part) => name.startsWith(part))),
);
const pathOf = (name) => join(work, "notebooks", name);
const outputsOf = (path) =>
  JSON.parse(readFileSync(path, "utf8")).cells.flatMap((cell) => cell.outputs ?? []);

let server = null;
let browser = null;
try {
  const added = spawnSync(process.execPath, [join(root, "dist/cli/main.js"), "kernel", "add"], { env });
  check("kernel add", added.status === 0, String(added.stderr));

  const executed = join(work, "executed.ipynb");
  const convert = (...args) => spawnSync(PYTHON, ["-m", "nbconvert", ...args], { env, encoding: "utf8" });
  const run = convert("--to", "notebook", "--execute", "--output", executed, pathOf("01-first-night.ipynb"));
  check("nbconvert --execute", run.status === 0, run.stderr?.slice(-800));
  if (run.status === 0) {
    check(
      "nbconvert: no error outputs",
      outputsOf(executed).every((output) => output.output_type !== "error"),
    );
    const page = convert("--to", "html", "--output", join(work, "executed.html"), executed);
    check("nbconvert --to html", page.status === 0, page.stderr?.slice(-400));
  }

  const faulty = join(work, "faulty.ipynb");
  const cells = ['console.log("before")', 'throw new Error("on purpose")', "const = 3", '"after"'];
  const asCell = (source) => ({
    cell_type: "code",
    metadata: {},
    source,
    execution_count: null,
    outputs: [],
  });
  const kernelspec = { name: "polewright", display_name: "Polewright", language: "typescript" };
  writeFileSync(
    faulty,
    JSON.stringify({ nbformat: 4, nbformat_minor: 4, metadata: { kernelspec }, cells: cells.map(asCell) }),
  );
  const kinds = (path) => outputsOf(path).map((output) => output.output_type);
  const whole = convert("--to", "notebook", "--execute", "--allow-errors", "--output", executed, faulty);
  check(
    "nbconvert --allow-errors runs the cells after an error",
    whole.status === 0 && kinds(executed).join() === "stream,error,error,execute_result",
    whole.stderr?.slice(-800),
  );
  const stopped = convert("--to", "notebook", "--execute", "--output", join(work, "none.ipynb"), faulty);
  check("nbconvert stops at an error", stopped.status !== 0 && stopped.stderr.includes("on purpose"));

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
  browser = await chromium.launch({ executablePath: PROGRAM, args: FLAGS });
  const shots = join(root, "out", "screenshots");
  mkdirSync(shots, { recursive: true });
  const becomes = (promise) =>
    promise.then(
      () => true,
      () => false,
    );
  let drawings = 0;
  for (const name of names) {
    const errors = [];
    const open = async () => {
      const page = await browser.newPage({ viewport: { width: 1200, height: 1000 } });
      page.on("pageerror", (error) => errors.push(error.message));
      await page.goto(`${address}/notebooks/notebooks/${name}?token=polewright`);
      await page.waitForFunction(() => globalThis.Jupyter?.notebook?.kernel?.is_connected(), null, {
        timeout: 90_000,
      });
      return page;
    };
    // Every figure's holder has been taken over by a live drawing.
    const drawn = (page, count) =>
      becomes(
        page.waitForFunction(
          (expected) => document.querySelectorAll(".js-plotly-plot .main-svg").length >= expected,
          count,
          { timeout: 60_000 },
        ),
      );
    const first = await open();
    await first.evaluate(() => globalThis.Jupyter.notebook.execute_all_cells());
    const ran = await becomes(
      first.waitForFunction(
        () =>
          globalThis.Jupyter.notebook
            .get_cells()
            .filter((cell) => cell.cell_type === "code")
            .every((cell) => typeof cell.input_prompt_number === "number"),
        null,
        { timeout: 150_000 },
      ),
    );
    check(`${name}: every cell ran`, ran);
    await first.waitForTimeout(1500);
    await first.evaluate(() => globalThis.Jupyter.notebook.save_notebook());
    await becomes(first.waitForFunction(() => !globalThis.Jupyter.notebook.dirty, null, { timeout: 30_000 }));
    const outputs = outputsOf(pathOf(name));
    check(
      `${name}: no error outputs`,
      outputs.every((output) => output.output_type !== "error"),
    );
    const figures = outputs.filter((output) =>
      [output.data?.["text/html"] ?? []].flat().join("").includes('class="polewright-drawing"'),
    ).length;
    drawings += figures;
    check(`${name}: plots drawn (${figures})`, figures === 0 || (await drawn(first, figures)));
    await first.screenshot({ path: join(shots, `${name}.png`) });
    await first.evaluate(() => globalThis.Jupyter.notebook.session.delete());
    await first.close();
    const { size } = statSync(pathOf(name));
    check(`${name}: saved below 2.5 MB`, size < LARGEST_BYTES, `${size} bytes`);
    const again = await open();
    check(`${name}: plots drawn again after reopening`, figures === 0 || (await drawn(again, figures)));
    await again.screenshot({ path: join(shots, `${name}-reopened.png`) });
    await again.evaluate(() => globalThis.Jupyter.notebook.session.delete());
    await again.close();
    check(`${name}: no script errors`, errors.length === 0, errors.join("; "));
  }

  // At night: dark from the moment that the kernel is known on, whatever a cell shows; on a wide screen and a telephone.
  const atNight = spawnSync(process.execPath, [join(root, "dist/cli/main.js"), "kernel", "add", "--night"], {
    env,
  });
  check("kernel add --night", atNight.status === 0, String(atNight.stderr));
  const probe = await browser.newPage();
  /** As much green or blue as the brightest pixel has. */
  const glow = async (page) => {
    const shot = (await page.screenshot()).toString("base64");
    return probe.evaluate(async (text) => {
      const picture = await createImageBitmap(await (await fetch(`data:image/png;base64,${text}`)).blob());
      const pen = new OffscreenCanvas(picture.width, picture.height).getContext("2d");
      pen.drawImage(picture, 0, 0);
      const { data } = pen.getImageData(0, 0, picture.width, picture.height);
      return data.reduce(
        (most, value, at) => (at % 4 === 1 || at % 4 === 2 ? Math.max(most, value) : most),
        0,
      );
    }, shot);
  };
  for (const name of names) {
    const open = async () => {
      const page = await browser.newPage({ viewport: { width: 1400, height: 1000 } });
      await page.goto(`${address}/notebooks/notebooks/${name}?token=polewright`);
      await page.waitForFunction(() => globalThis.Jupyter?.notebook?.kernel?.is_connected(), null, {
        timeout: 90_000,
      });
      await page.waitForTimeout(500);
      return page;
    };
    const isDark = async (page, when) => {
      const most = await glow(page);
      check(`${name} at night, ${when}: no green or blue above ${DARK}`, most <= DARK, `${most}`);
    };
    const page = await open();
    await isDark(page, "before any cell ran");
    for (const when of ["cells run", "cells run again"]) {
      await page.evaluate(() => globalThis.Jupyter.notebook.execute_all_cells());
      await page.waitForTimeout(300);
      await isDark(page, `while ${when}`);
      await becomes(
        page.waitForFunction(
          () => !globalThis.Jupyter.notebook.get_cells().some((cell) => cell.element.hasClass("running")),
          null,
          { timeout: 150_000 },
        ),
      );
    }
    await page.waitForTimeout(1000);
    for (const width of [1400, 1024, 390]) {
      await page.setViewportSize({ width, height: 1000 });
      await page.waitForTimeout(500);
      await isDark(page, `${width} pixels wide`);
      await page.screenshot({ path: join(shots, `${name}-night-${width}.png`) });
    }
    await page.evaluate(() => globalThis.Jupyter.notebook.save_notebook());
    await becomes(page.waitForFunction(() => !globalThis.Jupyter.notebook.dirty, null, { timeout: 30_000 }));
    await page.evaluate(() => globalThis.Jupyter.notebook.session.delete());
    await page.close();
    // Changed by other hands Jupyter trusts it no more, and lets none of its styles and scripts in.
    const changed = JSON.parse(readFileSync(pathOf(name), "utf8"));
    for (const cell of changed.cells) cell.source = ["", ...[cell.source].flat(), " "];
    writeFileSync(pathOf(name), JSON.stringify(changed));
    const again = await open();
    check(`${name}: is not trusted`, !(await again.evaluate(() => globalThis.Jupyter.notebook.trusted)));
    await isDark(again, "reopened untrusted");
    await again.evaluate(() => globalThis.Jupyter.notebook.session.delete());
    await again.close();
  }
  check("the notebooks hold pictures at all", drawings >= names.length, `${drawings} pictures`);
} catch (error) {
  check("the checks ran through", false, error.stack);
} finally {
  await browser?.close();
  server?.kill();
  rmSync(work, { recursive: true, force: true });
}
process.exit(stateCounts());
