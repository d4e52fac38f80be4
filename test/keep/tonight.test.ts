/** What stands beside tonight's readings: the way the axes were brought there, zero sets and tube positions. */
import { describe, expect, test } from "vitest";
import { InputError } from "../../src/errors.js";
import { findTargets } from "../../src/find/find.js";
import { standingTonight, type TonightStanding } from "../../src/keep/tonight.js";
import type { TermName } from "../../src/mount/terms.js";
import type { Sighting } from "../../src/night/sighting.js";
import type { MountStanding } from "../../src/pointing/known-mount.js";
import { simulateNight } from "../../src/simulate/simulate-night.js";
import { parseTime } from "../../src/sky/time.js";
import { nowhereSchool } from "../support/nowhere-school-evening.js";

const april = parseTime("2026-04-11T18:10:00Z");
const stars = ["Regulus", "Spica", "Acrux", "Alphard", "Procyon"];
const COUNT_ARCMIN = (360 * 60) / nowhereSchool.readings.hourAngle.perTurn;

/** A model whose terms are known to 0.1′ each, independently. */
function knownTo(terms: Partial<Record<TermName, number>>): MountStanding {
  const names = Object.keys(terms) as TermName[];
  return {
    mount: nowhereSchool,
    terms: names.map((name) => ({ name, set: null, value: terms[name]! })),
    covariance: names.map((_, i) => names.map((__, j) => (i === j ? 0.01 : 0))),
  };
}

/** Sightings without any error but the counters' rounding. */
function exactly(
  terms: Partial<Record<TermName, number>>,
  more: Partial<Parameters<typeof simulateNight>[0]> = {},
): readonly Sighting[] {
  return simulateNight({
    seed: 5,
    mount: nowhereSchool,
    terms,
    noise: 0,
    targets: stars.map((star, index) => ({ star, timeMs: april + index * 240_000 })),
    ...more,
  }).sightings;
}

const standingFrom = (kept: MountStanding, sightings: readonly Sighting[]) =>
  standingTonight(kept, { mount: nowhereSchool, sightings });
const term = (standing: TonightStanding, name: TermName) => standing.terms.find((one) => one.name === name)!;

const truth = { hourAngleZero: 0, declinationZero: 0, polarAltitude: 4, polarEast: -3, cone: 12 };

describe("a kept model with backlash, tonight", () => {
  const worn = { ...truth, hourAngleBacklash: 20, declinationBacklash: 14 };
  const sightings = exactly(worn, { approach: "written" });

  test("the zeros are the same from whichever side the axes were brought to the stars", () => {
    for (const way of [1, -1] as const) {
      const oneWay = exactly(worn, { approach: "written", seed: way === 1 ? 6 : 7 });
      const same = [...sightings, ...oneWay].filter(
        (one) => one.hourAngleApproach === way && one.declinationApproach === way,
      );
      expect(same.length).toBeGreaterThan(0);
      const standing = standingFrom(knownTo(worn), same);
      expect(Math.abs(term(standing, "hourAngleZero").value)).toBeLessThan(COUNT_ARCMIN);
      expect(Math.abs(term(standing, "declinationZero").value)).toBeLessThan(COUNT_ARCMIN);
    }
  });

  test("stars approached from both sides agree", () => {
    expect(new Set(sightings.map((one) => one.hourAngleApproach)).size).toBe(2);
    const standing = standingFrom(knownTo(worn), sightings);
    expect(standing.agreements.map((one) => one.agrees)).toEqual(sightings.map(() => true));
    expect(Math.abs(term(standing, "hourAngleZero").value)).toBeLessThan(COUNT_ARCMIN);
  });
});

describe("sets of tonight", () => {
  const later = { ...truth, hourAngleZero: 5000 * COUNT_ARCMIN, declinationZero: 3000 * COUNT_ARCMIN };
  const turned = { ...truth, cone: -15 };

  /** The first two stars of one mount, the others of another under new labels. */
  const parted = (
    before: Partial<Record<TermName, number>>,
    after: Partial<Record<TermName, number>>,
    column: "zeroSet" | "tubeSet",
  ) => {
    const [first, second] = [exactly(before), exactly(after)];
    return first.map((one, index) =>
      index < 2 ? { ...one, [column]: "A" } : { ...second[index]!, [column]: "B" },
    );
  };

  test("new zeros start afresh: those of the last set are answered, and every star agrees", () => {
    const standing = standingFrom(knownTo(truth), parted(truth, later, "zeroSet"));
    const sense = nowhereSchool.readings;
    expect([sense.hourAngle.sense, sense.declination.sense]).toEqual([1, -1]);
    for (const name of ["hourAngleZero", "declinationZero"] as const) {
      const off = term(standing, name).value - later[name];
      expect(Math.abs(off - 21600 * Math.round(off / 21600))).toBeLessThan(COUNT_ARCMIN);
      expect(term(standing, name).uncertainty).toBeLessThan(1);
    }
    expect(standing.agreements.every((one) => one.agrees)).toBe(true);
    // The star that sets the zeros can be held against nothing.
    expect(standing.agreements[2]).toMatchObject({ west: 0, north: 0, ratio: 0 });
    expect(standing.agreements[3]!.ratio).toBeGreaterThan(0);
  });

  test("a tube turned in its rings has a cone of its own, within the tolerance; the zeros stay", () => {
    const standing = standingFrom(knownTo(truth), parted(truth, turned, "tubeSet"));
    const cone = term(standing, "cone");
    expect(Math.abs(cone.value - turned.cone)).toBeLessThan(3 * cone.uncertainty);
    expect(cone.uncertainty).toBeGreaterThan(0.2);
    expect(cone.uncertainty).toBeLessThan(nowhereSchool.tolerances.cone);
    expect(standing.agreements.every((one) => one.agrees)).toBe(true);
    expect(Math.abs(term(standing, "hourAngleZero").value)).toBeLessThan(2);
    // Without the label that cone is a mount that no longer stands as it did.
    const unlabelled = parted(truth, turned, "tubeSet").map((one) => ({ ...one, tubeSet: "" }));
    expect(standingFrom(knownTo(truth), unlabelled).agreements.some((one) => !one.agrees)).toBe(true);
  });
});

describe("the sets asked for in finding", () => {
  const zeros = (name: "hourAngleZero" | "declinationZero", sets: Record<string, number>) =>
    Object.entries(sets).map(([set, value]) => ({ name, set, value }));
  const withSets = (terms: MountStanding["terms"]): MountStanding => ({
    mount: nowhereSchool,
    terms,
    covariance: terms.map((_, i) => terms.map((__, j) => (i === j ? 1 : 0))),
  });
  const standing = withSets([
    ...zeros("hourAngleZero", { evening: 600, "after supper": -1200 }),
    ...zeros("declinationZero", { evening: 300, "after supper": -900 }),
    { name: "cone", set: null, value: 12 },
  ]);
  const find = (of: MountStanding, sets: { zeroSet?: string; tubeSet?: string }) =>
    findTargets(nowhereSchool, of, april, ["Regulus"], { sets }).found[0]!.predicted!;

  test("those that there are, are taken", () => {
    const [evening, after] = [
      find(standing, { zeroSet: "evening" }),
      find(standing, { zeroSet: "after supper" }),
    ];
    expect((evening.hourAngle - after.hourAngle) * COUNT_ARCMIN).toBeCloseTo(1800, 6);
    expect(find(standing, {})).toEqual(after);
  });

  test("an unknown one is refused with those that there are, not taken for zeros of nothing", () => {
    try {
      find(standing, { zeroSet: "morning" });
      expect.unreachable();
    } catch (problem) {
      expect(problem).toBeInstanceOf(InputError);
      const { faults } = problem as InputError;
      expect(faults).toEqual([
        expect.objectContaining({ code: "unknown-set", path: "sets.zeroSet", found: "morning" }),
      ]);
      expect(faults[0]!.allowed).toContain("evening, after supper");
    }
    const tubes = withSets([
      { name: "hourAngleZero", set: null, value: 0 },
      { name: "cone", set: "as built", value: 12 },
      { name: "cone", set: "turned", value: -15 },
    ]);
    expect(() => find(tubes, { tubeSet: "upside down" })).toThrow(/as built, turned/);
  });

  test("a set's name serves where a jump has parted one axis's zeros and not the other's", () => {
    const jumped = withSets([
      ...zeros("hourAngleZero", {
        "evening, rows 1–4": 600,
        "evening, rows 5–9": 720,
        "after supper": -1200,
      }),
      ...zeros("declinationZero", { evening: 300, "after supper": -900 }),
    ]);
    const [before, whole, after] = ["evening, rows 1–4", "evening", "after supper"].map((zeroSet) =>
      find(jumped, { zeroSet }),
    );
    expect((before!.hourAngle - whole!.hourAngle) * COUNT_ARCMIN).toBeCloseTo(-120, 6);
    expect(before!.declination).toBe(whole!.declination);
    expect((before!.declination - after!.declination) * COUNT_ARCMIN).toBeCloseTo(-1200, 6);
  });
});
