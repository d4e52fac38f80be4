import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { ARCSECOND, DEGREE, HOUR, wrapHalfTurn } from "../../src/angles.js";
import { daysSinceJ2000, equationOfEquinoxes } from "../../src/sky/earth.js";
import { horizonFromHourAngle, hourAngleFromHorizon, hourAngleVector } from "../../src/sky/horizon-frame.js";
import { meanSiderealTime, siderealTime } from "../../src/sky/sidereal-time.js";
import { parseTime } from "../../src/sky/time.js";
import { separation } from "../../src/vectors.js";

const greenwich = { longitude: 0, dut1S: 0 };
const hours = (h: number, m: number, s: number) => (h + m / 60 + s / 3600) * HOUR;

/** The five largest terms of nutation leave 0.23″ in the equinox (see src/sky/earth.ts). */
const EQUINOX = 0.25 * ARCSECOND;
/** IAU 1982 mean sidereal time, of the older sources, against IAU 2006: under 0.02 s · 15″ in this century's half. */
const MEAN = 0.01 * 15 * ARCSECOND;

describe("sidereal time", () => {
  it("gives Meeus's examples 12.a and 12.b (Astronomical Algorithms, 2nd ed., pages 88 and 89)", () => {
    const midnight = parseTime("1987-04-10T00:00:00Z");
    expect(Math.abs(meanSiderealTime(midnight, greenwich) - hours(13, 10, 46.3668))).toBeLessThan(MEAN);
    expect(Math.abs(siderealTime(midnight, greenwich) - hours(13, 10, 46.1351))).toBeLessThan(EQUINOX);
    const evening = parseTime("1987-04-10T19:21:00Z");
    expect(Math.abs(meanSiderealTime(evening, greenwich) - hours(8, 34, 57.0896))).toBeLessThan(MEAN);
  });

  it("gives the equation of the equinoxes of Meeus's example 22.a (page 148)", () => {
    const nutation = -3.788 * ARCSECOND * Math.cos((23 + 26 / 60 + 36.85 / 3600) * DEGREE);
    const found = equationOfEquinoxes(daysSinceJ2000(parseTime("1987-04-10T00:00:00Z")));
    expect(Math.abs(found - nutation)).toBeLessThan(EQUINOX);
  });

  it("gives ERFA's gst94 for MJD 53736 (ERFA test suite)", () => {
    const found = siderealTime(parseTime("2006-01-01T00:00:00Z"), greenwich);
    expect(Math.abs(found - 1.754166136020645)).toBeLessThan(EQUINOX);
  });

  it("goes with the longitude east and with UT1", () => {
    const time = parseTime("2026-03-14T19:22:10Z");
    const here = siderealTime(time, greenwich);
    expect(wrapHalfTurn(siderealTime(time, { longitude: 20, dut1S: 0 }) - here)).toBeCloseTo(20 * DEGREE, 12);
    // A second of UT1 is 15.041″ of sidereal time.
    const later = wrapHalfTurn(siderealTime(time, { longitude: 0, dut1S: 0.9 }) - here) / ARCSECOND;
    expect(later).toBeCloseTo(0.9 * 15.0411, 3);
  });
});

describe("the horizon frame", () => {
  it("agrees with ERFA's hd2ae and ae2hd (ERFA test suite)", () => {
    const { azimuth, altitude } = horizonFromHourAngle(1.1, 1.2, 0.3);
    expect(azimuth).toBeCloseTo(5.916889243730066, 13);
    expect(altitude).toBeCloseTo(0.4472186304990486, 13);
    const { hourAngle, declination } = hourAngleFromHorizon(5.5, 1.1, 0.7);
    expect(hourAngle).toBeCloseTo(0.593329111550731, 14);
    expect(declination).toBeCloseTo(0.9613934761647818, 14);
  });

  it("gives Meeus's example 13.b (page 95)", () => {
    const site = { longitude: -(77 + 3 / 60 + 56 / 3600), dut1S: 0 };
    const sidereal = siderealTime(parseTime("1987-04-10T19:21:00Z"), site);
    const rightAscension = hours(23, 9, 16.641);
    const declination = -(6 + 43 / 60 + 11.61 / 3600) * DEGREE;
    const latitude = (38 + 55 / 60 + 17 / 3600) * DEGREE;
    const { azimuth, altitude } = horizonFromHourAngle(sidereal - rightAscension, declination, latitude);
    // Given to 0.0001°.
    expect(Math.abs(azimuth / DEGREE - 248.0337)).toBeLessThan(1e-4);
    expect(Math.abs(altitude / DEGREE - 15.1249)).toBeLessThan(1e-4);
  });

  it("is undone by its inverse over the whole sphere, on both hemispheres, the poles included", () => {
    const angle = fc.double({ min: -Math.PI, max: Math.PI, noNaN: true });
    const quarter = fc.oneof(
      fc.double({ min: -Math.PI / 2, max: Math.PI / 2, noNaN: true }),
      fc.constantFrom(-Math.PI / 2, 0, Math.PI / 2),
    );
    fc.assert(
      fc.property(angle, quarter, quarter, (hourAngle, declination, latitude) => {
        const horizon = horizonFromHourAngle(hourAngle, declination, latitude);
        const back = hourAngleFromHorizon(horizon.azimuth, horizon.altitude, latitude);
        expect(horizon.azimuth >= 0 && horizon.azimuth < 2 * Math.PI).toBe(true);
        expect(back.hourAngle > -Math.PI && back.hourAngle <= Math.PI).toBe(true);
        // A few roundings of a number of size one.
        expect(separation(hourAngleVector(back), hourAngleVector({ hourAngle, declination }))).toBeLessThan(
          2e-15,
        );
      }),
      { seed: 3, numRuns: 2000 },
    );
  });
});
