import { describe, expect, it } from "vitest";
import { DEGREE } from "../../src/angles.js";
import { findStar } from "../../src/sky/find-star.js";
import { NO_AIR } from "../../src/sky/observe.js";
import { moonDirection, sunDirection } from "../../src/sky/sun-and-moon.js";
import { parseTime } from "../../src/sky/time.js";
import { sunSeparation } from "../support/sky.js";
import { apart, hourAngleDirection, nowhereSchool, number, readTable } from "./support.js";

describe("the Sun and the Moon", () => {
  it("stand where ERFA puts them, seen from the site", () => {
    // The Sun: both theories to about 1″. The Moon: ERFA's moon98 to about 10″, and the Earth's clock error not yet known after 2025
    // (5 s, 3″).
    const sunTolerance = 2;
    const moonTolerance = 25;
    for (const row of readTable("test/reference/erfa-sun-moon.csv")) {
      const site = {
        latitude: number(row, "latitude"),
        longitude: number(row, "longitude"),
        heightM: number(row, "heightM"),
        dut1S: 0,
        ...NO_AIR,
      };
      const time = parseTime(row.utc!);
      const sun = hourAngleDirection(number(row, "sunHourAngle"), number(row, "sunDeclination"));
      expect(apart(sunDirection(time, site), sun), JSON.stringify(row)).toBeLessThan(sunTolerance);
      const moon = hourAngleDirection(number(row, "moonHourAngle"), number(row, "moonDeclination"));
      expect(apart(moonDirection(time, site), moon), JSON.stringify(row)).toBeLessThan(moonTolerance);
    }
  });

  it("are lifted by the air like a star", () => {
    const time = parseTime("2026-03-14T16:00:00Z");
    const lifted = sunDirection(time, nowhereSchool);
    const bare = sunDirection(time, nowhereSchool, NO_AIR);
    expect(lifted.azimuth).toBeCloseTo(bare.azimuth, 12);
    expect(lifted.altitude).toBeGreaterThan(bare.altitude);
  });
});

describe("the Sun", () => {
  it("passes Regulus about August 23, at 0.46° (the star's ecliptic latitude)", () => {
    const time = parseTime("2026-08-23T06:00:00Z");
    const degrees = sunSeparation(findStar("Regulus"), time, nowhereSchool) / DEGREE;
    expect(degrees).toBeGreaterThan(0.4);
    expect(degrees).toBeLessThan(0.7);
  });
});
