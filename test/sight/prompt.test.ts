/** The entry at the telescope, in a real terminal (tmux), 80 columns wide. */
import { mkdtempSync, readFileSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { createFolder } from "../../src/files/new-folder.js";
import { NIGHT_FILE, openNightFolder } from "../../src/files/night-folder.js";
import { formatTime } from "../../src/sky/time.js";
import { BUILD_TIMEOUT_MS, built } from "../support/built.js";
import { hasTmux, Terminal } from "../support/terminal.js";

const terminal = new Terminal("sight");
const tmux = (...args: string[]): string => terminal.tmux(...args);
const screen = (...more: string[]): string => terminal.screen(...more);
const type = (text: string): void => terminal.type(text);
const press = (key: string): void => terminal.press(key);
const shows = (pattern: RegExp, ...more: string[]): Promise<string> => terminal.shows(pattern, ...more);

describe.runIf(hasTmux)("sight in a terminal", () => {
  let top = "";
  let folder = "";
  let main = "";
  beforeAll(async () => {
    main = await built("cli/main.js");
    top = mkdtempSync(join(tmpdir(), "polewright-sight-"));
    folder = join(top, "night");
    createFolder(folder);
  }, BUILD_TIMEOUT_MS);
  afterAll(() => {
    terminal.end();
    rmSync(top, { recursive: true, force: true });
  });

  const start = async (...options: string[]): Promise<void> => {
    terminal.start([process.execPath, main, "sight", folder, ...options]);
    await shows(/\? Star/);
  };
  const sight = async (typed: string, star: string, readings: string, row: number): Promise<void> => {
    type(typed);
    await shows(new RegExp(`❯ ${star}`));
    press("Enter");
    await shows(new RegExp(`Centre ${star}, then press Enter`));
    press("Enter");
    await shows(/Readings *$/m);
    type(readings);
    press("Enter");
    await shows(new RegExp(`Row ${row}: ${star} at .* is on the disk`));
    await shows(/\? Star *$/m);
  };
  const rows = () => openNightFolder(folder).night.sightings;

  it("takes a star, the time at Enter and two readings; each is on the disk at once and survives a kill", async () => {
    await start();
    const before = Date.now();
    await sight("canop", "Canopus", "1877 -1460", 1);
    expect(rows()).toMatchObject([{ star: "Canopus", hourAngle: 1877, declination: -1460 }]);
    expect(rows()[0]!.timeMs).toBeGreaterThan(before - 100);
    expect(rows()[0]!.timeMs).toBeLessThanOrEqual(Date.now());
    const text = screen();
    expect(Math.max(...text.split("\n").map((line) => line.length))).toBeLessThanOrEqual(80);
    // The power goes.
    process.kill(-Number(tmux("display-message", "-p", "#{pane_pid}")), "SIGKILL");
    expect(rows()).toHaveLength(1);
  }, 240_000);

  it("knows what was meant, moves the time, refuses what cannot be, takes back, and loses nothing at Ctrl-C", async () => {
    await start("--theme", "night");
    type("note thin cloud");
    await shows(/❯ note thin cloud/);
    press("Enter");
    await shows(/The next sighting's note: thin cloud/);
    type("sirus");
    await shows(/❯ Sirius {2}\(did you mean/);
    press("Enter");
    await shows(/Centre Sirius/);
    press("Enter");
    const taken = /(\d{4}-\S+Z) {2}Readings *$/m;
    const first = Date.parse(taken.exec(await shows(taken))![1]!);
    type("-5s");
    press("Enter");
    await shows(new RegExp(`^[?] ${formatTime(first - 5000)} {2}Readings *$`, "m"));
    type("12.5 -7");
    press("Enter");
    await shows(/Counts are whole numbers/);
    type("12 -");
    press("Enter");
    await shows(/Row 2: Sirius at .*\(12, –\) is on the disk/s);
    expect(rows()[1]).toMatchObject({
      note: "thin cloud",
      hourAngle: 12,
      declination: null,
      timeMs: first - 5000,
    });
    await shows(/\? Star *$/m);
    // Red on black: nothing else colours the screen.
    expect(screen("-e")).toContain("\x1b[31m\x1b[40m");
    type("undo");
    await shows(/❯ undo/);
    press("Enter");
    await shows(/Row 2 \(Sirius\) is withdrawn/);
    type("rigel");
    await shows(/❯ Rigel/);
    press("Enter");
    await shows(/Centre Rigel/);
    press("Enter");
    await shows(taken);
    press("C-c");
    const end = await shows(/ENDED/);
    expect(end).toMatch(/NOT entered, because its readings were not given: Rigel at\s+20/);
    expect(rows().map(({ use }) => use)).toEqual([true, false]);
  }, 240_000);

  it("enters a pasted table after showing what was understood", async () => {
    await start();
    type("paste");
    await shows(/❯ paste/);
    press("Enter");
    await shows(/an empty line ends it/);
    tmux(
      "set-buffer",
      "2026-03-14T19:22:10Z\tCanopus\t1877\t-1460\n2026-03-14T19:24:10Z\tSirius\t300\t-700\n\n",
    );
    tmux("paste-buffer");
    await shows(/separated by tabs: time, star, hourAngle, declination/);
    await shows(/Enter these sightings\?/);
    type("yes");
    press("Enter");
    await shows(/2 sightings on the disk/);
    expect(rows().slice(-2)).toMatchObject([{ star: "Canopus" }, { star: "Sirius", hourAngle: 300 }]);
    expect(readFileSync(join(folder, NIGHT_FILE), "utf8")).toContain("2026-03-14T19:24:10Z,Sirius");
  }, 240_000);
});
