/** Further attempts to make a builder's term do more than arithmetic, or to make it take for ever. */
import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { InputError } from "../../src/errors.js";
import { compileCustomTerm, compileExpression, customTermVariables } from "../../src/mount/custom-term.js";
import { parseMountText } from "../../src/mount/mount-file.js";
import { mountFiles } from "./ground.js";
import { SPOILT } from "./runs.js";

const at = { hourAngle: 0.3, declination: -0.4, altitude: 0.5, azimuth: 2, latitude: -0.5 };

function refused(text: string): string {
  try {
    compileExpression(text);
  } catch (problem) {
    if (problem instanceof InputError) return problem.code;
    throw problem;
  }
  return "accepted";
}

describe("an expression", () => {
  it.each([
    // Doors by other spellings
    "hourAngle.constructor.constructor",
    "(1).constructor",
    "1.constructor",
    "1..constructor",
    "sin.prototype",
    "hourAngle ^ .constructor",
    "pi.x",
    "constructor(1)",
    "__proto__(1)",
    "hasOwnProperty(1)",
    "toString(1)",
    "valueOf(1)",
    "propertyIsEnumerable(1)",
    "isPrototypeOf(1)",
    "__defineGetter__(1)",
    "eval(1)",
    "Function(1)",
    "setTimeout(1)",
    "import(1)",
    "require(1)",
    "console.log(1)",
    "f(x)=f(x)",
    "hourAngle()",
    "pi(1)",
    "sin(sin)",
    "sin(cos)(1)",
    "(sin)(hourAngle)",
    "sin ( ) ( )",
    "atan2(1)(2)",
    "0x7fffffff",
    "0o17",
    "1e400",
    "1_000",
    "1n",
    "١",
    "sіn(1)",
    "sin\u200b(1)",
    "\u2061sin(1)",
    "ﬁ",
    "Σ(1)",
    "∞",
    "1//1",
    "1/*x*/+1",
    "1--",
    "++1++",
    "1***2",
    "..",
    ".",
    "-",
    "^",
    "()",
    "(),()",
    ",",
    "e^1",
    "version",
    "unit(1)",
    "bignumber(1)",
    "help(1)",
    "reviver(1)",
    "apply(1,2,3)",
    "gamma(100)",
    "combinations(1e9, 5e8)",
    "prime(1)",
    "end",
    "in",
    "to",
    "xor",
    "mod",
    "not",
    "or",
  ])("%j does nothing but be refused", (text) => {
    expect(refused(text)).toMatch(/^custom-term-(forbidden|unknown-name|unreadable|too-long)$/);
  });

  it.each([
    ["towers of powers", "9^9^9^9^9^9^9^9"],
    ["deep nesting", `${"sin(".repeat(39)}1${")".repeat(39)}`],
    ["deeper nesting", `${"abs(".repeat(120)}1${")".repeat(120)}`],
    ["brackets to the limit", `${"(".repeat(249)}1${")".repeat(249)}`],
    ["brackets that do not close", "(".repeat(500)],
    ["minus signs", `${"-".repeat(499)}1`],
    ["a long sum", `${"1+".repeat(249)}1`],
    ["a long number", "1".repeat(500)],
    ["a number with many dots", "1.".repeat(250)],
    ["exponents", "1e1e1e1e1e1"],
    ["many commas", `min(${"1,".repeat(240)}1)`],
    ["blanks", `1${" ".repeat(498)}`],
    ["far too long", "1+".repeat(1_000_000)],
  ])("of %s is done at once", (_, text) => {
    const answer = refused(text);
    if (answer !== "accepted") {
      expect(answer).toMatch(/^custom-term-/);
      return;
    }
    let value: unknown;
    try {
      value = compileExpression(text)(at);
    } catch (problem) {
      expect(problem).toBeInstanceOf(InputError);
      return;
    }
    expect(Number.isFinite(value)).toBe(true);
  });

  it("made of any pieces computes a finite number from what it is given, or is refused", () => {
    const piece = fc.constantFrom(
      ...customTermVariables,
      "sin",
      "atan2",
      "min",
      "pi",
      "(",
      ")",
      "(",
      ")",
      ",",
      "+",
      "-",
      "*",
      "/",
      "^",
      ".",
      " ",
      "1",
      "0",
      "2.5",
      "1e3",
      "e",
      "=",
      "'",
      '"',
      "[",
      "]",
      "{",
      "}",
      ":",
      ";",
      "?",
      "!",
      "%",
      "&",
      "|",
      "~",
      "<",
      ">",
      "#",
      "\\",
      "$",
      "`",
      "constructor",
      "__proto__",
      "this",
      "import",
      "evaluate",
      "\n",
      "\t",
      "\u0000",
      "é",
    );
    // What an expression may not reach: these would show it.
    const before = Object.getOwnPropertyNames(Object.prototype).join();
    fc.assert(
      fc.property(fc.array(piece, { minLength: 1, maxLength: 25 }), (pieces) => {
        const text = pieces.join("");
        try {
          const compute = compileExpression(text);
          const value = compute(at);
          expect(Number.isFinite(value)).toBe(true);
          // The same from the same: nothing is kept, nothing is drawn by chance.
          expect(compute({ ...at })).toBe(value);
        } catch (problem) {
          if (!(problem instanceof InputError)) throw problem;
        }
      }),
      { seed: 20260316, numRuns: Math.min(SPOILT, 50_000) },
    );
    expect(Object.getOwnPropertyNames(Object.prototype).join()).toBe(before);
  });
});

describe("a mount file", () => {
  it("with terms named after what every object has is refused", () => {
    for (const name of ["__proto__", "constructor", "custom__proto__", "toString", "custom", "customfork"]) {
      const file = { ...mountFiles[0], customTerms: [{ name, hourAngle: "1" }] };
      expect(() => parseMountText(JSON.stringify(file))).toThrow(InputError);
    }
  });

  it("with keys of every object's own changes no object", () => {
    for (const text of [
      '{"__proto__":{"harmed":1}}',
      '{"constructor":{"prototype":{"harmed":1}}}',
      JSON.stringify(mountFiles[0]).replace('{"name"', '{"__proto__":{"harmed":1},"name"'),
      JSON.stringify(mountFiles[0]).replace('"site":{', '"site":{"__proto__":{"latitude":1},'),
      JSON.stringify(mountFiles[0]).replace('"jacks":[{', '"jacks":[{"__proto__":null,'),
    ]) {
      let problem: unknown = null;
      try {
        parseMountText(text);
      } catch (thrown) {
        problem = thrown;
      }
      expect(problem, text.slice(0, 60)).toBeInstanceOf(InputError);
      expect(
        (problem as InputError).faults.some((fault) => /__proto__|constructor/.test(fault.path ?? "")),
      ).toBe(true);
      expect(({} as { harmed?: number }).harmed).toBeUndefined();
    }
  });

  it("has only so many terms, of so many parts", () => {
    const term = (n: number) => ({ name: `customT${n}`, hourAngle: `${"sin(hourAngle)+".repeat(20)}1` });
    const many = { ...mountFiles[0], customTerms: Array.from({ length: 5000 }, (_, n) => term(n)) };
    expect(() => parseMountText(JSON.stringify(many))).toThrow(InputError);
  });
});

it("a term that is worth nothing anywhere is refused, one that is huge is not used up in silence", () => {
  const term = (hourAngle: string) => ({
    name: "customX",
    label: "x",
    hourAngle,
    declination: "0",
    tolerance: null,
  });
  expect(() => compileCustomTerm(term("0*hourAngle"))).toThrow(InputError);
  expect(() => compileCustomTerm(term("exp(exp(exp(9)))"))).toThrow(InputError);
});
