/** The evening's questions from outside: tonight on a kept model, a timetable, local time. */
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
for (const name of ["fit", "tonight"])
  ajv.addSchema(JSON.parse(readFileSync(join(ROOT, "data/schema", `${name}.schema.json`), "utf8")));

function polewright(...args: string[]) {
  const done = spawnSync(process.execPath, [main, ...args], { cwd: folder, encoding: "utf8" });
  return { code: done.status, out: done.stdout, flat: done.stdout.replace(/\s+/g, " "), err: done.stderr };
}

/** The first rows of the demonstration night, with so much added to the declination of the last ones. */
function firstStars(name: string, stars: number, moved = 0): void {
  const lines = readFileSync(join(folder, "night.csv"), "utf8").split("\n");
  const head = lines.findIndex((line) => line.startsWith("time,"));
  const rows = lines.slice(head + 1, head + 1 + stars).map((line, index) => {
    const cells = line.split(",");
    if (index > 0) cells[3] = String(Number(cells[3]) + moved * index);
    return cells.join(",");
  });
  writeFileSync(join(folder, name), [lines[head], ...rows, ""].join("\n"));
}

beforeAll(async () => {
  main = await built("cli/main.js");
  folder = mkdtempSync(join(tmpdir(), "polewright-evening-"));
  cpSync(join(ROOT, "data/first-light"), folder, { recursive: true });
  expect(polewright("keep", "night.csv", "--out", "kept.json").code).toBe(0);
}, BUILD_TIMEOUT_MS);
afterAll(() => rmSync(folder, { recursive: true, force: true }));

it("tonight says first whether the mount stands as kept; JSON as its schema describes", () => {
  const cases = [
    [1, 0, "not-known-yet", /^Not known yet/, 0],
    [4, 0, "as-kept", /^The mount stands as kept/, 0],
    [4, 40, "contradicts-model", /^! The mount does not stand as kept/, 1],
  ] as const;
  for (const [stars, moved, standing, says, code] of cases) {
    firstStars("tonight.csv", stars, moved);
    const text = polewright("tonight", "tonight.csv", "--model", "kept.json");
    expect(text.code, text.err).toBe(code);
    expect(text.out.split("\n")[3]).toMatch(says);
    const json = JSON.parse(polewright("tonight", "tonight.csv", "--model", "kept.json", "--json").out);
    const check = ajv.getSchema("tonight.schema.json")!;
    expect(check(json), JSON.stringify(check.errors)).toBe(true);
    expect(json.standing).toBe(standing);
  }
  const found = polewright(
    "find",
    "tonight.csv",
    "--model",
    "kept.json",
    "Canopus",
    "--at",
    "2026-03-14T19:00:00Z",
  );
  expect(found.flat).toContain("contradict the kept model");
  expect(found.flat).not.toContain("it will stand in the camera's field");
});

it("makes a timetable in local time, with a CSV beside it", () => {
  const mount = JSON.parse(readFileSync(join(folder, "mount.json"), "utf8"));
  mount.site.timeZone = "Africa/Johannesburg";
  writeFileSync(join(folder, "local.json"), JSON.stringify(mount));
  const evening = ["--at", "2026-03-14T20:30", "--until", "2026-03-14T22:30", "--mount", "local.json"];
  const table = polewright("find", "night.csv", ...evening, "--minutes-each", "20", "--csv", "evening.csv");
  expect(table.code, table.err).toBe(0);
  expect(table.flat).toContain("Times are local, Africa/Johannesburg (UTC+02:00).");
  expect(table.flat).toContain("20:30 (18:30 UTC)");
  expect(table.flat).toContain("What to look for");
  const csv = readFileSync(join(folder, "evening.csv"), "utf8").split("\r\n");
  expect(csv).toHaveLength(8);
  expect(csv[1]).toMatch(/^2026-03-14T18:30:00Z,2026-03-14T18:40:00Z/);
  // The same without a zone in the mount file is refused.
  const refused = polewright("find", "night.csv", "--at", "2026-03-14T20:30", "Canopus");
  expect(refused.code).toBe(1);
  expect(refused.err).toContain("no zone");
});
