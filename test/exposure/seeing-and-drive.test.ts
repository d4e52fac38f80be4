/** The seeing as the measure of a smear, and what the drive adds. */
import { describe, expect, it } from "vitest";
import { InputError } from "../../src/errors.js";
import { driveBudget } from "../../src/exposure/drive-budget.js";
import { exposure } from "../../src/exposure/exposure.js";
import { smearOfSeeing } from "../../src/exposure/seeing.js";
import { exposureStack } from "../../src/exposure/stack.js";
import { fieldOfCamera, fieldOfEyepiece } from "../../src/pointing/field.js";

const field = fieldOfCamera({ focalLengthMm: 1800, widthMm: 7.2, heightMm: 5.4, pixelUm: 8.6 });
const site = { latitude: -30, pressureHPa: 0, temperatureC: 10 };
const perfect = { site, terms: {} };
const worm = { periodS: 480, amplitudeArcsec: 4, cosine: 0, sine: 4 };
const running = (errorPpm: number, waves = [worm]) => ({
  rate: { errorPpm } as never,
  waves,
  peakToPeakArcsec: 8,
});

describe("the smear that the seeing allows", () => {
  it("widens a star by a tenth: the root mean square of numbers drawn from a Gauss curve and an even trail", () => {
    // Sampled: quantiles of the Gauss curve times equal steps along the trail; no formula of the project's.
    const seeing = 3;
    const trail = smearOfSeeing(seeing, fieldOfEyepiece(0.5));
    const sigma = seeing / 2.354820045;
    let [with_, without, count] = [0, 0, 0];
    for (let k = 0; k < 20_000; k++) {
      const x = -6 + (12 * (k + 0.5)) / 20_000;
      const weight = Math.exp((-x * x) / 2);
      for (let step = 0; step < 40; step++) {
        const along = trail * ((step + 0.5) / 40 - 0.5);
        with_ += weight * (x * sigma + along) ** 2;
        without += weight * (x * sigma) ** 2;
        count += weight;
      }
    }
    expect(Math.sqrt(with_ / count) / Math.sqrt(without / count)).toBeCloseTo(1.1, 3);
  });

  it("is the limit where none is given, and a coarse pixel widens it", () => {
    const at = (options: object) =>
      exposure(perfect, { label: "a star", hourAngleDeg: 10, declinationDeg: 0 }, { field, ...options });
    expect(at({ seeingArcsec: 3 }).smearLimit).toBeCloseTo(smearOfSeeing(3, field), 12);
    expect(at({ seeingArcsec: 3, smearLimit: 5 }).smearLimit).toBe(5);
    expect(smearOfSeeing(0.01, { pixelArcsec: 4 })).toBeCloseTo(Math.sqrt(0.21), 3);
    expect(() => at({ seeingArcsec: 0 })).toThrow(InputError);
  });
});

describe("the drive in an exposure", () => {
  const at = (declinationDeg: number, drive: ReturnType<typeof running>, more: object = {}) =>
    exposure(
      perfect,
      { label: "a star", hourAngleDeg: 10, declinationDeg },
      { field, exposureS: 60, drive, ...more },
    );

  it("drifts by 15.041″ a second times the rate error, less towards the pole", () => {
    for (const declination of [0, -60]) {
      const found = at(declination, running(-500, []));
      const expected = 15.041 * 500e-6 * 60 * Math.cos((declination * Math.PI) / 180);
      // A drive that is too slow leaves the star to the west.
      expect(found.drift.west).toBeCloseTo(expected, 3);
      expect(found.smear.middle).toBeCloseTo(expected / field.pixelArcsec!, 3);
      expect(found.causes.drive).toBeCloseTo(expected / field.pixelArcsec!, 2);
      expect(found.causes.polarAxis).toBeCloseTo(0, 6);
    }
  });

  it("adds the periodic error at its worst beginning: 2 A sin(π t / P)", () => {
    const expected = (2 * 4 * Math.sin((Math.PI * 60) / 480)) / field.pixelArcsec!;
    // Sampled twenty-four times a turn: 1 − cos(π / 24) of it may be missed.
    expect(Math.abs(at(0, running(0)).smear.middle / expected - 1)).toBeLessThan(8.6e-3);
    const { wavesArcsec } = driveBudget(running(0));
    for (const seconds of [0.1, 3, 50, 200, 239, 300, 9000])
      expect(
        Math.abs(wavesArcsec(seconds) - 8 * Math.sin((Math.PI * Math.min(seconds, 240)) / 480)),
      ).toBeLessThan(0.07);
  });

  it("counts in how long one may expose, and does not where somebody guides", () => {
    const free = at(0, running(0, []), { smearLimit: 2 });
    const waving = at(0, running(0), { smearLimit: 2 });
    expect(waving.longestS).toBeLessThan(0.2 * free.longestS);
    // 2 px = 1.97″ = 8″ sin(π t / 480 s): the rim of a perfect mount adds nothing.
    expect(
      Math.abs(waving.longestS / ((480 / Math.PI) * Math.asin((2 * field.pixelArcsec!) / 8)) - 1),
    ).toBeLessThan(0.01);
    const guided = at(0, running(-500), { smearLimit: 2, guided: true });
    expect(guided.smear.middle).toBeLessThan(1e-6);
    expect(guided.longestS).toBe(free.longestS);
  });

  it("makes a stack's field walk", () => {
    const stack = exposureStack(
      perfect,
      { label: "a star", hourAngleDeg: 10, declinationDeg: 0 },
      { field, exposureS: 20, count: 30, drive: running(-500) },
    );
    expect(stack.walk.west).toBeCloseTo(15.041 * 500e-6 * 600, 2);
    expect(stack.common).toBeCloseTo(1 - stack.walk.west / (3600 * field.widthDeg), 6);
    expect(stack.path).toHaveLength(17);
  });
});
