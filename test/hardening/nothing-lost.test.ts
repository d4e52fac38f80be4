/** Nights that are added to under hard conditions: two programs at once, a full disk, a folder that takes nothing. */
import { type ChildProcess, spawn, spawnSync } from "node:child_process";
import {
  cpSync,
  mkdirSync,
  mkdtempSync,
  readFileSync,
  renameSync,
  rmSync,
  symlinkSync,
  writeFileSync,
} from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { pathToFileURL } from "node:url";
import { afterAll, beforeAll, beforeEach, describe, expect, it } from "vitest";
import { JournalError } from "../../src/files/journal.js";
import {
  MOUNT_FILE,
  NIGHT_FILE,
  openNightFolder,
  readMountFile,
  readNightFile,
} from "../../src/files/night-folder.js";
import { openNight } from "../../src/notebook/open-night.js";
import { BUILD_TIMEOUT_MS, built, packageFolder } from "../support/built.js";

const ROWS_EACH = 60;
let root = "";
let folder = "";
let script = "";

beforeAll(async () => {
  root = mkdtempSync(join(tmpdir(), "polewright-lost-"));
  const module = pathToFileURL(await built("files/night-folder.js")).href;
  script = join(root, "enter.mjs");
  // Says what it has been told is on the disk; every fifth sighting is taken back at once.
  writeFileSync(
    script,
    `import { writeSync } from "node:fs";
     import { openNightFolder } from ${JSON.stringify(module)};
     const [folder, hour, count, every] = process.argv.slice(2);
     const night = openNightFolder(folder);
     for (let n = 0; n < Number(count); n++) {
       const time = \`2026-03-14T\${hour}:\${String(Math.floor(n / 60)).padStart(2, "0")}:\${String(n % 60).padStart(2, "0")}Z\`;
       try {
         night.append({ time, star: "Sirius", hourAngle: n, declination: -n, note: 'seeing 3", "gusts"' });
         writeSync(1, time + "\\n");
       } catch (problem) { writeSync(1, JSON.stringify({ code: problem.code, message: problem.message }) + "\\n"); break; }
       if (Number(every) > 0 && n % Number(every) === 0) {
         const mine = night.night.sightings.filter((one) => one.time === time)[0];
         night.withdraw(mine.row);
         writeSync(1, "back " + time + "\\n");
       }
     }`,
  );
}, BUILD_TIMEOUT_MS);
afterAll(() => rmSync(root, { recursive: true, force: true }));

let nights = 0;
beforeEach(() => {
  nights += 1;
  folder = join(root, `night-${nights}`);
  mkdirSync(folder);
  cpSync(join(packageFolder, "data/first-light", MOUNT_FILE), join(folder, MOUNT_FILE));
  writeFileSync(join(folder, NIGHT_FILE), "time,star,hourAngle,declination,note\n");
});

function enter(hour: string, count: number, every: number): { child: ChildProcess; said: Promise<string[]> } {
  const child = spawn(process.execPath, [script, folder, hour, String(count), String(every)], {
    stdio: ["ignore", "pipe", "inherit"],
  });
  let text = "";
  child.stdout!.on("data", (chunk) => {
    text += String(chunk);
  });
  return {
    child,
    said: new Promise((done) => child.once("close", () => done(text.split("\n").filter(Boolean)))),
  };
}

const readAgain = () => readNightFile(join(folder, NIGHT_FILE), readMountFile(join(folder, MOUNT_FILE)));

describe("two programs on one night", () => {
  it("mix no rows, lose none, and take back only their own", async () => {
    const both = [enter("18", ROWS_EACH, 5), enter("19", ROWS_EACH, 7)];
    const said = (await Promise.all(both.map((one) => one.said))).flat();
    const { night, warnings } = readAgain();
    expect(warnings).toEqual([]);
    expect(night.sightings).toHaveLength(2 * ROWS_EACH);
    const back = new Set(said.filter((line) => line.startsWith("back ")).map((line) => line.slice(5)));
    for (const time of said.filter((line) => !line.startsWith("back "))) {
      const found = night.sightings.filter((one) => one.time === time);
      expect(found, time).toHaveLength(1);
      expect(found[0]!.use, time).toBe(!back.has(time));
      expect(found[0]!.note).toContain('seeing 3", "gusts"');
    }
    expect(back.size).toBeGreaterThan(15);
  });

  it("of which one is killed lose nothing that it was told is safe", async () => {
    const other = enter("19", ROWS_EACH, 0);
    const killed = enter("18", 10_000, 0);
    await new Promise<void>((done) => {
      let lines = 0;
      killed.child.stdout!.on("data", (chunk) => {
        lines += String(chunk).split("\n").length - 1;
        if (lines > 20) done();
      });
    });
    killed.child.kill("SIGKILL");
    const said = [...(await killed.said), ...(await other.said)];
    const times = new Set(readAgain().night.sightings.map((one) => one.time));
    for (const time of said) expect(times, time).toContain(time);
    // The night goes on.
    openNightFolder(folder).append({
      time: "2026-03-14T21:00:00Z",
      star: "Canopus",
      hourAngle: 1,
      declination: 2,
    });
    expect(readAgain().night.sightings.at(-1)?.star).toBe("Canopus");
  });
});

/** A sighting that the disk refuses, and how that is said. */
function refusal(enterIt: () => unknown): JournalError {
  try {
    enterIt();
  } catch (problem) {
    if (problem instanceof JournalError) return problem;
    throw problem;
  }
  throw new Error("The sighting was accepted.");
}

describe("a night that cannot be written to", () => {
  const canopus = { hourAngle: 1877, declination: -1460 };
  const when = { at: "2026-03-14T19:22:10Z" };
  const line = "2026-03-14T19:22:10Z,Canopus,1877,-1460";

  function says(problem: JournalError, code: string): void {
    expect(problem.code).toBe(code);
    expect(problem.message).toContain("NOT");
    expect(problem.message.split("\n").at(-1)).toContain(line);
  }

  it("because the disk is full says so and gives the sighting back", () => {
    // A limit on the size of files stands for the end of the disk; 1024 bytes are full after some rows.
    const done = spawnSync(
      "bash",
      ["-c", 'ulimit -f 1; exec "$@"', "bash", process.execPath, script, folder, "18", "60", "0"],
      { encoding: "utf8" },
    );
    const answers = done.stdout.trim().split("\n");
    const { code, message } = JSON.parse(answers.at(-1)!);
    expect(code).toBe("disk-full");
    expect(message).toMatch(/disk is full|may not grow/);
    expect(message.split("\n").at(-1)).toMatch(/^2026-03-14T18:00:\d\dZ,Sirius,\d+,-\d+/);
    // What was accepted is there; what was cut short in its middle is put aside with a warning.
    const before = readAgain();
    expect(before.night.sightings.map((one) => one.time)).toEqual(answers.slice(0, -1));
    // With space again, the night goes on behind it.
    openNight(folder).sight("Canopus", canopus, when);
    const after = readAgain();
    expect(after.night.sightings.at(-1)?.star).toBe("Canopus");
    expect(after.night.sightings).toHaveLength(answers.length);
    expect(after.warnings.map((one) => one.code)).toEqual(["torn-line"]);
  });

  it("because its disk never has room (the device that is always full) says so", () => {
    const night = openNight(folder);
    rmSync(join(folder, NIGHT_FILE));
    symlinkSync("/dev/full", join(folder, NIGHT_FILE));
    // The columns are read first, and that device reads as zeros for ever: it is refused as no night file.
    const problem = refusal(() => night.sight("Canopus", canopus, when));
    says(problem, "no-night-file");
  });

  it("because its folder is gone gives the sighting back", () => {
    const night = openNight(folder);
    renameSync(folder, `${folder}-moved`);
    says(
      refusal(() => night.sight("Canopus", canopus, when)),
      "no-night-file",
    );
  });

  it("because a file or a folder stands in its place gives the sighting back", () => {
    const night = openNight(folder);
    rmSync(join(folder, NIGHT_FILE));
    mkdirSync(join(folder, NIGHT_FILE));
    says(
      refusal(() => night.sight("Canopus", canopus, when)),
      "no-night-file",
    );
    rmSync(folder, { recursive: true });
    writeFileSync(folder, "not a folder");
    says(
      refusal(() => night.sight("Canopus", canopus, when)),
      "no-night-file",
    );
  });

  it("keeps the sighting when a neighbour spoils the file while it is entered", () => {
    const night = openNight(folder);
    writeFileSync(join(folder, NIGHT_FILE), `${readFileSync(join(folder, NIGHT_FILE), "utf8")}nonsense\n`);
    night.sight("Canopus", canopus, when);
    expect(readFileSync(join(folder, NIGHT_FILE), "utf8")).toContain(line);
  });

  it("tells a judgement that fails in the answer, because the sighting is on the disk", () => {
    const mount = JSON.parse(readFileSync(join(folder, MOUNT_FILE), "utf8"));
    // A term of the builder's own that has no value east of the meridian.
    mount.customTerms = [{ name: "customRoot", hourAngle: "sqrt(hourAngle)", tolerance: 1 }];
    writeFileSync(join(folder, MOUNT_FILE), JSON.stringify(mount));
    const rows = readFileSync(join(packageFolder, "data/first-light", NIGHT_FILE), "utf8")
      .split("\n")
      .filter((row) => /^2026.*,(Menkar|Acamar|Aldebaran|Rigel|Betelgeuse|Elnath|Arneb|Phact),/.test(row));
    writeFileSync(
      join(folder, NIGHT_FILE),
      `time,star,hourAngle,declination,note\n${rows.map((row) => `${row},\n`).join("")}`,
    );
    const answer = openNight(folder).sight(
      "Regulus",
      { hourAngle: -1803, declination: -469 },
      { at: "2026-03-14T18:30:46Z" },
    );
    expect(answer.text).toContain("is on the disk");
    expect(answer.standing).toBe("doubtful");
    expect(answer.text).toContain("no finite value");
    expect(readAgain().night.sightings.at(-1)?.star).toBe("Regulus");
  });
});
