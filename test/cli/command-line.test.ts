/** The command line from outside: exit codes, JSON by its schemas (data/schema), sentences for unusable input. */
import { spawnSync } from "node:child_process";
import { cpSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { Ajv2020 } from "ajv/dist/2020.js";
import { afterAll, beforeAll, expect, it } from "vitest";
import { BUILD_TIMEOUT_MS, built } from "../support/built.js";

const ROOT = new URL("../../", import.meta.url).pathname;
let main = "";
let folder = "";
const ajv = new Ajv2020({ strict: false });
const schemas: Record<string, object> = {};
for (const name of ["fit", "turns", "drift", "exposure", "error"]) {
  schemas[name] = JSON.parse(readFileSync(join(ROOT, "data/schema", `${name}.schema.json`), "utf8"));
  ajv.addSchema(schemas[name]!);
}

function polewright(...args: string[]) {
  const done = spawnSync(process.execPath, [main, ...args], { cwd: folder, encoding: "utf8" });
  return { code: done.status, out: done.stdout, err: done.stderr };
}

function valid(name: string, text: string): Record<string, unknown> {
  const json = JSON.parse(text) as Record<string, unknown>;
  const check = ajv.getSchema(`${name}.schema.json`)!;
  expect(check(json), JSON.stringify(check.errors)).toBe(true);
  return json;
}

beforeAll(async () => {
  main = await built("cli/main.js");
  folder = mkdtempSync(join(tmpdir(), "polewright-cli-"));
  cpSync(join(ROOT, "data/first-light"), folder, { recursive: true });
}, BUILD_TIMEOUT_MS);
afterAll(() => rmSync(folder, { recursive: true, force: true }));

it("answers a fit and turns as JSON that the schemas describe", () => {
  const fit = polewright("fit", "night.csv", "--mount", "mount.json", "--json");
  expect(fit.code).toBe(0);
  valid("fit", fit.out);
  const turns = polewright("turns", "night.csv", "--mount", "mount.json", "--json");
  expect(turns.code).toBe(0);
  const json = valid("turns", turns.out) as { turns: { recommended: boolean; jacks: object[] } };
  expect(json.turns.recommended).toBe(true);
  expect(json.turns.jacks).toHaveLength(4);
});

it("answers drifts and exposures as JSON that the schemas describe", () => {
  writeFileSync(
    join(folder, "drifts.csv"),
    "hourAngleDeg,declinationDeg,minutes,driftNorthArcsec\n5,0,10,26\n-70,5,10,-9\n",
  );
  const alone = polewright("drift", "drifts.csv", "--json");
  expect(alone.code).toBe(0);
  expect(valid("drift", alone.out).comparison).toBeNull();
  const held = polewright("drift", "drifts.csv", "--night", "night.csv", "--json");
  expect(held.code).toBe(0);
  expect(valid("drift", held.out).comparison).not.toBeNull();
  const sky = polewright("exposure", "night.csv", "--json");
  expect(sky.code).toBe(0);
  expect(valid("exposure", sky.out).exposures).toEqual([]);
  const at = ["--at", "2026-03-14T20:00:00Z", "--seconds", "20"];
  const named = polewright("exposure", "night.csv", "M 42", ...at, "--json");
  expect(named.code).toBe(0);
  expect(valid("exposure", named.out).exposures).toHaveLength(1);
});

it("prints text of at most 80 columns", () => {
  const { out } = polewright("turns", "night.csv");
  expect(Math.max(...out.split("\n").map((line) => line.length))).toBeLessThanOrEqual(80);
  expect(out).toContain("Two people");
});

it("gives no turns and exit 1 for a reversed encoder, and says what mends it", () => {
  const mount = readFileSync(join(folder, "mount.json"), "utf8").replace('"sense": -1', '"sense": 1');
  writeFileSync(join(folder, "reversed.json"), mount);
  const { code, out } = polewright("turns", "night.csv", "--mount", "reversed.json", "--json");
  expect(code).toBe(1);
  const json = valid("turns", out) as {
    notes: { code: string; remedy: string }[];
    turns: { recommended: boolean; jacks: { turns: number }[] };
  };
  const note = json.notes.find((one) => one.code === "sense-reversed");
  expect(note?.remedy).toContain("readings.declination.sense to -1");
  expect(json.turns.recommended).toBe(false);
  expect(json.turns.jacks.every((jack) => jack.turns === 0)).toBe(true);
});

it("reports all faults at once on stderr, and as JSON where JSON was asked for", () => {
  writeFileSync(
    join(folder, "faulty.csv"),
    "time,star,hourAngle,declination\n2026-03-14T18:00:00,Sirius,1,2\n2026-03-14T18:02:00Z,Sirus,x,3\n",
  );
  const { code, out, err } = polewright("fit", "faulty.csv", "--json");
  expect(code).toBe(1);
  const json = valid("error", out) as { error: { faults: { code: string; line: number }[] } };
  expect(json.error.faults.map((fault) => [fault.line, fault.code])).toEqual([
    [2, "time-without-zone"],
    [3, "unknown-star"],
    [3, expect.any(String)],
  ]);
  expect(err).toContain("Sirius");
});

it.each([[["fit"]], [["fit", "night.csv", "--nonsense"]], [["dance"]]])("calls %j wrong usage", (args) => {
  expect(polewright(...args).code).toBe(2);
});
