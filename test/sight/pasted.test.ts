import {
  mkdirSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  rmSync,
  utimesSync,
  writeFileSync,
} from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { describe, expect, it } from "vitest";
import type { InputError } from "../../src/errors.js";
import { createFolder } from "../../src/files/new-folder.js";
import { NIGHT_FILE } from "../../src/files/night-folder.js";
import { practiceCopy } from "../../src/files/practice.js";
import { firstMount } from "../../src/mount/first-mount.js";
import { parseMount } from "../../src/mount/mount-file.js";
import { openNight } from "../../src/notebook/open-night.js";
import { readPasted } from "../../src/sight/pasted.js";

const mount = parseMount(firstMount);
const degrees = parseMount({
  ...firstMount,
  readings: {
    hourAngle: { as: "degrees", smallest: 0.1 },
    declination: { as: "degrees", smallest: 0.1 },
  },
});
const rows = (mark: string, ...lines: string[][]) => lines.map((line) => line.join(mark)).join("\n");
const one = ["2026-03-14T19:22:10Z", "Canopus", "1877", "-1460"];

describe("a pasted table", () => {
  it.each([
    ["commas", ","],
    ["tabs", "\t"],
    ["semicolons", ";"],
  ])("may have %s", (name, mark) => {
    const { fields, preview } = readPasted(rows(mark, one), mount);
    expect(fields).toEqual([{ time: one[0], star: "Canopus", hourAngle: 1877, declination: -1460 }]);
    expect(preview).toEqual([
      `Understood, separated by ${name}: time, star, hourAngle, declination.`,
      "1. 2026-03-14T19:22:10Z  Canopus  hour angle 1877, declination -1460",
    ]);
  });

  it("shows its columns by what stands in them, in any order, with decimal commas between semicolons", () => {
    const text = rows(
      ";",
      ["Canopus", "12,5", "-52,7", "2026-03-14T19:22:10Z", "thin cloud"],
      ["HIP 32349", "3,25", "-16,7", "2026-03-14T19:25:10+00:00", ""],
    );
    expect(readPasted(text, degrees).fields).toMatchObject([
      { star: "Canopus", hourAngle: 12.5, declination: -52.7, note: "thin cloud" },
      { star: "Sirius", hourAngle: 3.25, declination: -16.7 },
    ]);
  });

  it("may say its columns in a header, in any order", () => {
    const text = rows(
      "\t",
      ["Declination", "hour angle", "TIME", "star"],
      ["-1460", "1877", one[0]!, "Canopus"],
    );
    expect(readPasted(text, mount).fields).toMatchObject([{ hourAngle: 1877, declination: -1460 }]);
  });

  it.each([
    ["too many numbers", rows(",", [...one, "17"])],
    ["no star", rows(",", [one[0]!, "1877", "-1460"])],
    ["no time", rows(",", ["Canopus", "1877", "-1460"])],
  ])("with %s and no header is refused with what to write", (_, text) => {
    try {
      readPasted(text, mount);
      expect.unreachable();
    } catch (problem) {
      expect((problem as InputError).faults).toMatchObject([
        { code: "columns-unclear", file: "pasted table", line: 1, found: expect.stringContaining("|") },
      ]);
    }
  });

  it("is entered whole or not at all", () => {
    const top = mkdtempSync(join(tmpdir(), "polewright-pasted-"));
    try {
      const folder = join(top, "night");
      createFolder(folder);
      const night = openNight(folder);
      const file = join(folder, NIGHT_FILE);
      const before = readFileSync(file, "utf8").replace(/,note$/m, "");
      rmSync(file);
      // The night has no column for the note of the second line.
      expect(before).not.toContain(",note");
      writeFileSync(file, before);
      night.reload();
      const pasted = `time,star,hourAngle,declination,note\n${one.join(",")},\n2026-03-14T19:23:10Z,Sirius,1,2,cloud\n`;
      expect(() => night.enter(pasted)).toThrow(/no column note/);
      expect(readFileSync(file, "utf8")).toBe(before);
      expect(night.preview(pasted).text).toContain("(cloud)");
      expect(readFileSync(file, "utf8")).toBe(before);
      expect(night.enter(one.join("\t"))).toMatchObject([{ row: 1, standing: "accepted" }]);
    } finally {
      rmSync(top, { recursive: true, force: true });
    }
  });
});

describe("a sighting", () => {
  it("of a star below the horizon or beyond the limits is said to be so", () => {
    const top = mkdtempSync(join(tmpdir(), "polewright-below-"));
    try {
      const folder = join(top, "night");
      createFolder(folder);
      const night = openNight(folder);
      // Polaris never rises 30° south of the equator (its polar distance is under a degree).
      const answer = night.sight("Polaris", { hourAngle: 1, declination: 2 }, { at: one[0]! });
      expect(answer).toMatchObject({ row: 1, standing: "doubtful" });
      expect(answer.text).toMatch(/is on the disk.*below the horizon at that time/);
    } finally {
      rmSync(top, { recursive: true, force: true });
    }
  });
});

it("no practice copy is left by a program that has ended", () => {
  const top = mkdtempSync(join(tmpdir(), "polewright-practised-"));
  try {
    createFolder(join(top, "night"));
    // Of a process that cannot be, for numbers of processes end far below; and of version 0.1, which gave no number.
    const left = ["2147483646-abcdef", "1abcde", "2abcde"].map((end) => `polewright-practice-${end}`);
    for (const name of left) mkdirSync(join(tmpdir(), name), { recursive: true });
    utimesSync(join(tmpdir(), left[1]!), 1, 1);
    practiceCopy(join(top, "night"));
    const names = readdirSync(tmpdir());
    expect(left.filter((name) => names.includes(name))).toEqual([left[2]]);
    rmSync(join(tmpdir(), left[2]!), { recursive: true });
    expect(names.some((name) => name.startsWith(`polewright-practice-${process.pid}-`))).toBe(true);
    process.emit("exit", 0);
    expect(readdirSync(tmpdir()).some((name) => name.startsWith(`polewright-practice-${process.pid}-`))).toBe(
      false,
    );
  } finally {
    rmSync(top, { recursive: true, force: true });
  }
});
