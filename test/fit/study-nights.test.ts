/** Nights of the simulation study that came out sound and wrong, or unsound without need: each by its seed. */
import { describe, expect, it } from "vitest";
import { evidenceOf } from "../../src/fit/evidence.js";
import { fitMount } from "../../src/fit/mount-fit.js";
import { parseMount } from "../../src/mount/mount-file.js";
import { gaussian, seededRandom } from "../../src/simulate/random.js";
import { simulateNight } from "../../src/simulate/simulate-night.js";
import { findStar } from "../../src/sky/find-star.js";
import { sunDirection } from "../../src/sky/sun-and-moon.js";
import { drawWorldNight } from "../study/draw-world.mjs";

const library = { fitMount, parseMount, sunDirection, gaussian, seededRandom, simulateNight, findStar };

// Such a star draws the first fit so far off that no way leads back from there: the axis turned right round (a rotation by 360°
// and a little is the little one), a valley in which the solver creeps, or another minimum.
describe("a star mistaken for one far away", () => {
  it.each([
    ["turned right round", 6_100_268],
    ["in another minimum, of forty sightings", 6_100_299],
    ["in another minimum, of ten sightings", 6_100_217],
    ["in a valley, 11° south", 5_100_201],
    ["in a valley, 54° north", 5_100_183],
  ])("is named, and the axis found, though the first fit ends %s (seed %i)", (_, seed) => {
    const night = drawWorldNight(library, "one-misnamed", seed);
    const fit = fitMount(night);
    const [{ row, instead }] = night.truth.faults;
    const note = fit.notes.find(({ code }) => code === "misnamed-star");
    expect(note?.row).toBe(row);
    expect(note?.message).toContain(instead.star);
    expect(fit.stop.reason).toBe("converged");
    expect(evidenceOf(fit).allows).toBe("advice");
    for (const name of ["polarAltitude", "polarEast", "hourAngleZero", "declinationZero"] as const) {
      const { value, uncertainty } = fit.terms.find((term) => term.name === name)!;
      expect(Math.abs(value - night.terms[name]!)).toBeLessThan(4 * uncertainty);
    }
  });
});

describe("a latitude with the wrong sign, zeros near nothing", () => {
  it.each([6_100_273, 6_100_305, 6_100_306])(
    "is told, where two or three stars do not fit and one of them was below the horizon (seed %i)",
    (seed) => {
      const fit = fitMount(drawWorldNight(library, "latitude-sign", seed));
      expect(fit.notes.map(({ code }) => code)).toContain("site-sign");
      expect(fit.sound).toBe(false);
    },
  );
});
