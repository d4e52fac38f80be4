import { describe, expect, it } from "vitest";
import { ARCMINUTE, DEGREE } from "../../src/angles.js";
import { InputError } from "../../src/errors.js";
import { type ExposureOptions, type ExposureTarget, exposure } from "../../src/exposure/exposure.js";
import { fieldOfCamera, fieldOfEyepiece } from "../../src/pointing/field.js";
import type { MountStand } from "../../src/pointing/field-stand.js";
import { SIDEREAL_RATE } from "../../src/pointing/field-track.js";

const VACUUM = { pressureHPa: 0, temperatureC: 10 };
const AIR = { pressureHPa: 900, temperatureC: 12 };
// The invented school's camera.
const CAMERA = { focalLengthMm: 1800, widthMm: 7.2, heightMm: 5.4, pixelUm: 8.6 };
const field = fieldOfCamera(CAMERA);

const stand = (latitude: number, terms: MountStand["terms"], air = VACUUM): MountStand => ({
  site: { latitude, ...air },
  terms,
});
const target = (hourAngleDeg: number, declinationDeg: number): ExposureTarget => ({
  label: "a place",
  hourAngleDeg,
  declinationDeg,
});

function faultsOf(work: () => unknown): string[] {
  try {
    work();
  } catch (problem) {
    if (problem instanceof InputError) return problem.faults.map((fault) => fault.code);
    throw problem;
  }
  return [];
}

describe("the field", () => {
  it("of a camera: plain trigonometry", () => {
    // 8.6 µm at 1800 mm: 206264.806″ · 0.0086 / 1800 = 0.98549″; 2 atan(3.6 / 1800) = 13.7510′.
    expect(field.pixelArcsec).toBeCloseTo(0.98549, 5);
    expect(field.widthDeg * 60).toBeCloseTo(13.751, 3);
    expect(field.heightDeg * 60).toBeCloseTo(10.3132, 3);
  });
});

describe("an exposure", () => {
  it("drifts by the finite rotation between the mount's axis and the pole: 2 sin(θ/2) of the chord, in pixels", () => {
    // A star on the meridian at the equator of the axis, the axis off towards east by e: star and telescope part at the rate of
    // Ω times the angle between the two axes, at right angles to both; over a minute the chord is Ω t · 2 sin(e/2).
    const e = 60 * ARCMINUTE;
    const found = exposure(stand(46, { polarEast: 60 }), target(-0.125, 0), { field, exposureS: 60 });
    const chordPx =
      (SIDEREAL_RATE * 60 * 2 * Math.sin(e / 2)) / (CAMERA.pixelUm / 1000 / CAMERA.focalLengthMm);
    // The chord shrinks with the square of a minute's turn and of e: 1e-4 of it.
    expect(found.smear.middle).toBeCloseTo(chordPx, 2);
    expect(found.drift.north).toBeLessThan(0);
    expect(found.driftRate.north).toBeCloseTo(found.drift.north, 1);
    expect(found.unit).toBe("px");
  });

  it("turns the picture, unguided, by the part of the relative rotation that lies along the line of sight", () => {
    // Rotation vectors add for small angles: seen from the camera the stars turn by −Ω t (pole − axis). North of the equator an
    // axis too far east by e makes pole − axis = −e Y, and Y · line of sight = −cos δ sin h. Seen from inside, a right-handed turn
    // about the line of sight goes from east over north, which counts negative here.
    const e = 30 * ARCMINUTE;
    const seconds = 300;
    for (const h of [-50, 70]) {
      const found = exposure(stand(46, { polarEast: 30 }), target(h, 20), { field, exposureS: seconds });
      const middle = h * DEGREE + (SIDEREAL_RATE * seconds) / 2;
      const lineOnY = -Math.cos(20 * DEGREE) * Math.sin(middle);
      const aboutLine = -SIDEREAL_RATE * seconds * -e * lineOnY;
      expect(found.fieldRotationArcmin).toBeCloseTo(-aboutLine / ARCMINUTE, 2);
      expect(Math.abs(found.fieldRotationArcmin)).toBeGreaterThan(0.3);
    }
  });

  it("guided, keeps the middle still and turns the rim, more near the pole", () => {
    const options: ExposureOptions = { field, exposureS: 600, guided: true };
    const far = exposure(stand(-30, { polarEast: 30 }), target(0, 0), options);
    const near = exposure(stand(-30, { polarEast: 30 }), target(0, -80), options);
    expect(far.smear.middle).toBeLessThan(1e-6);
    expect(near.smear.middle).toBeLessThan(1e-6);
    // The angle between pole and axis at the target grows as sec δ: 5.76 times at 80° (spherical trigonometry, first order);
    // three times leaves room for the next order.
    expect(Math.abs(near.fieldRotationArcmin)).toBeGreaterThan(3 * Math.abs(far.fieldRotationArcmin));
    // The drift is still given as it would be unguided.
    expect(Math.abs(far.drift.north)).toBeGreaterThan(10);
  });

  it("may be as long as the smear allows: at that length the smear is the limit, at both hemispheres", () => {
    for (const latitude of [-30, 46]) {
      const s = stand(latitude, { polarAltitude: 6, polarEast: -4, tubeSag: 2, ringSag: 1 }, AIR);
      for (const h of [-45, 0, 60]) {
        const options = { field, smearLimit: 2 };
        const { longestS, longestEnds } = exposure(s, target(h, Math.sign(latitude) * 20), options);
        expect(longestEnds).toBe("smear");
        const at = exposure(s, target(h, Math.sign(latitude) * 20), { ...options, exposureS: longestS });
        // Found to 1e-4 of the time.
        expect(Math.abs(at.smear.rim - 2)).toBeLessThan(2e-3);
        expect(at.holds).toBe(true);
        const longer = exposure(s, target(h, Math.sign(latitude) * 20), {
          ...options,
          exposureS: longestS * 1.01,
        });
        expect(longer.holds).toBe(false);
      }
    }
  });

  it("is as long as four hours for a perfect mount, and ends where the target leaves the limits", () => {
    const perfect = exposure(stand(46, {}), target(-10, 60), { field });
    expect(perfect).toMatchObject({ longestS: 4 * 3600, longestEnds: "four hours", holds: true });
    const limits = {
      altitudeDeg: 15,
      hourAngleHours: [-6, 1] as const,
      declinationDeg: [-90, 90] as const,
      horizon: [],
    };
    const ended = exposure(stand(46, {}), target(0, 60), { field, limits });
    // One hour of hour angle at the sidereal rate: 3590.17 s.
    expect(ended.longestEnds).toBe("limits");
    expect(ended.longestS).toBeGreaterThan(3590.17 - 0.5);
    expect(ended.longestS).toBeLessThan(3590.18);
    expect(exposure(stand(46, {}), target(30, 60), { field, limits })).toMatchObject({
      longestS: 0,
      holds: false,
    });
  });

  it("says what draws the stars out", () => {
    const { causes } = exposure(stand(46, { polarAltitude: 30 }, AIR), target(-80, 10), {
      field,
      exposureS: 120,
    });
    expect(causes.polarAxis).toBeGreaterThan(10);
    expect(causes.refraction).toBeGreaterThan(0.1);
    expect(causes.tubeAndAxes).toBeLessThan(1e-6);
  });

  it("is the same on either side of the mount for a mount whose only error is its axis", () => {
    const s = stand(-30, { polarAltitude: 9, polarEast: 5 }, AIR);
    const normal = exposure(s, target(25, -40), { field, exposureS: 90 });
    const beyond = exposure(s, target(25, -40), { field, exposureS: 90, beyond: true });
    expect(beyond.drift.west).toBeCloseTo(normal.drift.west, 6);
    expect(beyond.drift.north).toBeCloseTo(normal.drift.north, 6);
    expect(beyond.fieldRotationArcmin).toBeCloseTo(normal.fieldRotationArcmin, 6);
  });

  it("gives arcseconds for an eyepiece", () => {
    const eyepiece = fieldOfEyepiece(0.5);
    const found = exposure(stand(46, { polarEast: 60 }), target(0, 0), { field: eyepiece, exposureS: 60 });
    expect(found.unit).toBe("arcsec");
    // 15.75″ a minute for a degree.
    expect(found.smear.middle).toBeCloseTo(15.75, 1);
    expect(found.smearLimit).toBe(60);
  });

  it("refuses what makes no sense, all of it at once", () => {
    const s = stand(46, {});
    expect(faultsOf(() => exposure(s, target(0, 0), { field, exposureS: 0, smearLimit: -1 }))).toEqual([
      "exposure-out-of-range",
      "smear-out-of-range",
    ]);
    expect(faultsOf(() => exposure(s, target(Number.NaN, 91), { field }))).toEqual([
      "target-out-of-range",
      "target-out-of-range",
    ]);
    expect(faultsOf(() => fieldOfEyepiece(0))).toEqual(["field-out-of-range"]);
    expect(
      faultsOf(() => exposure(s, target(0, 0), { field: { ...field, widthDeg: -1, pixelArcsec: 0 } })),
    ).toEqual(["field-out-of-range", "pixel-out-of-range"]);
  });
});
