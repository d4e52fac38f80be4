/** Cells are run again: the same sighting must not stand twice, and one taken back must come back. */
import { mkdtempSync, readFileSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterEach, beforeEach, describe, expect, test } from "vitest";
import { createFolder } from "../../src/files/new-folder.js";
import { NIGHT_FILE } from "../../src/files/night-folder.js";
import { type OpenNight, openNight } from "../../src/notebook/open-night.js";
import { findStar } from "../../src/sky/find-star.js";

let top = "";
let night: OpenNight;
beforeEach(() => {
  top = mkdtempSync(join(tmpdir(), "polewright-open-"));
  const folder = join(top, "night");
  createFolder(folder);
  night = openNight(folder);
});
afterEach(() => rmSync(top, { recursive: true, force: true }));

const at = "2026-03-14T19:22:10Z";
const read = { hourAngle: 1877, declination: -1460 };
const rowsInFile = () =>
  readFileSync(join(night.folder, NIGHT_FILE), "utf8")
    .split("\n")
    .filter((line) => /^\d/.test(line)).length;

describe("a cell that is run again", () => {
  test("enters its sighting anew after it was taken back", () => {
    night.sight("Canopus", read, { at });
    night.undo();
    const again = night.sight("Canopus", read, { at });
    expect(again.standing).toBe("accepted");
    expect(again.row).toBe(2);
    expect(night.sightings.map((one) => one.use)).toEqual([false, true]);
    expect(openNight(night.folder).sightings.map((one) => one.use)).toEqual([false, true]);
    expect(night.sight("Canopus", read, { at })).toMatchObject({ row: 2, standing: "entered before" });
  });

  test.each<[string, () => Parameters<OpenNight["sight"]>]>([
    ["a star from the catalogue", () => [findStar("Canopus"), read, { at }]],
    ["a designation", () => ["alpha Car", read, { at }]],
    ["a number of the catalogue", () => ["HIP 30438", read, { at }]],
    ["a moment as a Date", () => ["Canopus", read, { at: new Date(at) }]],
    ["a moment in another zone", () => ["Canopus", read, { at: "2026-03-14T21:22:10+02:00" }]],
    ["readings as text", () => ["Canopus", { hourAngle: "1877", declination: "−1460" }, { at }]],
    ["coordinates", () => [{ raDeg: 95.98796, decDeg: -52.69566 }, read, { at }]],
  ])("does not enter it twice: %s", (_, spelling) => {
    expect(night.sight(...spelling()).row).toBe(1);
    expect(night.sight(...spelling())).toMatchObject({ row: 1, standing: "entered before" });
    expect(rowsInFile()).toBe(1);
  });

  test("does not enter it twice where the same star is named otherwise", () => {
    night.sight("Canopus", read, { at });
    expect(night.sight("alpha Car", read, { at }).standing).toBe("entered before");
    expect(night.enter`2026-03-14T19:22:10Z,HIP 30438,1877,-1460`[0]!.standing).toBe("entered before");
    expect(rowsInFile()).toBe(1);
  });

  test("enters what differs in the star, the moment or a reading", () => {
    night.sight("Canopus", read, { at });
    night.sight("Sirius", read, { at });
    night.sight("Canopus", read, { at: "2026-03-14T19:22:11Z" });
    night.sight("Canopus", { ...read, hourAngle: 1878 }, { at });
    night.sight("Canopus", { ...read, declination: -1461 }, { at });
    expect(night.sightings).toHaveLength(5);
  });

  test("does not enter twice what is out of use from the first", () => {
    night.sight("Canopus", read, { at, use: false });
    expect(night.sight("Canopus", read, { at, use: false }).standing).toBe("entered before");
    expect(night.sight("Canopus", read, { at }).row).toBe(2);
  });
});
