import { expect, test } from "vitest";
import { planStars } from "../../src/plan/plan.js";
import { planSky } from "../../src/plots/plan-sky.js";
import { parseTime } from "../../src/sky/time.js";
import { nowhereSchool } from "../support/nowhere-school-evening.js";

test("the plan over the sky is plain data with every star in its place", () => {
  const plan = planStars(nowhereSchool, parseTime("2026-03-14T18:30:00Z"), { stars: 8 });
  const figure = planSky(plan, nowhereSchool.site.latitude, nowhereSchool.limits);
  expect(JSON.parse(JSON.stringify(figure))).toEqual(figure);
  const trace = figure.data.find((one) => one.name === "planned stars") as unknown as {
    x: number[];
    y: number[];
    text: string[];
  };
  expect(trace.text.map((text) => text.replace(/^\d+ /, ""))).toEqual(plan.stars.map((star) => star.star));
  plan.stars.forEach((star, index) => {
    // Seen from above: east to the right, north up, the horizon at 1.
    const azimuth = (star.azimuthDeg * Math.PI) / 180;
    const radius = 1 - star.altitudeDeg / 90;
    expect(trace.x[index]).toBeCloseTo(radius * Math.sin(azimuth), 3);
    expect(trace.y[index]).toBeCloseTo(radius * Math.cos(azimuth), 3);
  });
  for (const star of plan.stars) expect(figure.summary).toContain(star.star);
});
