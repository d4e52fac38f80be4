import { readFileSync } from "node:fs";
import { describe, expect, it } from "vitest";
import * as compass from "../../src/daylight/compass.js";
import * as daylight from "../../src/daylight/daylight.js";
import * as shadow from "../../src/daylight/shadow.js";
import * as classListModule from "../../src/find/class-list.js";
import * as find from "../../src/find/find.js";
import * as findTarget from "../../src/find/target.js";
import * as findTimes from "../../src/find/times.js";
import { fitMount } from "../../src/fit/mount-fit.js";
import * as compare from "../../src/keep/compare.js";
import * as keep from "../../src/keep/keep.js";
import * as tonight from "../../src/keep/tonight.js";
import * as limits from "../../src/mount/limits.js";
import * as candidates from "../../src/plan/candidates.js";
import * as enough from "../../src/plan/enough.js";
import * as next from "../../src/plan/next.js";
import * as plan from "../../src/plan/plan.js";
import * as classReport from "../../src/report/class-list-report.js";
import * as findReport from "../../src/report/find-report.js";
import * as html from "../../src/report/html.js";
import * as planReport from "../../src/report/plan-report.js";
import * as text from "../../src/report/text.js";
import { simulateNight } from "../../src/simulate/simulate-night.js";
import { findStar } from "../../src/sky/find-star.js";
import { observe } from "../../src/sky/observe.js";
import { skyOverNight } from "../../src/sky/sky-over-night.js";
import { parseTime } from "../../src/sky/time.js";
import { ridgeSchool } from "../support/ridge-school-evening.js";

const files = [
  "plan/plan.ts",
  "plan/candidates.ts",
  "plan/enough.ts",
  "plan/next.ts",
  "find/find.ts",
  "find/target.ts",
  "find/times.ts",
  "keep/keep.ts",
  "keep/tonight.ts",
  "keep/compare.ts",
  "daylight/daylight.ts",
  "daylight/compass.ts",
  "daylight/shadow.ts",
  "mount/limits.ts",
  "find/class-list.ts",
  "report/plan-report.ts",
  "report/find-report.ts",
  "report/class-list-report.ts",
];

function examples(source: string): string[] {
  return [...source.matchAll(/@example\s+\* ```ts\n([\s\S]*?)\* ```/g)].map((match) =>
    match[1]!.replace(/^\s*\* ?/gm, "").trim(),
  );
}

const timeMs = parseTime("2026-03-14T18:30:00Z");
const stars = plan.planStars(ridgeSchool, timeMs, { stars: 8 }).stars;
const night = {
  mount: ridgeSchool,
  sightings: simulateNight({
    seed: 1,
    mount: ridgeSchool,
    terms: { polarAltitude: 5, cone: 8 },
    targets: stars.map((star) => ({ star: `HIP ${star.hip}`, timeMs: star.timeMs })),
  }).sightings,
};
const fit = fitMount(night);
const scope: Record<string, unknown> = {
  ...classListModule,
  ...compare,
  ...daylight,
  ...compass,
  ...shadow,
  ...find,
  ...findTarget,
  ...findTimes,
  ...keep,
  ...tonight,
  ...limits,
  ...plan,
  ...candidates,
  ...enough,
  ...next,
  ...classReport,
  ...findReport,
  ...html,
  ...planReport,
  ...text,
  fitMount,
  findStar,
  observe,
  skyOverNight,
  parseTime,
  mount: ridgeSchool,
  site: ridgeSchool.site,
  night,
  fit,
  timeMs,
  fromMs: timeMs,
  toMs: timeMs + 3_600_000,
  nowMs: timeMs + 3_600_000,
};

const cases = files.flatMap((file) =>
  examples(readFileSync(new URL(`../../src/${file}`, import.meta.url), "utf8")).map(
    (code, index) => [`${file} ${index + 1}`, code] as const,
  ),
);

describe("the examples in the evening's comments", () => {
  it("are there", () => {
    expect(cases.length).toBeGreaterThan(15);
  });

  // Each line is run; `expression // value` must give the value where one is shown, a number to the digits shown.
  it.each(cases)("%s", (_, code) => {
    const kept = keep.keepModel(fit);
    const more: Record<string, unknown> = {
      ...scope,
      kept: code.includes("keptStanding(kept") ? kept : keep.keptStanding(kept, ridgeSchool),
      text: keep.keptModelText(kept),
    };
    const names = Object.keys(more).filter((name) => !new RegExp(`const ${name}\\b`).test(code));
    const lines = code.split("\n").map((line) => {
      const shown = /^(?!const )(.+?);? \/\/ ("[^"]*"|-?[\d.]+)/.exec(line);
      if (shown) return `check(${shown[1]}, ${shown[2]}, ${JSON.stringify(shown[2])});`;
      return line.startsWith("const ") ? line : `check(${line.replace(/;$/, "")});`;
    });
    const seen: unknown[] = [];
    const check = (found: unknown, expected?: unknown, written = ""): void => {
      seen.push(found);
      if (typeof expected === "number")
        expect(found).toBeCloseTo(expected, written.split(".")[1]?.length ?? 0);
      else if (expected !== undefined) expect(found).toBe(expected);
      else expect(found).toBeDefined();
    };
    new Function("check", ...names, lines.join("\n"))(check, ...names.map((name) => more[name]));
    expect(seen.length + Number(code.startsWith("const "))).toBeGreaterThan(0);
  });
});
