/** The command line from outside: exit codes, JSON by its schemas (data/schema), sentences for unusable input. */
import { spawn, spawnSync } from "node:child_process";
import { once } from "node:events";
import { cpSync, existsSync, mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
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

it("ends quietly when the reader of a long answer closes the pipe", async () => {
  const long = [
    "find",
    "night.csv",
    "--at",
    "2026-03-14T18:00:00Z",
    "--until",
    "2026-03-14T22:00:00Z",
    "--json",
  ];
  const child = spawn(process.execPath, [main, ...long, "--html", "after-pipe.html"], { cwd: folder });
  let err = "";
  child.stderr.on("data", (piece) => {
    err += piece;
  });
  // The reader is gone before the first word, so every word meets a closed pipe.
  child.stdout.destroy();
  const [code] = await once(child, "close");
  expect(err).toBe("");
  expect(code).toBe(0);
  expect(existsSync(join(folder, "after-pipe.html"))).toBe(true);
});

it("does not compare nights of different mounts or sites", () => {
  const other = join(folder, "other");
  mkdirSync(other);
  const mount = JSON.parse(readFileSync(join(folder, "mount.json"), "utf8"));
  writeFileSync(
    join(other, "mount.json"),
    JSON.stringify({ ...mount, name: "Other", site: { ...mount.site, latitude: -mount.site.latitude } }),
  );
  cpSync(join(folder, "night.csv"), join(other, "night.csv"));
  const { code, out, err } = polewright("compare", "night.csv", "other/night.csv", "--as-entered", "--json");
  expect(code).toBe(1);
  const json = valid("error", out) as { error: { code: string; faults: { path: string }[] } };
  expect(json.error.code).toBe("model-of-other-mount");
  expect(json.error.faults.map((fault) => fault.path)).toEqual(["latitude"]);
  expect(err).toContain("does not fit the mount of the newer one, Other");
  // A kept model against a night is refused likewise, each with the mount file beside it.
  expect(polewright("keep", "night.csv", "--out", "kept.json").code).toBe(0);
  expect(polewright("compare", "kept.json", "other/night.csv", "--as-entered").code).toBe(1);
  expect(polewright("compare", "kept.json", "night.csv").code).toBe(0);
});

it("says what find lacks: --until for --csv, or a target", () => {
  const at = ["--at", "2026-03-14T20:00:00Z"];
  const list = polewright("find", "night.csv", "Sirius", ...at, "--csv", "list.csv");
  expect(list.code).toBe(2);
  expect(list.err).toContain("--csv writes the evening's list, so it needs --until");
  expect(existsSync(join(folder, "list.csv"))).toBe(false);
  const none = polewright("find", "night.csv", ...at);
  expect(none.code).toBe(2);
  expect(none.err).toContain("name a target, or give --until for the evening's list");
});

it("plans, and works by day, with the mount file beside the night or in the working folder", () => {
  const plan = ["plan", "--from", "2026-03-14T20:00:00Z", "--stars", "2"];
  const day = ["daylight", "--at", "2026-03-14T09:00:00Z"];
  for (const args of [plan, day]) {
    const named = polewright(...args, "--mount", "mount.json");
    expect(named.code).toBe(0);
    expect(polewright(...args)).toEqual(named);
  }
  const empty = join(folder, "empty");
  mkdirSync(empty);
  const inEmpty = (args: readonly string[]) =>
    spawnSync(process.execPath, [main, ...args], { cwd: empty, encoding: "utf8" });
  for (const args of [plan, day]) {
    const { status, stderr } = inEmpty(args);
    expect(status).toBe(1);
    expect(stderr).toMatch(/^mount\.json: There is no mount file in this folder\. Allowed: --mount FILE/);
  }
  expect(inEmpty([...plan, "--night", "../night.csv"]).status).toBe(0);
});

it.each([
  ["plan", "--from"],
  ["find", "--at"],
  ["daylight", "--at"],
  ["keep", "--out"],
  ["rounds", "--turned"],
])("the help of %s says that %s is required, and no other", (command, option) => {
  const help = polewright(command, "--help").out.replace(/\n {10,}/g, " ");
  const required = help.split("\n").filter((line) => line.includes("(required)"));
  expect(required.map((line) => line.trim().split(" ")[0])).toEqual([option]);
});

it.each([
  ["drift", "hourAngleDeg,declinationDeg,minutes,driftNorthArcsec", []],
  ["drive", "time,star,westArcsec,northArcsec", []],
  ["keep", "time,star,hourAngle,declination", ["--out", "kept.json"]],
])("says of %s in which file there is too little", (command, header, options) => {
  writeFileSync(join(folder, "empty.csv"), `${header}\n`);
  const { code, err } = polewright(command, "empty.csv", ...options);
  expect(code).toBe(1);
  expect(err).toMatch(/^empty\.csv[,:]/);
});

it("says that a file has the name of the folder to be made", () => {
  const { code, err } = polewright("new", "night.csv");
  expect(code).toBe(1);
  expect(err).toContain("night.csv is a file that is there already, not a folder");
});
