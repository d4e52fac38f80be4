/** `polewright run` from outside: what a terminal and a shell see of it. */
import { spawn, spawnSync } from "node:child_process";
import { once } from "node:events";
import { existsSync, readdirSync, readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { beforeAll, expect, it } from "vitest";
import { BUILD_TIMEOUT_MS, built } from "../support/built.js";
import { testFolder } from "./support.js";

let main = "";
beforeAll(async () => {
  main = await built("cli/main.js");
}, BUILD_TIMEOUT_MS);

function notebookIn(folder: string, ...sources: string[]): string {
  const cells = sources.map((source) => ({
    cell_type: "code",
    metadata: {},
    source,
    execution_count: null,
    outputs: [],
  }));
  const path = join(folder, "night.ipynb");
  writeFileSync(path, JSON.stringify({ nbformat: 4, nbformat_minor: 4, metadata: {}, cells }));
  return path;
}

const run = (cwd: string, ...args: string[]) =>
  spawnSync(process.execPath, [main, "run", ...args], {
    cwd,
    encoding: "utf8",
    env: { ...process.env, TMPDIR: cwd },
  });

it.skipIf(process.platform === "win32").each([["SIGINT", 130]] as const)(
  "keeps the outputs so far on %s, says so, and ends with exit code %i",
  async (signal, code) => {
    const folder = testFolder();
    const path = notebookIn(
      folder,
      "'first'",
      "console.log('begun'); await new Promise(() => {});",
      "'after'",
    );
    const child = spawn(process.execPath, [main, "run", path, "--out", "out.ipynb"], {
      cwd: folder,
      env: { ...process.env, TMPDIR: folder },
      // A group of its own, so that all of it can be signalled as a terminal does.
      detached: true,
    });
    let said = "";
    child.stdout.on("data", (text) => {
      said += text;
    });
    let progress = "";
    child.stderr.on("data", (text) => {
      progress += text;
      if (String(text).includes("Cell 2 of 3 running"))
        setTimeout(() => process.kill(-child.pid!, signal), 1500);
    });
    expect((await once(child, "close"))[0], progress).toBe(code);
    expect(said).toContain("Stopped in code cell 2 of 3");
    expect(said).toContain("Written: out.ipynb");
    const { cells } = JSON.parse(readFileSync(join(folder, "out.ipynb"), "utf8"));
    expect(cells[0].outputs).toMatchObject([{ data: { "text/plain": ["first"] } }]);
    expect(cells[1].outputs[0]).toMatchObject({ text: ["begun\n"] });
    expect(cells[2].outputs).toEqual([]);
    expect(readdirSync(folder).sort()).toEqual(["night.ipynb", "out.ipynb"]);
  },
  30_000,
);

it("stops a cell that takes longer than --timeout", () => {
  const folder = testFolder();
  const done = run(folder, notebookIn(folder, "while (true) {}"), "--timeout", "1");
  expect(done.status).toBe(1);
  expect(done.stdout).toContain("stopped after 1 s");
  for (const wrong of ["0", "-1", "soon"]) {
    expect(run(folder, "night.ipynb", "--timeout", wrong)).toMatchObject({
      status: 2,
      stderr: expect.stringContaining("--timeout"),
    });
  }
});

it("refuses one file for both results before any cell runs, and prints no cell's control characters", () => {
  const folder = testFolder();
  const path = notebookIn(folder, "require('node:fs').writeFileSync('ran', '')\n// \u001b]0;t\u0007");
  const refused = run(folder, path, "--out", "x.html", "--html", "./x.html");
  expect(refused.status).toBe(1);
  expect(refused.stderr).toContain("cannot be one file");
  expect(existsSync(join(folder, "ran"))).toBe(false);
  const titled = notebookIn(folder, "/* \u001b]0;t\u0007\u009b\u202e */ throw 1");
  const { stdout, stderr } = run(folder, titled);
  expect((stdout + stderr).replaceAll("\n", "")).not.toMatch(/[\p{Control}\u202e]/u);
});

it("escapes in JSON what a terminal would obey", () => {
  const folder = testFolder();
  const name = "night\u009b1m\u202e.csv";
  const { stdout } = spawnSync(process.execPath, [main, "fit", name, "--json"], {
    cwd: folder,
    encoding: "utf8",
  });
  expect(stdout).toContain("\\u009b1m\\u202e");
  expect(stdout.replaceAll("\n", "")).not.toMatch(/[\p{Control}\u202e]/u);
  expect(JSON.stringify(JSON.parse(stdout))).toContain(name);
});
