/** A plan against the best choice of all stars that may be sighted, and against an even spread. */
import { describe, expect, test } from "vitest";
import type { Mount } from "../../src/mount/mount.js";
import { candidatePool, momentAt, weightedRows } from "../../src/plan/candidates.js";
import { chooseStars, targetsOf } from "../../src/plan/choice.js";
import { addSighting, informationFrom, varianceOf } from "../../src/plan/information.js";
import { fullPlanOptions, type LearningGoal } from "../../src/plan/options.js";
import { knowledge, planStars } from "../../src/plan/plan.js";
import { catalogueStars } from "../../src/sky/catalogue.js";
import { observeIn } from "../../src/sky/observe.js";
import { skyOverNight } from "../../src/sky/sky-over-night.js";
import { parseTime } from "../../src/sky/time.js";
import { faintestMagnitude } from "../../src/sky/variable-stars.js";
import { nowhereSchool } from "../support/nowhere-school-evening.js";

const northern: Mount = {
  ...nowhereSchool,
  site: { ...nowhereSchool.site, latitude: 47 },
  limits: { ...nowhereSchool.limits, declinationDeg: [-60, 90] },
};

/** The best exchange from many beginnings, without any wish but what is taught, and an even spread over the candidates. */
function references(mount: Mount, fromMs: number, stars: number, goal: LearningGoal) {
  const known = knowledge(mount, {}, goal);
  const untilMs = fromMs + (stars - 1) * 240_000;
  const sky = skyOverNight(fromMs, untilMs, mount.site);
  const moments = [fromMs, (fromMs + untilMs) / 2, untilMs].map((timeMs) => momentAt(sky.at(timeMs)));
  const pool = candidatePool(known, moments, fullPlanOptions({ stars }, mount, fromMs), new Set());
  const targets = targetsOf(known, goal);
  const before = informationFrom(known.covariance);
  const sigma = (hips: readonly number[]): number => {
    const information = informationFrom(known.covariance);
    const row = new Float64Array(2 * known.names.length);
    const scratch = new Float64Array(2 + 2 * known.model.size);
    for (const hip of hips) {
      const star = catalogueStars().find((one) => one.hip === hip)!;
      weightedRows(known, observeIn(moments[1]!.frame, star), "normal", row, scratch);
      addSighting(information, row, 0);
    }
    return Math.sqrt(varianceOf(information, targets));
  };
  const plain = { ...pool, choiceRows: pool.rows };
  const best = chooseStars(plain, before, targets, stars, 0).map(({ star }) => star.hip);
  // An even spread: each next star as far as can be from those before.
  const spread = [pool.candidates[0]!];
  const nearest = (one: (typeof spread)[number]): number =>
    Math.max(...spread.map(({ vector }) => vector.reduce((sum, x, k) => sum + x * one.vector[k]!, 0)));
  while (spread.length < stars)
    spread.push(pool.candidates.reduce((far, one) => (nearest(one) < nearest(far) ? one : far)));
  return { sigma, best: sigma(best), even: sigma(spread.map(({ star }) => star.hip)) };
}

describe.each([
  ["south", nowhereSchool],
  ["north", northern],
] as const)("a plan in the %s", (_, mount) => {
  test.each([6, 10, 20, 30])(
    "of %i stars is within 8 % of the best choice and no worse than an even spread",
    (stars) => {
      for (const time of ["2026-03-14T18:32:00Z", "2026-06-14T20:32:00Z", "2026-10-14T19:32:00Z"]) {
        const fromMs = parseTime(time);
        const { sigma, best, even } = references(mount, fromMs, stars, "pole");
        const plan = planStars(mount, fromMs, { stars });
        const planned = sigma(plan.stars.map(({ hip }) => hip));
        expect(planned / best, time).toBeLessThan(1.08);
        expect(planned, time).toBeLessThanOrEqual(even * 1.0001);
      }
    },
  );

  test("begins with two stars that nobody takes for others while the zeros are unknown", () => {
    for (const time of [
      "2026-01-14T19:40:00Z",
      "2026-03-14T18:40:00Z",
      "2026-06-14T20:40:00Z",
      "2026-10-14T19:40:00Z",
    ]) {
      const plan = planStars(mount, parseTime(time), { stars: 8 });
      const first = plan.stars.slice(0, 2).map(({ hip }) => catalogueStars().find((one) => one.hip === hip)!);
      for (const star of first)
        expect(faintestMagnitude(star), `${time} ${star.label}`).toBeLessThanOrEqual(2);
    }
  });

  test.each([
    "hourAngleEccentricCos",
    "declinationEccentricSin",
    "hourAngleScale",
    "declinationScale",
  ] as const)("to learn %s knows it better than a plan for the pole, and better than before", (goal) => {
    const fromMs = parseTime("2026-03-14T18:40:00Z");
    const { sigma } = references(mount, fromMs, 12, goal);
    const own = planStars(mount, fromMs, { stars: 12, toLearn: goal });
    const pole = planStars(mount, fromMs, { stars: 12 });
    expect(sigma(own.stars.map(({ hip }) => hip))).toBeLessThanOrEqual(
      sigma(pole.stars.map(({ hip }) => hip)) * 1.0001,
    );
    expect(own.stars.at(-1)!.termAfter!).toBeLessThan(1);
  });
});
