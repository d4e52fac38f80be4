/**
 * The demonstration's files are what .dev/make-demo.mjs makes of them now.
 */
import { readFileSync } from "node:fs";
import { describe, expect, it } from "vitest";
import { currentDemoFiles, currentKeptFiles } from "../../.dev/make-demo.mjs";
import { jackTurns } from "../../src/base/jack-turns.js";
import { parseTurned, turnedFileText, turnedRows } from "../../src/base/turned-file.js";
import { applyTurns, turnsOfAdvice } from "../../src/base/turns-made.js";
import { drive } from "../../src/drive/drive.js";
import { readTrack } from "../../src/drive/track-file.js";
import { fitMount } from "../../src/fit/mount-fit.js";
import { keepModel, keptModelText, parseKeptModel } from "../../src/keep/keep.js";
import { months } from "../../src/months/months.js";
import { parseMountText } from "../../src/mount/mount-file.js";
import { readNight } from "../../src/night/night-file.js";
import { standOfMount, trackingMount } from "../../src/pointing/field-stand.js";
import { trackTarget } from "../../src/pointing/field-track.js";
import { gaussian, seededRandom } from "../../src/simulate/random.js";
import { simulateNight } from "../../src/simulate/simulate-night.js";
import { findStar } from "../../src/sky/find-star.js";
import { observe } from "../../src/sky/observe.js";

const root = new URL("../../", import.meta.url);
const library = {
  parseMountText,
  simulateNight,
  fitMount,
  jackTurns,
  turnsOfAdvice,
  applyTurns,
  turnedRows,
  turnedFileText,
  keepModel,
  keptModelText,
  standOfMount,
  trackingMount,
  trackTarget,
  seededRandom,
  gaussian,
  findStar,
  observe,
};
const files: Record<string, string> = currentDemoFiles(library);
const keptFiles: Record<string, string> = currentKeptFiles(library);
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

  it("has a track that tells the drive's errors as they were made", () => {
    const mount = parseMountText(readFileSync(new URL("data/first-light/mount.json", root), "utf8"));
    const standing = fitMount(readNight(files["data/first-light/night.csv"]!, mount).night);
    const found = drive(readTrack(files["data/first-light/track.csv"]!, mount), mount, { standing });
    const truth = JSON.parse(files["data/first-light/truth.json"]!).drive;
    expect(Math.abs(found.rate!.errorPpm - truth.errorPpm)).toBeLessThan(SIGMAS * found.rate!.uncertaintyPpm);
    for (const { part, amplitudeArcsec } of truth.waves) {
      const wave = found.periodic.find((one) => one.part === part)!;
      expect(wave.seen).toBe(true);
      expect(Math.abs(wave.amplitudeArcsec - amplitudeArcsec)).toBeLessThan(SIGMAS * wave.uncertaintyArcsec);
    }
  });

  it("has kept models that are read and say the same as models kept now", () => {
    const mount = parseMountText(files["data/after-turning/mount.json"]!);
    const kept = Object.keys(keptFiles).map((path) => {
      const model = parseKeptModel(readFileSync(new URL(path, root), "utf8"), path);
      const now = parseKeptModel(keptFiles[path]!, path);
      expect(model.note).toMatch(/^Invented:/);
      // The last digits follow the fit; beyond a tenth of its uncertainty a term is not the same.
      now.terms.forEach((term, k) => {
        const was = model.terms[k]!;
        expect(was.name).toBe(term.name);
        expect(
          Math.abs(was.value - term.value),
          `${path} ${term.name}: run node .dev/make-demo.mjs`,
        ).toBeLessThan(Math.max(0.02, 0.1 * term.uncertainty));
      });
      return model;
    });
    // Made to settle by 2.5′ a month in altitude.
    const altitude = months(kept, mount).terms.find(({ name }) => name === "polarAltitude")!;
    expect(Math.abs(altitude.perMonth + 2.5)).toBeLessThan(SIGMAS * altitude.uncertainty);
  });

  it("turns as advised, and then is told to stop", () => {
    const mount = parseMountText(files["data/after-turning/mount.json"]!);
    expect(parseTurned(files["data/after-turning/turned.csv"]!, mount.base!).length).toBeGreaterThan(2);
    const { night } = readNight(files["data/after-turning/night.csv"]!, mount);
    expect(jackTurns(fitMount(night)).recommended).toBe(false);
  });
});
