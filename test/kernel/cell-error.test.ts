import { describe, expect, it } from "vitest";
import { PolewrightError } from "../../src/errors.js";
import { thrownCellError, typeCellError } from "../../src/kernel/cell-error.js";

const names = () => ["Achernar", "Mizar"];
const nowhere = () => undefined;

describe("the error of a cell", () => {
  it("points at the place that the type checker refuses, and names the star that was meant", () => {
    const code = 'const a = 1;\n\tsight("Achenar", a);';
    const findings = [
      { line: 2, column: 8, text: "Argument of type '\"Achenar\"' is not assignable." },
      { line: 2, column: 8, text: "The reason." },
      { file: "helper.ts", line: 9, column: 1, text: "Cannot find name 'x'." },
    ];
    const error = typeCellError(code, findings, names);
    expect(error.evalue).toBe(
      'line 2, column 8: Argument of type \'"Achenar"\' is not assignable. Did you mean "Achernar"?',
    );
    expect(error.traceback).toEqual([
      error.evalue,
      '    \tsight("Achenar", a);',
      "    \t      ^",
      "    The reason.",
      "helper.ts, line 9, column 1: Cannot find name 'x'.",
    ]);
  });

  it("asks for names at the place of the literal", () => {
    const asked: [string, number][] = [];
    const code = 'let a;\nsight("Mizr")';
    typeCellError(code, [{ line: 2, column: 7, text: "No." }], (text, at) => {
      asked.push([text, at]);
      return [];
    });
    expect(asked).toEqual([[code, code.indexOf("Mizr")]]);
  });

  it("shows an error that the library throws on purpose without the library's own frames", () => {
    const thrown = new PolewrightError("time-without-zone", "The time has no zone.\nGive one.");
    const inCell = `${thrown.stack}\n    at cell[4]:3:1\n    at node:vm:1:1`;
    Object.assign(thrown, { stack: inCell });
    const place = (frame: string) =>
      frame.includes("cell[4]") ? { run: 4, count: 4, line: 2, column: 3 } : undefined;
    expect(thrownCellError(thrown, "one\n  two()", 4, place)).toEqual({
      ename: "PolewrightError",
      evalue: "The time has no zone.\nGive one.",
      traceback: [
        "PolewrightError: The time has no zone.\nGive one.",
        "    at line 2, column 3",
        "      two()",
        "      ^",
      ],
    });
  });

  it("keeps the frames of other errors, which are for whoever mends the program", () => {
    const thrown = new TypeError("x is not a function");
    thrown.stack = "TypeError: x is not a function\n    at f (/lib/a.js:1:1)\n    at node:internal/x:1:1";
    expect(thrownCellError(thrown, "", 1, nowhere).traceback).toEqual([
      "TypeError: x is not a function",
      "    at f (/lib/a.js:1:1)",
    ]);
  });

  it("names the cell where the error comes out of an earlier one", () => {
    const thrown = new Error("late");
    const place = () => ({ run: 7, count: 2, line: 5, column: 1 });
    thrown.stack = "Error: late\n    at cell[2]:9:9";
    expect(thrownCellError(thrown, "f()", 3, place).traceback).toEqual([
      "Error: late",
      "    at cell [2], line 5, column 1",
    ]);
  });

  it.each([
    ["text", "Thrown: text"],
    [undefined, "Thrown: undefined"],
    [{ a: 1 }, "Thrown: { a: 1 }"],
  ])("shows whatever else is thrown: %j", (thrown, expected) => {
    expect(thrownCellError(thrown, "", 1, nowhere).traceback).toEqual([expected]);
  });

  it("tells the cause", () => {
    const thrown = new Error("outer", { cause: "inner" });
    expect(thrownCellError(thrown, "", 1, nowhere).traceback.at(-1)).toBe("Cause: 'inner'");
  });
});
