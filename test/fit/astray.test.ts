/**
 * Nights with one star mistaken for another far away, which draws the first fit so far off that the way back does not lead from
 * there: the axis turned right round (a rotation by 360° and a little is the little one), a valley in which the solver creeps, or
 * another minimum. Without that star the fit must begin anew. The nights are such ones of the study's, by their seeds.
 */
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
