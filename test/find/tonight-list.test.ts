/** How things stand tonight, held against what `find` answers at those moments. */
import { expect, it } from "vitest";
import { findTargets } from "../../src/find/find.js";
import { compareStands, LOOK_AHEAD_MS, standsTonight, tonightTargets } from "../../src/find/tonight-list.js";
import { knownMount } from "../../src/pointing/known-mount.js";
import { skyOverNight } from "../../src/sky/sky-over-night.js";
import { nowhereFit, nowhereMount } from "../support/fit-fixture.js";

const fit = nowhereFit();
const NOW = Date.UTC(2026, 2, 14, 19, 30);
const sky = skyOverNight(NOW, NOW + LOOK_AHEAD_MS, nowhereMount.site);
const standOf = standsTonight(knownMount(fit), sky, NOW, false);
/** Changes are found to twenty seconds. */
const EXACT_MS = 40_000;

const givesReadings = (name: string, timeMs: number): boolean =>
  findTargets(nowhereMount, fit, timeMs, [name]).found[0]!.predicted !== null;

it("find gives readings from the moment told on until the moment told, and not before or after", () => {
  let compared = 0;
  for (const target of tonightTargets().filter(
    ({ kind, label }) => kind !== "deep sky" || /^M \d+$/.test(label),
  )) {
    const stand = standOf(target);
    expect(givesReadings(target.label, NOW), target.label).toBe(stand.when === "now");
    if (stand.untilMs !== null && compared < 40) {
      expect(givesReadings(target.label, stand.untilMs - EXACT_MS), target.label).toBe(true);
      expect(givesReadings(target.label, stand.untilMs + EXACT_MS), target.label).toBe(false);
      compared++;
    }
    if (stand.fromMs !== null)
      expect(givesReadings(target.label, stand.fromMs + EXACT_MS), target.label).toBe(true);
  }
  expect(compared).toBeGreaterThan(20);
});

it("puts what stands well now first, the highest at its head, then what comes, soonest first", () => {
  const stands = tonightTargets().map(standOf).sort(compareStands);
  const groups = stands.map(({ when }) => when);
  expect(groups.indexOf("later")).toBeGreaterThan(groups.lastIndexOf("now"));
  expect(groups.indexOf("not tonight")).toBeGreaterThan(groups.lastIndexOf("later"));
  const now = stands.filter(({ when }) => when === "now").map(({ altitudeDeg }) => altitudeDeg);
  expect(now).toEqual([...now].sort((a, b) => b - a));
  const later = stands.filter(({ when }) => when === "later").map(({ fromMs }) => fromMs!);
  expect(later).toEqual([...later].sort((a, b) => a - b));
});
