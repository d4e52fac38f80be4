import {
  appendFileSync,
  existsSync,
  mkdirSync,
  mkdtempSync,
  readFileSync,
  rmSync,
  writeFileSync,
} from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { InputError, PolewrightError } from "../../src/errors.js";
import { createFolder } from "../../src/files/new-folder.js";
import { openNightFolder, readMountFile, readNightFile } from "../../src/files/night-folder.js";
import { firstMount } from "../../src/mount/first-mount.js";
import { mountFileText, parseMount } from "../../src/mount/mount-file.js";

let top: string;
let folder: string;
beforeEach(() => {
  top = mkdtempSync(join(tmpdir(), "polewright-night-"));
  folder = join(top, "first light");
});
afterEach(() => rmSync(top, { recursive: true, force: true }));

const nightText = () => readFileSync(join(folder, "night.csv"), "utf8");
const canopus = { time: "2026-03-14T19:22:10Z", star: "Canopus", hourAngle: 1877, declination: -1460 };
const achernar = { time: "2026-03-14T19:25:40Z", star: "Achernar", hourAngle: 3121, declination: -1591 };

function problemOf(work: () => unknown): PolewrightError {
  try {
    work();
  } catch (problem) {
    if (problem instanceof PolewrightError) return problem;
    throw problem;
  }
  throw new Error("nothing was refused");
}

describe("a new folder", () => {
  it("has a mount, an empty night and a notebook that can be opened", () => {
    const files = createFolder(join(folder, "deeper"));
    expect(files.map((file) => file.slice(folder.length))).toEqual([
      join("/deeper", "mount.json"),
      join("/deeper", "night.csv"),
      join("/deeper", "first-night.ipynb"),
    ]);
    const night = openNightFolder(join(folder, "deeper"));
    expect(night.mount).toEqual(parseMount(firstMount));
    expect(night.mount.name).toContain("invented");
    expect(night.night.sightings).toEqual([]);
    expect(night.warnings).toEqual([]);
  });

  it("has a notebook in nbformat 4.5 for the kernel polewright", () => {
    createFolder(folder);
    const notebook = JSON.parse(readFileSync(join(folder, "first-night.ipynb"), "utf8")) as {
      nbformat: number;
      nbformat_minor: number;
      metadata: { kernelspec: object; language_info: object };
      cells: Record<string, unknown>[];
    };
    expect([notebook.nbformat, notebook.nbformat_minor]).toEqual([4, 5]);
    expect(notebook.metadata.kernelspec).toEqual({
      display_name: "Polewright (TypeScript)",
      language: "typescript",
      name: "polewright",
    });
    // The rules of nbformat 4.5 (its JSON schema): ids of 1 to 64 letters, figures, - or _, each once.
    const ids = notebook.cells.map(({ id }) => String(id));
    expect(new Set(ids).size).toBe(ids.length);
    for (const cell of notebook.cells) {
      expect(String(cell.id)).toMatch(/^[A-Za-z0-9_-]{1,64}$/);
      expect(Object.keys(cell).sort()).toEqual(
        cell.cell_type === "code"
          ? ["cell_type", "execution_count", "id", "metadata", "outputs", "source"]
          : ["cell_type", "id", "metadata", "source"],
      );
    }
    const words = notebook.cells.flatMap(({ source }) => source as string[]).join("");
    expect(words).toContain("invented");
    expect(words).toContain("30° of the Sun");
  });

  it.each(["mount.json", "night.csv", "first-night.ipynb"])("never takes the place of a %s", (name) => {
    mkdirSync(folder);
    writeFileSync(join(folder, name), "mine");
    const problem = problemOf(() => createFolder(folder));
    expect(problem.code).toBe("already-there");
    expect(problem.message).toContain(name);
    expect(readFileSync(join(folder, name), "utf8")).toBe("mine");
    const others = ["mount.json", "night.csv", "first-night.ipynb"].filter((other) => other !== name);
    expect(others.filter((other) => existsSync(join(folder, other)))).toEqual([]);
  });

  it("cannot be made inside a file", () => {
    writeFileSync(folder, "a file");
    expect(problemOf(() => createFolder(join(folder, "night"))).code).toBe("not-writable");
    const problem = problemOf(() => createFolder(folder));
    expect(problem.code).toBe("already-there");
    expect(problem.message).toContain(`${folder} is a file that is there already`);
    expect(readFileSync(folder, "utf8")).toBe("a file");
  });
});

describe("a night on the disk", () => {
  beforeEach(() => {
    createFolder(folder);
  });

  it("has a sighting in its file when the call returns", () => {
    const night = openNightFolder(folder);
    const before = nightText();
    const sighting = night.append({ ...canopus, note: 'thin cloud, "gusty"' });
    expect(sighting).toMatchObject({
      row: 1,
      line: before.split("\n").length,
      star: "Canopus",
      note: 'thin cloud, "gusty"',
    });
    expect(nightText()).toBe(
      `${before}2026-03-14T19:22:10Z,Canopus,,,1877,-1460,,,,,,,,,,,"thin cloud, ""gusty"""\n`,
    );
    expect(night.night.sightings).toEqual([sighting]);
    expect(openNightFolder(folder).night).toEqual(night.night);
  });

  it("writes nothing of a faulty sighting, and says all that is wrong with it", () => {
    const night = openNightFolder(folder);
    const before = nightText();
    const problem = problemOf(() =>
      night.append({ ...canopus, star: "Canopuss", time: "2026-03-14T19:22:10" }),
    );
    expect((problem as InputError).faults.map(({ code }) => code)).toEqual([
      "time-without-zone",
      "unknown-star",
    ]);
    expect(nightText()).toBe(before);
    expect(night.night.sightings).toEqual([]);
  });

  it("takes a sighting back by adding a line", () => {
    const night = openNightFolder(folder);
    night.append(canopus);
    night.append(achernar);
    const before = nightText();
    expect(night.withdraw()).toMatchObject({ row: 2, star: "Achernar", use: false });
    expect(night.withdraw(1)).toMatchObject({ row: 1, star: "Canopus", use: false });
    expect(nightText().startsWith(before)).toBe(true);
    expect(
      nightText()
        .slice(before.length)
        .match(/^# withdrawn: /gm),
    ).toHaveLength(2);
    expect(openNightFolder(folder).night.sightings.map(({ use }) => use)).toEqual([false, false]);
    for (const row of [undefined, 1, 3, 0])
      expect(problemOf(() => night.withdraw(row)).code).toBe("no-such-sighting");
  });

  it("sees what others have written", () => {
    const [ours, theirs] = [openNightFolder(folder), openNightFolder(folder)];
    theirs.append(achernar);
    expect(ours.append(canopus)).toMatchObject({ row: 2 });
    expect(ours.night.sightings.map(({ star }) => star)).toEqual(["Achernar", "Canopus"]);
    expect(theirs.reload().sightings).toHaveLength(2);
    expect(theirs.withdraw()).toMatchObject({ row: 2, star: "Canopus" });
  });

  it("writes into the columns that the file has by now", () => {
    const night = openNightFolder(folder);
    writeFileSync(join(folder, "night.csv"), "declination,star,hourAngle,time\n");
    night.append(canopus);
    expect(nightText()).toBe("declination,star,hourAngle,time\n-1460,Canopus,1877,2026-03-14T19:22:10Z\n");
    expect(problemOf(() => night.append({ ...canopus, note: "no column for it" })).code).toBe(
      "column-missing",
    );
  });

  it("keeps a sighting though another row has become faulty meanwhile", () => {
    const night = openNightFolder(folder);
    night.append(achernar);
    appendFileSync(join(folder, "night.csv"), "half a row,\n");
    expect(night.append(canopus)).toMatchObject({ star: "Canopus" });
    expect(nightText()).toContain("2026-03-14T19:22:10Z,Canopus");
    expect(night.warnings).toMatchObject([{ code: "night-file-changed" }]);
    expect(night.night.sightings.map(({ star }) => star)).toEqual(["Achernar", "Canopus"]);
    expect(problemOf(() => openNightFolder(folder))).toBeInstanceOf(InputError);
  });

  it("goes on behind a line that was cut short", () => {
    appendFileSync(join(folder, "night.csv"), "2026-03-14T19:2");
    const night = openNightFolder(folder);
    expect(night.warnings).toMatchObject([{ code: "torn-line" }]);
    expect(night.append(canopus)).toMatchObject({ row: 1, star: "Canopus" });
    expect(night.warnings).toMatchObject([{ code: "torn-line" }]);
  });

  it.each([
    ["is gone", (file: string) => rmSync(file)],
    ["has lost its header", (file: string) => writeFileSync(file, "# nothing else\n")],
  ])("has the sighting in the message when the night file %s", (_, spoil) => {
    const night = openNightFolder(folder);
    spoil(join(folder, "night.csv"));
    const problem = problemOf(() => night.append(canopus));
    expect(problem).toMatchObject({ code: "no-night-file", name: "JournalError" });
    expect(problem.message.split("\n").at(-1)).toMatch(/^2026-03-14T19:22:10Z,Canopus,,,1877,-1460/);
    // A faulty sighting is told of its own faults first.
    expect(problemOf(() => night.append({ ...canopus, star: "x" })).code).toBe("unknown-star");
  });
});

describe("files that cannot be read", () => {
  it.each<[string, () => unknown, string]>([
    ["a folder that is missing", () => openNightFolder(join(top, "none")), "folder-missing"],
    ["a file for a folder", () => openNightFolder(join(folder, "mount.json")), "folder-missing"],
    ["a mount file that is missing", () => readMountFile(join(top, "mount.json")), "file-missing"],
    ["a path through a file", () => readMountFile(join(folder, "mount.json", "mount.json")), "file-missing"],
    ["a folder for a mount file", () => readMountFile(folder), "file-unreadable"],
  ])("because of %s say so", (_, read, code) => {
    mkdirSync(folder);
    writeFileSync(join(folder, "mount.json"), mountFileText(firstMount));
    const problem = problemOf(read);
    expect(problem.code).toBe(code);
    expect((problem as InputError).faults[0]!.file).toBeDefined();
  });

  it("because they are in UTF-16 say so", () => {
    const file = join(top, "night.csv");
    writeFileSync(file, Buffer.from("\uFEFFtime,star\n", "utf16le"));
    expect(problemOf(() => readNightFile(file, parseMount(firstMount))).code).toBe("not-utf8");
  });

  it("name the file in every fault", () => {
    const file = join(top, "mount.json");
    writeFileSync(file, '{ "name": "x" }');
    const { faults } = problemOf(() => readMountFile(file)) as InputError;
    expect(faults.map((fault) => [fault.file, fault.path])).toEqual([
      [file, "site"],
      [file, "readings"],
    ]);
  });
});
