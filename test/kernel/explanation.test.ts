import { expect, test } from "vitest";
import { explanation } from "../../src/kernel/explanation.js";

const parts = (...texts: string[]) => texts.map((text) => ({ text }));

test("a function's explanation says what is what", () => {
  const text = explanation({
    displayParts: parts("(alias) ", "fit(night: Night): Fit", "\nimport fit"),
    documentation: parts("Fits a night."),
    tags: [
      { name: "param", text: parts("night", " - ", "an opened night") },
      { name: "returns", text: parts("how the mount stands") },
      { name: "throws", text: parts("InputError `unknown-term`") },
      { name: "internal" },
      { name: "since", text: parts("1.0") },
      { name: "example", text: parts("```ts\nconst fit = fit(night);\n\nfit\n```") },
    ],
  });
  expect(text).toBe(`fit(night: Night): Fit

Fits a night.

  night - an opened night
Returns: how the mount stands
Throws: InputError \`unknown-term\`
Example:
  const fit = fit(night);

  fit`);
});

test("what is not known leaves no gap", () => {
  expect(explanation({ displayParts: parts("const a: 1") })).toBe("const a: 1");
  expect(
    explanation({ displayParts: parts("f(): void"), tags: [{ name: "returns", text: parts("x") }] }),
  ).toBe("f(): void\n\nReturns: x");
  expect(explanation({})).toBe("");
});
