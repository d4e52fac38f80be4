/**
 * One night under `sight` in a terminal, a notebook that enters, and an editor that saves by renaming; and `sight` killed
 * while it writes. At full size: POLEWRIGHT_ROWS=240 npm test -- test/hardening/two-programs
 */
import { spawn } from "node:child_process";
import { once } from "node:events";
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { setTimeout as delay } from "node:timers/promises";
import { afterAll, beforeAll, beforeEach, describe, expect, it } from "vitest";
import { createFolder } from "../../src/files/new-folder.js";
import { NIGHT_FILE, openNightFolder } from "../../src/files/night-folder.js";
import { startKernel } from "../../src/kernel/client.js";
import { readingFromAngle } from "../../src/mount/readings.js";
import { seededRandom } from "../../src/simulate/random.js";
import { catalogueStars } from "../../src/sky/catalogue.js";
import { observe } from "../../src/sky/observe.js";
import { BUILD_TIMEOUT_MS, built } from "../support/built.js";
import { hasTmux, Terminal } from "../support/terminal.js";

/** Of each program. */
const ROWS = Number(process.env.POLEWRIGHT_ROWS ?? 10);
const SAVES = Math.ceil((ROWS * 400) / 240);
const KILLS = Math.ceil(ROWS / 2);
const SEED = 1610;
const PATIENCE_MS = 120_000 + 12_000 * ROWS;

/** Reads the night, goes on typing for a while, and saves: a new file takes the old one's name. Says each time that it did. */
const EDITOR = `
const { readFileSync, renameSync, writeFileSync, writeSync } = require("node:fs");
const [file, seed] = process.argv.slice(1);
let state = Number(seed);
const random = () => (state = (state * 48271) % 2147483647) / 2147483647;
let text = readFileSync(file, "utf8");
const save = () => {
  if (random() < 0.7) text = readFileSync(file, "utf8");
  setTimeout(() => {
    writeFileSync(file + ".new", text + (random() < 0.3 ? "# clouds from the west\\n" : ""));
    renameSync(file + ".new", file);
    writeSync(1, "saved\\n");
    setTimeout(save, 400 * random());
  }, 300 * random());
};
save();`;

const terminal = new Terminal("two-programs");
let main = "";
let launcher = "";
let top = "";
let folder = "";
beforeAll(async () => {
  main = await built("cli/main.js");
  launcher = await built("kernel/launcher.js");
  top = mkdtempSync(join(tmpdir(), "polewright-two-"));
}, BUILD_TIMEOUT_MS);
afterAll(() => {
  terminal.end();
  rmSync(top, { recursive: true, force: true });
});
let nights = 0;
beforeEach(() => {
  folder = join(top, `night-${nights++}`);
  createFolder(folder);
});

const open = () => openNightFolder(folder);
/** What the axes read, on a mount that stands right. */
function readings(star: (typeof stars)[number], timeMs: number): readonly [number, number] {
  const { site, readings } = open().mount;
  const seen = observe(star, timeMs, site);
  return [
    Math.round(readingFromAngle(seen.hourAngle, readings.hourAngle)),
    Math.round(readingFromAngle(seen.declination, readings.declination)),
  ];
}
/** South of the school's zenith some are up at any hour, by day too; that others are not is only said. */
const stars = catalogueStars()
  .filter(({ vMag, label, decDeg }) => vMag < 2.2 && /^[A-Z][a-z]+$/.test(label) && decDeg < -15)
  .slice(0, 12);

async function startSight(): Promise<void> {
  terminal.start([process.execPath, main, "sight", folder]);
  await terminal.shows(/\? Star *$/m);
}

const TAKEN = /^[?] (\d{4}-\S+Z) {2}Readings *$/m;
/** What is said of a sighting: that it is on the disk, or that it is not. */
const doneOf = (time: string): RegExp =>
  new RegExp(`Row \\d+: \\S+ at ${time} |(NOT in the\\s+night\\s+file.*${time})`, "s");

/** Takes a star as far as its readings, typed but not sent; gives the time as it is told. */
async function typeReadings(n: number): Promise<string> {
  const star = stars[n % stars.length]!;
  terminal.type(star.label);
  await terminal.shows(new RegExp(`❯ ${star.label}`));
  terminal.press("Enter");
  await terminal.shows(new RegExp(`^[?] Centre ${star.label}, then press Enter *$`, "m"));
  terminal.press("Enter");
  const time = TAKEN.exec(await terminal.shows(TAKEN))![1]!;
  terminal.type(readings(star, Date.parse(time)).join(" "));
  return time;
}

describe.runIf(hasTmux)("one night", () => {
  it(
    `under two programs and an editor, ${2 * ROWS} rows and ${SAVES} saves or more, keeps every row or says which is gone`,
    async () => {
      const kernel = await startKernel({ folder, launcher });
      const ask = async (code: string): Promise<string> => {
        let text = "";
        const { status } = await kernel.execute(code, {
          onMessage: ({ content, header }) => {
            if (/result|stream|error/.test(header.msg_type)) text += JSON.stringify(content);
          },
        });
        if (status !== "ok") throw new Error(text);
        return text;
      };
      await startSight();
      await ask(`import { openNight } from "polewright"; const night = openNight(".");`);
      const editor = spawn(process.execPath, ["-e", EDITOR, join(folder, NIGHT_FILE), String(SEED)]);
      let saves = 0;
      editor.stdout.on("data", (text) => {
        saves += String(text).split("saved").length - 1;
      });

      const acknowledged: number[] = [];
      let said = "";
      const byNotebook = async (): Promise<void> => {
        const from = Date.now() - 3 * 3_600_000;
        for (let n = 0; n < ROWS; n++) {
          const timeMs = from + 30_000 * n;
          const star = stars[n % stars.length]!;
          const row = [new Date(timeMs).toISOString(), star.label, ...readings(star, timeMs)].join(",");
          const answer = await ask(`night.enter(${JSON.stringify(row)}).map(({ text }) => text).join(" ")`);
          said += answer;
          if (!/is on the disk|stands already/.test(answer)) throw new Error(answer);
          acknowledged.push(timeMs);
        }
      };
      const bySight = async (): Promise<void> => {
        for (let n = 0; n < ROWS; n++) {
          const time = await typeReadings(n);
          terminal.press("Enter");
          const done = doneOf(time).exec(await terminal.shows(doneOf(time)))!;
          // It was not acknowledged: the same is asked for again, and left.
          if (done[1] !== undefined) terminal.press("Enter");
          else acknowledged.push(Date.parse(time));
          await terminal.shows(/\? Star *$/m);
          said += terminal.screen("-S", "-");
          terminal.tmux("clear-history");
        }
      };
      try {
        await Promise.all([byNotebook(), bySight()]);
        while (saves < SAVES) await delay(100);
      } finally {
        editor.kill();
        await once(editor, "exit");
      }
      said += await ask(`night.reload(); night.warnings.map(({ message }) => message).join(" ")`);
      terminal.type("quit");
      await terminal.shows(/❯ quit/);
      terminal.press("Enter");
      said += await terminal.shows(/All that was entered is in[\s\S]*ENDED/, "-S", "-");
      await kernel.shutdown();

      expect(acknowledged.length).toBeGreaterThan(1.8 * ROWS);
      const { sightings } = open().night;
      const times = sightings.filter(({ use }) => use).map(({ timeMs }) => timeMs);
      const words = said.matchAll(/at\s+(\S+Z)\s+was\s+entered,\s+and\s+was\s+no\s+longer/g);
      const again = new Set([...words].map(([, time]) => time)).size;
      console.log(
        `${acknowledged.length} rows acknowledged, ${saves} saves, ${again} rows entered again, seed ${SEED}`,
      );
      for (const timeMs of acknowledged) expect(times, new Date(timeMs).toISOString()).toContain(timeMs);
      expect(said).not.toContain("could not be entered again");
      expect(times).toHaveLength(new Set(times).size);
      expect(again).toBeGreaterThan(0);
    },
    PATIENCE_MS,
  );

  it(
    `whose program is killed ${KILLS} times while it writes can be read each time, and holds what was acknowledged`,
    async () => {
      const random = seededRandom(SEED);
      const acknowledged: number[] = [];
      for (let kill = 0; kill < KILLS; kill++) {
        await startSight();
        const time = await typeReadings(kill);
        terminal.press("Enter");
        await delay(800 * random());
        const shown = terminal.screen();
        process.kill(-Number(terminal.tmux("display-message", "-p", "#{pane_pid}")), "SIGKILL");
        if (doneOf(time).test(shown)) acknowledged.push(Date.parse(time));
        const { night, warnings } = open();
        expect(warnings.filter(({ code }) => code !== "torn-line")).toEqual([]);
        const times = night.sightings.map((sighting) => sighting.timeMs);
        for (const one of acknowledged) expect(times).toContain(one);
      }
      console.log(`killed ${KILLS} times, ${acknowledged.length} of the rows acknowledged, seed ${SEED}`);
      // One that is torn, however it came so, is put aside, and the night goes on.
      const file = join(folder, NIGHT_FILE);
      writeFileSync(file, `${readFileSync(file, "utf8")}2026-03-14T19:2`);
      await startSight();
      const last = await typeReadings(0);
      terminal.press("Enter");
      await terminal.shows(doneOf(last));
      expect(open().night.sightings.at(-1)!.timeMs).toBe(Date.parse(last));
    },
    PATIENCE_MS,
  );
});
