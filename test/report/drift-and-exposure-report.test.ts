import { describe, expect, it } from "vitest";
import { compareDrift } from "../../src/drift/compare.js";
import { solveDrift } from "../../src/drift/drift.js";
import { makeDrifts } from "../../src/drift/file.js";
import { exposure } from "../../src/exposure/exposure.js";
import { exposureAssumptions, goodEnough, secondsText } from "../../src/exposure/good-enough.js";
import { exposureTable } from "../../src/exposure/sky.js";
import { trueOrRefracted } from "../../src/exposure/true-or-refracted.js";
import { fieldOfCamera, fieldOfEyepiece } from "../../src/pointing/field.js";
import { driftReport } from "../../src/report/drift-report.js";
import { exposureReport, goodEnoughReport } from "../../src/report/exposure-report.js";
import { reportText } from "../../src/report/text.js";
import { nowhereFit, nowhereMount } from "../support/fit-fixture.js";
import { plainDrift } from "../support/plain-rotations.js";

const fit = nowhereFit();
const vacuum = { ...nowhereMount, site: { ...nowhereMount.site, pressureHPa: 0 } };
const driftsOf = (pole: { altitude: number; east: number }, places: readonly (readonly [number, number])[]) =>
  makeDrifts(
    places.map(([hourAngleDeg, declinationDeg]) => ({
      hourAngleDeg,
      declinationDeg,
      minutes: 10,
      driftNorthArcsec: plainDrift(nowhereMount.site.latitude, pole, hourAngleDeg, declinationDeg, 10).north,
      uncertaintyArcsec: 2,
    })),
  );
const PLACES = [
  [0, 0],
  [-70, -30],
  [60, -10],
] as const;
const truth = { altitude: fit.pole.altitude.value, east: fit.pole.east.value };

/** What must hold of every report: eighty columns, no broken numbers. */
function readable(text: string): void {
  expect(Math.max(...text.split("\n").map((line) => [...line].length))).toBeLessThanOrEqual(80);
  expect(text).not.toMatch(/NaN|undefined|Infinity|null|unknown/);
}

describe("the drift report", () => {
  it("says which way the axis errs, which end, and that the sightings agree", () => {
    const drifts = driftsOf(truth, PLACES);
    const { result, comparison } = compareDrift(drifts, { ...fit, mount: vacuum });
    const text = reportText(driftReport(result, comparison, nowhereMount.name));
    readable(text);
    expect(text).toContain("upper (south) end");
    expect(text).toContain("The drifts agree with the sightings' fit");
    expect(text).toContain(truth.altitude < 0 ? "too low" : "too high");
    expect(text).toContain(truth.east < 0 ? "too far west" : "too far east");
    expect(text).toContain("drive power off");
  });

  it("warns when they disagree, and tells to turn nothing", () => {
    const drifts = driftsOf({ altitude: truth.altitude + 60, east: truth.east - 60 }, PLACES);
    const { result, comparison } = compareDrift(drifts, { ...fit, mount: vacuum });
    const text = reportText(driftReport(result, comparison, nowhereMount.name));
    readable(text);
    expect(comparison.agrees).toBe(false);
    expect(text.replace(/\s+/g, " ")).toContain("disagree with the sightings' fit");
    expect(text).toContain("Turn nothing");
  });

  it("of one drift says what is known and what is not, in both hemispheres", () => {
    for (const latitude of [-30, 46]) {
      const site = { ...vacuum.site, latitude };
      const text = reportText(
        driftReport(
          solveDrift(
            makeDrifts([{ hourAngleDeg: 5, declinationDeg: 0, minutes: 10, driftNorthArcsec: 26 }]),
            site,
          ),
          null,
          "A mount",
        ),
      );
      readable(text);
      const flat = text.replace(/\s+/g, " ");
      expect(flat).toContain("if it is right in altitude");
      // 26″ in ten minutes is 9.9 arcminutes on the meridian (0.2625″ a minute for one), 0.6 % more at 6.3° from it. North of the equator a star
      // drifting north means too far west, south of it too far east.
      expect(flat).toMatch(
        latitude > 0 ? /(9\.9|10\.0)′ ± \d\.\d′ too far west/ : /(9\.9|10\.0)′ ± \d\.\d′ too far east/,
      );
      expect(flat).toContain(latitude > 0 ? "upper (north) end" : "upper (south) end");
    }
  });

  it("shows drifts westward and the drive's rate", () => {
    const drifts = makeDrifts([
      { hourAngleDeg: 0, declinationDeg: 0, minutes: 10, driftNorthArcsec: 3, driftWestArcsec: -20 },
      { hourAngleDeg: 50, declinationDeg: -30, minutes: 10, driftNorthArcsec: 3, driftWestArcsec: -17 },
    ]);
    const text = reportText(driftReport(solveDrift(drifts, vacuum), null, "A mount"));
    readable(text);
    expect(text).toContain("Drifts westward taken apart");
    expect(text.replace(/\s+/g, " ")).toMatch(/The drive runs \d\.\d\d″ ± \d\.\d\d″ a minute too fast/);
  });
});

describe("the exposure report", () => {
  const field = fieldOfCamera(nowhereMount.camera!);
  const target = { label: "M 83", hourAngleDeg: -20, declinationDeg: -29.9 };

  it("answers first: whether it is good enough, then the targets, the sky, the poles, the cautions", () => {
    const options = { field, exposureS: 30 };
    const text = reportText(
      exposureReport({
        mountName: nowhereMount.name,
        exposures: [exposure(fit, target, options)],
        because: null,
        stacks: [],
        assumptions: exposureAssumptions(options),
        leftOut: [],
        table: exposureTable(fit, options),
        goodEnough: goodEnough(fit, options),
        poles: trueOrRefracted(nowhereMount, options),
      }),
    );
    readable(text);
    const order = [
      "Finding: 19 of 20",
      "M 83",
      "Over the sky",
      "The true pole or the refracted one",
      "sidereal",
    ];
    const at = order.map((words) => text.indexOf(words));
    expect(at.every((place) => place > 0)).toBe(true);
    expect([...at].sort((a, b) => a - b)).toEqual(at);
    expect(text.split("\n")[3]).toMatch(/^(Stop|Another round)/);
  });

  it("gives arcseconds for an eyepiece, and says guided", () => {
    const one = exposure(fit, target, { field: fieldOfEyepiece(0.6), exposureS: 120, guided: true });
    const text = reportText(
      exposureReport({
        mountName: "A mount",
        exposures: [one],
        because: null,
        stacks: [],
        assumptions: exposureAssumptions(),
        leftOut: [],
        table: null,
        goodEnough: null,
        poles: null,
      }),
    );
    readable(text);
    expect(text).toContain("arcseconds");
    expect(text).toContain("guided on the target");
  });

  it("shows the cautions only where a hand goes near the base", () => {
    const few = { ...fit, sightings: { ...fit.sightings, used: 4 } };
    const short = reportText(goodEnoughReport(goodEnough(few, { exposureS: 0.1 }), "A mount"));
    readable(short);
    expect(short).not.toContain("Before a hand goes near");
    const long = reportText(goodEnoughReport(goodEnough(fit, { exposureS: 120 }), "A mount"));
    expect(long).toContain("Another round at the base");
    expect(long).toContain("Before a hand goes near the base");
  });

  it("writes lengths of time as a hand sets them", () => {
    expect([0.4, 9.96, 48.2, 599.6, 7199, 14400].map(secondsText)).toEqual([
      "0.4 s",
      "10 s",
      "48 s",
      "10 min",
      "120 min",
      "4 h",
    ]);
  });
});
