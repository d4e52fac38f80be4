/**
 * An evening from end to end, as it is lived: a plan, sightings typed into the prompt in a real terminal, fit, turns, and the desk
 * page in a browser with a clock of its own. The sky, the telescope that is sighted with and the readings that the page is held
 * against are by test/crosscheck/polewright_model.py (ERFA and rotation matrices): nothing of the project is in them.
 */
import { type ChildProcessWithoutNullStreams, spawn, spawnSync } from "node:child_process";
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { createInterface } from "node:readline";
import { pathToFileURL } from "node:url";
import { chromium } from "playwright-core";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { openNightFolder } from "../../src/files/night-folder.js";
import { fitMount } from "../../src/fit/mount-fit.js";
import { BUILD_TIMEOUT_MS, built, packageFolder } from "../support/built.js";
import { hasTmux, Terminal } from "../support/terminal.js";
import { FLAGS, PROGRAM } from "./browser.js";

const PYTHON = "/usr/bin/python3";
const hasErfa = spawnSync(PYTHON, ["-c", "import erfa, numpy"]).status === 0;
/** Page against the independent prediction: refractions differ by up to 2″ low down, the page sets whole counts. */
const AGREES_ARCMIN = 0.2;
const STARS = 12;
const COUNTS = 4_194_304;
const ARCMIN = COUNTS / 21_600;
const HOUR_MS = 3_600_000;

// The terminal has no other clock than this machine's: the site is where it is night now.
const nowHours = (Date.now() % (24 * HOUR_MS)) / HOUR_MS;
const longitude = (((((21.5 - nowHours) * 15 + 180) % 360) + 360) % 360) - 180;
const mount = {
  ...JSON.parse(readFileSync(join(packageFolder, "data/first-light/mount.json"), "utf8")),
  site: { latitude: -30, longitude, heightM: 900, pressureHPa: 900, temperatureC: 12 },
  readings: {
    hourAngle: { as: "counts", perTurn: COUNTS, sense: 1 },
    declination: { as: "counts", perTurn: COUNTS, sense: -1 },
  },
  centringArcmin: 0.15,
};
const truth = {
  hourAngleZero: 61,
  declinationZero: -38,
  polarAltitude: 13,
  polarEast: -17,
  cone: 9,
  squareness: -6,
  tubeSag: 2.5,
  ringSag: 1.2,
  trunnionSag: 0.7,
};

interface Predicted {
  readonly hourAngle: number;
  readonly declination: number;
  readonly altitudeDeg: number;
}

/** The independent model, one question after the other. */
class Model {
  readonly #python: ChildProcessWithoutNullStreams;
  readonly #answers: AsyncIterator<string>;
  readonly #mountPath: string;

  constructor(mountPath: string) {
    this.#mountPath = mountPath;
    this.#python = spawn(PYTHON, [join(packageFolder, "test/crosscheck/predict.py")]);
    this.#answers = createInterface(this.#python.stdout)[Symbol.asyncIterator]();
  }

  async readings(
    terms: object,
    timeMs: number,
    place: { readonly star: string } | { readonly raDeg: number; readonly decDeg: number },
  ): Promise<Predicted> {
    const asked = { mount: this.#mountPath, terms, seconds: timeMs / 1000, ...place };
    this.#python.stdin.write(`${JSON.stringify(asked)}\n`);
    return JSON.parse((await this.#answers.next()).value as string) as Predicted;
  }

  end(): void {
    this.#python.stdin.end();
  }
}

/** Deep-sky objects of the package's lists, by the names that the page shows: ICRS degrees. */
function messier(): Map<string, { raDeg: number; decDeg: number }> {
  const lines = readFileSync(join(packageFolder, "data/messier.csv"), "utf8").split("\n");
  const rows = lines.filter((line) => line !== "" && !line.startsWith("#")).map((line) => line.split(","));
  const [head, ...objects] = rows as [string[], ...string[][]];
  const at = (name: string): number => head.indexOf(name);
  return new Map(
    objects.map((row) => [
      `M ${row[at("messier")]}`,
      { raDeg: Number(row[at("raDeg")]), decDeg: Number(row[at("decDeg")]) },
    ]),
  );
}

describe.runIf(hasTmux && hasErfa)("an evening", () => {
  const terminal = new Terminal("evening");
  let folder = "";
  let main = "";
  let model: Model;
  beforeAll(async () => {
    main = await built("cli/main.js");
    folder = mkdtempSync(join(tmpdir(), "polewright-whole-evening-"));
    writeFileSync(join(folder, "mount.json"), JSON.stringify(mount));
    writeFileSync(join(folder, "night.csv"), "time,star,hourAngle,declination\n");
    model = new Model(join(folder, "mount.json"));
  }, BUILD_TIMEOUT_MS);
  afterAll(() => {
    model.end();
    terminal.end();
    rmSync(folder, { recursive: true, force: true });
  });

  const asked = (...args: string[]) => {
    const done = spawnSync(process.execPath, [main, ...args, "--json"], { cwd: folder, encoding: "utf8" });
    expect(done.status, `${args.join(" ")}: ${done.stdout}${done.stderr}`).toBe(0);
    return JSON.parse(done.stdout);
  };
  /** Counts apart, as arcminutes of the axis; a turn more or less is none. */
  const apart = (a: number, b: number): number => {
    const turns = (a - b) / COUNTS;
    return Math.abs(turns - Math.round(turns)) * 21_600;
  };

  it("is planned, sighted, fitted, turned and shown, and everywhere the numbers are the same", async () => {
    const plan = asked("plan", "--from", "now", "--stars", String(STARS), "--minutes", "1");
    expect(plan.stars).toHaveLength(STARS);

    terminal.start([process.execPath, main, "sight", folder]);
    await terminal.shows(/\? Star/);
    for (const [k, { star }] of (plan.stars as { star: string }[]).entries()) {
      terminal.type(star);
      await terminal.shows(new RegExp(`❯ ${star}`));
      terminal.press("Enter");
      await terminal.shows(new RegExp(`Centre ${star}, then press Enter`));
      terminal.press("Enter");
      const taken = /(\d{4}-\S+Z) {2}Readings *$/m;
      const timeMs = Date.parse(taken.exec(await terminal.shows(taken))![1]!);
      const { hourAngle, declination } = await model.readings(truth, timeMs, { star });
      // A hand that centres to 0.1′, always the same way round.
      const wobble = 0.1 * ARCMIN * Math.sin(7 * k);
      terminal.type(`${Math.round(hourAngle + wobble)} ${Math.round(declination - wobble)}`);
      terminal.press("Enter");
      await terminal.shows(new RegExp(`Row ${k + 1}: ${star} at`));
      await terminal.shows(/\? Star *$/m);
    }
    terminal.press("C-c");
    await terminal.shows(/ENDED/);

    const fit = asked("fit", "night.csv");
    expect(fit.sightings.used).toBe(STARS);
    for (const name of ["polarAltitude", "polarEast"] as const) {
      const term = fit.terms.find((one: { name: string }) => one.name === name);
      expect(Math.abs(term.value - truth[name]), name).toBeLessThan(4 * term.uncertainty);
      expect(term.uncertainty).toBeLessThan(1);
    }
    // What a notebook and a program get.
    const here = fitMount(openNightFolder(folder).night);
    for (const [k, term] of here.terms.entries()) expect(fit.terms[k].value).toBeCloseTo(term.value, 6);

    const { turns } = asked("turns", "night.csv");
    expect(turns.recommended).toBe(true);
    expect(Math.hypot(turns.after.altitude, turns.after.east)).toBeLessThan(2);

    asked("desk", "night.csv", "--out", "desk.html");
    const values = Object.fromEntries(
      fit.terms.map(({ name, value }: { name: string; value: number }) => [name, value]),
    );
    const stars = (plan.stars as { star: string }[]).map(({ star }) => [star, { star }] as const);
    const objects = [...messier(), ...stars];
    const browser = await chromium.launch({ executablePath: PROGRAM, headless: true, args: FLAGS });
    try {
      const page = await (await browser.newContext()).newPage();
      const startMs = 1000 * Math.ceil(Date.now() / 1000) + 10 * 60_000;
      await page.clock.install({ time: startMs - 60_000 });
      await page.clock.pauseAt(startMs);
      await page.goto(pathToFileURL(join(folder, "desk.html")).href, { waitUntil: "domcontentloaded" });
      await page.clock.runFor(3000);
      let compared = 0;
      for (const [name, place] of objects) {
        if (compared === 10) break;
        const seen = await model.readings(values, startMs, place);
        if (seen.altitudeDeg < 30) continue;
        await page.locator("#search").blur();
        await page.keyboard.press("/");
        await page.keyboard.type(name);
        await page.keyboard.press("Enter");
        await page.fill("#search", "");
        await page.clock.fastForward(7 * 60_000);
        await page.clock.runFor(1130);
        const shown = await page.evaluate(() => ({
          hourAngle: document.getElementById("hour-angle-reading")!.textContent,
          declination: document.getElementById("declination-reading")!.textContent,
          now: Date.now(),
          utc: document.getElementById("utc")!.textContent,
        }));
        if (shown.hourAngle === "—") continue;
        const timeMs = 1000 * Math.floor(shown.now / 1000);
        expect(new Date(timeMs).toISOString().slice(11, 19)).toBe(shown.utc.slice(0, 8));
        const [hourAngle, declination] = [shown.hourAngle, shown.declination].map((text) =>
          Number(text.replace("−", "-")),
        ) as [number, number];
        const expected = await model.readings(values, timeMs, place);
        expect(apart(hourAngle, expected.hourAngle), `${name} hour angle`).toBeLessThan(AGREES_ARCMIN);
        expect(apart(declination, expected.declination), `${name} declination`).toBeLessThan(AGREES_ARCMIN);
        const found = asked("find", "night.csv", name, "--at", new Date(timeMs).toISOString()).found[0];
        expect(apart(hourAngle, found.predicted.hourAngle)).toBeLessThan(0.02);
        expect(apart(declination, found.predicted.declination)).toBeLessThan(0.02);
        compared += 1;
      }
      expect(compared).toBeGreaterThanOrEqual(8);
    } finally {
      await browser.close();
    }
  }, 240_000);
});
