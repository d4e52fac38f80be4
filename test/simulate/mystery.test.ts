/** Riddles: the same from the same pass-word, scored by how the arrows agree, solvable by the library's own fit. */
import { expect, it } from "vitest";
import { fitMount } from "../../src/fit/mount-fit.js";
import { type MysteryLevel, mystery, mysteryTerms } from "../../src/simulate/mystery.js";

const LEVELS: readonly MysteryLevel[] = [1, 2, 3, 4];

it("is the same from the same pass-word, whatever its case, and another from another or at another level", () => {
  const stars = (word: string, level: MysteryLevel) => mystery(word, { level }).stars;
  expect(stars("class-7b", 2)).toEqual(stars(" Class-7B", 2));
  expect(stars("class-7b", 2)).not.toEqual(stars("class-7c", 2));
  expect(stars("class-7b", 2)).not.toEqual(stars("class-7b", 1));
});

it.each(LEVELS)("at level %i the fit finds errors that solve it", (level) => {
  for (const word of ["class-7b", "owl", "Südkreuz"]) {
    const riddle = mystery(word, { level });
    const fit = fitMount(riddle.night);
    const terms = Object.fromEntries(
      mysteryTerms.map((name) => [name, fit.terms.find((term) => term.name === name)?.value ?? 0]),
    );
    const alone = riddle.guess({ terms });
    const largest = Math.max(
      ...[...Array(16)].map((_, row) => {
        const fault = level === 3 ? { wrongStar: row + 1 } : { slippedFrom: row + 1 };
        return riddle.guess({ terms, ...fault }).score;
      }),
    );
    expect(largest, word).toBeGreaterThan(level < 3 ? 85 : 75);
    if (level >= 3) expect(largest - alone.score, word).toBe(25);
    expect(riddle.guess({}).score, word).toBeLessThan(10);
  }
});

it("gives nothing away: neither its own keys nor its texts hold the errors' sizes", () => {
  const riddle = mystery("class-7b", { level: 2 });
  expect(Object.keys(riddle).sort()).toEqual([
    "guess",
    "hint",
    "latitude",
    "level",
    "night",
    "password",
    "stars",
  ]);
  expect(JSON.stringify([riddle.stars, riddle.night.sightings])).not.toMatch(
    /polar|cone|squareness|sag|truth/i,
  );
  expect([riddle.hint(), riddle.hint(), riddle.hint()].join(" ")).not.toMatch(/\d/);
});

it("refuses an empty pass-word and a level that there is not", () => {
  expect(() => mystery(" ")).toThrow("pass-word");
  expect(() => mystery("x", { level: 5 as MysteryLevel })).toThrow("level");
});

it.each([-80, -12, 0, 33, 60])("has stars at latitude %i", (latitude) => {
  expect(mystery("owl", { latitude }).stars.length).toBe(16);
});
