/** Every committed notebook: valid by the official schema, without outputs, and running to its end on our own kernel. */
import { mkdtempSync, readdirSync, readFileSync, rmSync, statSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { Ajv } from "ajv";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { runNotebook } from "../../src/kernel/run-notebook.js";
import { BUILD_TIMEOUT_MS, built } from "../support/built.js";

const FOLDER = new URL("../../notebooks/", import.meta.url).pathname;
const names = readdirSync(FOLDER).filter((name) => name.endsWith(".ipynb"));
/** nbformat 4.5's own schema (BSD-3, Debian's python3-nbformat). */
const { $schema: _, ...schema } = JSON.parse(
  readFileSync(new URL("../reference/nbformat/nbformat.v4.5.schema.json", import.meta.url), "utf8"),
);
const LARGEST_BYTES = 2.5e6;
/** The largest is a course of 480 moments, each with what it says under the pointer. */
const LARGEST_FIGURE_BYTES = 120_000;
/** Found in the drawing library only. */
const LIBRARY_MARK = /plotly\.js \(cartesian/;
const RUN_TIMEOUT_MS = 180_000;

interface Output {
  output_type: string;
  data?: Record<string, string | string[]>;
}
interface Cell {
  cell_type: string;
  source: string | string[];
  outputs?: Output[];
  execution_count?: number | null;
}
const cellsOf = (path: string): Cell[] => JSON.parse(readFileSync(path, "utf8")).cells;
const htmlOf = (output: Output): string => [output.data?.["text/html"] ?? []].flat().join("");

let work = "";
let launcher = "";
beforeAll(async () => {
  launcher = await built("kernel/launcher.js");
  work = mkdtempSync(join(tmpdir(), "polewright-notebooks-"));
}, BUILD_TIMEOUT_MS);
afterAll(() => rmSync(work, { recursive: true, force: true }));

it("are the set that the README tells of", () => {
  const readme = readFileSync(new URL("../../README.md", import.meta.url), "utf8");
  for (const name of names) expect(readme).toContain(name.replace(".ipynb", ""));
  expect(names.length).toBe(10);
});

describe.each(names)("%s", (name) => {
  it("is valid and holds no outputs", () => {
    const path = join(FOLDER, name);
    const validate = new Ajv({ strict: false }).compile(schema);
    expect(validate(JSON.parse(readFileSync(path, "utf8"))), JSON.stringify(validate.errors)).toBe(true);
    for (const cell of cellsOf(path)) {
      expect(cell.outputs ?? []).toEqual([]);
      expect(cell.execution_count ?? null).toBeNull();
    }
  });

  it(
    "runs to its end, the drawing library once, every figure small",
    async () => {
      const out = join(work, name);
      const result = await runNotebook(join(FOLDER, name), { out, kernel: { launcher } });
      expect(result.ok, result.text).toBe(true);
      expect(statSync(out).size).toBeLessThan(LARGEST_BYTES);
      const pages = cellsOf(out)
        .flatMap((cell) => cell.outputs ?? [])
        .map(htmlOf);
      const libraries = pages.filter((page) => page.match(LIBRARY_MARK));
      expect(libraries.length).toBeLessThanOrEqual(1);
      const figures = pages.filter(
        (page) => page.includes("polewright-drawing") && !page.match(LIBRARY_MARK),
      );
      if (figures.length > 0) expect(libraries).toHaveLength(1);
      for (const figure of figures) expect(figure.length).toBeLessThan(LARGEST_FIGURE_BYTES);
    },
    RUN_TIMEOUT_MS,
  );
});
