/**
 * The simulator against exact inverses and plain statistics: the readings must lead back to the star.
 */
import { describe, expect, it } from "vitest";
import { ARCMINUTE, DEGREE, wrapHalfTurn } from "../../src/angles.js";
import { modelOfMount } from "../../src/fit/bench.js";
import { insideLimits } from "../../src/mount/limits.js";
import { normalStance } from "../../src/mount/model.js";
import { parseMount } from "../../src/mount/mount-file.js";
import { readingAngle } from "../../src/mount/readings.js";
import { termNames } from "../../src/mount/terms.js";
import { readNight } from "../../src/night/night-file.js";
import { reduceNight } from "../../src/night/reduce.js";
import { simulateNight } from "../../src/simulate/simulate-night.js";
import { findStar } from "../../src/sky/find-star.js";
import { hourAngleVector } from "../../src/sky/horizon-frame.js";
import { observe } from "../../src/sky/observe.js";
import { sunDirection } from "../../src/sky/sun-and-moon.js";
import { parseTime } from "../../src/sky/time.js";
import { separation } from "../../src/vectors.js";
import { darkSpan } from "../study/darkness.mjs";

const terms = {
  hourAngleZero: 4321.5,
  declinationZero: -777.25,
  polarAltitude: 140,
  polarEast: -190,
  cone: 12,
  squareness: -8,
  tubeSag: 3,
  ringSag: 1.5,
  trunnionSag: 0.8,
} as const;

const mountWith = (changes: object = {}) =>
  parseMount({
    name: "invented",
    site: { latitude: -30, longitude: 20, heightM: 1000, pressureHPa: 900, temperatureC: 12 },
    readings: {
      hourAngle: { as: "counts", perTurn: 2 ** 23 },
      declination: { as: "counts", perTurn: 2 ** 23, sense: -1 },
    },
    limits: {
      altitudeDeg: 20,
      hourAngleHours: [-5, 5],
      declinationDeg: [-85, 60],
      horizon: [
        [0, 30],
        [180, 10],
      ],
    },
    ...changes,
  });

const span = { fromMs: parseTime("2026-03-14T18:30Z"), toMs: parseTime("2026-03-15T01:00Z") };

/** Half a step of 2²³ is 0.0013′; the rest is left for rounding of both axes and the pole's crowding of hour angle. */
const STEP_TOLERANCE_ARCMIN = 0.003;

describe("a simulated night", () => {
  it("has readings that the exact inverse leads back to the star", () => {
    const mount = mountWith();
    const night = simulateNight({ seed: 3, mount, terms, targets: 40, ...span, noise: 0 });
    const model = modelOfMount(mount);
    const coefficients = new Float64Array(model.size);
    termNames.forEach((name, k) => {
      coefficients[k] = ((terms as Partial<Record<string, number>>)[name] ?? 0) * ARCMINUTE;
    });
    for (const sighting of night.sightings) {
      const pointed = model.inverse(
        coefficients,
        readingAngle(sighting.hourAngle, mount.readings.hourAngle),
        readingAngle(sighting.declination, mount.readings.declination),
        normalStance,
      );
      const seen = observe(sighting.position, sighting.timeMs, mount.site);
      const apart = separation(hourAngleVector(pointed), hourAngleVector(seen)) / ARCMINUTE;
      expect(apart).toBeLessThan(STEP_TOLERANCE_ARCMIN);
    }
  });

  it("keeps to limits, night and different stars, and to its seed", () => {
    const mount = mountWith();
    const night = simulateNight({ seed: 5, mount, terms, targets: 30, ...span });
    expect(night.sightings).toHaveLength(30);
    for (const sighting of night.sightings) {
      expect(insideLimits(observe(sighting.position, sighting.timeMs, mount.site), mount.limits)).toBe(true);
      expect(sighting.timeMs % 1000).toBe(0);
    }
    expect(new Set(night.sightings.map((sighting) => sighting.star)).size).toBe(30);
    expect(night.sightings.map((s) => s.timeMs)).toEqual(
      night.sightings.map((s) => s.timeMs).sort((a, b) => a - b),
    );
    expect(simulateNight({ seed: 5, mount, terms, targets: 30, ...span }).csv).toBe(night.csv);
    expect(simulateNight({ seed: 6, mount, terms, targets: 30, ...span }).csv).not.toBe(night.csv);
    expect(readNight(night.csv, night.mount).night.sightings).toEqual(night.sightings);
  });

  it("keeps to the equator's strip when asked", () => {
    const night = simulateNight({
      seed: 8,
      mount: mountWith(),
      terms,
      targets: 12,
      ...span,
      choice: "equator",
    });
    for (const sighting of night.sightings) expect(Math.abs(sighting.position.decDeg)).toBeLessThan(12);
  });

  it("scatters as the mount file says", () => {
    const mount = mountWith({ centringArcmin: 2, timingS: 1 });
    const { truth } = simulateNight({ seed: 9, mount, terms, targets: 4000, ...span });
    const rms = (values: number[]) => Math.sqrt(values.reduce((s, v) => s + v * v, 0) / values.length);
    // 1σ of an rms of 4000 values is 1.1 %; four of them.
    const allowed = 0.045;
    expect(rms(truth.sightings.map((s) => s.north)) / 2).toBeGreaterThan(1 - allowed);
    expect(rms(truth.sightings.map((s) => s.north)) / 2).toBeLessThan(1 + allowed);
    const expectedWest = rms(
      truth.sightings.map((s) => Math.hypot(2, 0.2507 * Math.cos(s.declinationDeg * DEGREE))),
    );
    expect(rms(truth.sightings.map((s) => s.west)) / expectedWest).toBeGreaterThan(1 - allowed);
    expect(rms(truth.sightings.map((s) => s.west)) / expectedWest).toBeLessThan(1 + allowed);
  });

  it.each(["degrees", "hours", "rightAscension"] as const)("enters a dial in %s to its division", (as) => {
    const smallest = as === "degrees" ? 0.25 : 1 / 60;
    const mount = mountWith({
      readings: { hourAngle: { as, smallest }, declination: { as: "degrees", smallest: 0.25 } },
    });
    const night = simulateNight({ seed: 11, mount, targets: 20, ...span, noise: 0 });
    const reduced = reduceNight(night);
    const halfStep = (as === "degrees" ? 7.5 : 7.5) * ARCMINUTE;
    for (let i = 0; i < reduced.count; i++) {
      const off = wrapHalfTurn(reduced.readingHourAngle[i]! - reduced.hourAngle[i]!);
      expect(Math.abs(off)).toBeLessThan(halfStep * 1.001);
      expect(Math.abs(reduced.readingDeclination[i]! - reduced.declination[i]!)).toBeLessThan(
        halfStep * 1.001,
      );
    }
  });

  it("wraps counters when asked", () => {
    const night = simulateNight({
      seed: 12,
      mount: mountWith(),
      terms,
      targets: 20,
      ...span,
      countsWrap: true,
    });
    for (const { hourAngle, declination } of night.sightings) {
      expect(Math.min(hourAngle, declination)).toBeGreaterThanOrEqual(0);
      expect(Math.max(hourAngle, declination)).toBeLessThan(2 ** 23);
    }
  });

  it("turns the tube over the pole and writes it", () => {
    const night = simulateNight({
      seed: 13,
      mount: mountWith(),
      terms,
      targets: 20,
      ...span,
      beyond: "east",
    });
    for (const sighting of night.sightings) {
      const seen = observe(sighting.position, sighting.timeMs, night.mount.site);
      expect(sighting.side).toBe(seen.hourAngle < 0 ? "beyond" : "normal");
    }
  });

  it("puts in each fault where it says", () => {
    const mount = mountWith();
    const plain = { seed: 21, mount, terms, targets: 12, ...span, noise: 0 };
    const clean = simulateNight(plain).sightings;
    const moved = simulateNight({
      ...plain,
      faults: [{ kind: "zeros-moved", row: 7, hourAngle: 30, declination: -60 }],
    });
    const countsPerArcmin = 2 ** 23 / 21600;
    moved.sightings.forEach((sighting, k) => {
      const step = k >= 6 ? 1 : 0;
      // ± one count of rounding
      expect(Math.abs(sighting.hourAngle - clean[k]!.hourAngle - step * 30 * countsPerArcmin)).toBeLessThan(
        1.5,
      );
      expect(
        Math.abs(sighting.declination - clean[k]!.declination - step * 60 * countsPerArcmin),
      ).toBeLessThan(1.5);
    });
    const reversed = simulateNight({ ...plain, faults: [{ kind: "sense-reversed", axis: "declination" }] });
    expect(reversed.sightings.map((s) => s.declination)).toEqual(clean.map((s) => -s.declination + 0));
    const steps = simulateNight({
      ...plain,
      faults: [{ kind: "wrong-steps", axis: "hourAngle", factor: 2 }],
    });
    expect(steps.mount.readings.hourAngle.perTurn).toBe(2 ** 24);
    expect(steps.sightings.map((s) => s.hourAngle)).toEqual(clean.map((s) => s.hourAngle));
    const clock = simulateNight({ ...plain, faults: [{ kind: "clock", hours: 2 }] });
    expect(clock.sightings.map((s) => s.timeMs)).toEqual(clean.map((s) => s.timeMs + 7_200_000));
    const sign = simulateNight({ ...plain, faults: [{ kind: "longitude-sign" }] });
    expect(sign.mount.site.longitude).toBe(-20);
    expect(sign.sightings.map((s) => s.hourAngle)).toEqual(clean.map((s) => s.hourAngle));
    const misnamed = simulateNight({
      ...plain,
      faults: [{ kind: "misnamed", row: 4, instead: "neighbour" }],
    });
    const [wrong] = misnamed.truth.sightings.filter((s) => s.star !== s.written);
    expect(wrong?.row).toBe(4);
    expect(misnamed.sightings[3]!.star).toBe(wrong?.written);
    const named = findStar(wrong!.star);
    const apart = separation(
      hourAngleVector(observe(named, clean[3]!.timeMs, mount.site)),
      hourAngleVector(observe(clean[3]!.position, clean[3]!.timeMs, mount.site)),
    );
    expect(apart / DEGREE).toBeGreaterThan(0.14);
    expect(apart / DEGREE).toBeLessThan(15.1);
    expect(() =>
      simulateNight({ ...plain, faults: [{ kind: "outlier", row: 13, west: 9, north: 0 }] }),
    ).toThrow(expect.objectContaining({ code: "no-such-row" }));
  });
});

describe("darkness", () => {
  const site = mountWith().site;
  it("begins and ends with the Sun 12° under the horizon, to ten minutes", () => {
    const night = darkSpan({ sunDirection }, site, parseTime("2026-03-14T12:00Z"))!;
    const altitude = (timeMs: number) => sunDirection(timeMs, site).altitude / DEGREE;
    expect(altitude(night.fromMs)).toBeLessThan(-12);
    expect(altitude(night.fromMs - 600_000)).toBeGreaterThan(-12);
    expect(altitude(night.toMs)).toBeLessThan(-12);
    expect(altitude(night.toMs + 600_000)).toBeGreaterThan(-12);
  });
  it("does not come in the far north's summer", () => {
    expect(darkSpan({ sunDirection }, { ...site, latitude: 65 }, parseTime("2026-06-21T12:00Z"))).toBeNull();
  });
});
