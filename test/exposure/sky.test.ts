import { describe, expect, it } from "vitest";
import { exposure } from "../../src/exposure/exposure.js";
import { exposureSky, exposureTable } from "../../src/exposure/sky.js";
import { fieldOfCamera } from "../../src/pointing/field.js";
import { skyPoints } from "../../src/pointing/field-sky.js";
import type { MountStand } from "../../src/pointing/field-stand.js";

const field = fieldOfCamera({ focalLengthMm: 1800, widthMm: 7.2, heightMm: 5.4, pixelUm: 8.6 });
const stand: MountStand = {
  site: { latitude: -30, pressureHPa: 900, temperatureC: 12 },
  terms: { polarAltitude: 5, polarEast: -3, tubeSag: 1.5 },
};

describe("exposures over the sky", () => {
  it("are each what the exposure on that place is", () => {
    const sky = exposureSky(stand, { field, exposureS: 30, stepDeg: 20 });
    expect(sky.places.length).toBeGreaterThan(20);
    for (const place of sky.places.filter((_, index) => index % 7 === 0)) {
      const one = exposure(stand, { label: "there", ...place }, { field, exposureS: 30 });
      expect(place.smear).toBeCloseTo(one.smear.rim, 9);
      expect(place.longestS).toBeCloseTo(one.longestS, 6);
    }
    expect(sky.worst.smear).toBe(Math.max(...sky.places.map((place) => place.smear)));
    const inside = sky.places.filter((place) => place.smear <= 2).length / sky.places.length;
    expect(sky.partInside).toBe(inside);
    // A third-quarter check on the median: half of the places allow at least as long.
    expect(sky.places.filter((place) => place.longestS >= sky.medianLongestS).length).toBeGreaterThanOrEqual(
      sky.places.length / 2,
    );
  });

  it("stand in a table with gaps where the telescope cannot point", () => {
    const table = exposureTable(stand, { field, hourAnglesH: [-6, 0, 6], declinationsDeg: [80, 40, -30] });
    // At 30° south a star at +80° never rises (its upper transit is at −20° altitude): no row at all.
    expect(table.declinationsDeg).toEqual([40, -30]);
    // 40° north culminates at 20.6°; six hours off it is below the horizon.
    expect(table.longestS[0]![0]).toBeNull();
    expect(table.longestS[0]![2]).toBeNull();
    expect(table.longestS[0]![1]).toBeGreaterThan(1);
    expect(table.longestS[1]![1]).toBeGreaterThan(1);
  });
});

describe("places over the sky", () => {
  it("are evenly spread: each stands for the same piece of the sky, within a tenth", () => {
    // From 15° up the sky has 2π (1 − sin 15°) steradians = 15 288 square degrees: with 10° steps 153 places.
    const count = skyPoints(46, null).length;
    expect(count).toBeGreaterThan(153 * 0.9);
    expect(count).toBeLessThan(153 * 1.2);
  });
});
