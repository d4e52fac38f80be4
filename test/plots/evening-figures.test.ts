import { describe, expect, it } from "vitest";
import { driftAnswer, driftFigures, driftJson } from "../../src/answers/drift.js";
import { exposureAnswer, exposureFigures, exposureJson } from "../../src/answers/exposure.js";
import { readDrifts } from "../../src/drift/file.js";
import { InputError } from "../../src/errors.js";
import { driftAxis } from "../../src/plots/drift.js";
import type { Figure } from "../../src/plots/figure.js";
import { sketchFields } from "../../src/plots/sketch-fields.js";
import { figureSvg } from "../../src/plots/svg.js";
import { driftReport } from "../../src/report/drift-report.js";
import { nightTheme } from "../../src/words/theme.js";
import { nowhereFit, nowhereMount } from "../support/fit-fixture.js";
import { plainDrift } from "../support/plain-rotations.js";

const fit = nowhereFit();
const FROM_MS = Date.UTC(2026, 2, 14, 19);
const vacuum = { ...nowhereMount, site: { ...nowhereMount.site, pressureHPa: 0 } };
const pole = { altitude: 14, east: -19 };
const rows = [
  [0, 0],
  [-70, -30],
  [50, -20],
].map(([h, d]) => `${h},${d},10,${plainDrift(-30, pole, h!, d!, 10).north.toFixed(3)},1`);
const driftText = `hourAngleDeg,declinationDeg,minutes,driftNorthArcsec,uncertaintyArcsec\n${rows.join("\n")}\n`;

const drifts = readDrifts(driftText, { camera: vacuum.camera, file: "drift.csv" });
const drift = driftAnswer(vacuum, drifts, fit);
const asked = { fit, targets: ["Canopus"], timeMs: FROM_MS, exposureS: 30, stack: { count: 60 } };
const exposures = exposureAnswer(asked);
const driftDrawn = await driftFigures(drift);
const figures: readonly (readonly [string, Figure])[] = [
  ...driftDrawn,
  ...(await exposureFigures(asked, exposures)),
  sketchFields(Array.from({ length: 14 }, (_, k) => `M ${k + 1}`)),
].map((one, k) => [`figure ${k}`, one]);

describe.each(figures)("an evening's %s", (_, figure) => {
  it("is plain data, small, with a summary, and draws as a still picture", () => {
    expect(JSON.parse(JSON.stringify(figure))).toEqual(figure);
    // A notebook with ten figures and one library stays under 2.5 MB when each is under this.
    expect(JSON.stringify(figure).length).toBeLessThan(60_000);
    expect(figure.summary.length).toBeGreaterThan(30);
    expect(JSON.stringify(figure)).not.toMatch(/NaN|undefined/);
    expect(figureSvg(figure)).toContain("<svg");
  });
});

describe("the drift figure", () => {
  it("draws lines that meet where the axis is", () => {
    const lines = driftDrawn[0]!.data.find((trace) => trace.name === "what each drift allows")!;
    const x = lines.x as (number | null)[];
    const y = lines.y as (number | null)[];
    // Three lines of two ends with gaps between; each passes the true axis (east, altitude).
    expect(x).toHaveLength(8);
    for (const k of [0, 3, 6]) {
      const [x0, x1, y0, y1] = [x[k]!, x[k + 1]!, y[k]!, y[k + 1]!];
      const off =
        ((x1 - x0) * (y0 - pole.altitude) - (x0 - pole.east) * (y1 - y0)) / Math.hypot(x1 - x0, y1 - y0);
      // Lines are straight to the square of the error; ends have five digits: 0.5′ of 24′ (the sags of the fit are taken off).
      expect(Math.abs(off)).toBeLessThan(drift.drift.pole.altitude.uncertainty + 0.5);
    }
  });
});

describe("the commands", () => {
  it("give plain data for JSON", () => {
    for (const json of [driftJson(drift), exposureJson(fit, exposures.answer)]) {
      expect(JSON.parse(JSON.stringify(json))).toEqual(json);
    }
    expect(drift.comparison).not.toBeNull();
    expect(exposures.answer.goodEnough?.verdict).toBeTypeOf("string");
  });

  it("leave an unsound fit aside and say so", () => {
    const alone = driftAnswer(vacuum, drifts, { ...fit, sound: false });
    expect(alone.comparison).toBeNull();
    expect(alone.drift.notes[0]?.code).toBe("unsound-fit");
    expect(drift.drift.notes.map(({ code }) => code)).not.toContain("unsound-fit");
    expect(JSON.stringify(driftReport(alone.drift, null, vacuum.name))).toContain("not sound");
  });

  it("refuse the Sun, what is below the horizon, the day, and names without a time", () => {
    const codes = (work: () => unknown): string[] => {
      try {
        work();
      } catch (problem) {
        if (problem instanceof InputError) return problem.faults.map((fault) => fault.code);
        throw problem;
      }
      return [];
    };
    expect(codes(() => exposureAnswer({ fit, targets: ["Sun"], timeMs: FROM_MS }))).toEqual(["sun-refused"]);
    expect(codes(() => exposureAnswer({ fit, targets: ["Vega", "Deneb"], timeMs: FROM_MS }))).toEqual([
      "target-below-horizon",
      "target-below-horizon",
    ]);
    expect(codes(() => exposureAnswer({ fit, targets: ["Canopus"] }))).toEqual(["missing-value"]);
    const noon = Date.UTC(2026, 2, 14, 11);
    expect(codes(() => exposureAnswer({ fit, targets: ["Canopus"], timeMs: noon }))).toEqual(["sun-up"]);
    // Mercury stood 6° to 28° from the Sun all that month (it never is further off than 28.3°: Almanac).
    expect(codes(() => exposureAnswer({ fit, targets: ["Mercury"], timeMs: noon, daylight: true }))).toEqual([
      "near-sun",
    ]);
  });

  it("show in red on black by night", () => {
    const night = driftAxis(drift.drift, null, null, vacuum.name, nightTheme);
    const colours = JSON.stringify(night).match(/#[0-9a-f]{6}/g)!;
    expect(colours.length).toBeGreaterThan(10);
    expect(colours.every((colour) => colour.endsWith("0000"))).toBe(true);
  });
});
