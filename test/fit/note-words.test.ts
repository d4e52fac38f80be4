import { expect, test } from "vitest";
import { withUncertainty } from "../../src/fit/note-words.js";

test("a value has the decimals that its uncertainty warrants", () => {
  expect(withUncertainty(31.98, 5.61)).toBe("+32.0 ± 5.6");
  expect(withUncertainty(-23.06, 12.3)).toBe("−23 ± 12");
  expect(withUncertainty(-0.1234, 0.0512)).toBe("−0.12 ± 0.05");
});
