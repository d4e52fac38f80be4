/**
 * The demonstration's files are what .dev/make-demo.mjs makes of them now.
 */
import { readFileSync } from "node:fs";
import { describe, expect, it } from "vitest";
import { currentDemoFiles } from "../../.dev/make-demo.mjs";
import { jackTurns } from "../../src/base/jack-turns.js";
import { parseTurned, turnedFileText, turnedRows } from "../../src/base/turned-file.js";
import { applyTurns, turnsOfAdvice } from "../../src/base/turns-made.js";
import { fitMount } from "../../src/fit/mount-fit.js";
import { parseMountText } from "../../src/mount/mount-file.js";
import { readNight } from "../../src/night/night-file.js";
import { simulateNight } from "../../src/simulate/simulate-night.js";

const root = new URL("../../", import.meta.url);
const files: Record<string, string> = currentDemoFiles({
  parseMountText,
  simulateNight,
  fitMount,
  jackTurns,
  turnsOfAdvice,
  applyTurns,
  turnedRows,
  turnedFileText,
});
/** Chance leaves a term this far from the truth once in 370 times; the seeds are fixed. */
const SIGMAS = 3;

describe("the demonstration in data/", () => {
  it.each(Object.keys(files))("%s is as regenerated", (path) => {
    expect(readFileSync(new URL(path, root), "utf8")).toBe(files[path]);
  });

  it.each(Object.keys(files).filter((path) => path.endsWith(".csv")))(
    "%s says that it is invented",
    (path) => {
      expect(files[path]).toMatch(/^# Invented:/);
    },
  );

  it.each(["first-light", "after-turning"])(
    "%s is read without a warning and fitted to its truth",
    (folder) => {
      const mount = parseMountText(readFileSync(new URL(`data/${folder}/mount.json`, root), "utf8"));
      const { night, warnings } = readNight(files[`data/${folder}/night.csv`]!, mount);
      expect(warnings).toEqual([]);
      expect(night.sightings).toHaveLength(22);
      const fit = fitMount(night);
      expect(fit.notes).toEqual([]);
      const truth = JSON.parse(files[`data/${folder}/truth.json`]!).terms;
      for (const term of fit.terms) {
        expect(Math.abs(term.value - (truth[term.name] ?? 0))).toBeLessThan(SIGMAS * term.uncertainty);
      }
    },
  );

  it("turns as advised, and then is told to stop", () => {
    const mount = parseMountText(files["data/after-turning/mount.json"]!);
    expect(parseTurned(files["data/after-turning/turned.csv"]!, mount.base!).length).toBeGreaterThan(2);
    const { night } = readNight(files["data/after-turning/night.csv"]!, mount);
    expect(jackTurns(fitMount(night)).recommended).toBe(false);
  });
});
