/** Turning under a camera from outside: pictures as FITS files that arrive in a folder while the command runs. */
import { type ChildProcess, spawn, spawnSync } from "node:child_process";
import { cpSync, mkdirSync, mkdtempSync, readFileSync, renameSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { createInterface } from "node:readline";
import { Ajv2020 } from "ajv/dist/2020.js";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { DEGREE } from "../../src/angles.js";
import { type BaseMotion, carriedBy, stillBase } from "../../src/base/axis-motion.js";
import { jackTurns } from "../../src/base/jack-turns.js";
import { effectOfTurns, type TurnMade } from "../../src/base/turns-made.js";
import { openNightFolder } from "../../src/files/night-folder.js";
import { fitMount } from "../../src/fit/mount-fit.js";
import { add, cross, fromSpherical, scale, toSpherical, unit, type Vector } from "../../src/vectors.js";
import { BUILD_TIMEOUT_MS, built, packageFolder } from "../support/built.js";
import { icrsFromObserved } from "../support/sky.js";

const WITHIN_MS = 1000;
const PIXEL_DEG = 1 / 3600;
const [WIDTH, HEIGHT] = [60, 40];
const CENTRE = unit(fromSpherical(0.5, -0.4));
const ALONG = unit(cross([0, 0, 1], CENTRE));

let world = "";
let main = "";
beforeAll(async () => {
  main = await built("cli/main.js");
  world = mkdtempSync(join(tmpdir(), "polewright-watch-"));
  cpSync(join(packageFolder, "data/first-light"), join(world, "night"), { recursive: true });
}, BUILD_TIMEOUT_MS);
afterAll(() => rmSync(world, { recursive: true, force: true }));

const card = (text: string): string => text.padEnd(80);

/** A solved picture by the FITS standard (Pence and others 2010; TAN: Calabretta and Greisen 2002): header and empty data. */
function fits(
  centre: Vector,
  along: Vector,
  timeMs: number,
  site: Parameters<typeof icrsFromObserved>[2],
): Buffer {
  const up = cross(centre, along);
  const icrs = (v: Vector) => {
    const { longitude, latitude } = toSpherical(unit(v));
    return icrsFromObserved({ hourAngle: -longitude, declination: latitude }, timeMs, site);
  };
  const middle = icrs(centre);
  /** Where a place so many pixels from the middle lies in the plane that touches the sky there, degrees. */
  const plane = (axis: Vector, pixels: number): readonly [number, number] => {
    const { raDeg, decDeg } = icrs(add(centre, axis, Math.tan(pixels * PIXEL_DEG * DEGREE)));
    const [d, d0, da] = [decDeg * DEGREE, middle.decDeg * DEGREE, (raDeg - middle.raDeg) * DEGREE];
    const ahead = Math.sin(d) * Math.sin(d0) + Math.cos(d) * Math.cos(d0) * Math.cos(da);
    const east = (Math.cos(d) * Math.sin(da)) / ahead;
    const north = (Math.sin(d) * Math.cos(d0) - Math.cos(d) * Math.sin(d0) * Math.cos(da)) / ahead;
    return [east / DEGREE, north / DEGREE];
  };
  const [x, y] = [plane(along, 20), plane(up, 20)];
  const cards = [
    "SIMPLE  =                    T",
    "BITPIX  =                    8",
    "NAXIS   =                    2",
    `NAXIS1  = ${`${WIDTH}`.padStart(20)}`,
    `NAXIS2  = ${`${HEIGHT}`.padStart(20)}`,
    "CTYPE1  = 'RA---TAN'",
    "CTYPE2  = 'DEC--TAN'",
    `CRPIX1  = ${`${(WIDTH + 1) / 2}`.padStart(20)}`,
    `CRPIX2  = ${`${(HEIGHT + 1) / 2}`.padStart(20)}`,
    ...Object.entries({
      "CRVAL1  ": middle.raDeg,
      "CRVAL2  ": middle.decDeg,
      "CD1_1   ": x[0] / 20,
      "CD1_2   ": y[0] / 20,
      "CD2_1   ": x[1] / 20,
      "CD2_2   ": y[1] / 20,
    }).map(([key, value]) => `${key}= ${value.toExponential(12).toUpperCase().padStart(20)}`),
    `DATE-OBS= '${new Date(timeMs).toISOString().slice(0, -1)}'`,
    "EXPTIME =                  0.0",
    "END",
  ];
  const head = cards.map(card).join("");
  const blocks = (length: number): number => 2880 * Math.ceil(length / 2880);
  const whole = Buffer.alloc(blocks(head.length) + blocks(WIDTH * HEIGHT));
  whole.write(head.padEnd(blocks(head.length)), "latin1");
  return whole;
}

/** Starts the command; `next` gives each line with how long it took after the picture. */
function watching(pictures: string, ...options: string[]) {
  const child: ChildProcess = spawn(
    process.execPath,
    [main, "watch", pictures, join(world, "night"), ...options],
    {
      cwd: world,
    },
  );
  const lines = createInterface(child.stdout!)[Symbol.asyncIterator]();
  return {
    next: async () => (await lines.next()).value as string,
    ended: new Promise<number | null>((resolve) => child.on("exit", resolve)),
  };
}

/** A picture arrives whole, as a camera's program moves it there. */
function arrives(pictures: string, name: string, text: Buffer): number {
  const beside = join(world, name);
  writeFileSync(beside, text);
  renameSync(beside, join(pictures, name));
  return Date.now();
}

const ajv = new Ajv2020({ strict: true, allowUnionTypes: true });
const isLine = ajv.compile(
  JSON.parse(readFileSync(join(packageFolder, "data/schema/watch.schema.json"), "utf8")),
);

describe("watch", () => {
  it("tells within a second what was turned and what is left, and leaves out what cannot serve", async () => {
    const { night, mount } = openNightFolder(join(world, "night"));
    const fit = fitMount(night);
    const { site } = mount;
    const pictures = join(world, "pictures");
    mkdirSync(pictures);
    const startMs = Date.UTC(2026, 2, 14, 21);
    const from = { altitude: fit.pole.altitude.value, east: fit.pole.east.value };
    const seen = (base: BaseMotion, timeMs: number): Buffer => {
      const { forth } = carriedBy(from, base, site.latitude);
      return fits(forth(CENTRE), forth(ALONG), timeMs, site);
    };
    const command = watching(pictures, "--json", "--count", "5");
    const told = async (name: string, text: Buffer) => {
      const since = arrives(pictures, name, text);
      const line = JSON.parse(await command.next());
      expect(isLine(line) ? null : isLine.errors, JSON.stringify(line)).toBeNull();
      return { line, took: Date.now() - since };
    };

    // The first answer waits for the program to start.
    const first = (await told("1.fits", seen(stillBase, startMs))).line;
    expect(Math.hypot(first.turned.altitude, first.turned.east)).toBeLessThan(1e-9);
    const asked = (
      first.stillToTurn as { name: string; turns: number; direction: TurnMade["direction"] }[]
    ).map(({ name, turns, direction }): TurnMade => ({ adjuster: name, turns, direction, mm: null }));
    expect(asked.map(({ adjuster }) => adjuster)).toContain("azimuth bolts");
    const { whole } = effectOfTurns(mount.base!, asked, site.latitude);
    // Half of what is asked, by exact rotations.
    const half: BaseMotion = {
      slopeEast: whole.slopeEast / 2,
      slopeNorth: whole.slopeNorth / 2,
      turn: whole.turn / 2,
      bearingEast: whole.bearingEast / 2,
      bearingUp: whole.bearingUp / 2,
    };
    const second = await told("2.fits", seen(half, startMs + 120_000));
    expect(second.took).toBeLessThan(WITHIN_MS);
    // Half of the way to the pole; rotations of half a degree add to a hundredth.
    expect(second.line.turned.altitude).toBeCloseTo(-from.altitude / 2, 0);
    expect(second.line.turned.east).toBeCloseTo(-from.east / 2, 0);
    expect(second.line.remaining.altitude + second.line.turned.altitude).toBeCloseTo(-from.altitude, 1);
    // Which jacks share the rest is free; together it is about half, to the smallest turn of each.
    const sum = (moves: readonly { turns: number }[]): number =>
      moves.reduce((all, { turns }) => all + turns, 0);
    expect(Math.abs(sum(second.line.stillToTurn) / sum(first.stillToTurn) - 0.5)).toBeLessThan(0.15);

    const elsewhere = unit(add(CENTRE, ALONG, 0.2));
    const moved = fits(elsewhere, unit(add(ALONG, scale(CENTRE, -0.2), 1)), startMs + 180_000, site);
    expect((await told("3.fits", moved)).line.leftOut).toMatch(/The tube has moved by 11\.\d°/);
    const unsolved = fits(CENTRE, ALONG, startMs + 240_000, site)
      .toString("latin1")
      .replace(/CTYPE/g, "XTYPE");
    const left = await told("4.fits", Buffer.from(unsolved, "latin1"));
    expect(left.line.leftOut).toMatch(/CTYPE|solved/);
    expect(left.took).toBeLessThan(WITHIN_MS);
    const last = await told("5.fits", seen(whole, startMs + 300_000));
    expect(last.line.stillToTurn).toEqual([]);
    expect(await command.ended).toBe(0);
  }, 60_000);

  it("says it in large letters, red on black, with the cautions first", async () => {
    const { night, mount } = openNightFolder(join(world, "night"));
    const pictures = join(world, "more");
    mkdirSync(pictures);
    arrives(pictures, "1.fits", fits(CENTRE, ALONG, Date.UTC(2026, 2, 14, 21), mount.site));
    const told = `${process.execPath} ${main} watch ${pictures} ${join(world, "night")} --theme night --count 1`;
    const shown = spawnSync("script", ["-qec", told, "/dev/null"], {
      encoding: "utf8",
      env: { ...process.env, TERM: "xterm" },
    });
    expect(shown.status).toBe(0);
    const coloured = shown.stdout.split("\r\n").filter((line) => line !== "");
    expect(coloured.every((line) => line.startsWith("\u001b[31;40m"))).toBe(true);
    // biome-ignore lint/suspicious/noControlCharactersInRegex: colours are set by control characters
    const lines = coloured.map((line) => line.replace(/\x1b\[[0-9;]*[mK]/g, ""));
    expect(lines[0]).toMatch(/nobody under the frame/);
    const [move] = jackTurns(fitMount(night)).moves;
    expect(lines.join("\n")).toContain(`${move!.adjuster}: `);
    const large = lines.filter((line) => line.includes("█"));
    // A name, an amount and a direction, five lines each.
    expect(large.length).toBeGreaterThanOrEqual(13);
    for (const line of lines) expect(line.length).toBeLessThanOrEqual(80 + 40);
    for (const line of large) expect(line.length).toBeLessThanOrEqual(80);
  }, 60_000);

  it("writes no colours into a pipe, and refuses a theme that nothing would show", async () => {
    const pictures = join(world, "more");
    const command = watching(pictures, "--count", "1");
    const lines: string[] = [];
    for (let line = await command.next(); line !== undefined; line = await command.next()) lines.push(line);
    expect(await command.ended).toBe(0);
    expect(lines.length).toBeGreaterThan(10);
    expect(lines.join("")).not.toContain("\u001b");
    const refused = watching(pictures, "--theme", "night", "--count", "1");
    expect(await refused.ended).toBe(2);
  }, 60_000);
});
