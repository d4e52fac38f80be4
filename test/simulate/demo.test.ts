/**
 * The demonstration's files are what .dev/make-demo.mjs makes of them now.
 */
import { readFileSync } from "node:fs";
import { describe, expect, it } from "vitest";
import { currentDemoFiles } from "../../.dev/make-demo.mjs";
import { parseMountText } from "../../src/mount/mount-file.js";
import { readNight } from "../../src/night/night-file.js";
import { simulateNight } from "../../src/simulate/simulate-night.js";

const root = new URL("../../", import.meta.url);
const files: Record<string, string> = currentDemoFiles({ parseMountText, simulateNight });

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

  it("is read without a warning", () => {
    const mount = parseMountText(readFileSync(new URL("data/first-light/mount.json", root), "utf8"));
    const { night, warnings } = readNight(files["data/first-light/night.csv"]!, mount);
    expect(warnings).toEqual([]);
    expect(night.sightings).toHaveLength(22);
  });
});
