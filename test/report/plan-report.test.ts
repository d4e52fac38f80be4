import { expect, test } from "vitest";
import { planStars } from "../../src/plan/plan.js";
import { planReport } from "../../src/report/plan-report.js";
import { reportText } from "../../src/report/text.js";
import { parseTime } from "../../src/sky/time.js";
import { nowhereSchool } from "../support/nowhere-school-evening.js";

const evening = parseTime("2026-03-14T18:30:00Z");
const before = { axis: 2.1, altitude: 1.5, east: 1.5 };

test("a plan for the pole says how well it is known now, and when it is enough", () => {
  const plan = planStars(nowhereSchool, evening, { stars: 4 });
  const text = reportText(planReport({ ...plan, before }), { width: 2000 });
  expect(text).toMatch(/the polar axis will be known to .* \(now 2\.1′ together\)\./);
  expect(text).toContain("uncertainty of the polar axis after each star");
  expect(text).toMatch(/This is not yet enough|Enough after star/);
});

test("a plan for one term speaks of that term, and not of the pole", () => {
  const plan = planStars(nowhereSchool, evening, { stars: 4, toLearn: "cone" });
  const report = planReport({ ...plan, before });
  const text = reportText(report, { width: 2000 });
  expect(text).toMatch(/the collimation \(cone\) error will be known to [\d.]+′\./);
  expect(text).not.toMatch(/together|now 2\.1′|nough/);
  expect(text).toContain("uncertainty of the polar axis and of the collimation (cone) error after each star");
  for (const block of report.blocks) {
    if (block.kind !== "table") continue;
    expect(block.align).toHaveLength(block.head.length);
    for (const row of block.rows) expect(row).toHaveLength(block.head.length);
  }
});
