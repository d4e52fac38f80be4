import fc from "fast-check";
import { expect, test } from "vitest";
import { textWidths } from "../../src/cli/give.js";
import { fitReport } from "../../src/report/fit-report.js";
import type { Report } from "../../src/report/report.js";
import { reportText, wrap } from "../../src/report/text.js";
import { turnsReport } from "../../src/report/turns-report.js";
import { nowhereAdvice, nowhereFit } from "../support/fit-fixture.js";

/** Columns of a line as a terminal counts them: code points without combining marks. */
function columns(line: string): number {
  return [...line.replace(/\p{Mark}/gu, "")].length;
}

test.each([40, 60, 80, 100])("reports keep to %i columns", (width) => {
  for (const report of [fitReport(nowhereFit()), turnsReport(nowhereAdvice(), nowhereFit())]) {
    const lines = reportText(report, { width }).split("\n");
    expect(Math.max(...lines.map(columns))).toBeLessThanOrEqual(width);
  }
});

test("a wide terminal gives its tables room, and leaves the text lines that read well", () => {
  const name = "NGC 292 (Small Magellanic Cloud)";
  const report: Report = {
    title: "Tonight",
    blocks: [
      { kind: "sentence", text: "word ".repeat(60).trim() },
      {
        kind: "table",
        caption: "What to look at",
        head: ["Object", "Place"],
        rows: [[name, "low in the south-west ".repeat(4).trim()]],
        align: ["left", "left"],
      },
    ],
  };
  const wide = reportText(report, textWidths(132)).split("\n");
  expect(wide.some((line) => line.includes(name) && columns(line) > 80)).toBe(true);
  expect(Math.max(...wide.filter((line) => line.includes("word")).map(columns))).toBeLessThanOrEqual(80);
  expect(textWidths(132)).toEqual({ width: 80, tableWidth: 132 });
  // A pipe has no columns; some terminals say 0.
  for (const none of [undefined, 0]) expect(textWidths(none)).toEqual({ width: 80, tableWidth: 80 });
  const narrow = reportText(report, textWidths(44)).split("\n");
  expect(Math.max(...narrow.map(columns))).toBeLessThanOrEqual(44);
});

const anyText = fc.string({ unit: "grapheme", maxLength: 120 });

test("no text whatever makes a line wider than asked, and no word is lost", () => {
  fc.assert(
    fc.property(
      fc.array(fc.array(anyText, { minLength: 3, maxLength: 3 }), { maxLength: 5 }),
      anyText,
      fc.integer({ min: 30, max: 120 }),
      (rows, note, width) => {
        const report: Report = {
          title: note,
          blocks: [
            { kind: "sentence", text: note, tone: "caution" },
            { kind: "list", ordered: true, items: [note, note] },
            { kind: "table", caption: note, head: ["a", "b", "c"], rows, align: ["left", "right", "left"] },
          ],
        };
        const lines = reportText(report, { width }).split("\n");
        expect(Math.max(...lines.map(columns))).toBeLessThanOrEqual(width);
      },
    ),
    { seed: 20260314, numRuns: 300 },
  );
});

test("long words are broken, not dropped", () => {
  expect(wrap("abcdefghij kl", 4)).toEqual(["abcd", "efgh", "ij", "kl"]);
  expect(wrap("one two", 7)).toEqual(["one two"]);
});

test("a name cannot move the terminal's cursor, turn its writing or hide a line", () => {
  const evil = "Sirius\u001b[2J\u0007\r\u202eX\u0085";
  const text = reportText({ title: evil, blocks: [{ kind: "sentence", text: evil }] });
  expect(text.replace(/\n/g, "")).not.toMatch(/[\p{Control}\u202e]/u);
  expect(text).toContain("Sirius·[2J");
});

test("terminal styles change nothing but the styles", () => {
  const report = fitReport(nowhereFit());
  const styled = reportText(report, { colour: "ansi" });
  expect(styled).toContain("\u001b[1m");
  expect(styled.replace(/\p{Control}\[\d+m/gu, "")).toBe(reportText(report));
});
