import fc from "fast-check";
import { expect, it } from "vitest";
import { jsonPlaces } from "../../src/mount/json-places.js";

const SEED = 8259;

/** JavaScript's own parser is the reference: ECMA-262 takes the grammar of RFC 8259. */
function isJson(text: string): boolean {
  try {
    JSON.parse(text);
    return true;
  } catch {
    return false;
  }
}

it("finds a slip exactly where JSON.parse refuses the text", () => {
  const edited = fc
    .tuple(
      fc.json({ maxDepth: 4 }),
      fc.nat(200),
      fc.nat(2),
      fc.constantFrom("", ",", "}", "]", '"', "0", "-", ".", "e", "\\", "\t", " ", "x"),
    )
    .map(([text, at, length, put]) => {
      const place = at % (text.length + 1);
      return text.slice(0, place) + put + text.slice(place + length);
    });
  fc.assert(
    fc.property(fc.oneof(edited, fc.json(), fc.string()), (text) => {
      expect(jsonPlaces(text).slip === null).toBe(isJson(text));
    }),
    { seed: SEED, numRuns: 5000 },
  );
});

it("knows the line of every value and the keys given twice", () => {
  const { lines, repeated, slip } = jsonPlaces('{\n  "a": [1,\n   {"b c": 2}],\n  "d": 1, "d": 2\n}');
  expect(slip).toBeNull();
  expect(Object.fromEntries(lines)).toEqual({ "": 1, a: 2, "a[0]": 2, "a[1]": 3, 'a[1]."b c"': 3, d: 4 });
  expect(repeated).toEqual([{ path: "d", place: { line: 4, character: 11 } }]);
});

it("says line and character of a slip", () => {
  expect(jsonPlaces('{\n "a": tru\n}').slip).toMatchObject({ place: { line: 2, character: 7 } });
});
