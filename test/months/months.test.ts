import { describe, expect, it } from "vitest";
import { fitMount } from "../../src/fit/mount-fit.js";
import { type KeptModel, keepModel } from "../../src/keep/keep.js";
import { months } from "../../src/months/months.js";
import { gaussian, seededRandom } from "../../src/simulate/random.js";
import { simulateNight } from "../../src/simulate/simulate-night.js";
import { nowhereMount } from "../support/fit-fixture.js";

const FROM_MS = Date.UTC(2026, 0, 14, 18);
const WEEK_MS = 7 * 86_400_000;
const MONTH_WEEKS = 30.4375 / 7;
const STANDS = {
  polarAltitude: 4,
  polarEast: -6,
  cone: 8,
  squareness: -5,
  tubeSag: 2,
  ringSag: 1,
  trunnionSag: -0.7,
};

/** Nights three weeks apart of a mount that stands as `at` says in that week. */
function kept(
  seed: number,
  nights: number,
  at: (week: number, index: number) => Partial<typeof STANDS>,
  warmth?: (index: number) => number,
): KeptModel[] {
  const random = seededRandom(seed);
  return Array.from({ length: nights }, (_, index) => {
    const fromMs = FROM_MS + 3 * index * WEEK_MS;
    const { sightings } = simulateNight({
      seed: 1000 * seed + index,
      mount: nowhereMount,
      terms: {
        ...STANDS,
        ...at(3 * index, index),
        hourAngleZero: 60 * gaussian(random),
        declinationZero: 60 * gaussian(random),
      },
      targets: 16,
      fromMs,
      toMs: fromMs + 3 * 3_600_000,
    });
    return keepModel(fitMount({ mount: nowhereMount, sightings }), "", warmth?.(index) ?? null);
  });
}

describe("a mount over months", () => {
  it("that stands still is steady", () => {
    let drifts = 0;
    let jumped = 0;
    for (let seed = 1; seed <= 6; seed++) {
      const found = months(
        kept(seed, 8, () => ({})),
        nowhereMount,
      );
      drifts += found.terms.filter((term) => term.verdict === "drifts").length;
      jumped += found.terms.filter((term) => term.verdict === "jumped").length;
      expect(found.lookAgainWeeks).toBeGreaterThanOrEqual(2);
    }
    // 42 terms: at three standard deviations one in 370 drifts.
    expect(drifts).toBeLessThanOrEqual(1);
    expect(jumped).toBeLessThanOrEqual(1);
  });

  it("whose base settles is told to drift, by how much, and when to look again", () => {
    const perMonth = 2;
    const models = kept(11, 8, (week) => ({ polarEast: -6 + (perMonth * week) / MONTH_WEEKS }));
    const found = months([...models].reverse(), nowhereMount);
    const east = found.terms.find((term) => term.name === "polarEast")!;
    expect(east.verdict).toBe("drifts");
    expect(Math.abs(east.perMonth - perMonth)).toBeLessThan(3 * east.uncertainty);
    expect(east.uncertainty).toBeLessThan(0.4);
    expect(east.robustPerMonth!).toBeCloseTo(perMonth, 0);
    expect(Math.abs(east.now.value - (-6 + (perMonth * 21) / MONTH_WEEKS))).toBeLessThan(
      3.5 * east.now.uncertainty,
    );
    expect(found.mattersForPointing).toBe("polarEast");
    expect(found.mattersForTracking).toBe("polarEast");
    expect(found.nights[0]! < found.nights[1]!).toBe(true);
    // 2′ a month in the axis: a few weeks to lose some minutes of arc of pointing.
    expect(found.lookAgainWeeks).toBeLessThan(
      months(
        kept(12, 8, () => ({})),
        nowhereMount,
      ).lookAgainWeeks,
    );
  });

  it("that follows the warmth is told so, and the season is not taken for a trend", () => {
    const warm = (index: number): number => 20 - 2.5 * index + (index % 2 === 0 ? 3 : -3);
    const models = kept(21, 9, (_, index) => ({ polarAltitude: 4 + 0.4 * (warm(index) - 10) }), warm);
    const found = months(models, nowhereMount);
    const altitude = found.terms.find((term) => term.name === "polarAltitude")!;
    expect(Math.abs(altitude.perKelvin! - 0.4)).toBeLessThan(3 * altitude.perKelvinUncertainty!);
    expect(altitude.perKelvinUncertainty!).toBeLessThan(0.12);
    expect(altitude.verdict).not.toBe("drifts");
    const blind = months(
      models.map((model) => ({ ...model, temperatureC: null })),
      nowhereMount,
    );
    expect(blind.notes.map((note) => note.code)).toContain("no-temperature");
    expect(blind.terms[0]!.perKelvin).toBeNull();
  });

  it("whose mirror was collimated again is told to have jumped that night", () => {
    const models = kept(31, 9, (_, index) => ({ cone: index < 5 ? 8 : 24 }));
    const found = months(models, nowhereMount);
    const cone = found.terms.find((term) => term.name === "cone")!;
    expect(cone.verdict).toBe("jumped");
    expect(cone.changedAt).toBe(found.nights[5]);
    expect(Math.abs(cone.changedBy!.value - 16)).toBeLessThan(3.5 * cone.changedBy!.uncertainty);
    expect(found.terms.filter((term) => term.verdict === "drifts")).toEqual([]);
  });

  it("is not told from two nights, nor from the same night twice", () => {
    const models = kept(41, 3, () => ({}));
    expect(() => months(models.slice(0, 2), nowhereMount)).toThrow(/few nights/i);
    expect(() => months([models[0]!, models[0]!, models[1]!], nowhereMount)).toThrow(/same night/);
    expect(() => months([{ ...models[0]!, sightedAt: null }, models[1]!, models[2]!], nowhereMount)).toThrow(
      /when its stars/,
    );
  });
});
