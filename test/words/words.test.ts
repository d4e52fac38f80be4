import { describe, expect, it, test } from "vitest";
import { turnsOf as turnsPhrase, turnsFigure as turnsText } from "../../src/base/base-words.js";
import { eastOrWest, highOrLow } from "../../src/words/directions.js";
import { largeLetters } from "../../src/words/large-letters.js";
import { count, listText } from "../../src/words/lists.js";
import { arcminText, decimalsFor, estimateText, fixed, signed, sizeText } from "../../src/words/numbers.js";

test("numbers carry a true minus, and none before zero", () => {
  expect(fixed(-Math.PI, 2)).toBe("−3.14");
  expect(fixed(-0.004, 2)).toBe("0.00");
  expect(signed(0.004, 2)).toBe("0.00");
  expect(signed(1.25, 1)).toMatch(/^\+1\.[23]$/);
  expect(fixed(Number.NaN, 1)).toBe("unknown");
});

test("large angles are written in degrees and arcminutes, and never as sixty arcminutes", () => {
  expect(arcminText(14.18)).toBe("14.2′");
  expect(arcminText(-412.6, 1, true)).toBe("−6° 52.6′");
  expect(arcminText(179.96)).toBe("3° 0.0′");
  expect(arcminText(119.94)).toBe("119.9′");
  expect(arcminText(120)).toBe("2° 0.0′");
});

test("an uncertainty says how many decimals a value deserves", () => {
  expect([0.04, 0.46, 1.3, 12].map(decimalsFor)).toEqual([2, 1, 1, 0]);
  expect(sizeText({ value: -14.18, uncertainty: 0.46 })).toBe("14.2′ ± 0.5′");
  expect(estimateText({ value: -0.213, uncertainty: 0.042 })).toBe("−0.21′ ± 0.04′");
  expect(estimateText({ value: 3, uncertainty: 1 }, "arcmin/rad")).toBe("+3.0′/rad ± 1.0′/rad");
});

test("directions follow the signs of the table of terms", () => {
  expect([highOrLow(1), highOrLow(-1)]).toEqual(["too high", "too low"]);
  expect([eastOrWest(1), eastOrWest(-1)]).toEqual(["too far east", "too far west"]);
});

test("turns are counted as a hand counts them", () => {
  expect([0, 0.125, 0.25, 0.5, 0.75, 1, 1.125, 2.0625].map(turnsText)).toEqual([
    "0",
    "1/8",
    "1/4",
    "1/2",
    "3/4",
    "1",
    "1 1/8",
    "2 1/16",
  ]);
  expect([3 / 64, 1.03125, 2 - 2e-9].map(turnsText)).toEqual(["3/64", "1 1/32", "2"]);
  expect([1 / 3, 0.1, 2.0001].map(turnsText)).toEqual(["1/3", "1/10", "2"]);
  expect(turnsPhrase(1)).toBe("1 turn");
  expect(turnsPhrase(1.125)).toBe("1 1/8 turns");
});

test("lists and counts read as English", () => {
  expect(listText([])).toBe("");
  expect(listText(["a"])).toBe("a");
  expect(listText(["a", "b", "c"])).toBe("a, b and c");
  expect(count(1, "star")).toBe("1 star");
  expect(count(0, "star")).toBe("0 stars");
});

describe("large letters", () => {
  it("are five lines of full blocks, narrow where the text is long, and never wider than the screen", () => {
    expect(largeLetters("1.5")).toEqual([
      "  ██            ██████",
      "████            ██",
      "  ██            ██████",
      "  ██                ██",
      "██████    ██    ██████",
    ]);
    for (const text of ["north-east", "anticlockwise", "the lower bearing's plate, west"]) {
      const lines = largeLetters(text);
      expect(lines).toHaveLength(5);
      expect(Math.max(...lines.map((line) => line.length))).toBeLessThanOrEqual(80);
      expect(Math.max(...lines.map((line) => line.length))).toBeGreaterThan(40);
    }
    // Accents are left away, what has no glyph stays blank.
    expect(largeLetters("né")).toEqual(largeLetters("NE"));
    expect(largeLetters("§").join("")).toBe("");
  });
});
