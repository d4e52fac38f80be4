import { createRequire } from "node:module";
import { describe, expect, it } from "vitest";
import {
  calledName,
  charactersOf,
  literalAround,
  matchingNames,
  nearestName,
  type Parser,
  unitsOf,
} from "../../src/kernel/completion.js";

const requireAsTslab = createRequire(createRequire(import.meta.url).resolve("tslab/dist/main.js"));
const parser = requireAsTslab("@tslab/typescript-for-tslab") as Parser;

/** Code with the cursor as ¦. */
function around(marked: string) {
  const position = marked.indexOf("¦");
  const code = marked.replace("¦", "");
  const place = literalAround(parser, code, position);
  return place && { typed: place.typed, replaced: code.slice(place.start, place.end) };
}

const names = ["Achernar", "Acrux", "Alcor", "Mizar", "Unukalhai", "Zubenelgenubi", "Élnath", "α Centauri"];

describe("completion inside quotes", () => {
  it.each([
    ['sight("Ach¦', { typed: "Ach", replaced: "Ach" }],
    ['sight("Ach¦, 3)', { typed: "Ach", replaced: "Ach" }],
    ['sight("Ac¦hernar", 3)', { typed: "Ac", replaced: "Achernar" }],
    ['sight("¦", 3)', { typed: "", replaced: "" }],
    ["sight('Ach¦')", { typed: "Ach", replaced: "Ach" }],
    ["sight(`Ach¦`)", { typed: "Ach", replaced: "Ach" }],
    ['const quote = /"/; sight("Ach¦")', { typed: "Ach", replaced: "Ach" }],
    ['// it isn\'t\nsight("Ach¦")', { typed: "Ach", replaced: "Ach" }],
    ['f({ a: ["x", "y¦z"] })', { typed: "y", replaced: "yz" }],
    ['sight(¦"Ach")', undefined],
    ['sight("Ach"¦)', undefined],
    ["sight(Ach¦)", undefined],
    ['// "Ach¦"', undefined],
  ])("finds the literal at the cursor: %s", (marked, expected) => {
    expect(around(marked)).toEqual(expected);
  });

  it("offers what begins with the letters first, then what contains them, whatever the case and accents", () => {
    expect(matchingNames(names, "ac")).toEqual(["Achernar", "Acrux"]);
    expect(matchingNames(names, "EL")).toEqual(["Élnath", "Zubenelgenubi"]);
    expect(matchingNames(names, "α")).toEqual(["α Centauri"]);
    expect(matchingNames(names, "")).toEqual(names);
    expect(matchingNames(names, "xyz")).toEqual([]);
  });

  it("guesses the name that was meant, but only if it is near", () => {
    expect(nearestName(names, "Achenar")).toBe("Achernar");
    expect(nearestName(names, "zubenelgenoobi")).toBe("Zubenelgenubi");
    expect(nearestName(names, "Elnat")).toBe("Élnath");
    expect(nearestName(names, "Sirius")).toBeUndefined();
    expect(nearestName([], "Mizar")).toBeUndefined();
  });
});

describe("the cursor", () => {
  it("is counted in characters by Jupyter and in UTF-16 units by TypeScript", () => {
    const code = "a🔭bα";
    expect([0, 1, 2, 3, 4, 9].map((characters) => unitsOf(code, characters))).toEqual([0, 1, 3, 4, 5, 5]);
    expect([0, 1, 3, 4, 5].map((units) => charactersOf(code, units))).toEqual([0, 1, 2, 3, 4]);
  });

  it("stands behind the bracket that opens a call's arguments", () => {
    expect(calledName("fit(", 4)).toBe(3);
    expect(calledName("fit (\n ", 7)).toBe(3);
    expect(calledName("fit(night)", 5)).toBeUndefined();
    expect(calledName("fit", 3)).toBeUndefined();
  });
});
