import { readFileSync } from "node:fs";
import { describe, expect, it } from "vitest";
import { bestRate, meanBestRate } from "../../src/drive/best-rate.js";

const DEGREE = Math.PI / 180;
const rows = readFileSync(new URL("../reference/erfa-rates.csv", import.meta.url), "utf8")
  .trim()
  .split("\n")
  .slice(1)
  .map((line) => line.split(",").map(Number));

describe("the rate that follows a star best", () => {
  it("is ERFA's, above 25° (refco and atioq; make-erfa-rates.py)", () => {
    expect(rows.length).toBeGreaterThan(60);
    for (const [latitude, pressureHPa, temperatureC, h, d, altitude, rate] of rows as number[][]) {
      const site = { latitude: latitude!, pressureHPa: pressureHPa!, temperatureC: temperatureC! };
      // The reference stands at the unrefracted place; the star is seen a little higher: of no matter to the rate but 2 ppm.
      const found = bestRate({ site, terms: {} }, { hourAngle: h! * DEGREE, declination: d! * DEGREE }, 0);
      // A minute of arc of refraction moves the place by up to 2′, and the rate by that part of its change over a radian.
      const tolerance = 0.6 + 0.004 * Math.abs(rate!);
      expect(Math.abs(found - rate!), `${latitude} ${h} ${d} at ${altitude}`).toBeLessThan(tolerance);
    }
  });

  it("is King's on the meridian with the axis on the true pole (κ tan z, differentiated by hand)", () => {
    // h − h′ = κ tan z · sin q / cos δ; on the meridian d(h′)/dh = 1 − κ cos φ / (cos δ · cos z).
    const site = { latitude: 46.5, pressureHPa: 1010, temperatureC: 10 };
    const KAPPA = 58.3 / 206_264.8;
    for (const d of [0, 20, 40]) {
      const z = (46.5 - d) * DEGREE;
      const expected = (-KAPPA * Math.cos(46.5 * DEGREE)) / (Math.cos(d * DEGREE) * Math.cos(z));
      const found = bestRate({ site, terms: {} }, { hourAngle: 0, declination: d * DEGREE }, 0);
      expect(found).toBeCloseTo(expected * 1e6, -1);
    }
  });

  it("is nearly the mean rate of 15.0369″ a second that goes by King's name (from memory)", () => {
    const site = { latitude: 40, pressureHPa: 1010, temperatureC: 10 };
    const rate = 15.041067 * (1 + meanBestRate({ site, terms: {} }, null) * 1e-6);
    expect(rate).toBeGreaterThan(15.034);
    expect(rate).toBeLessThan(15.038);
  });

  it("is the sidereal rate without air, and the mean over a stretch lies between its ends", () => {
    const still = { site: { latitude: -30, pressureHPa: 0, temperatureC: 10 }, terms: {} };
    expect(bestRate(still, { hourAngle: 0.5, declination: -0.3 }, 0)).toBeCloseTo(0, 3);
    const airy = { site: { latitude: -30, pressureHPa: 900, temperatureC: 10 }, terms: {} };
    const begin = bestRate(airy, { hourAngle: 0.5, declination: -0.3 }, 0);
    const mean = bestRate(airy, { hourAngle: 0.5, declination: -0.3 }, 7200);
    expect(mean).toBeLessThan(begin);
  });
});
