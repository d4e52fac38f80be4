/** Cells are run again: the same sighting must not stand twice, and one taken back must come back. */
import { mkdtempSync, readFileSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { inspect } from "node:util";
import { afterEach, beforeEach, describe, expect, test } from "vitest";
import { createFolder } from "../../src/files/new-folder.js";
import { NIGHT_FILE } from "../../src/files/night-folder.js";
import { setDisplay, show } from "../../src/notebook/display.js";
import { type OpenNight, openNight } from "../../src/notebook/open-night.js";
import { findStar } from "../../src/sky/find-star.js";
import { whereInWords } from "../../src/words/directions.js";

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

describe("what it says of itself", () => {
  const html = (thing: unknown): string => {
    const shown: string[] = [];
    setDisplay((bundle) => shown.push(bundle["text/html"] ?? ""));
    show(thing);
    setDisplay(null);
    return shown.join("");
  };

  test("a sighting answers with its row and with the next star, in words", () => {
    const answer = night.sight("Canopus", read, { at });
    const page = html(answer);
    expect(page).toContain('<th scope="row" class="polewright-right">1</th><td>Canopus</td>');
    expect(page).toMatch(
      /Next: [^<]+, (low|half up|high) in the (north|south|east|west)[^<]*Set the axes to/,
    );
    expect(inspect(answer)).toContain("Canopus");
    expect(Object.keys(answer)).toEqual(["row", "standing", "text"]);
  });

  test("a table answers with all its rows, and the night strikes out what was withdrawn", () => {
    const answers = night.enter(`2026-03-14T17:52:00Z, Sirius, 64, 843
2026-03-14T17:56:52Z, Acamar, 2712, 1918`);
    expect(html(answers)).toMatch(/Sirius[\s\S]*Acamar[\s\S]*Next: /);
    night.undo(1);
    const page = html(night);
    expect(page).toMatch(/<tr class="polewright-struck">.*Sirius.*withdrawn/);
    expect(page).not.toMatch(/polewright-struck">.*Acamar/);
  });
});

test.each([
  [12, 181, "low in the south"],
  [45, 359, "half up in the north"],
  [70, 226, "high in the south-west"],
  [85, 90, "nearly overhead"],
])("an altitude of %i° at azimuth %i° is %s", (altitude, azimuth, words) => {
  expect(whereInWords(altitude, azimuth)).toBe(words);
});
