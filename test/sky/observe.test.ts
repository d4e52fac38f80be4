import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { ARCSECOND, DEGREE, HOUR, wrapHalfTurn } from "../../src/angles.js";
import { findStar } from "../../src/sky/find-star.js";
import { horizonFromHourAngle } from "../../src/sky/horizon-frame.js";
import { icrsFromObservedIn, NO_AIR, observe, observeIn } from "../../src/sky/observe.js";
import type { Site } from "../../src/sky/site.js";
import { skyFrame } from "../../src/sky/sky-frame.js";
import { skyOverNight } from "../../src/sky/sky-over-night.js";
import { icrsVector } from "../../src/sky/stars-near.js";
import { parseTime, TIME_RANGE_MS } from "../../src/sky/time.js";
import { fromSpherical, separation } from "../../src/vectors.js";
import { icrsFromObserved, sunSeparation } from "../support/sky.js";
import { apart, hourAngleDirection, nowhereSchool, number, readTable } from "./support.js";

const DAY_MS = 86_400_000;

describe("against ERFA's atco13", () => {
  it("is within 0.2″ without air from 1900 to 2100 over the whole globe", () => {
    // Precession and nutation leave 0.13″, the truncated place of the Earth the rest; the aim is 0.5″.
    const tolerance = 0.2;
    // Light bends 0.02″ at 20° from the Sun, which is left out here and is ERFA's; nearer stars are not sighted.
    const nearSun = 20 * DEGREE;
    let compared = 0;
    for (const row of readTable("test/reference/erfa-airless.csv")) {
      const site: Site = {
        latitude: number(row, "latitude"),
        longitude: number(row, "longitude"),
        heightM: number(row, "heightM"),
        dut1S: number(row, "dut1S"),
        ...NO_AIR,
      };
      const star = findStar(row.hip!);
      const time = parseTime(row.utc!);
      const seen = observe(star, time, site);
      const theirs = hourAngleDirection(number(row, "hourAngle"), number(row, "declination"));
      const close = sunSeparation(star, time, site) < nearSun;
      expect(apart(seen, theirs), JSON.stringify(row)).toBeLessThan(close ? 2 : tolerance);
      const horizon = { hourAngle: -seen.azimuth, declination: seen.altitude };
      expect(
        apart(horizon, hourAngleDirection(-number(row, "azimuth"), number(row, "altitude"))),
      ).toBeLessThan(close ? 2 : tolerance);
      if (!close) compared++;
    }
    expect(compared).toBeGreaterThan(350);
  });

  it("is within 0.5″ without air and 2″ with air above 15° at four sites (aims of the project)", () => {
    const rows = readTable("test/reference/erfa-observed.csv");
    expect(rows).toHaveLength(51);
    for (const row of rows) {
      const site: Site = {
        latitude: number(row, "latitude"),
        longitude: number(row, "longitude"),
        heightM: number(row, "height"),
        pressureHPa: number(row, "pressureHPa"),
        temperatureC: number(row, "temperatureC"),
        dut1S: number(row, "dut1"),
      };
      const star = findStar(row.hip!);
      const time = parseTime(row.utc!);
      const airless = observe(star, time, site, NO_AIR);
      expect(
        apart(
          airless,
          hourAngleDirection(number(row, "hourAngleAirless"), number(row, "declinationAirless")),
        ),
      ).toBeLessThan(0.5);
      const seen = observe(star, time, site);
      const theirs = hourAngleDirection(number(row, "hourAngleObserved"), number(row, "declinationObserved"));
      // Below 15° ERFA's two terms of refraction run away from a ray trace, 20″ at 5°.
      expect(apart(seen, theirs), JSON.stringify(row)).toBeLessThan(
        number(row, "altitudeObserved") > 15 ? 2 : 25,
      );
      const azimuthApart = wrapHalfTurn(seen.azimuth - number(row, "azimuthObserved") * DEGREE);
      expect(Math.abs(azimuthApart) * Math.cos(seen.altitude)).toBeLessThan(0.5 * ARCSECOND);
    }
  });
});

describe("against Meeus", () => {
  it("gives the apparent place of θ Persei (Astronomical Algorithms, 23.a, page 152)", () => {
    // From the FK5 position and motion printed on page 135. The site is a pole: there the Earth's rotation aberrates nothing.
    const theta = {
      raDeg: (2 + 44 / 60 + 11.986 / 3600) * 15,
      decDeg: 49 + 13 / 60 + 42.48 / 3600,
      pmRaCosDecMasYr: 0.03425 * 15 * 1000 * Math.cos((49 + 13 / 60 + 42.48 / 3600) * DEGREE),
      pmDecMasYr: -89.5,
    };
    const pole: Site = { latitude: 90, longitude: 0, heightM: 0, dut1S: 0, ...NO_AIR };
    // 2028 November 13.19 of Dynamical Time; a minute's difference from UTC changes nothing of an apparent place.
    const time = Date.UTC(2028, 10, 13) + 0.19 * DAY_MS;
    const frame = skyFrame(time, pole);
    const seen = observeIn(frame, theta);
    const rightAscension = wrapHalfTurn(frame.siderealTime - seen.hourAngle);
    const declination = seen.declination / DEGREE;
    const expectedRa = (2 + 46 / 60 + 14.39 / 3600) * HOUR;
    // The equinox of five terms of nutation: 0.23″.
    expect(Math.abs(rightAscension - expectedRa) * Math.cos(seen.declination)).toBeLessThan(0.3 * ARCSECOND);
    expect(Math.abs(declination - (49 + 21 / 60 + 7.45 / 3600)) * 3600).toBeLessThan(0.15);
  });
});

const latitudes = fc.oneof(fc.double({ min: -90, max: 90, noNaN: true }), fc.constantFrom(-90, 0, 90));
const sites = fc.record({
  latitude: latitudes,
  longitude: fc.double({ min: -180, max: 180, noNaN: true }),
  heightM: fc.double({ min: -100, max: 5000, noNaN: true }),
  pressureHPa: fc.oneof(fc.constant(0), fc.double({ min: 500, max: 1060, noNaN: true })),
  temperatureC: fc.double({ min: -40, max: 45, noNaN: true }),
  dut1S: fc.double({ min: -0.9, max: 0.9, noNaN: true }),
});
const times = fc.integer({ min: TIME_RANGE_MS[0], max: TIME_RANGE_MS[1] - 1 });
const directions = fc
  .record({
    raDeg: fc.double({ min: 0, max: 360, noNaN: true, maxExcluded: true }),
    z: fc.oneof(fc.double({ min: -1, max: 1, noNaN: true }), fc.constantFrom(-1, 0, 1)),
  })
  .map(({ raDeg, z }) => ({ raDeg, decDeg: Math.asin(z) / DEGREE }));

describe("icrsFromObserved", () => {
  it("undoes observe over the whole sphere, both hemispheres, every air", () => {
    fc.assert(
      fc.property(sites, times, directions, (site, time, place) => {
        const frame = skyFrame(time, site);
        const seen = observeIn(frame, place);
        const back = icrsFromObservedIn(frame, seen);
        // A score of roundings; degrees and back.
        expect(separation(icrsVector(back), icrsVector(place))).toBeLessThan(1e-13);
        expect(back.raDeg >= 0 && back.raDeg < 360).toBe(true);
        const horizon = horizonFromHourAngle(seen.hourAngle, seen.declination, site.latitude * DEGREE);
        const [azimuth, altitude] = [horizon.azimuth, horizon.altitude];
        expect(
          separation(fromSpherical(azimuth, altitude), fromSpherical(seen.azimuth, seen.altitude)),
        ).toBeLessThan(1e-14);
      }),
      { seed: 11, numRuns: 400 },
    );
  });

  it("is undone by observe", () => {
    fc.assert(
      fc.property(sites, times, directions, (site, time, { raDeg, decDeg }) => {
        const seen = hourAngleDirection(raDeg, decDeg);
        const place = icrsFromObserved(seen, time, site);
        expect(apart(observe(place, time, site), seen) * ARCSECOND).toBeLessThan(1e-13);
      }),
      { seed: 12, numRuns: 400 },
    );
  });
});

describe("the odd places", () => {
  it("knows no NaN at the Earth's poles, for stars at the sky's poles, in the zenith and in the nadir", () => {
    const time = parseTime("2026-03-14T19:22:10Z");
    for (const latitude of [-90, 0, 90]) {
      const site = { ...nowhereSchool, latitude };
      for (const decDeg of [-90, 0, 90]) {
        for (const place of [
          { raDeg: 0, decDeg },
          icrsFromObserved({ hourAngle: 0, declination: latitude * DEGREE }, time, site),
          icrsFromObserved({ hourAngle: Math.PI, declination: -latitude * DEGREE }, time, site),
        ]) {
          for (const figure of Object.values(observe(place, time, site)))
            expect(Number.isFinite(figure)).toBe(true);
        }
      }
    }
  });

  it("counts azimuth and hour angle as the site does: a star rises in the east, hour angle negative", () => {
    const site = nowhereSchool;
    const time = parseTime("2026-03-14T19:22:10Z");
    const rising = icrsFromObserved({ hourAngle: -80 * DEGREE, declination: 0 }, time, site);
    const seen = observe(rising, time, site);
    expect(seen.hourAngle / DEGREE).toBeCloseTo(-80, 9);
    expect(seen.azimuth > 0 && seen.azimuth < Math.PI).toBe(true);
    expect(observe(rising, time + 3_600_000, site).altitude).toBeGreaterThan(seen.altitude);
    // South of the equator a star of the equator culminates in the north.
    expect(
      Math.cos(observe(icrsFromObserved({ hourAngle: 0, declination: 0 }, time, site), time, site).azimuth),
    ).toBeCloseTo(1, 9);
  });

  it("moves Arcturus by its proper motion: 2.28″ a year (Hipparcos)", () => {
    const arcturus = findStar("Arcturus");
    const still = { raDeg: arcturus.raDeg, decDeg: arcturus.decDeg };
    const time = parseTime("2026-03-14T19:22:10Z");
    const moved = apart(
      observe(arcturus, time, nowhereSchool, NO_AIR),
      observe(still, time, nowhereSchool, NO_AIR),
    );
    // Parallax, 0.09″, is in it too.
    expect(Math.abs(moved - 26.2 * Math.hypot(1.09337, 2.00009))).toBeLessThan(0.15);
  });

  it("lifts in the air given with the call rather than in the site's", () => {
    const time = parseTime("2026-03-14T19:22:10Z");
    const star = findStar("Canopus");
    const thin = observe(star, time, { ...nowhereSchool, pressureHPa: 700 });
    expect(observe(star, time, nowhereSchool, { pressureHPa: 700, temperatureC: 12 })).toEqual(thin);
    expect(observe(star, time, nowhereSchool).altitude).toBeGreaterThan(thin.altitude);
  });
});

describe("skyOverNight", () => {
  it("gives the frame of the moment to 0.01″ on any night from 1900 to 2100", () => {
    // Interpolated over a day by a cubic: nutation of a fortnight, 0.1″, leaves 0.0003″.
    const tolerance = 0.01;
    let worst = 0;
    fc.assert(
      fc.property(
        sites,
        fc.integer({ min: TIME_RANGE_MS[0] + 2 * DAY_MS, max: TIME_RANGE_MS[1] - 3 * DAY_MS }),
        fc.array(fc.tuple(fc.double({ min: 0, max: 1, noNaN: true }), directions), {
          minLength: 5,
          maxLength: 5,
        }),
        (site, from, moments) => {
          const sky = skyOverNight(from, from + DAY_MS / 2, site);
          for (const [part, place] of moments) {
            const time = Math.round(from + (part * DAY_MS) / 2);
            const apartNow = apart(observeIn(sky.at(time), place), observe(place, time, site));
            worst = Math.max(worst, apartNow);
            expect(apartNow).toBeLessThan(tolerance);
          }
        },
      ),
      { seed: 21, numRuns: 200 },
    );
    // It is interpolated, so it must differ a little; if not, this test would test nothing.
    expect(worst).toBeGreaterThan(0);
  });

  it("gives the same for a moment in whatever span, and outside the span", () => {
    const time = parseTime("2026-03-14T19:22:10Z");
    const near = skyOverNight(time - DAY_MS / 4, time + DAY_MS / 4, nowhereSchool);
    const long = skyOverNight(time - 60 * DAY_MS, time + 60 * DAY_MS, nowhereSchool);
    const elsewhere = skyOverNight(time + 30 * DAY_MS, time + 31 * DAY_MS, nowhereSchool);
    expect(long.at(time)).toEqual(near.at(time));
    expect(elsewhere.at(time)).toEqual(near.at(time));
    long.at(time + 10 * DAY_MS);
    expect(long.at(time)).toEqual(near.at(time));
  });

  it("has rows that are perpendicular to the last digit, so that its inverse is exact too", () => {
    const time = parseTime("2026-03-14T05:22:10Z");
    const frame = skyOverNight(time, time, nowhereSchool).at(time);
    const place = { raDeg: 123, decDeg: -45 };
    expect(
      separation(icrsVector(icrsFromObservedIn(frame, observeIn(frame, place))), icrsVector(place)),
    ).toBeLessThan(1e-14);
  });
});
