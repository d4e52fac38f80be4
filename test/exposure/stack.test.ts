import { describe, expect, it } from "vitest";
import { InputError } from "../../src/errors.js";
import { exposureStack } from "../../src/exposure/stack.js";
import { fieldOfCamera } from "../../src/pointing/field.js";

const field = fieldOfCamera({ focalLengthMm: 1800, widthMm: 7.2, heightMm: 5.4, pixelUm: 8.6 });
const target = { label: "on the meridian", hourAngleDeg: 0, declinationDeg: 0 };
const site = { latitude: -30, pressureHPa: 0, temperatureC: 10 };

describe("a stack of exposures", () => {
  it("walks as the polar axis makes a star drift", () => {
    const stack = exposureStack({ site, terms: { polarEast: 30 } }, target, {
      field,
      exposureS: 20,
      count: 30,
    });
    expect(stack.totalS).toBe(600);
    // Ω · 600 s · 30′ on the meridian, σ = −1: northward, 78.75″ to first order.
    expect(Math.abs(stack.walk.north)).toBeCloseTo(78.75, 0);
    expect(stack.common).toBeCloseTo(1 - Math.abs(stack.walk.north) / (3600 * field.heightDeg), 2);
    const guided = exposureStack({ site, terms: { polarEast: 30 } }, target, {
      field,
      exposureS: 20,
      count: 30,
      guided: true,
    });
    expect(Math.hypot(guided.walk.west, guided.walk.north)).toBeLessThan(0.01);
  });

  it("tells the read noise by the noise equation (Merline and Howell 1995)", () => {
    const noisy = { field, exposureS: 10, count: 3, readNoiseE: 8, skyE: 2 };
    const stack = exposureStack({ site, terms: {} }, target, noisy);
    expect(stack.readNoisePart).toBeCloseTo(Math.sqrt((2 * 10 + 64) / (2 * 10)) - 1, 12);
    const enough = exposureStack({ site, terms: {} }, target, { ...noisy, exposureS: stack.shortestS! });
    expect(enough.readNoisePart).toBeCloseTo(0.05, 12);
    expect(
      exposureStack({ site, terms: {} }, target, { field, exposureS: 10, count: 3 }).shortestS,
    ).toBeNull();
  });

  it("refuses what cannot be, all at once", () => {
    expect(() => exposureStack({ site, terms: {} }, target, { field, exposureS: 0, count: 1.5 })).toThrow(
      InputError,
    );
    expect(() => exposureStack({ site, terms: {} }, target, { field, exposureS: 600, count: 60 })).toThrow(
      /four hours/,
    );
  });
});
