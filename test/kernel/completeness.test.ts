import { describe, expect, it } from "vitest";
import { completeness } from "../../src/kernel/completeness.js";
import { typeScriptOfTslab } from "../../src/kernel/tslab.js";

const parser = typeScriptOfTslab();
const status = (code: string) => completeness(parser, code).status;

// What a cell lacks is by the grammar of ECMAScript 2024 and of TypeScript 5.0.
describe("code that is typed into a console", () => {
  it.each(["", "1", "const a: number = 1;", "await f();", "f(`a`)", "// a remark", "for (;;) {}", "x\n\n"])(
    "is complete: %j",
    (code) => expect(status(code)).toBe("complete"),
  );

  it.each([
    "function f() {",
    "`an open template",
    "`with two empty lines\n\n\n",
    "`with ${ a",
    "f(1, // a remark",
    "/* a comment",
    "[1, 2,\n",
    "const f = (a: number,",
    "const x =",
    "1 +",
    "if (a) {\n} else {",
    "x ? 1",
    "interface A {",
    "import { a,",
  ])("lacks its end: %j", (code) => expect(status(code)).toBe("incomplete"));

  it.each(["const = 3", "f(1 2) {", "}", '"open', "let r = /open", "if (a) {\n  1 2\n", "let 1a = `open"])(
    "is wrong, and no further line would help: %j",
    (code) => expect(status(code)).toBe("invalid"),
  );

  it("is gone on with at the indent of the last line, one step more behind an opening bracket", () => {
    expect(completeness(parser, "if (a) {\n  f(\n    1,")).toEqual({ status: "incomplete", indent: "    " });
    expect(completeness(parser, "  const g = () => {\n")).toEqual({ status: "incomplete", indent: "    " });
  });
});
