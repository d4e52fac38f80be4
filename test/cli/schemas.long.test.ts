/** Each command's answers as data/schema describes them, from the demonstration's files, by ajv. */
import { spawnSync } from "node:child_process";
import { cpSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { Ajv2020 } from "ajv/dist/2020.js";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { questions } from "../../src/answers/list.js";
import { BUILD_TIMEOUT_MS, built, packageFolder } from "../support/built.js";

const HANG_MS = 60_000;
const folder = join(packageFolder, "data/schema");
const ajv = new Ajv2020({
  strict: true,
  strictTuple: false,
  strictRequired: false,
  allowUnionTypes: true,
  allErrors: true,
});
for (const file of readdirSync(folder)) ajv.addSchema(JSON.parse(readFileSync(join(folder, file), "utf8")));

let main = "";
let world = "";

function answered(line: string): unknown {
  const done = spawnSync(process.execPath, [main, ...line.split(" "), "--json"], {
    cwd: world,
    encoding: "utf8",
    maxBuffer: 1e8,
  });
  expect([0, 1], done.stderr).toContain(done.status);
  return JSON.parse(done.stdout);
}

function troubles(schema: string, value: unknown): unknown {
  const check = ajv.getSchema(`${schema}.schema.json`)!;
  return check(value) ? null : check.errors;
}

beforeAll(async () => {
  main = await built("cli/main.js");
  world = mkdtempSync(join(tmpdir(), "polewright-schemas-"));
  for (const name of ["first-light", "after-turning", "kept"])
    cpSync(join(packageFolder, "data", name), join(world, name), { recursive: true });
  answered("keep first-light/night.csv --out kept.json");
  const night = readFileSync(join(world, "first-light/night.csv"), "utf8").split("\n");
  const [head, ...rows] = night.filter((row) => !row.startsWith("#"));
  for (const [name, count] of [
    ["none", 0],
    ["two", 2],
    ["five", 5],
  ] as const)
    writeFileSync(join(world, "first-light", `${name}.csv`), [head, ...rows.slice(0, count), ""].join("\n"));
}, BUILD_TIMEOUT_MS);
afterAll(() => rmSync(world, { recursive: true, force: true }));

const evening = "--at 2026-03-14T19:00:00Z --until 2026-03-14T21:00:00Z";
const lines = [
  "fit first-light",
  "fit first-light/two.csv",
  "fit first-light/five.csv --as-entered",
  "turns first-light",
  "turns first-light/five.csv --altitude-by jacks",
  "turns first-light/two.csv",
  "rounds first-light/night.csv after-turning/night.csv --turned after-turning/turned.csv",
  "rounds first-light/night.csv after-turning/night.csv --turned after-turning/turned.csv --as-entered",
  "plan --from 2026-03-14T17:50:00Z --mount first-light/mount.json",
  "plan --from 2026-03-14T21:50:00Z --night first-light/night.csv --to-learn cone --teach --stars 3",
  "plan --from 2026-03-14T17:50:00Z --night first-light/two.csv --model kept.json --faintest 3",
  "plan --from 2026-03-14T12:00:00Z --daylight --mount first-light/mount.json",
  "tonight first-light --model kept.json",
  "tonight after-turning/night.csv --model kept.json",
  "tonight first-light/two.csv --model kept.json",
  "find first-light Jupiter Moon Sirius 5h,-20d nothing --at 2026-03-14T20:00:00Z",
  "find first-light Sirius Polaris --at 2026-03-14T20:00:00Z --now 3121,-1591",
  "find first-light/two.csv Sirius --at 2026-03-14T20:00:00Z --model kept.json",
  `find first-light ${evening}`,
  `find first-light/two.csv ${evening}`,
  `find first-light Sirius Jupiter Vega ${evening} --minutes-each 20`,
  `find first-light ${evening} --minutes-each 7`,
  "drift first-light/drifts.csv",
  "drift first-light/drifts.csv --night first-light/night.csv",
  "drive first-light/track.csv",
  "drive first-light/track.csv --night first-light/night.csv",
  "drive first-light/track.csv --model kept.json",
  "exposure first-light",
  "exposure first-light Sirius Moon --at 2026-03-14T20:00:00Z --seconds 30",
  "keep first-light --out kept2.json",
  "compare kept/kept-in-march.json first-light/night.csv",
  "compare kept/kept-in-march.json kept/kept-in-june.json --mount first-light/mount.json",
  "compare first-light/night.csv after-turning/night.csv",
  "months kept/kept-in-march.json kept/kept-in-april.json kept/kept-in-june.json --mount first-light/mount.json",
  "daylight --at 2026-03-14T09:00:00Z --mount first-light/mount.json",
  "daylight --at 2026-06-14T09:00:00Z --tilt 29.5 --finder 6 --mount first-light/mount.json",
  "desk first-light --out desk.html",
  "wrong-telescope --out wrong.html",
  "class-page poster --latitude -30 --out class.html",
  "procedure",
  "procedure level",
  "procedure backlash plus=3121,3122,3121 minus=3118,3119,3118 --mount first-light/mount.json",
  "explain cone",
  "explain polarAltitude --night first-light/night.csv",
  "describe mount",
  "describe night",
  "describe track",
];

describe("the answers are as their schemas say", () => {
  it.each(lines)("%s", { timeout: HANG_MS }, (line) => {
    const answer = answered(line);
    const failed = typeof answer === "object" && answer !== null && "error" in answer;
    expect(failed ? answer : null).toBeNull();
    expect(troubles(line.split(" ")[0]!, answer)).toBeNull();
  });

  it("for every command, errors and kept models too", () => {
    expect(new Set(lines.map((line) => line.split(" ")[0]))).toEqual(new Set(Object.keys(questions)));
    expect(troubles("error", answered("fit nowhere.csv"))).toBeNull();
    const files = ["kept.json", ...readdirSync(join(world, "kept")).map((name) => join("kept", name))];
    for (const file of files) {
      const model = JSON.parse(readFileSync(join(world, file), "utf8"));
      expect(troubles("kept-model", model), file).toBeNull();
      expect(troubles("kept-model", { ...model, terms: "none" })).not.toBeNull();
    }
  });
});
