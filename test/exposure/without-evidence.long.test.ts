/** What exposure says of a night that allows no figure. */
import { expect, it } from "vitest";
import { exposureAnswer } from "../../src/answers/exposure.js";
import { goodEnough } from "../../src/exposure/good-enough.js";
import { fitMount } from "../../src/fit/mount-fit.js";
import type { Mount } from "../../src/mount/mount.js";
import { planStars } from "../../src/plan/plan.js";
import { exposureReport } from "../../src/report/exposure-report.js";
import { reportText } from "../../src/report/text.js";
import { simulateNight } from "../../src/simulate/simulate-night.js";
import { parseTime } from "../../src/sky/time.js";
import { nowhereSchool } from "../support/nowhere-school-evening.js";

const northern: Mount = { ...nowhereSchool, site: { ...nowhereSchool.site, latitude: 30 } };
const evening = parseTime("2026-03-14T18:40:00Z");

function fitOf(mount: Mount, stars: number, polarEast = 20) {
  if (stars === 0) return fitMount({ mount, sightings: [] });
  const plan = planStars(mount, evening, { stars });
  const targets = plan.stars.map(({ hip, timeMs }) => ({ star: `HIP ${hip}`, timeMs }));
  const terms = { polarAltitude: 15, polarEast };
  return fitMount({ mount, sightings: simulateNight({ seed: 3, mount, terms, targets }).sightings });
}

it.each([nowhereSchool, northern])(
  "without sightings: not known yet, and no figure of the mount (%#)",
  (mount) => {
    const fit = fitOf(mount, 0);
    const { answer } = exposureAnswer({ fit });
    expect(answer).toMatchObject({ goodEnough: null, table: null, exposures: [] });
    const text = reportText(exposureReport(answer, fit.notes)).replace(/\s+/g, " ");
    expect(text).toContain("Not known yet");
    expect(text).toContain("6 more stars");
    expect(text).not.toMatch(/Finding:|\d{4,}\.\d′/);
    expect(goodEnough(fit)).toMatchObject({
      verdict: "not-known-yet",
      missing: 6,
      goodEnough: false,
      reasons: [],
    });
  },
);

it.each([nowhereSchool, northern])(
  "with three sightings: not known yet, values with their uncertainty (%#)",
  (mount) => {
    const { answer } = exposureAnswer({ fit: fitOf(mount, 3) });
    expect(answer.goodEnough).toMatchObject({ verdict: "not-known-yet", missing: 3, goodEnough: false });
    expect(answer.goodEnough!.reasons.length).toBeGreaterThan(0);
    const text = reportText(exposureReport(answer));
    expect(text.indexOf("Not known yet")).toBeLessThan(text.indexOf("Finding:"));
  },
);

it("never says the whole sky beside a part of it", () => {
  let seen = 0;
  for (const polarEast of [0.2, 0.6, 1, 1.5, 2, 3]) {
    const fine: Mount = {
      ...nowhereSchool,
      centringArcmin: 0.05,
      readings: {
        hourAngle: { ...nowhereSchool.readings.hourAngle, perTurn: 1_000_000 },
        declination: { ...nowhereSchool.readings.declination, perTurn: 1_000_000 },
      },
    };
    const targets = planStars(fine, evening, { stars: 16 }).stars.map(({ hip, timeMs }) => ({
      star: `HIP ${hip}`,
      timeMs,
    }));
    const terms = { polarAltitude: 0.3, polarEast };
    const fit = fitMount({
      mount: fine,
      sightings: simulateNight({ seed: 3, mount: fine, terms, targets }).sightings,
    });
    for (const exposureS of [20, 40, 60, 90]) {
      const { sentence, holding } = goodEnough(fit, { exposureS });
      if (!sentence.includes("of the sky,") && !sentence.includes("over the whole sky")) continue;
      seen++;
      expect(sentence.includes("over the whole sky")).toBe(holding.now.partInside >= 0.9995);
    }
  }
  expect(seen).toBeGreaterThan(0);
});
