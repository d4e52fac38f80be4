/** Solved pictures, against files written by astropy (Debian's) and the places that its WCS gives. */
import { spawnSync } from "node:child_process";
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { DEGREE } from "../../src/angles.js";
import { InputError } from "../../src/errors.js";
import { readPictureFile } from "../../src/files/fits-file.js";
import { createFolder } from "../../src/files/new-folder.js";
import { openNightFolder } from "../../src/files/night-folder.js";
import { firstMount } from "../../src/mount/first-mount.js";
import { parseMount } from "../../src/mount/mount-file.js";
import { pictureFields } from "../../src/sight/fits-sighting.js";
import type { IcrsPosition } from "../../src/sky/star.js";

const COUNT = 100;
const PYTHON = "/usr/bin/python3";
/** Two double computations of one formula; the worst is rounding near the pole. */
const AGREES_ARCSEC = 0.001;
const hasAstropy = spawnSync(PYTHON, ["-c", "import astropy"]).status === 0;

const plain = parseMount(firstMount);
const { hourAngle, declination } = plain.readings;
const mount = {
  ...plain,
  readings: {
    hourAngle: { ...hourAngle, card: "ENCODER1" },
    declination: { ...declination, card: "ENCODER2" },
  },
};

const apart = (one: IcrsPosition, [ra, dec]: readonly [number, number]): number => {
  const across = (one.raDeg - ra - 360 * Math.round((one.raDeg - ra) / 360)) * Math.cos(dec * DEGREE);
  return Math.hypot(across, one.decDeg - dec) * 3600;
};

interface Told {
  readonly file: string;
  readonly timeMs: number;
  readonly centre: readonly [number, number];
  readonly corner: readonly [number, number];
}

let folder = "";
beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), "polewright-fits-"));
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

describe.runIf(hasAstropy)("pictures written by astropy", () => {
  let told: readonly Told[] = [];
  beforeAll(() => {
    const script = fileURLToPath(new URL("make_pictures.py", import.meta.url));
    const made = spawnSync(PYTHON, [script, folder, String(COUNT)], { encoding: "utf8" });
    told = JSON.parse(made.stdout);
  }, 120_000);

  it("point where astropy says, at the middle of the exposure", () => {
    for (const { file, timeMs, centre, corner } of told) {
      const picture = readPictureFile(file, mount);
      expect(apart(picture.centre, centre), file).toBeLessThan(AGREES_ARCSEC);
      expect(apart(picture.sky.at(1, picture.sky.height), corner), file).toBeLessThan(AGREES_ARCSEC);
      expect(Math.abs(picture.timeMs - timeMs), file).toBeLessThan(1.5);
    }
  });

  it("become sightings, a hundred within two seconds", () => {
    const night = join(folder, "night");
    createFolder(night);
    const book = openNightFolder(night);
    const start = performance.now();
    const fields = told.map(({ file }) => pictureFields(readPictureFile(file, mount)));
    const sightings = book.appendAll(fields);
    // On a quiet machine a tenth of it.
    expect(performance.now() - start).toBeLessThan(2000);
    expect(sightings).toHaveLength(COUNT);
    expect(sightings[7]).toMatchObject({ hourAngle: 1007, declination: -2007, row: 8 });
  });

  it("without cards in the mount file need a group", () => {
    const picture = readPictureFile(told[0]!.file, plain);
    expect(() => pictureFields(picture)).toThrow(/names no cards.*group/);
    expect(pictureFields(picture, "locked")).toMatchObject({ group: "locked" });
    expect(pictureFields(picture, "locked")).not.toHaveProperty("hourAngle");
  });

  it("with a spoilt header are refused, with the file and the card", () => {
    const whole = readFileSync(told[0]!.file, "latin1");
    const refused = (change: (text: string) => string) => {
      const file = join(folder, "spoilt.fits");
      writeFileSync(file, change(whole), "latin1");
      try {
        readPictureFile(file, mount);
        return null;
      } catch (problem) {
        if (!(problem instanceof InputError)) throw problem;
        const [fault] = problem.faults;
        expect(fault!.file).toBe(file);
        return [fault!.code, fault!.path];
      }
    };
    const card = (name: string, value: string) => (text: string) =>
      text.replace(new RegExp(`${name.padEnd(8)}= .{70}`), `${name.padEnd(8)}= ${value}`.padEnd(80));
    expect(refused((text) => text)).toBeNull();
    expect(refused(card("DATE-OBS", "'14/03/26'"))).toEqual(["wrong-card", "DATE-OBS"]);
    expect(refused(card("EXPTIME", "'long'"))).toEqual(["wrong-card", "EXPTIME"]);
    expect(refused(card("CTYPE1", "'RA---SIN'"))).toEqual(["wrong-card", "CTYPE1"]);
    expect(refused(card("CRVAL2", "'north'"))).toEqual(["wrong-card", "CRVAL2"]);
    expect(refused(card("CDELT1", "0.0"))).toEqual(["wrong-card", "CDELT1"]);
    expect(refused((text) => text.replace("ENCODER1", "ENCODERX"))).toEqual(["missing-card", "ENCODER1"]);
    expect(refused((text) => text.replaceAll("CTYPE", "CTIPE"))).toEqual(["not-solved", "CTYPE1"]);
    expect(refused((text) => text.slice(0, 2000))).toEqual(["not-fits", undefined]);
    expect(refused(() => "no picture".repeat(1000))).toEqual(["not-fits", undefined]);
    expect(refused((text) => text.replace(/END {77}/, " ".repeat(80)))?.[0]).toBe("fits-cut-short");
  });
});

it("a picture that is not there is said to be missing", () => {
  expect(() => readPictureFile(join(folder, "none.fits"), mount)).toThrow(
    /none\.fits: There is no picture here/,
  );
  expect(() => readPictureFile(folder, mount)).toThrow(/folder/);
});
