/** Rows that were acknowledged, under editors that take them away. */
import { existsSync, mkdirSync, mkdtempSync, readFileSync, renameSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { SightSession } from "../../src/cli/sight-session.js";
import { createFolder } from "../../src/files/new-folder.js";
import { NIGHT_FILE, type NightFolder, openNightFolder } from "../../src/files/night-folder.js";
import { openNight } from "../../src/notebook/open-night.js";
import { seededRandom } from "../../src/simulate/random.js";

let top = "";
let folder = "";
let file = "";
beforeEach(() => {
  top = mkdtempSync(join(tmpdir(), "polewright-acknowledged-"));
  folder = join(top, "night");
  createFolder(folder);
  file = join(folder, NIGHT_FILE);
});
afterEach(() => rmSync(top, { recursive: true, force: true }));

const text = () => readFileSync(file, "utf8");
/** As many editors save: a new file is written and takes the old one's name. */
const saveByRenaming = (content: string): void => {
  writeFileSync(`${file}.new`, content);
  renameSync(`${file}.new`, file);
};
const at = (n: number) => new Date(Date.UTC(2026, 2, 14, 18, 0, n)).toISOString();
const sighting = (n: number) => ({ time: at(n), star: "Canopus", hourAngle: n, declination: -1460 });
const rowsOf = (night: NightFolder) => night.night.sightings.map(({ hourAngle }) => hourAngle);

describe("an acknowledged row", () => {
  it("is never gone without a word under an editor that saves older buffers by renaming", () => {
    const ROWS = Number(process.env.POLEWRIGHT_ROWS ?? 60);
    const SAVES = (ROWS * 400) / 240;
    const random = seededRandom(1610);
    const nights = [openNightFolder(folder), openNightFolder(folder)] as const;
    let buffer = text();
    let saves = 0;
    for (let n = 0; n < ROWS; n++) {
      for (const [which, night] of nights.entries()) {
        night.append(sighting(2 * n + which));
        if (random() < 0.5) buffer = text();
        if (random() < 0.9) {
          saveByRenaming(buffer);
          saves++;
        }
      }
    }
    expect(saves).toBeGreaterThanOrEqual(SAVES);
    for (const night of nights) night.reload();
    const there = openNightFolder(folder).night.sightings;
    expect(new Set(there.map(({ hourAngle }) => hourAngle)).size).toBe(2 * ROWS);
    expect(there).toHaveLength(2 * ROWS);
    const said = nights.flatMap((night) => night.news());
    expect(said.length).toBeGreaterThan(ROWS / 10);
    expect(new Set(said.map(({ code }) => code))).toEqual(new Set(["row-entered-again"]));
  }, 600_000);

  it("that an editor removed is entered again, and the answer says so", () => {
    const night = openNight(folder);
    const before = text();
    night.sight("Canopus", { hourAngle: 1, declination: -1460 }, { at: at(1) });
    saveByRenaming(before);
    const answer = night.sight("Canopus", { hourAngle: 2, declination: -1460 }, { at: at(2) });
    expect(answer.text).toContain("was no longer in the file. It was entered again.");
    expect(night.sightings.map(({ hourAngle }) => hourAngle)).toEqual([1, 2]);
    expect(night.warnings).toMatchObject([{ code: "row-entered-again" }]);
  });

  it("stands already only where the file holds it", () => {
    const night = openNight(folder);
    const before = text();
    const enter = () => night.sight("Canopus", { hourAngle: 1, declination: -1460 }, { at: at(1) });
    enter();
    writeFileSync(file, before);
    const again = enter();
    expect(text()).toContain("Canopus");
    expect(again.text).toMatch(/entered again/);
    rmSync(file);
    expect(enter).toThrow(/NOT on the disk.*\nEntered earlier:\n2026.*\nThe line was:\n2026/s);
    expect(existsSync(file)).toBe(false);
  });

  it("that was corrected by hand counts as corrected, with a word", () => {
    const night = openNightFolder(folder);
    night.append(sighting(7));
    saveByRenaming(text().replace(",7,-1460", ",8,-1460"));
    expect(rowsOf(night)).toEqual([8]);
    expect(night.news()).toMatchObject([{ code: "row-changed" }]);
    night.append(sighting(9));
    expect(rowsOf(night)).toEqual([8, 9]);
    expect(night.news()).toEqual([]);
  });

  it("stays withdrawn when an older buffer is saved", () => {
    const night = openNightFolder(folder);
    night.append(sighting(1));
    const before = text();
    night.withdraw();
    saveByRenaming(before);
    expect(night.night.sightings).toMatchObject([{ use: false, withdrawn: true }]);
    expect(night.news()).toMatchObject([{ code: "withdrawn-again" }]);
  });

  it("keeps its zero set when it is entered again", () => {
    const night = openNightFolder(folder);
    night.append({ ...sighting(1), zeroSet: "first" });
    const before = text();
    night.append(sighting(2));
    night.append({ ...sighting(3), zeroSet: "second" });
    const rows = text().slice(before.length);
    saveByRenaming(before + rows.slice(rows.indexOf("\n") + 1));
    night.append(sighting(4));
    const sets = new Map(night.night.sightings.map(({ hourAngle, zeroSet }) => [hourAngle, zeroSet]));
    expect([1, 2, 3, 4].map((n) => sets.get(n))).toEqual(["first", "first", "second", "second"]);
  });

  it("is entered again into a file that cannot be read as a night, which the answer says", () => {
    const night = openNight(folder);
    const before = text();
    night.sight("Canopus", { hourAngle: 1, declination: -1460 }, { at: at(1) });
    saveByRenaming(`${before}2026-03-14T18:00:00Z,Canopuss,,,1,2,,,,,,,,,,,\n`);
    const answer = night.sight("Canopus", { hourAngle: 2, declination: -1460 }, { at: at(2) });
    expect(answer.text).toMatch(/cannot be read as a whole any more/);
    expect(text()).toContain(",1,-1460");
    expect(text()).toContain(",2,-1460");
  });

  it.each([
    ["gone", () => {}],
    ["a folder", () => mkdirSync(file)],
    ["in UTF-16", () => writeFileSync(file, Buffer.from("\ufefftime,star\n", "utf16le"))],
  ])(
    "is told whole where the file is %s at the next look, and counts again once the file is back",
    (_, put) => {
      const night = openNightFolder(folder);
      night.append(sighting(1));
      const kept = text();
      rmSync(file);
      put();
      expect(rowsOf(night)).toEqual([1]);
      expect(night.isWhole()).toBe(false);
      const [news, ...others] = night.news();
      expect(others).toEqual([]);
      expect(news).toMatchObject({
        code: "night-file-changed",
        message: expect.stringContaining(",1,-1460"),
      });
      rmSync(file, { recursive: true, force: true });
      writeFileSync(file, kept);
      expect(night.isWhole()).toBe(true);
      expect(rowsOf(night)).toEqual([1]);
    },
  );

  it("is looked for once more when the entry at the telescope ends", () => {
    const night = openNightFolder(folder);
    const before = text();
    night.append(sighting(1));
    saveByRenaming(before);
    const session = new SightSession(night, () => Date.UTC(2026, 2, 14, 18));
    expect(session.closing()).toEqual([
      expect.stringContaining("It was entered again"),
      expect.stringContaining("All that was entered is in"),
    ]);
    expect(text()).toContain(",1,-1460");
    rmSync(file);
    expect(session.closing().join("\n")).toMatch(/Entered earlier:\n2026.*\nNOT all/s);
  });
});

describe("a night file", () => {
  it("whose lines end in CR stays readable when a sighting is added", () => {
    writeFileSync(file, "time,star,hourAngle,declination\r2026-03-14T18:00:00Z,Canopus,1,2\r");
    const night = openNightFolder(folder);
    night.append(sighting(5));
    night.append(sighting(6));
    expect(rowsOf(openNightFolder(folder))).toEqual([1, 5, 6]);
    expect(openNightFolder(folder).warnings).toEqual([]);
  });

  it("of semicolons is added to in its own way", () => {
    writeFileSync(file, "time;star;hourAngle;declination;centringArcmin\n");
    const night = openNightFolder(folder);
    night.append({ ...sighting(5), centringArcmin: 0.8 });
    expect(text()).toContain(";5;-1460;0,8\n");
    expect(openNightFolder(folder).night.sightings).toMatchObject([{ hourAngle: 5, centringArcmin: 0.8 }]);
  });

  it.each([
    ["spelt otherwise", (row: string) => row.replace("00Z", "00.000Z")],
    ["put between quotation marks", (row: string) => row.replace(/[^,]+/g, '"$&"')],
    ["given another name of the star", (row: string) => row.replace("Canopus", "HIP 30438")],
    ["given a note", (row: string) => row.replace(/,$/, ",cloud")],
  ])("keeps a sighting withdrawn whose row is %s", (_, respell) => {
    const row = "2026-03-14T18:00:00Z,Canopus,1,2,";
    writeFileSync(file, `time,star,hourAngle,declination,note\n${respell(row)}\n# withdrawn: ${row}\n`);
    const { night, warnings } = openNightFolder(folder);
    expect(night.sightings).toMatchObject([{ use: false, withdrawn: true }]);
    expect(warnings).toEqual([]);
  });

  it("keeps a sighting withdrawn when a column is put in", () => {
    const rows = ["2026-03-14T18:00:00Z,Canopus,normal,1,2", "2026-03-14T18:00:01Z,Canopus,,1,2"];
    const text = [
      "time,star,side,hourAngle,declination",
      ...rows,
      "# withdrawn: 2026-03-14T18:00:00Z,Canopus,1,2",
    ];
    writeFileSync(file, `${text.join("\n")}\n`);
    expect(openNightFolder(folder).night.sightings.map(({ use }) => use)).toEqual([false, true]);
  });

  it("takes back thousands of sightings in no more than proportional time", () => {
    const rows = Array.from({ length: 4000 }, (_, n) => `${at(n)},Canopus,${n},-1460`);
    const withdrawals = rows.map((row) => `# withdrawn: ${row}`);
    writeFileSync(file, ["time,star,hourAngle,declination", ...rows, ...withdrawals, ""].join("\n"));
    expect(openNightFolder(folder).night.sightings.filter(({ use }) => use)).toEqual([]);
  });
});
