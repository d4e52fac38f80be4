/** Plans that are to teach an axis's play. */
import { describe, expect, it } from "vitest";
import { InputError } from "../../src/errors.js";
import { fitMount } from "../../src/fit/mount-fit.js";
import { planStars } from "../../src/plan/plan.js";
import { planReport } from "../../src/report/plan-report.js";
import { reportText } from "../../src/report/text.js";
import { simulateNight } from "../../src/simulate/simulate-night.js";
import { parseTime } from "../../src/sky/time.js";
import { nowhereSchool } from "../support/nowhere-school-evening.js";

const evening = parseTime("2026-03-14T18:30:00Z");
const mount = { ...nowhereSchool, tolerances: { ...nowhereSchool.tolerances, backlash: 4 } };
/** Arcminutes of a count. */
const COUNT = 21_600 / 16_384;

describe.each(["hourAngle", "declination"] as const)("a plan that is to teach the play of %s", (axis) => {
  const toLearn = `${axis}Backlash` as const;
  const plan = planStars(mount, evening, { stars: 12, toLearn, minutesBetween: 3 });

  it("sights each star twice in a row, from both sides, at its own times", () => {
    expect(plan.toLearn).toBe(toLearn);
    expect(plan.stars).toHaveLength(12);
    for (let k = 0; k < 12; k += 2) {
      const [first, second] = [plan.stars[k]!, plan.stars[k + 1]!];
      expect(second.hip).toBe(first.hip);
      expect([first.approach, second.approach]).toEqual([
        { axis, from: "+" },
        { axis, from: "-" },
      ]);
      expect(second.timeMs - first.timeMs).toBe(180_000);
      // The star has gone on with the sky: three minutes are 0.0501 h of hour angle, refraction aside.
      expect(second.hourAngleHours - first.hourAngleHours).toBeCloseTo(0.0501, 2);
      if (axis === "hourAngle") expect(Math.abs(first.declinationDeg)).toBeLessThan(60.5);
    }
    expect(new Set(plan.stars.map(({ place }) => place)).size).toBe(12);
    expect(plan.notes.map(({ code }) => code)).toContain("both-sides");
    const text = reportText(planReport(plan));
    expect(text).toContain(axis === "hourAngle" ? "eastward" : "southward");
    expect(text).toMatch(/will be known to \d/);
  });

  it("promises what a fit of such a night then finds", () => {
    const play = 4;
    const found = [1, 2, 3, 4].map((seed) => {
      const { sightings } = simulateNight({
        seed,
        mount,
        targets: plan.stars.map(({ hip, timeMs }) => ({ star: `HIP ${hip}`, timeMs })),
        terms: { polarAltitude: 6, polarEast: -4, cone: 5 },
      });
      const sense = mount.readings[axis].sense;
      const played = sightings.map((sighting, k) => {
        const from = plan.stars[k]!.approach!.from;
        const ahead = ((from === "+" ? 0.5 : -0.5) * play) / COUNT;
        return {
          ...sighting,
          [axis]: Math.round(sighting[axis]! + sense * ahead),
          [`${axis}Approach`]: from === "+" ? 1 : -1,
        };
      });
      return fitMount({ mount, sightings: played as typeof sightings }).terms.find(
        ({ name }) => name === toLearn,
      )!;
    });
    const promised = plan.stars.at(-1)!.termAfter!;
    for (const term of found) {
      expect(Math.abs(term.value - play)).toBeLessThan(4 * promised);
      // The errors' own size is found too, with twelve sightings to a fifth.
      expect(term.uncertainty / promised).toBeGreaterThan(0.6);
      expect(term.uncertainty / promised).toBeLessThan(1.6);
    }
  });

  it("is refused where the mount file rules play out", () => {
    const firm = { ...mount, tolerances: { ...mount.tolerances, backlash: 0 } };
    expect(() => planStars(firm, evening, { toLearn })).toThrow(InputError);
  });
});
