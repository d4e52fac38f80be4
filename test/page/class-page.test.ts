import { expect, test } from "vitest";
import { InputError } from "../../src/errors.js";
import { driftFactor, trailArcmin } from "../../src/page/class/drift-ruler.js";
import { posterTerms } from "../../src/page/class/poster.js";
import { ringHours, standShape } from "../../src/page/class/split-ring.js";
import { classPage, classPageNames } from "../../src/page/class-page.js";
import { termEffects } from "../../src/plots/term-pattern.js";
import { trackingMount } from "../../src/pointing/field-stand.js";
import { directionFromDegrees, trackTarget } from "../../src/pointing/field-track.js";

const LATITUDES = [-33, 48];

test.each(classPageNames)("%s stands on its own, warns of the Sun, and is in short sentences", (name) => {
  for (const latitude of LATITUDES) {
    const { html, title } = classPage(name, latitude);
    expect(html).toContain(`<h1>${title}</h1>`);
    expect(html).not.toMatch(/src=|href=|<script/);
    expect(html).toMatch(/Sun/);
    const spoken = html
      .replace(/<(svg|style|table)[\s\S]*?<\/\1>/g, "")
      .replace(/<\/(p|li|h\d|section)>/g, "\n")
      .replace(/<[^>]+>/g, "");
    const sentences = spoken.split(/(?<=[.?!:])\s|\n/).map((one) => one.trim().split(/\s+/));
    for (const words of sentences) expect(words.length, words.join(" ")).toBeLessThanOrEqual(25);
    expect(html).not.toContain("NaN");
  }
});

test("the poster has a pattern for every error that has one on the sky, and no empty one", () => {
  const { html } = classPage("poster", 48);
  expect(html.split("<section>").length - 1).toBe(posterTerms.length);
  for (const name of posterTerms) {
    const largest = Math.max(...termEffects(name, 48).map(({ west, north }) => Math.hypot(west, north)));
    expect(largest, name).toBeGreaterThan(0.1);
  }
});

test("ten minutes of drift are the axis error over 22.9, as the rigorous model has it, in both hemispheres", () => {
  // 360° in a sidereal day of 86 164.0905 s (Explanatory Supplement to the Astronomical Almanac, 3rd ed., 2013, ch. 3).
  const turned = (2 * Math.PI * 600) / 86164.0905;
  expect(driftFactor).toBeCloseTo(1 / turned, 6);
  expect(trailArcmin(0)).toBeCloseTo(15.04, 2);
  expect(trailArcmin(60)).toBeCloseTo(trailArcmin(0) / 2, 9);
  for (const latitude of LATITUDES) {
    const drift = driftOnMeridian(latitude, 20);
    expect(Math.abs(drift) * driftFactor).toBeCloseTo(20, 1);
    const seen = drift > 0 ? "north" : "south";
    expect(classPage("drift-ruler", latitude).html).toContain(
      `The star drifted ${seen}: the upper end of the axis points too far east`,
    );
  }
});

test("the axis of the cardboard mount leans by the latitude, and the ring has a mark for every hour but where it is open", () => {
  for (const latitude of [5, -33, 48, 85]) {
    const { pivot, notch, outerMm, apartMm } = standShape(latitude);
    const lean = (Math.abs(latitude) * Math.PI) / 180;
    // The ring's middle stands above the notches by Pythagoras, square to the axis.
    const above = Math.sqrt(outerMm ** 2 - (apartMm / 2) ** 2);
    const middle = [notch[0] - above * Math.sin(lean), notch[1] + above * Math.cos(lean)] as const;
    expect(Math.atan2(middle[1] - pivot[1], middle[0] - pivot[0])).toBeCloseTo(lean, 9);
  }
  const hours = ringHours();
  for (const { hour, degrees } of hours) expect(degrees).toBe(hour * 15);
  expect(hours.map(({ hour }) => hour)).toEqual(Array.from({ length: 19 }, (_, n) => n + 3));
});

test("another page, or a place where the mount cannot stand, is refused", () => {
  expect(() => classPage("banner", 48)).toThrow(InputError);
  for (const latitude of [0, 90, Number.NaN]) expect(() => classPage("poster", latitude)).toThrow(InputError);
});

/** How far a star on the meridian drifts north in ten minutes with the axis so far east, arcminutes, without air. */
function driftOnMeridian(latitude: number, polarEast: number): number {
  const site = { latitude, pressureHPa: 0, temperatureC: 10 };
  const mount = trackingMount({ site, terms: { polarEast } });
  const track = trackTarget(mount, directionFromDegrees(0, 0));
  return ((track.placesAt(600)[0]!.north * 180) / Math.PI) * 60;
}
