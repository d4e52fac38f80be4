import { describe, expect, test } from "vitest";
import { DEGREE, HOUR } from "../../src/angles.js";
import { brokenLimits, horizonAltitude, insideLimits, lowestAltitude } from "../../src/mount/limits.js";
import type { Limits } from "../../src/mount/mount.js";
import {
  degreesFromSun,
  nextSunset,
  refuseDaylight,
  sunWatch,
  sweepFromSun,
} from "../../src/pointing/sun-safety.js";
import { horizonFromHourAngle, hourAngleFromHorizon } from "../../src/sky/horizon-frame.js";
import { sunDirection } from "../../src/sky/sun-and-moon.js";
import { parseTime } from "../../src/sky/time.js";
import { nowhereSchool } from "../support/nowhere-school-evening.js";

const limits: Limits = {
  altitudeDeg: 15,
  hourAngleHours: [-5, 4],
  declinationDeg: [-80, 40],
  horizon: [
    [0, 20],
    [90, 12],
    [270, 30],
  ],
};

describe("the horizon's profile", () => {
  test("runs straight from point to point and closes over north", () => {
    // By hand: half-way between neighbours.
    expect(horizonAltitude(limits.horizon, 0)).toBe(20);
    expect(horizonAltitude(limits.horizon, 45)).toBe(16);
    expect(horizonAltitude(limits.horizon, 180)).toBe(21);
    expect(horizonAltitude(limits.horizon, 315)).toBe(25);
    expect(horizonAltitude(limits.horizon, 360)).toBe(20);
    expect(horizonAltitude(limits.horizon, -45)).toBe(25);
    // A profile that does not begin at north closes over it as well.
    expect(
      horizonAltitude(
        [
          [10, 4],
          [350, 8],
        ],
        0,
      ),
    ).toBe(6);
    expect(
      horizonAltitude(
        [
          [10, 4],
          [350, 8],
        ],
        355,
      ),
    ).toBe(7);
    expect(horizonAltitude([[120, 7]], 300)).toBe(7);
    expect(horizonAltitude([], 300)).toBe(0);
  });

  test("counts with the altitude limit: the higher one holds", () => {
    expect(lowestAltitude(limits, 90)).toBe(15);
    expect(lowestAltitude(limits, 270)).toBe(30);
  });
});

describe("limits", () => {
  const seen = (hourAngleHours: number, declinationDeg: number) => ({
    hourAngle: hourAngleHours * HOUR,
    declination: declinationDeg * DEGREE,
    ...horizonFromHourAngle(hourAngleHours * HOUR, declinationDeg * DEGREE, -30 * DEGREE),
  });
  const broken = (hourAngleHours: number, declinationDeg: number) =>
    brokenLimits(seen(hourAngleHours, declinationDeg), limits).map((one) => one.limit);

  test("every broken one is named, and none where all hold", () => {
    expect(broken(0, -29)).toEqual([]);
    expect(broken(0, 39)).toEqual([]);
    expect(broken(0, 45)).toEqual(
      ["altitude", "horizon", "declination"].filter((name) => name !== "altitude"),
    );
    expect(broken(4.5, -60)).toContain("hour angle");
    expect(broken(-4.9, -60)).not.toContain("hour angle");
    expect(broken(0, -85)).toEqual(["declination"]);
    expect(broken(12, 0)).toEqual(["altitude", "horizon", "hour angle"]);
  });

  test("the quick answer is the same as no broken limit, all over the sky", () => {
    let inside = 0;
    for (let h = -12; h <= 12; h += 0.37) {
      for (let d = -89; d < 90; d += 3.1) {
        const direction = seen(h, d);
        const answer = insideLimits(direction, limits);
        expect(answer).toBe(brokenLimits(direction, limits).length === 0);
        if (answer) inside++;
      }
    }
    expect(inside).toBeGreaterThan(100);
  });

  test("says what was found and what is allowed", () => {
    const [one] = brokenLimits(seen(4.5, -60), limits);
    expect(one).toMatchObject({ limit: "hour angle", allowed: 4 });
    expect(one!.found).toBeCloseTo(4.5, 12);
    expect(one!.text).toBe("hour angle 4.5 h is outside −5 h to 4 h");
  });
});

describe("keeping from the Sun", () => {
  const { site } = nowhereSchool;
  const noon = parseTime("2026-03-14T11:00:00Z");

  test("knows when it is up: from astronomy-engine's sunrise to its sunset", () => {
    const sunset = nextSunset(noon, site)!;
    expect(sunWatch(sunset - 60_000, site).up).toBe(true);
    expect(sunWatch(sunset + 60_000, site).up).toBe(false);
    expect(() => refuseDaylight(noon, site, false)).toThrow(/The Sun is up/);
    expect(() => refuseDaylight(noon, site, true)).not.toThrow();
    expect(() => refuseDaylight(sunset + 60_000, site, false)).not.toThrow();
  });

  test("measures distances from it on the sphere", () => {
    const sun = sunDirection(noon, site, { pressureHPa: 0, temperatureC: 0 });
    const watch = sunWatch(noon, site);
    expect(degreesFromSun(sun, watch)).toBeCloseTo(0, 9);
    const up = hourAngleFromHorizon(sun.azimuth, sun.altitude - 25 * DEGREE, site.latitude * DEGREE);
    expect(degreesFromSun(up, watch)).toBeCloseTo(25, 9);
  });

  test("a way that crosses it is seen, although both ends are far away", () => {
    const sun = sunDirection(noon, site);
    const watch = sunWatch(noon, site);
    const from = { hourAngle: sun.hourAngle - 60 * DEGREE, declination: sun.declination };
    const to = { hourAngle: sun.hourAngle + 60 * DEGREE, declination: sun.declination };
    expect(sweepFromSun(from, to, watch)).toBeLessThan(5);
    const away = { hourAngle: sun.hourAngle + 60 * DEGREE, declination: sun.declination - 50 * DEGREE };
    const further = { hourAngle: sun.hourAngle + 80 * DEGREE, declination: sun.declination - 60 * DEGREE };
    expect(sweepFromSun(away, further, watch)).toBeGreaterThan(30);
  });
});
