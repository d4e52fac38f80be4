import { readFileSync } from "node:fs";
import { parse } from "csv-parse/sync";
import { describe, expect, test } from "vitest";
import { DEGREE } from "../../src/angles.js";
import { COMPASS_DATES_MS, magneticDeclination } from "../../src/daylight/compass.js";
import { daylight } from "../../src/daylight/daylight.js";
import { localNoon, shadowAt, shadowDay } from "../../src/daylight/shadow.js";
import type { InputError } from "../../src/errors.js";
import { daylightReport } from "../../src/report/daylight-report.js";
import { reportText } from "../../src/report/text.js";
import type { Site } from "../../src/sky/site.js";
import { parseTime } from "../../src/sky/time.js";
import { nowhereSchool } from "../support/nowhere-school-evening.js";

const readTable = (name: string): Record<string, string>[] =>
  parse(readFileSync(new URL(`../reference/${name}`, import.meta.url), "utf8"), {
    columns: true,
    comment: "#",
  });

const siteAt = (latitude: number, longitude: number, heightM = 0): Site => ({
  latitude,
  longitude,
  heightM,
  pressureHPa: 1010,
  temperatureC: 10,
  dut1S: 0,
});

describe("magnetic declination", () => {
  // Published to 0.01° and 0.1 nT; half a unit of the last figure, and the year's fraction counted in days of 365.
  const ANGLE_TOLERANCE_DEG = 0.0055;
  const FIELD_TOLERANCE_NT = 0.06;
  const rows = readTable("wmm.csv");

  test("agrees with the test values published with the models of 2015, 2020 and 2025", () => {
    const models = new Set<string>();
    for (const row of rows) {
      const date = Number(row.date);
      const year = Math.floor(date);
      const timeMs = Date.UTC(year, 0, 1) + (date - year) * 365 * 86_400_000;
      const site = siteAt(Number(row.latitude), Number(row.longitude), 1000 * Number(row.heightKm));
      const field = magneticDeclination(site, timeMs);
      models.add(field.model);
      expect(field.warning).toBeNull();
      expect(Math.abs(field.declinationDeg - Number(row.declinationDeg))).toBeLessThan(ANGLE_TOLERANCE_DEG);
      expect(Math.abs(field.inclinationDeg - Number(row.inclinationDeg))).toBeLessThan(ANGLE_TOLERANCE_DEG);
      expect(Math.abs(field.horizontalNT - Number(row.horizontalNT))).toBeLessThan(FIELD_TOLERANCE_NT);
    }
    expect(rows.length).toBe(23);
    expect([...models].sort()).toEqual(["WMM-2015", "WMM-2020", "WMM-2025"]);
  });

  test("every date that is said to be covered is, and none beyond", () => {
    const site = siteAt(-30, 20);
    const [fromMs, toMs] = COMPASS_DATES_MS;
    for (let timeMs = fromMs; timeMs < toMs; timeMs += 30 * 86_400_000) {
      expect(magneticDeclination(site, timeMs).warning).toBeNull();
    }
    expect(magneticDeclination(site, fromMs).warning).toBeNull();
    expect(magneticDeclination(site, toMs).warning).toBeNull();
    const late = magneticDeclination(site, parseTime("2034-03-14T10:00:00Z"));
    expect(late.warning).toContain("2029-11-13");
    const last = magneticDeclination(site, toMs);
    expect(late.declinationDeg).toBe(last.declinationDeg);
    expect(late.modelUncertaintyDeg).toBeGreaterThan(last.modelUncertaintyDeg + 0.1);
    expect(magneticDeclination(site, parseTime("1999-01-01T00:00:00Z")).warning).toContain("2014-12-15");
  });

  test("the bearing of true north is the declination taken off", () => {
    // 21.5° west at the invented school: a compass facing true north reads 21.5° (west declination is added back).
    const { compass } = daylight(nowhereSchool, parseTime("2026-03-14T10:00:00Z"));
    expect(compass.declinationDeg).toBeLessThan(0);
    expect(compass.bearingOfTrueNorthDeg).toBeCloseTo(-compass.declinationDeg, 10);
    expect(compass.bearingOfUpperEndDeg).toBeCloseTo(180 - compass.declinationDeg, 10);
  });

  test("a compass is refused where the field is too weak to hold it", () => {
    // Near the north magnetic pole: the published test value at 82° N, 87° E has 2302 nT; nearer still is less.
    const mount = { ...nowhereSchool, site: siteAt(86, 140) };
    const { compass, firstStars } = daylight(mount, parseTime("2026-06-14T10:00:00Z"));
    expect(compass.horizontalNT).toBeLessThan(2000);
    expect(compass.usable).toBe(false);
    expect(firstStars.every((answer) => answer.northBy !== "compass")).toBe(true);
  });
});

describe("the shadow of a plumb line", () => {
  test("points away from where ERFA has the Sun", () => {
    // ERFA by test/reference/erfa-sun-moon.csv, turned into azimuth by spherical trigonometry. Astronomy-engine's Sun is
    // good to some arcseconds; near the zenith an arcsecond on the sky is several of azimuth.
    const TOLERANCE_DEG = 10 / 3600;
    let compared = 0;
    for (const row of readTable("erfa-sun-moon.csv")) {
      const site = siteAt(Number(row.latitude), Number(row.longitude), Number(row.heightM));
      const h = Number(row.sunHourAngle) * DEGREE;
      const d = Number(row.sunDeclination) * DEGREE;
      const latitude = site.latitude * DEGREE;
      const east = -Math.cos(d) * Math.sin(h);
      const north = Math.sin(d) * Math.cos(latitude) - Math.cos(d) * Math.cos(h) * Math.sin(latitude);
      const altitude = Math.asin(
        Math.sin(d) * Math.sin(latitude) + Math.cos(d) * Math.cos(h) * Math.cos(latitude),
      );
      if (altitude < 5 * DEGREE || altitude > 75 * DEGREE) continue;
      const shadow = shadowAt(site, parseTime(row.utc!), {
        plumbHeightMm: 1500,
        markMm: 1,
        clockS: 2,
        stepMinutes: 15,
      });
      const away = Math.atan2(-east, -north) / DEGREE;
      const off = ((shadow.shadowAzimuthDeg - away + 540) % 360) - 180;
      expect(Math.abs(off) * Math.cos(altitude)).toBeLessThan(TOLERANCE_DEG);
      compared++;
    }
    expect(compared).toBeGreaterThan(5);
  });

  test("lies due south at local noon in the south of the tropics, due north in the north", () => {
    // The mean Sun at 20° E is on the meridian at 10:40:00 UTC; the equation of time on 14 March is −9.1 minutes
    // (from memory of any almanac): 10:49:06. To half a minute.
    const noonMs = localNoon(nowhereSchool.site, parseTime("2026-03-14T06:00:00Z"));
    expect(Math.abs(noonMs - parseTime("2026-03-14T10:49:06Z"))).toBeLessThan(30_000);
    const south = shadowDay(nowhereSchool.site, noonMs, {});
    expect(south.noonShadow).toBe("south");
    expect(shadowDay(siteAt(51.48, 0), parseTime("2026-03-14T10:00:00Z"), {}).noonShadow).toBe("north");
  });

  test("turns through the day the way the Sun goes, and is best marked when it turns slowly", () => {
    const day = shadowDay(nowhereSchool.site, parseTime("2026-03-14T10:00:00Z"), { stepMinutes: 30 });
    for (const moment of day.table) {
      // South of the Sun's path the Sun goes east, north, west: azimuths fall.
      expect(moment.turnsDegAMinute).toBeLessThan(0);
      expect(Math.abs(moment.shadowAzimuthDeg - moment.sunAzimuthDeg)).toBeCloseTo(180, 9);
    }
    const best = day.table[day.best!]!;
    expect(Math.min(...day.table.map((moment) => moment.accuracyDeg))).toBe(best.accuracyDeg);
    expect(best.sunAltitudeDeg).toBeLessThan(40);
  });

  test("a polar winter day has none", () => {
    const day = shadowDay(siteAt(78, 15), parseTime("2026-12-21T10:00:00Z"), {});
    expect(day.table).toEqual([]);
    expect(day.best).toBeNull();
    expect(day.noonShadow).toBeNull();
  });
});

describe("by daylight", () => {
  const timeMs = parseTime("2026-03-14T10:00:00Z");

  test("the axis's tilt is the latitude, and the base's turns mend what was measured", () => {
    const { tilt } = daylight(nowhereSchool, timeMs, { measuredTiltDeg: 29.5 });
    expect(tilt.upperEnd).toBe("south");
    expect(tilt.tiltDeg).toBe(30);
    expect(tilt.errorArcmin).toBeCloseTo(-30, 9);
    expect(tilt.turns?.recommended).toBe(true);
    // 30′ over 1.6 m between north and south jacks: 13.96 mm, the upper (south) end up.
    const rise = (name: string): number => tilt.turns!.jacks.find((jack) => jack.name === name)!.riseMm;
    const expectedMm = Math.tan(0.5 * DEGREE) * 1600;
    // Rounding may prefer fewer turns where the inclinometer (6′, 2.8 mm over 1.6 m) cannot tell the difference.
    const ROUNDING_MM = 1;
    expect(Math.abs(rise("south-west") - rise("north-west") - expectedMm)).toBeLessThan(ROUNDING_MM);
    expect(Math.abs(rise("south-east") - rise("north-east") - expectedMm)).toBeLessThan(ROUNDING_MM);
  });

  test("a tilt within the inclinometer's own error is let be", () => {
    expect(daylight(nowhereSchool, timeMs, { measuredTiltDeg: 29.97 }).tilt.turns?.recommended).toBe(false);
    expect(daylight({ ...nowhereSchool, base: null }, timeMs, { measuredTiltDeg: 28 }).tilt.turns).toBeNull();
  });

  test("says whether the first stars will fall into the finder", () => {
    const good = daylight(nowhereSchool, timeMs, {}).firstStars;
    expect(good.map((answer) => [answer.northBy, answer.suffices])).toEqual([
      ["shadow", true],
      ["compass", true],
    ]);
    const narrow = daylight(nowhereSchool, timeMs, { finderFieldDeg: 2 }).firstStars;
    expect(narrow.map((answer) => answer.suffices)).toEqual([true, false]);
  });

  test("never has anybody look at the Sun", () => {
    const result = daylight(nowhereSchool, timeMs, {});
    expect(result.cautions[0]).toMatch(/never look at the sun/i);
    const text = reportText(daylightReport(result));
    expect(text).toMatch(/^! Never look at the Sun/m);
    expect(text).not.toMatch(/(sight|centre|aim at|point at) the sun/i);
  });

  test("refuses options that cannot be, all at once", () => {
    let faults: readonly { readonly path?: string }[] = [];
    try {
      daylight(nowhereSchool, timeMs, { compassDeg: -1, measuredTiltDeg: 200, finderFieldDeg: Number.NaN });
    } catch (problem) {
      faults = (problem as InputError).faults;
    }
    expect(faults.map((fault) => fault.path).sort()).toEqual([
      "compassDeg",
      "finderFieldDeg",
      "measuredTiltDeg",
    ]);
  });
});
