import { existsSync, mkdirSync, readdirSync, readFileSync, symlinkSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import Ajv from "ajv";
import { beforeAll, describe, expect, it } from "vitest";
import { InputError } from "../../src/errors.js";
import { type RunOptions, type RunProgress, runNotebook } from "../../src/kernel/run-notebook.js";
import { BUILD_TIMEOUT_MS, built } from "../support/built.js";
import { fixturePackage, testFolder } from "./support.js";

const { $schema: _, ...schema } = JSON.parse(
  readFileSync(new URL("../reference/nbformat/nbformat.v4.5.schema.json", import.meta.url), "utf8"),
);
const isValid = new Ajv({ strict: false }).compile(schema);

let kernel: NonNullable<RunOptions["kernel"]>;
beforeAll(async () => {
  kernel = { launcher: await built("kernel/launcher.js"), launcherArguments: [fixturePackage] };
}, BUILD_TIMEOUT_MS);

interface Source {
  type?: "markdown";
  source: string;
  tags?: string[];
}

/** A notebook of nbformat 4.4 with outputs of an earlier run, in a folder of its own. */
function notebookFile(cells: readonly Source[], metadata: object = {}): string {
  const path = join(testFolder(), "night.ipynb");
  const written = cells.map(({ type, source, tags }) =>
    type === "markdown"
      ? { cell_type: "markdown", metadata: {}, source }
      : {
          cell_type: "code",
          metadata: tags ? { tags } : {},
          source,
          execution_count: 99,
          outputs: [{ output_type: "stream", name: "stdout", text: "of an earlier run" }],
        },
  );
  writeFileSync(path, JSON.stringify({ nbformat: 4, nbformat_minor: 4, metadata, cells: written }));
  return path;
}

const importing = { source: 'import { show, sight } from "polewright";' };

describe("running a notebook", () => {
  it("runs the code cells in order, keeps their outputs, and writes what was asked for and nothing else", async () => {
    const path = notebookFile([
      { type: "markdown", source: "# The first night" },
      importing,
      { source: "" },
      {
        source:
          'console.log("one"); console.log("two"); console.error("three");\nshow({ "text/html": "<b>fit</b>", "text/plain": "fit" });',
      },
      { source: 'import { newDisplay } from "tslab";\nconst later = newDisplay();\nlater.text("first");' },
      { source: 'later.text("second");\nsight("Mizar", 3)' },
      { source: "JSON.stringify([process.env.POLEWRIGHT_THEME, process.env.OTHER, process.cwd()])" },
    ]);
    const before = readFileSync(path, "utf8");
    const folder = testFolder();
    const [out, html] = [join(folder, "out.ipynb"), join(folder, "out.html")];
    const seen: RunProgress[] = [];
    const result = await runNotebook(path, {
      kernel,
      out,
      html,
      theme: "night",
      env: { OTHER: "o" },
      progress: (step) => seen.push(step),
    });

    expect(result).toMatchObject({ ok: true, cells: 6, written: [out, html] });
    expect(result.text).toContain("All 6 code cells ran without an error.");
    expect(seen.map(({ cell, of, state }) => `${cell}/${of} ${state}`)).toEqual(
      [1, 3, 4, 5, 6].flatMap((cell) => [`${cell}/6 running`, `${cell}/6 done`]),
    );
    expect(seen[0]?.firstLine).toBe(importing.source);

    const written = JSON.parse(readFileSync(out, "utf8"));
    expect(isValid(written), JSON.stringify(isValid.errors)).toBe(true);
    expect(written.metadata.kernelspec.name).toBe("polewright");
    expect(written.cells.map((cell: { execution_count?: number }) => cell.execution_count)).toEqual([
      undefined,
      1,
      null,
      2,
      3,
      4,
      5,
    ]);
    expect(written.cells[3].outputs).toEqual([
      { output_type: "stream", name: "stdout", text: ["one\n", "two\n"] },
      { output_type: "stream", name: "stderr", text: ["three\n"] },
      {
        output_type: "display_data",
        metadata: {},
        data: { "text/html": ["<b>fit</b>"], "text/plain": ["fit"] },
      },
    ]);
    expect(written.cells[2].outputs).toEqual([]);
    // A display that a later cell renews is renewed where it stands.
    expect(written.cells[4].outputs).toMatchObject([{ data: { "text/plain": ["second"] } }]);
    expect(written.cells[5].outputs).toMatchObject([
      { output_type: "execute_result", data: { "text/plain": ["{ star: 'Mizar', hourAngle: 3 }"] } },
    ]);

    const [told] = written.cells[6].outputs;
    expect(JSON.parse(told.data["text/plain"].join(""))).toEqual(["night", "o", join(path, "..")]);

    const page = readFileSync(html, "utf8");
    expect(page).toContain("<title>The first night</title>");
    expect(page).toContain("<b>fit</b>");
    expect(page).toContain('content="dark"');
    expect(readFileSync(path, "utf8")).toBe(before);
    expect(readdirSync(join(path, ".."))).toEqual(["night.ipynb"]);
    expect(readdirSync(folder).sort()).toEqual(["out.html", "out.ipynb"]);
  });

  it("stops at the first error, shows the cell with its line, and still writes what there is", async () => {
    const path = notebookFile([
      importing,
      { source: 'sight("Mizar", -1);', tags: ["raises-exception"] },
      { source: 'const reading = -2;\nconsole.log("before");\nsight("Mizar", reading);' },
      { source: 'console.log("after");' },
    ]);
    const out = join(testFolder(), "out.ipynb");
    const result = await runNotebook(path, { kernel, out });
    expect(result).toMatchObject({ ok: false, cells: 3, failed: { cell: 3, of: 4, line: 3 } });
    expect(result.failed?.error).toMatchObject({
      ename: "SightingError",
      evalue: "The reading of Mizar is below zero.",
    });
    expect(result.text).toBe(`Code cell 3 of 4 failed; the cells after it were not run.

    1 | const reading = -2;
    2 | console.log("before");
  > 3 | sight("Mizar", reading);

SightingError: The reading of Mizar is below zero.
    at line 3, column 1
    sight("Mizar", reading);
    ^
Written: ${out}`);
    const written = JSON.parse(readFileSync(out, "utf8"));
    expect(isValid(written), JSON.stringify(isValid.errors)).toBe(true);
    expect(written.cells[1].outputs).toMatchObject([{ output_type: "error", ename: "SightingError" }]);
    expect(written.cells[2].outputs).toMatchObject([
      { output_type: "stream", text: ["before\n"] },
      { output_type: "error", ename: "SightingError" },
    ]);
    expect(written.cells[3]).toMatchObject({ outputs: [], execution_count: null });
  });

  it("stops at a misspelt star before its cell runs", async () => {
    const path = notebookFile([importing, { source: 'console.log("ran");\nsight("Mizr", 3);' }]);
    const { failed } = await runNotebook(path, { kernel });
    expect(failed).toMatchObject({ cell: 2, line: 2, error: { ename: "TypeScript" } });
    expect(failed?.error.evalue).toContain('Did you mean "Mizar"?');
  });

  it("reports a cell that takes too long and a kernel that ends as failed cells", async () => {
    const slow = await runNotebook(notebookFile([{ source: "await new Promise(() => {});" }]), {
      kernel,
      timeoutS: 0.5,
    });
    expect(slow.failed?.error).toMatchObject({
      ename: "KernelError",
      evalue: expect.stringContaining("0.5 s"),
    });
    const gone = await runNotebook(notebookFile([{ source: "process.exit(4);" }]), { kernel });
    expect(gone.failed?.error.evalue).toContain("exit code 4");
    expect(gone.notebook.cells[0]).toMatchObject({
      outputs: [{ output_type: "error", ename: "KernelError" }],
    });
  });

  it("refuses before it runs: what is no TypeScript notebook, and where nothing can be written", async () => {
    const python = notebookFile([{ source: "1" }], { language_info: { name: "python" } });
    mkdirSync(join(python, "..", "folder"));
    const options = {
      kernel,
      out: join(python, "..", "none", "out.ipynb"),
      html: join(python, "..", "folder"),
    };
    const error = await runNotebook(python, options).catch((problem) => problem);
    expect(error).toBeInstanceOf(InputError);
    expect((error as InputError).faults).toMatchObject([
      { code: "notebook-language", path: "metadata.language_info.name", found: "python" },
      { code: "not-writable", path: "out" },
      { code: "not-writable", path: "html" },
    ]);
    await expect(runNotebook(join(python, "..", "none.ipynb"))).rejects.toMatchObject({
      code: "file-missing",
    });
    await expect(runNotebook(notebookFile([]), { theme: "blue" as "night" })).rejects.toMatchObject({
      code: "unknown-theme",
    });
    expect(existsSync(options.out)).toBe(false);
  });

  it("keeps what was brought forth when it is stopped, and runs no further", async () => {
    const out = join(testFolder(), "out.ipynb");
    const stop = new AbortController();
    const path = notebookFile([
      { source: 'console.log("first")' },
      {
        source: 'console.log("begun");\nfor (const end = Date.now() + 60_000; Date.now() < end; ) {}',
        tags: ["raises-exception"],
      },
      { source: 'console.log("after")' },
    ]);
    const result = await runNotebook(path, {
      kernel,
      out,
      stop: stop.signal,
      progress: ({ cell, state }) => {
        if (cell === 2 && state === "running") setTimeout(() => stop.abort(), 1500);
      },
    });
    expect(result).toMatchObject({ ok: false, cells: 2, written: [out] });
    expect(result.text).toContain("Stopped in code cell 2 of 3; the cells after it were not run.");
    const { cells } = JSON.parse(readFileSync(out, "utf8"));
    expect(cells[0].outputs).toMatchObject([{ text: ["first\n"] }]);
    expect(cells[1].outputs).toMatchObject([
      { text: ["begun\n"] },
      { output_type: "error", ename: "Interrupted" },
    ]);
    expect(cells[2].outputs).toEqual([]);
  });

  it("writes nothing when it is stopped before the first cell", async () => {
    const out = join(testFolder(), "out.ipynb");
    const result = await runNotebook(notebookFile([{ source: "1" }]), {
      kernel,
      out,
      stop: AbortSignal.abort(),
    });
    expect(result).toMatchObject({ ok: false, cells: 0, written: [] });
    expect(existsSync(out)).toBe(false);
  });

  it("refuses one file for the notebook and the page before it runs, however it is spelt", async () => {
    const folder = testFolder();
    const there = join(folder, "there.ipynb");
    writeFileSync(there, "");
    symlinkSync(there, join(folder, "link.html"));
    for (const [out, html] of [
      [join(folder, "x"), join(folder, ".", "sub", "..", "x")],
      [there, join(folder, "link.html")],
    ] as const) {
      const run = runNotebook(notebookFile([{ source: "1" }]), { kernel, out, html });
      await expect(run).rejects.toMatchObject({ faults: [{ code: "same-file", path: "html" }] });
    }
    expect(readFileSync(there, "utf8")).toBe("");
  });

  it("drops data that is nested too deeply for a notebook's file, and keeps the rest", async () => {
    const source = `let deep: unknown = 1;
for (let level = 0; level < 2000; level += 1) deep = [deep];
(globalThis as any)[Symbol.for("polewright.display")]({ "application/json": deep, "text/plain": "deep" });`;
    const out = join(testFolder(), "out.ipynb");
    expect(await runNotebook(notebookFile([{ source }]), { kernel, out })).toMatchObject({ ok: true });
    expect(JSON.parse(readFileSync(out, "utf8")).cells[0].outputs).toMatchObject([
      { data: { "text/plain": ["deep"] } },
    ]);
  });
});
