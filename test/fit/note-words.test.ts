import { expect, test } from "vitest";
import { fixed, signed, withUncertainty } from "../../src/fit/note-words.js";
import * as words from "../../src/report/words.js";

test("notes write numbers as the reports do", () => {
  for (const value of [-23.06, -0.04, 0, 0.04, 31.98])
    for (const decimals of [0, 1, 2]) {
      expect(fixed(value, decimals)).toBe(words.fixed(value, decimals));
      expect(signed(value, decimals)).toBe(words.signed(value, decimals));
    }
});

test("a value has the decimals that its uncertainty warrants", () => {
  expect(withUncertainty(31.98, 5.61)).toBe("+32.0 ± 5.6");
  expect(withUncertainty(-23.06, 12.3)).toBe("−23 ± 12");
  expect(withUncertainty(-0.1234, 0.0512)).toBe("−0.12 ± 0.05");
});
