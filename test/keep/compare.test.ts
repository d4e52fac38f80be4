import { describe, expect, test } from "vitest";
import { InputError } from "../../src/errors.js";
import { fitMount } from "../../src/fit/mount-fit.js";
import { compareModels } from "../../src/keep/compare.js";
import type { Mount } from "../../src/mount/mount.js";
import { simulateNight } from "../../src/simulate/simulate-night.js";
import { parseTime } from "../../src/sky/time.js";
import { nowhereSchool } from "../support/nowhere-school-evening.js";

const start = parseTime("2026-03-14T18:30:00Z");
const stars = ["Sirius", "Canopus", "Regulus", "Alphard", "Spica", "Acrux", "Procyon", "Rigel"];
const fit = fitMount({
  mount: nowhereSchool,
  sightings: simulateNight({
    seed: 5,
    mount: nowhereSchool,
    targets: stars.map((star, index) => ({ star, timeMs: start + index * 240_000 })),
  }).sightings,
});

/** The paths of the faults of comparing the fit with the same one on another mount. */
function refused(mount: Mount): (string | undefined)[] {
  try {
    compareModels(fit, { ...fit, mount });
  } catch (problem) {
    if (!(problem instanceof InputError)) throw problem;
    for (const { code, message } of problem.faults) {
      expect(code).toBe("model-of-other-mount");
      expect(message).toContain(`does not fit the mount of the newer one, ${mount.name}`);
    }
    return problem.faults.map(({ path }) => path);
  }
  return [];
}

describe("comparing refuses", () => {
  test("another site and other encoders, each difference told", () => {
    const { readings, site } = nowhereSchool;
    const hourAngle = { ...readings.hourAngle, as: "rightAscension", perTurn: 24 } as const;
    expect(
      refused({
        ...nowhereSchool,
        name: "Other",
        site: { ...site, latitude: 52 },
        readings: { ...readings, hourAngle },
      }),
    ).toEqual(["latitude", "readings.hourAngle.as", "readings.hourAngle.perTurn"]);
  });

  test("neither a new name nor a site measured better nor a custom term that only one holds", () => {
    const site = { ...nowhereSchool.site, latitude: nowhereSchool.site.latitude + 0.01 };
    expect(refused({ ...nowhereSchool, name: "Renamed", site })).toEqual([]);
    const term = { name: "customTwist", label: "twist", hourAngle: "0", declination: "sin(h)", tolerance: 3 };
    const older = {
      ...fit,
      mount: { ...nowhereSchool, customTerms: [term] } as Mount,
      terms: [...fit.terms, { ...fit.terms[0]!, name: "customTwist" as const }],
      covariance: [...fit.covariance, fit.covariance[0]!],
    };
    expect(compareModels(older, fit).onlyOlder).toEqual(["customTwist"]);
    const otherFormula = { ...nowhereSchool, customTerms: [{ ...term, declination: "cos(h)" }] } as Mount;
    expect(() => compareModels(older, { ...older, mount: otherFormula })).toThrow(/customTerms.customTwist/);
  });
});
