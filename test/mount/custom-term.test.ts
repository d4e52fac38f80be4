import { createRequire } from "node:module";
import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { InputError } from "../../src/errors.js";
import {
  type CustomTermVariables,
  compileCustomTerm,
  compileExpression,
} from "../../src/mount/custom-term.js";

const SEED = 1521;
const at: CustomTermVariables = {
  hourAngle: 0.3,
  declination: -0.7,
  altitude: 0.9,
  azimuth: 2.2,
  latitude: -0.51,
};

function codeOf(work: () => unknown): string {
  try {
    work();
  } catch (problem) {
    if (problem instanceof InputError) return problem.code;
    throw problem;
  }
  return "none";
}

describe("a builder's expression", () => {
  it.each<[string, number]>([
    ["2", 2],
    ["1.5e-1", 0.15],
    ["-2^2", -4],
    ["2^3^2", 512],
    ["1 - 2 - 3", -4],
    ["8 / 4 / 2", 1],
    ["pi", Math.PI],
    ["+hourAngle", 0.3],
    ["sin(hourAngle) * tan(declination)", Math.sin(0.3) * Math.tan(-0.7)],
    ["atan2(latitude, azimuth)", Math.atan2(-0.51, 2.2)],
    ["max(altitude, azimuth, 1) - min(altitude, 2)", 1.3],
    ["sqrt(abs(declination)) + exp(0) + log(1) + sign(latitude)", Math.sqrt(0.7)],
    ["asin(0.5) + acos(0.5) + atan(0)", Math.PI / 2],
  ])("%s has its value", (text, value) => {
    expect(compileExpression(text)(at)).toBeCloseTo(value, 14);
  });

  it("has the value that mathjs itself computes", () => {
    // The reference is mathjs's own evaluation over plain numbers; here the tree is walked by our own closures.
    const { evaluate } = createRequire(import.meta.url)("mathjs/number") as {
      evaluate: (text: string, scope: object) => unknown;
    };
    const { expression } = fc.letrec<{ expression: string; leaf: string }>((tie) => ({
      leaf: fc.oneof(
        fc.constantFrom("hourAngle", "declination", "altitude", "azimuth", "latitude", "pi"),
        fc.integer({ min: 0, max: 99 }).map(String),
        fc.double({ min: 0.001, max: 9, noNaN: true }).map(String),
      ),
      expression: fc.oneof(
        { maxDepth: 5 },
        tie("leaf"),
        fc
          .tuple(tie("expression"), fc.constantFrom("+", "-", "*", "/", "^", " - "), tie("expression"))
          .map((parts) => parts.join("")),
        tie("expression").map((inner) => `(${inner})`),
        tie("expression").map((inner) => `-${inner}`),
        fc
          .tuple(
            fc.constantFrom("sin", "cos", "tan", "atan", "abs", "exp", "sign", "asin", "acos"),
            tie("expression"),
          )
          .map(([name, inner]) => `${name}(${inner})`),
        fc
          .tuple(fc.constantFrom("atan2", "min", "max"), tie("expression"), tie("expression"))
          .map(([name, a, b]) => `${name}(${a}, ${b})`),
      ),
    }));
    let compared = 0;
    fc.assert(
      fc.property(expression, (text) => {
        const expected = evaluate(text, { ...at });
        let value: number;
        try {
          value = compileExpression(text)(at);
        } catch (problem) {
          expect(problem).toBeInstanceOf(InputError);
          const { code } = problem as InputError;
          expect(["custom-term-too-long", "custom-term-not-finite"]).toContain(code);
          if (code === "custom-term-not-finite")
            expect(typeof expected === "number" && Number.isFinite(expected)).toBe(false);
          return;
        }
        compared += 1;
        // The same operations on the same doubles in the same order.
        expect(value).toBeCloseTo(
          expected as number,
          12 - Math.ceil(Math.log10(Math.abs(expected as number) + 1)),
        );
      }),
      { seed: SEED, numRuns: 1000 },
    );
    expect(compared).toBeGreaterThan(500);
  });

  it.each([
    // Reaching for the machine
    "process.exit()",
    "process",
    "globalThis",
    "require",
    'require("fs")',
    'import("fs")',
    "import({a:1})",
    "this",
    "constructor",
    "hourAngle.constructor",
    'hourAngle["constructor"]',
    'sin.constructor("return process")()',
    "sin.call(1)",
    "(sin)(1)",
    "sin",
    "__proto__",
    "toString()",
    "valueOf",
    "hasOwnProperty(1)",
    // mathjs's own doors
    'evaluate("1")',
    'parse("1")',
    'compile("1")',
    "simplify(1)",
    'derivative("x", "x")',
    "createUnit(1)",
    "config({})",
    "typed(1)",
    "chain(1)",
    "print(1)",
    "random()",
    "factorial(3)",
    "map(1, sin)",
    // More than an expression
    "a = 1",
    "hourAngle = 2",
    "f(x) = x",
    "sin(x) = x",
    "1; 2",
    "1\n2",
    "1 # note",
    "[1, 2]",
    "[1, 2][1]",
    "{a: 1}",
    "1:3",
    '"text"',
    "'text'",
    "true",
    "false",
    "null",
    "undefined",
    "NaN",
    "Infinity",
    "i",
    "e",
    "tau",
    "1e999",
    "2 deg",
    "5 cm",
    "5 cm to mm",
    "3!",
    "5%",
    "5 % 2",
    "5 mod 2",
    "1 < 2",
    "1 == 1",
    "not 1",
    "1 and 2",
    "1 ? 2 : 3",
    "1 | 2",
    "1 & 2",
    "~1",
    "1 << 2",
    "2 .* 3",
    "2 .^ 3",
    "2'",
    "0x10",
    "0b11",
    "hourAngle'",
    // Written wrongly
    "",
    "   ",
    "2 hourAngle",
    "2(3)",
    "hourAngle(2)",
    "sin hourAngle",
    "sin()",
    "sin(1, 2)",
    "atan2(1)",
    "min()",
    "1 +",
    "(1",
    "1)",
    "1,2",
    "hourangle",
    "houraAngle",
    "ｓin(1)",
    "1\u0000",
    "\u2028",
    `${"(".repeat(60)}1${")".repeat(60)}`,
    `1${"+1".repeat(240)}`,
    "sqrt(-1)",
    "1/0",
    "log(0)",
    "asin(2)",
    "0/0",
  ])("%j is refused with a fault", (text) => {
    const code = codeOf(() =>
      compileCustomTerm({ name: "customX", label: "x", hourAngle: text, declination: "1", tolerance: null }),
    );
    expect(code).toMatch(/^custom-term-(forbidden|unknown-name|unreadable|too-long|not-finite)$/);
  });

  it("of any text is a finite number or a fault", () => {
    const words = fc.constantFrom(
      "sin",
      "(",
      ")",
      "hourAngle",
      "+",
      "-",
      "^",
      "2",
      ".",
      ",",
      "pi",
      "constructor",
      "[",
      "=",
      ";",
      " ",
    );
    const text = fc.oneof(
      fc.string({ maxLength: 30 }),
      fc.array(words, { maxLength: 12 }).map((parts) => parts.join("")),
    );
    fc.assert(
      fc.property(text, (written) => {
        try {
          expect(Number.isFinite(compileExpression(written)(at))).toBe(true);
        } catch (problem) {
          expect(problem).toBeInstanceOf(InputError);
        }
      }),
      { seed: SEED, numRuns: 3000 },
    );
  });

  it("says where it has no value, and what was meant", () => {
    const closure = compileExpression("1 / hourAngle", "customTerms[0].hourAngle");
    expect(() => closure({ ...at, hourAngle: 0 })).toThrow(
      /customTerms\[0\]\.hourAngle.*no finite value at hourAngle 0\.0000/,
    );
    expect(() => compileExpression("cos(hourangle)")).toThrow(/Did you mean hourAngle\?/);
    expect(() => compileExpression("2 hourAngle")).toThrow(/\* is missing/);
  });
});

describe("a builder's term", () => {
  it("must move a reading somewhere", () => {
    const term = {
      name: "customFork",
      label: "fork",
      hourAngle: "0",
      declination: "sin(pi - pi) * hourAngle",
      tolerance: null,
    };
    expect(codeOf(() => compileCustomTerm(term))).toBe("custom-term-without-effect");
  });

  it("may have no value at single places, such as the pole", () => {
    const term = compileCustomTerm({
      name: "customFork",
      label: "fork",
      hourAngle: "1 / cos(declination)",
      declination: "0",
      tolerance: 3,
    });
    expect(term.hourAngle({ ...at, declination: 0 })).toBe(1);
    expect(term.declination(at)).toBe(0);
  });

  it("reports the faults of both its expressions", () => {
    try {
      compileCustomTerm(
        { name: "customFork", label: "fork", hourAngle: "1 +", declination: "foo", tolerance: 3 },
        "customTerms[2]",
      );
      expect.unreachable();
    } catch (problem) {
      expect((problem as InputError).faults.map((fault) => [fault.code, fault.path])).toEqual([
        ["custom-term-unreadable", "customTerms[2].hourAngle"],
        ["custom-term-unknown-name", "customTerms[2].declination"],
      ]);
    }
  });
});
