/** What is refused, when it comes, and that one target's fault leaves the others standing. */
import { Body, Equator, MakeTime, Observer } from "astronomy-engine";
import { describe, expect, test } from "vitest";
import { DEGREE } from "../../src/angles.js";
import { InputError } from "../../src/errors.js";
import { exposure } from "../../src/exposure/exposure.js";
import { exposureTargets } from "../../src/exposure/targets.js";
import { classList } from "../../src/find/class-list.js";
import { findTargets } from "../../src/find/find.js";
import { targetNamed } from "../../src/find/target.js";
import { brokenLimits } from "../../src/mount/limits.js";
import type { Mount } from "../../src/mount/mount.js";
import { planStars } from "../../src/plan/plan.js";
import { fieldOfCamera } from "../../src/pointing/field.js";
import { findReport } from "../../src/report/find-report.js";
import { reportText } from "../../src/report/text.js";
import { catalogueStars } from "../../src/sky/catalogue.js";
import { findStar } from "../../src/sky/find-star.js";
import { skyFrame } from "../../src/sky/sky-frame.js";
import { parseTime } from "../../src/sky/time.js";
import { faintestMagnitude, isVariable } from "../../src/sky/variable-stars.js";
import { nowhereSchool } from "../support/nowhere-school-evening.js";

const evening = parseTime("2026-03-14T18:30:00Z");
/** The same mount as far north as it stands south. */
const northern: Mount = {
  ...nowhereSchool,
  site: { ...nowhereSchool.site, latitude: 30 },
  limits: { ...nowhereSchool.limits, declinationDeg: [-60, 90] },
};
const standing = (mount: Mount) => ({
  mount,
  terms: [
    { name: "hourAngleZero" as const, set: null, value: 30 },
    { name: "declinationZero" as const, set: null, value: -20 },
  ],
  covariance: [
    [0.1, 0],
    [0, 0.1],
  ],
});
const present = { hourAngle: 1000, declination: 500 };

describe("a target outside the mount's limits", () => {
  test.each([
    // By declination at its limit, by the hour angle that it will reach, by altitude.
    [nowhereSchool, "Capella", "2026-03-14T18:30:00Z"],
    [nowhereSchool, "Spica", "2026-03-14T18:30:00Z"],
    [nowhereSchool, "Antares", "2026-03-14T21:30:00Z"],
    [northern, "Arcturus", "2026-03-14T19:40:00Z"],
    [northern, "Vega", "2026-03-14T23:50:00Z"],
    [northern, "Capella", "2026-03-14T22:40:00Z"],
  ])("gets no readings, no way and no promise, and says when it comes inside (%#)", (mount, name, time) => {
    const narrow: Mount = {
      ...mount,
      limits: { ...mount.limits, altitudeDeg: 25, hourAngleHours: [-4, 4], declinationDeg: [-62, 43] },
    };
    const timeMs = parseTime(time);
    const [found] = findTargets(narrow, standing(narrow), timeMs, [name], { present }).found;
    const target = targetNamed(name);
    const isInside = (at: number) =>
      brokenLimits(target.observe(skyFrame(at, narrow.site)), narrow.limits).length === 0;
    expect(found!.altitudeDeg, name).toBeGreaterThan(0);
    expect(isInside(timeMs), name).toBe(false);
    expect(found).toMatchObject({ predicted: null, move: null, field: null });
    expect(found!.refused!.code).toBe("outside-limits");
    const { readyAt } = found!.refused!;
    if (name === "Capella") {
      expect(readyAt).toBeNull();
    }
    if (readyAt !== null) {
      // Stars go a quarter of a degree in a minute: a second either side of the limit is on either side of it.
      const readyMs = parseTime(readyAt);
      expect(isInside(readyMs + 1500)).toBe(true);
      expect(
        findTargets(narrow, standing(narrow), readyMs + 1500, [name]).found[0]!.predicted,
      ).not.toBeNull();
      expect(findTargets(narrow, standing(narrow), readyMs - 1500, [name]).found[0]!.predicted).toBeNull();
    }
    const text = reportText(findReport(findTargets(narrow, standing(narrow), timeMs, [name], { present })));
    expect(text).not.toContain("camera's field");
    expect(text).toMatch(/Outside\s+the\s+mount's\s+limits\s+now/);
    expect(text.replace(/\s+/g, " ")).toContain(
      readyAt === null ? "it does not come where it may be looked at" : "it may be looked at from",
    );
  });

  test("below the horizon says too when it comes", () => {
    const [found] = findTargets(nowhereSchool, standing(nowhereSchool), evening, ["Antares"]).found;
    expect(found!.refused!.code).toBe("below-horizon");
    expect(
      findTargets(nowhereSchool, null, parseTime(found!.refused!.readyAt!) + 1500, ["Antares"]).found[0]!
        .refused,
    ).toBeNull();
  });
});

describe("one faulty target among several", () => {
  const asked = ["Canopus", "Canopsu", "Sun", "Rigel"];

  test("leaves the others found; what is wrong is said first", () => {
    const finding = findTargets(nowhereSchool, null, evening, asked);
    expect(finding.found.map(({ target }) => target)).toEqual(["Canopus", "Rigel"]);
    expect(finding.unknown.map(({ code, path }) => [code, path])).toEqual([
      ["unknown-object", "target 2"],
      ["sun-refused", "target 3"],
    ]);
    const text = reportText(findReport(finding));
    expect(text.indexOf("Canopsu")).toBeLessThan(text.indexOf("Readings at"));
    expect(text).toContain("Never look at the Sun");
  });

  test("leaves the evening's list", () => {
    const list = classList(nowhereSchool, null, evening, evening + 7_200_000, asked);
    expect(list.entries.map(({ target }) => target).sort()).toEqual(["Canopus", "Rigel"]);
    expect(list.notShown.filter(({ unknown }) => unknown).map(({ target }) => target)).toEqual([
      "Canopsu",
      "Sun",
    ]);
  });

  test("leaves the other exposures; a target below the horizon likewise", () => {
    const { targets, faults } = exposureTargets([...asked, "Antares"], evening, nowhereSchool.site);
    expect(targets.map(({ label }) => label)).toEqual(["Canopus", "Rigel"]);
    expect(faults.map(({ code }) => code)).toEqual(["unknown-object", "sun-refused", "target-below-horizon"]);
    expect(() => exposureTargets(["Canopsu"], evening, nowhereSchool.site)).toThrow(InputError);
  });
});

describe("an exposure on what moves among the stars", () => {
  const field = fieldOfCamera(nowhereSchool.camera!);
  const PIXEL_ARCSEC = 8.6 / 1000 / 1800 / (DEGREE / 3600);

  test.each([
    [nowhereSchool, "Moon", Body.Moon, "2026-03-26T18:30:00Z"],
    [northern, "Moon", Body.Moon, "2026-03-26T18:30:00Z"],
    [nowhereSchool, "Jupiter", Body.Jupiter, "2026-03-14T18:30:00Z"],
  ])("is smeared by its own motion (%#)", (mount, name, body, time) => {
    const timeMs = parseTime(time);
    const { site } = mount;
    const [target] = exposureTargets([name], timeMs, site).targets;
    // By hand: right ascension and declination from the site, of astronomy-engine, a minute apart.
    const observer = new Observer(site.latitude, site.longitude, site.heightM);
    const at = (ms: number) => Equator(body, MakeTime(new Date(ms)), observer, true, true);
    const [before, after] = [at(timeMs - 30_000), at(timeMs + 30_000)];
    const east = (after.ra - before.ra) * 15 * 3600 * Math.cos(before.dec * DEGREE);
    const north = (after.dec - before.dec) * 3600;
    const TOLERANCE_ARCSEC = 0.02;
    expect(Math.abs(target!.ownMotion!.west + east)).toBeLessThan(TOLERANCE_ARCSEC);
    expect(Math.abs(target!.ownMotion!.north - north)).toBeLessThan(TOLERANCE_ARCSEC);
    // A mount without errors, without air: nothing else draws it out.
    const perfect = { site: { latitude: site.latitude, pressureHPa: 0, temperatureC: 10 }, terms: {} };
    const foreseen = exposure(perfect, target!, { field, exposureS: 2, limits: null });
    const speed = Math.hypot(east, north) / 60;
    expect(foreseen.smear.middle).toBeCloseTo((2 * speed) / PIXEL_ARCSEC, 2);
    expect(foreseen.causes.ownMotion).toBeCloseTo(foreseen.smear.rim, 3);
    expect(foreseen.drift.west).toBeCloseTo((-2 * east) / 60, 2);
    expect(foreseen.drift.north).toBeCloseTo((2 * north) / 60, 2);
    if (body === Body.Moon) {
      // Two pixels last seconds, not the stars' half minute and more.
      expect(foreseen.longestS).toBeCloseTo((2 * PIXEL_ARCSEC) / speed, 1);
      expect(foreseen.longestS).toBeLessThan(8);
    }
  });

  test("guided on the Moon only the turning of the picture is left", () => {
    const [moon] = exposureTargets(["Moon"], parseTime("2026-03-26T18:30:00Z"), nowhereSchool.site).targets;
    const guided = exposure(standing(nowhereSchool), moon!, { field, exposureS: 30, guided: true });
    expect(guided.smear.middle).toBeLessThan(0.01);
    expect(guided.longestS).toBeGreaterThan(60);
  });
});

describe("variable stars", () => {
  test("each is of the catalogue, and its faintest is fainter than its brightest", () => {
    const variable = catalogueStars().filter(isVariable);
    expect(variable).toHaveLength(19);
    for (const star of variable) expect(faintestMagnitude(star), star.label).toBeGreaterThan(star.vMag);
    expect(faintestMagnitude(findStar("Mira"))).toBe(10.1);
    expect(faintestMagnitude(findStar("Rigel"))).toBe(findStar("Rigel").vMag);
  });

  test("none is planned at its brightest; one that may be seen at its faintest is marked", () => {
    for (const [mount, time] of [
      [nowhereSchool, "2026-11-14T19:30:00Z"],
      [northern, "2026-11-14T19:30:00Z"],
      [northern, "2026-07-14T20:30:00Z"],
    ] as const) {
      const plan = planStars(mount, parseTime(time), { stars: 40 });
      for (const star of plan.stars) {
        const { hip } = star;
        const known = catalogueStars().find((one) => one.hip === hip)!;
        expect(star.vMag, star.star).toBe(faintestMagnitude(known));
        expect(star.vMag, star.star).toBeLessThanOrEqual(3.5);
        expect(star.variable).toBe(isVariable(known));
      }
      expect(plan.stars.map(({ star }) => star)).not.toContain("Mira");
    }
    const mira = findTargets(nowhereSchool, null, parseTime("2026-11-14T19:30:00Z"), ["Mira"]).found[0]!;
    expect(mira.description).toContain("variable from 2.0 to 10.1");
  });
});
