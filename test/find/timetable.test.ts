/** The timetable: against every possible choice where these are few; on real evenings by what is said of each slot. */
import { describe, expect, test } from "vitest";
import { DEGREE } from "../../src/angles.js";
import { InputError } from "../../src/errors.js";
import { chooseSlots, costOfSlots, FREE, type SlotCandidate } from "../../src/find/slots.js";
import { targetNamed } from "../../src/find/target.js";
import { timetable } from "../../src/find/timetable.js";
import { insideLimits } from "../../src/mount/limits.js";
import type { Mount } from "../../src/mount/mount.js";
import { predictReadings, unsightedMount, usualSide } from "../../src/pointing/known-mount.js";
import { sunWatch } from "../../src/pointing/sun-safety.js";
import { seededRandom } from "../../src/simulate/random.js";
import { skyFrame } from "../../src/sky/sky-frame.js";
import { parseTime } from "../../src/sky/time.js";
import { nowhereSchool } from "../support/nowhere-school-evening.js";

const northern: Mount = {
  ...nowhereSchool,
  site: { ...nowhereSchool.site, latitude: 47, timeZone: "Europe/Berlin" },
  limits: { ...nowhereSchool.limits, declinationDeg: [-60, 90] },
};

/** The least cost of all choices. */
function leastOfAll(slots: number, candidates: readonly SlotCandidate[]): number {
  let least = Number.POSITIVE_INFINITY;
  const go = (chosen: number[]): void => {
    if (chosen.length === slots) {
      least = Math.min(least, costOfSlots(chosen, candidates));
      return;
    }
    for (let index = FREE; index < candidates.length; index++) {
      if (index !== FREE && chosen.includes(index)) continue;
      go([...chosen, index]);
    }
  };
  go([]);
  return least;
}

describe("the choice of slots", () => {
  test("is the best of all, or next to it, in small cases", () => {
    let exact = 0;
    const CASES = 120;
    for (let seed = 1; seed <= CASES; seed++) {
      const random = seededRandom(seed);
      const slots = 2 + Math.floor(random() * 4);
      const count = 2 + Math.floor(random() * 5);
      const candidates = Array.from({ length: count }, (): SlotCandidate => {
        const hourAngle = (random() - 0.5) * 150 * DEGREE;
        const declination = (random() - 0.6) * 100 * DEGREE;
        const best = random() * slots;
        return {
          costs: Array.from({ length: slots }, (_, slot) =>
            random() < 0.25 ? Number.POSITIVE_INFINITY : 0.3 * (slot - best) ** 2 - 3 - random(),
          ),
          shafts: Array.from({ length: slots }, (_, slot) => ({
            hourAngle: hourAngle + slot * 2.5 * DEGREE,
            declination,
          })),
        };
      });
      const least = leastOfAll(slots, candidates);
      const found = costOfSlots(chooseSlots(slots, candidates), candidates);
      if (found <= least + 1e-9) exact++;
      // What is gained: costs are gains below nothing.
      expect(found, `seed ${seed}`).toBeLessThanOrEqual(0.98 * least + 1e-9);
    }
    expect(exact).toBeGreaterThanOrEqual(0.95 * CASES);
  });

  test("leaves a slot free where nothing may be shown, and never shows one twice", () => {
    const shafts = [0, 1, 2].map((slot) => ({ hourAngle: slot * 0.04, declination: 0 }));
    const one: SlotCandidate = { costs: [-3, -3, -3], shafts };
    expect(chooseSlots(3, [one]).filter((index) => index !== FREE)).toEqual([0]);
    const never: SlotCandidate = { costs: [Infinity, Infinity, Infinity], shafts };
    expect(chooseSlots(3, [never])).toEqual([FREE, FREE, FREE]);
    expect(chooseSlots(3, [])).toEqual([FREE, FREE, FREE]);
  });
});

describe.each([
  [
    "south",
    nowhereSchool,
    "2026-03-14T16:42:00Z",
    "2026-03-14T18:42:00Z",
    ["Jupiter", "M 42", "Canopus", "M 41", "NGC 2070", "M 46"],
  ],
  [
    "north",
    northern,
    "2026-03-14T17:30:00Z",
    "2026-03-14T19:30:00Z",
    ["Jupiter", "M 42", "Capella", "M 45", "M 35", "M 81"],
  ],
] as const)("an evening in the %s", (_, mount, from, until, asked) => {
  const [fromMs, toMs] = [parseTime(from), parseTime(until)];
  const made = timetable(mount, null, fromMs, toMs, asked, 10);
  const entries = made.slots.flatMap(({ entry, middle }) => (entry === null ? [] : [{ entry, middle }]));

  test("shows all that was asked for, each once, inside the limits through its whole slot", () => {
    expect(made.slots).toHaveLength(12);
    expect(made.notShown).toEqual([]);
    expect(entries.map(({ entry }) => entry.target.split(" (")[0]).sort()).toEqual([...asked].sort());
    for (const slot of made.slots) {
      expect(parseTime(slot.until) - parseTime(slot.from)).toBe(600_000);
      if (slot.entry === null) continue;
      const target = targetNamed(slot.entry.target.split(" (")[0]!);
      for (const time of [slot.from, slot.middle, slot.until]) {
        const seen = target.observe(skyFrame(parseTime(time), mount.site));
        expect(insideLimits(seen, mount.limits), slot.entry.target).toBe(true);
      }
    }
  });

  test("gives the readings of the slot's middle, and a minute's change that leads to its end", () => {
    const known = unsightedMount(mount);
    for (const { entry, middle } of entries) {
      const target = targetNamed(entry.target.split(" (")[0]!);
      const at = (timeMs: number) => {
        const frame = skyFrame(timeMs, mount.site);
        const seen = target.observe(frame);
        return predictReadings(known, seen, frame.siderealTime, usualSide(mount, seen.hourAngle));
      };
      const middleMs = parseTime(middle);
      expect(Math.abs(at(middleMs).hourAngle - entry.predicted.hourAngle)).toBeLessThan(0.02);
      const end = at(middleMs + 300_000);
      // Within half a step of the counter at the slot's end.
      expect(Math.abs(entry.predicted.hourAngle + 5 * entry.aMinute.hourAngle - end.hourAngle)).toBeLessThan(
        0.5,
      );
      expect(
        Math.abs(entry.predicted.declination + 5 * entry.aMinute.declination - end.declination),
      ).toBeLessThan(0.5);
    }
  });

  test("has easy objects in the twilight: bright ones, and the faintest when it is dark", () => {
    const inTwilight = made.slots.filter(({ twilight, entry }) => twilight && entry !== null);
    expect(inTwilight.length).toBeGreaterThan(0);
    const [first] = inTwilight;
    expect(first!.entry!.vMag, first!.entry!.target).toBeLessThan(3);
    const faintest = entries.reduce((most, one) => (one.entry.vMag! > most.entry.vMag! ? one : most));
    // Nautical twilight has ended.
    expect(sunWatch(parseTime(faintest.middle), mount.site).altitudeDeg).toBeLessThan(-12);
  });

  test("says constellation, size against the field and what to look for", () => {
    const of = (name: string) => entries.find(({ entry }) => entry.target.startsWith(name))!.entry;
    // The constellations of the IAU's boundaries; sizes as data/messier.csv has them.
    expect(of("M 42").constellation).toBe("Orion");
    const half = (2 * Math.atan(5.4 / 2 / 1800) * 60) / DEGREE;
    expect(of("M 42").partOfField!).toBeCloseTo(of("M 42").sizeArcmin![0] / half, 2);
    // Jupiter's disc, March 2026: 40 to 42 arcseconds (from memory of the almanac).
    expect(of("Jupiter").sizeArcmin![0] * 60).toBeGreaterThan(39);
    expect(of("Jupiter").sizeArcmin![0] * 60).toBeLessThan(43);
    expect(of("Jupiter").lookFor).toContain("moons");
    for (const { entry } of entries)
      expect(entry.lookFor.split(/[.!?] ?/).every((part) => part.split(" ").length <= 28)).toBe(true);
  });
});

test("a whole list fills an evening; slewing is little against the same objects in any order", () => {
  const fromMs = parseTime("2026-03-14T18:40:00Z");
  const started = performance.now();
  const made = timetable(nowhereSchool, null, fromMs, fromMs + 3 * 3_600_000, "showpieces", 10);
  expect(performance.now() - started).toBeLessThan(8000);
  expect(made.slots.every(({ entry }) => entry !== null)).toBe(true);
  const slews = made.slots.flatMap(({ entry }) => (entry?.slewDeg == null ? [] : [entry.slewDeg]));
  expect(slews.reduce((sum, slew) => sum + slew, 0) / slews.length).toBeLessThan(45);
  expect(new Set(made.slots.map(({ entry }) => entry!.target)).size).toBe(18);
});

test("what cannot be shown is said with why; wrong times are refused", () => {
  const fromMs = parseTime("2026-03-14T18:40:00Z");
  const made = timetable(
    nowhereSchool,
    null,
    fromMs,
    fromMs + 1_200_000,
    ["Polaris", "Canopsu", "Canopus", "Sirius", "Procyon"],
    10,
  );
  expect(made.notShown.map(({ target }) => target)).toContain("Polaris");
  expect(made.notShown.find(({ target }) => target === "Canopsu")!.unknown).toBe(true);
  expect(made.notShown.some(({ why }) => why.includes("not enough slots"))).toBe(true);
  const codes = (minutes: number, hours: number): string => {
    try {
      timetable(nowhereSchool, null, fromMs, fromMs + hours * 3_600_000, ["Canopus"], minutes);
    } catch (problem) {
      if (problem instanceof InputError) return problem.faults[0]!.code;
      throw problem;
    }
    return "";
  };
  expect([codes(0, 1), codes(10, -1), codes(10, 0.1), codes(Number.NaN, 1)]).toEqual([
    "slot-length",
    "evening-times",
    "evening-times",
    "slot-length",
  ]);
});
