/**
 * A small part of the simulation study (npm run study), seeded: a few hundred nights with known truth.
 *
 * The study's goals are for many nights; here each rate may differ from its goal by what chance allows for so few, so that
 * a fit that has become worse in earnest fails and luck does not. Seeds are fixed: a failure stays.
 */
import { describe, expect, it } from "vitest";
import { jackTurns } from "../../src/base/jack-turns.js";
import { applyTurns, turnsOfAdvice } from "../../src/base/turns-made.js";
import { evidenceOf } from "../../src/fit/evidence.js";
import { fitMount } from "../../src/fit/mount-fit.js";
import { compareModels } from "../../src/keep/compare.js";
import { parseMount } from "../../src/mount/mount-file.js";
import { gaussian, seededRandom } from "../../src/simulate/random.js";
import { simulateNight } from "../../src/simulate/simulate-night.js";
import { findStar } from "../../src/sky/find-star.js";
import { sunDirection } from "../../src/sky/sun-and-moon.js";
import { heldAgainst, share, together } from "./judge.mjs";
import { ROUNDS, runOne } from "./run-one.mjs";
import { worlds } from "./world-table.mjs";

const library = {
  jackTurns,
  applyTurns,
  turnsOfAdvice,
  fitMount,
  evidenceOf,
  compareModels,
  parseMount,
  sunDirection,
  gaussian,
  seededRandom,
  simulateNight,
  findStar,
};

const FIRST_SEED = 700_000;

interface Share {
  readonly value: number;
  readonly hits: number;
  readonly of: number;
}
interface Goal {
  readonly name: string;
  readonly wanted: number;
  readonly most: boolean;
  readonly found: number | Share;
}

/**
 * Goals missed by more than three sigmas of a binomial count (once in a thousand); shares of intervals by four, because
 * the intervals of one night go together; the median of the pole's σ by 15 %.
 */
function missed(goals: readonly Goal[]) {
  return goals.filter(({ name, wanted, most, found }) => {
    if (typeof found === "number") return found > 1.15 * wanted;
    const misses = most ? found.hits : found.of - found.hits;
    const rate = most ? wanted : 1 - wanted;
    const sigmas = name === "pole" || name === "terms" ? 4 : 3;
    return misses > Math.ceil(rate * found.of + sigmas * Math.sqrt(rate * found.of));
  });
}

describe("nights of a world meet its goals but for chance", () => {
  it.each([
    ["clean-any", 30],
    ["clean", 20],
    ["eccentric-1", 10],
    ["play-4-declination", 10],
    ["creep-10", 8],
    ["settling-8", 8],
    ["camera-meridian-step", 8],
    ["camera-field", 8],
    ["hour-step", 5],
    ["latitude-sign", 2],
    ["reversed-and-clock", 2],
    ["few-three-misnamed", 8],
    ["one-misnamed", 12],
    ["two-misnamed", 8],
    ["outlier", 10],
    ["zeros-moved", 8],
    ["sense-reversed", 3],
    ["wrong-steps", 2],
    ["clock-half-hours", 4],
    ["longitude-sign", 3],
  ] as const)("%s", (name, count) => {
    const found = together(Array.from({ length: count }, (_, k) => runOne(library, name, FIRST_SEED + k)));
    const { goals } = worlds.find((world) => world.name === name)!;
    expect(missed(heldAgainst(goals, found) as Goal[])).toEqual([]);
  });
});

describe("nights that were once mistaken", () => {
  it.each([
    ["a jump that creep and larger errors nearly explain", "zeros-moved", 8_100_246],
    ["two stars mistaken, which a jump of nothing was told beside", "two-misnamed", 8_100_260],
    ["a wrong clock whose three lowest stars were excluded", "clock-half-hours", 8_100_248],
    ["a wrong latitude that put three of 24 stars below the horizon", "latitude-sign", 8_100_257],
    ["a slip with a wild row beside it", "long-slip-wild", 100_007],
  ])("%s", (_, name, seed) => {
    const { told, placed, wrong, unasked } = runOne(library, name, seed);
    expect({ told, placed: placed ?? true, wrong, unasked }).toEqual({
      told: true,
      placed: true,
      wrong: false,
      unasked: [],
    });
  });
});

it("two rounds of turns leave a few arcminutes of up to five degrees", () => {
  const nights = Array.from({ length: 12 }, (_, k) => runOne(library, ROUNDS, FIRST_SEED + k));
  // Screws and floor follow by 0.85 to 1.1: 15 % of 5° after one round, 15 % of that after two, and the sightings' own.
  for (const { left, seed } of nights as { left: number[]; seed: number }[]) {
    expect(left[1]!, `seed ${seed}`).toBeLessThan(0.16 * left[0]! + 4);
    expect(left[2]!, `seed ${seed}`).toBeLessThan(0.16 * 0.16 * left[0]! + 4);
  }
});

describe("the study's own arithmetic", () => {
  it("has Wilson's interval", () => {
    // Wilson 1927, by hand: 8 of 10 at z = 1.96 gives 0.490 to 0.943.
    const { value, low, high } = share(8, 10);
    expect(value).toBe(0.8);
    expect(low).toBeCloseTo(0.49, 3);
    expect(high).toBeCloseTo(0.943, 3);
  });

  it("says which goals are met, not met, or open", () => {
    const rate = (hits: number, of: number) => share(hits, of);
    const found = { told: rate(80, 100), wrong: rate(1, 100), unasked: rate(30, 100), sigma: 1.3 };
    const held = heldAgainst({ told: 0.95, wrong: 0, unasked: 0.01, sigma: 1.2 }, found);
    expect(held.map(({ met }) => met)).toEqual([false, false, false, false]);
    // 93 of 100 may be 95 %: Wilson's interval goes from 86 to 97 %.
    const open = heldAgainst({ told: 0.95 }, { told: rate(93, 100) });
    expect(open.map(({ met }) => met)).toEqual([null]);
    expect(missed(held as Goal[]).map(({ name }) => name)).toContain("unasked");
  });
});
