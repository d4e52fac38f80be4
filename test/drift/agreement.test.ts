import { describe, expect, it } from "vitest";
import { compareDrift } from "../../src/drift/compare.js";
import { makeDrifts } from "../../src/drift/file.js";
import { fitMount } from "../../src/fit/mount-fit.js";
import { trackingMount } from "../../src/pointing/field-stand.js";
import { directionFromDegrees, trackTarget } from "../../src/pointing/field-track.js";
import { gaussian, seededRandom } from "../../src/simulate/random.js";
import { simulateNight } from "../../src/simulate/simulate-night.js";
import { nowhereMount } from "../support/fit-fixture.js";

const FROM_MS = Date.UTC(2026, 2, 14, 18);
const NIGHTS = 120;
const ARCSEC = (180 * 3600) / Math.PI;

describe("drifts against sightings, over simulated nights of one and the same mount", () => {
  it("differ as χ² of two degrees of freedom says: seldom called a disagreement, neither too sure nor too unsure", () => {
    const random = seededRandom(77);
    let sum = 0;
    let disagree = 0;
    for (let night = 0; night < NIGHTS; night++) {
      // Errors drawn from the tolerances that the fit holds as knowledge.
      const terms = {
        hourAngleZero: 100 * gaussian(random),
        declinationZero: 100 * gaussian(random),
        polarAltitude: 15 * gaussian(random),
        polarEast: 15 * gaussian(random),
        cone: nowhereMount.tolerances.cone * gaussian(random),
        squareness: nowhereMount.tolerances.squareness * gaussian(random),
        tubeSag: nowhereMount.tolerances.tubeSag * gaussian(random),
        ringSag: nowhereMount.tolerances.ringSag * gaussian(random),
        trunnionSag: nowhereMount.tolerances.trunnionSag * gaussian(random),
      };
      const { mount, sightings } = simulateNight({
        seed: 1000 + night,
        mount: nowhereMount,
        terms,
        targets: 12,
        fromMs: FROM_MS,
        toMs: FROM_MS + 2 * 3_600_000,
      });
      const fit = fitMount({ mount, sightings });
      const truth = trackingMount({ site: nowhereMount.site, terms });
      const drifts = makeDrifts(
        [0, 1, 2].map(() => {
          const hourAngleDeg = 120 * (random() - 0.5);
          const declinationDeg = -60 + 60 * random();
          const minutes = 5 + 10 * random();
          const end = trackTarget(truth, directionFromDegrees(hourAngleDeg, declinationDeg)).placesAt(
            60 * minutes,
          )[0]!;
          return {
            hourAngleDeg,
            declinationDeg,
            minutes,
            driftNorthArcsec: end.north * ARCSEC + 3 * gaussian(random),
            uncertaintyArcsec: 3,
          };
        }),
      );
      const { comparison } = compareDrift(drifts, fit);
      sum += comparison.chiSquare.value;
      if (!comparison.agrees) disagree++;
    }
    // The mean of χ² with 2 degrees of freedom is 2, its standard deviation over 120 nights 2 / √120 = 0.18; uncertainties that
    // are scaled up when chance makes drifts misfit pull it down a little.
    expect(sum / NIGHTS).toBeGreaterThan(1.3);
    expect(sum / NIGHTS).toBeLessThan(2.6);
    // One in a hundred by chance: more than five in 120 has a probability of 0.2 % (binomial).
    expect(disagree).toBeLessThanOrEqual(5);
  });
});
