import { readFileSync } from "node:fs";
import Ajv from "ajv";
import { describe, expect, it } from "vitest";
import { InputError } from "../../src/errors.js";
import { notebookText, type Output, parseNotebook, withOutput } from "../../src/kernel/notebook-file.js";

const reference = (name: string) =>
  readFileSync(new URL(`../reference/nbformat/${name}`, import.meta.url), "utf8");
// The official schema; the draft-04 words that ajv does not know are not used in it besides "$schema".
const { $schema: _, ...schema } = JSON.parse(reference("nbformat.v4.5.schema.json"));
const isValid = new Ajv({ strict: false }).compile(schema);
const written = reference("written.ipynb");

function faultsOf(notebook: unknown) {
  try {
    parseNotebook(typeof notebook === "string" ? notebook : JSON.stringify(notebook, null, 1), "n.ipynb");
  } catch (error) {
    if (error instanceof InputError) return error.faults;
    throw error;
  }
  return [];
}

const code = { cell_type: "code", id: "a", metadata: {}, source: "", execution_count: null, outputs: [] };
const notebook = (cells: unknown[]) => ({ nbformat: 4, nbformat_minor: 5, metadata: {}, cells });

describe("a notebook file", () => {
  it("is written byte by byte as the nbformat package writes it", () => {
    expect(notebookText(parseNotebook(written))).toBe(written);
  });

  it("is held in memory with whole texts, not lines", () => {
    const [heading, readings] = parseNotebook(written).cells;
    expect(heading?.source).toBe("# First light\n\nφ = −30°, λ = 20°\n");
    expect(readings).toMatchObject({
      outputs: [{ text: "one\ntwo\n\nthree" }, { data: { "text/plain": "a figure\nof two lines" } }, {}, {}],
    });
  });

  it.each([0, 2, 4])("of nbformat 4.%i becomes 4.5 with the same ids every time", (minor) => {
    const cells = [
      { ...code, id: undefined, source: ["a;\n", "b"] },
      { ...code, id: "cell-3" },
      { ...code, id: undefined },
    ];
    const text = JSON.stringify({ ...notebook(cells), nbformat_minor: minor });
    const read = parseNotebook(text);
    expect(read.nbformat_minor).toBe(5);
    expect(read.cells.map(({ id }) => id)).toEqual(["cell-1", "cell-3", "cell-3-"]);
    expect(isValid(JSON.parse(notebookText(read))), JSON.stringify(isValid.errors)).toBe(true);
    expect(parseNotebook(text)).toEqual(read);
  });

  it("is valid by the official schema, which also can say no", () => {
    expect(isValid(JSON.parse(notebookText(parseNotebook(written))))).toBe(true);
    expect(isValid(notebook([{ ...code, outputs: undefined }]))).toBe(false);
    expect(isValid(notebook([{ ...code, id: "no spaces" }]))).toBe(false);
  });

  it("tells all that is wrong with it at once, each with path and line", () => {
    const faults = faultsOf(
      notebook([
        { ...code, source: 5 },
        { ...code, id: "b c", outputs: [{ output_type: "picture" }] },
        { ...code, colour: "red" },
        { cell_type: "markdown", id: "m", metadata: {} },
      ]),
    );
    expect(faults.map(({ path }) => path)).toEqual([
      "cells[0].source",
      "cells[1].id",
      "cells[1].outputs[0].output_type",
      "cells[2].colour",
      "cells[3].source",
      "cells[2].id",
    ]);
    expect(faults[0]).toMatchObject({
      code: "notebook-form",
      file: "n.ipynb",
      found: "5",
      allowed: "text, or a list of lines of text",
      line: 10,
    });
    expect(faults[2]?.allowed).toContain('"display_data"');
    expect(faults[3]?.message).toBe("This key is not known here.");
    expect(faults[4]?.message).toBe("This is missing.");
    expect(faults[5]?.message).toBe("An earlier cell has this id already.");
  });

  it("of another version is refused with the way to mend it", () => {
    expect(faultsOf({ ...notebook([]), nbformat: 3, nbformat_minor: 0 })).toMatchObject([
      { code: "notebook-version", found: "3.0", allowed: expect.stringContaining("nbconvert") },
    ]);
    expect(faultsOf({ ...notebook([]), nbformat_minor: 6 })).toMatchObject([
      { code: "notebook-version", found: "4.6" },
    ]);
  });

  it.each([
    ['{"cells": [],\n "metadata": }', { code: "not-json", line: 2 }],
    ["", { code: "not-json" }],
    ["[]", { code: "notebook-form" }],
    ["null", { code: "notebook-form" }],
  ])("that is none is refused: %j", (text, expected) => {
    expect(faultsOf(text)[0]).toMatchObject(expected);
  });

  it("joins what is written to the same stream, and nothing else", () => {
    const stream = (name: string, text: string): Output => ({ output_type: "stream", name, text });
    const outputs = [
      stream("stdout", "a"),
      stream("stdout", "b\n"),
      stream("stderr", "c"),
      stream("stdout", "d"),
    ];
    expect(outputs.reduce<readonly Output[]>(withOutput, [])).toEqual([
      stream("stdout", "ab\n"),
      stream("stderr", "c"),
      stream("stdout", "d"),
    ]);
  });

  it("refuses what is nested more deeply than Jupyter itself can read", () => {
    const nested = (levels: number) => `${'{"a":'.repeat(levels)}1${"}".repeat(levels)}`;
    const notebook = (levels: number) =>
      `{"cells":[],"metadata":${nested(levels)},"nbformat":4,"nbformat_minor":5}`;
    for (const levels of [9000, 100_000, 901]) {
      expect(() => parseNotebook(notebook(levels), "deep.ipynb")).toThrowError(
        expect.objectContaining({
          faults: [expect.objectContaining({ code: "notebook-depth", file: "deep.ipynb" })],
        }),
      );
    }
    expect(notebookText(parseNotebook(notebook(800)))).toContain('"a": 1');
  });
});
