/** What `describe` says of the files is what their readers take. */
import { spawnSync } from "node:child_process";
import { readFileSync } from "node:fs";
import { Ajv2020 } from "ajv/dist/2020.js";
import { expect, it } from "vitest";
import { describe } from "../../src/answers/describe.js";
import { parseMount } from "../../src/mount/mount-file.js";
import { readNight } from "../../src/night/night-file.js";
import { BUILD_TIMEOUT_MS, built, packageFolder } from "../support/built.js";

interface Entry {
  readonly name: string;
  readonly needed: boolean;
  readonly allowed: string;
  readonly example?: string;
  readonly default?: string;
}

const noFiles = {} as Parameters<typeof describe.answer>[1];
async function entries(file: string): Promise<readonly Entry[]> {
  const told = await describe.answer({ file }, noFiles);
  return (told.json as { entries: readonly Entry[] }).entries;
}

const demo = JSON.parse(readFileSync(new URL("../../data/first-light/mount.json", import.meta.url), "utf8"));

it("names every key of the demonstration's mount file, and its defaults as they are filled in", async () => {
  const told = new Map((await entries("mount")).map((one) => [one.name, one]));
  const keys = (value: object, path = ""): string[] =>
    Object.entries(value).flatMap(([key, inner]) => {
      const name = path === "" ? key : `${path}.${key}`;
      if (Array.isArray(inner) && typeof inner[0] === "object" && !Array.isArray(inner[0]))
        return [`${name}[]`, ...inner.flatMap((one) => keys(one, `${name}[]`))];
      return typeof inner === "object" && inner !== null && !Array.isArray(inner)
        ? [name, ...keys(inner, name)]
        : [name];
    });
  for (const key of keys(demo)) expect(told.has(key), key).toBe(true);
  const { centringArcmin, ...without } = demo;
  expect(told.get("centringArcmin")?.default).toBe(String(parseMount(without).centringArcmin));
  expect(told.get("site.latitude")?.needed).toBe(true);
  expect(told.get("site.heightM")?.needed).toBe(false);
  // The examples are those of a new folder's mount file, as JSON has them.
  expect(told.get("base.jacks[].eastMm")?.example).toBe("600");
  expect(told.get("limits.hourAngleHours")?.example).toBe("[-6,6]");
});

it.each(["night", "turned", "drifts", "track"])(
  "describes each column of the %s file with an example",
  async (file) => {
    const columns = await entries(file);
    expect(columns.length).toBeGreaterThan(4);
    for (const one of columns) expect(`${one.example}`.length, one.name).toBeGreaterThan(0);
    expect(columns.some((one) => one.needed)).toBe(true);
  },
);

it("the needed columns of the night file are those that its reader asks for", async () => {
  const mount = parseMount(demo);
  const needed = (await entries("night")).filter((one) => one.needed).map((one) => one.name);
  expect(needed).toEqual(expect.arrayContaining(["time", "star", "hourAngle", "declination"]));
  for (const name of ["time", "hourAngle", "declination"]) {
    const header = ["time", "star", "hourAngle", "declination"].filter((one) => one !== name).join(",");
    expect(() => readNight(`${header}\n`, mount, "night.csv"), name).toThrow(name);
  }
});

it("the schema of the mount file takes the demonstration's, and refuses a wrong type and an unknown key", () => {
  const schema = JSON.parse(
    readFileSync(new URL("../../data/schema/mount.schema.json", import.meta.url), "utf8"),
  );
  const check = new Ajv2020({ strict: true, allowUnionTypes: true }).compile(schema);
  expect(check(demo), JSON.stringify(check.errors)).toBe(true);
  expect(check({ ...demo, site: { ...demo.site, latitude: "30" } })).toBe(false);
  expect(check({ ...demo, jacks: [] })).toBe(false);
  expect(parseMount({ ...demo, $schema: "mount.schema.json" }).name).toBe(demo.name);
});

it(
  "the committed schemas are what the code says",
  async () => {
    await built("mount/mount-schema.js");
    const { status, stderr } = spawnSync(process.execPath, [".dev/make-schemas.mjs", "--check"], {
      cwd: packageFolder,
      encoding: "utf8",
    });
    expect(status, stderr).toBe(0);
  },
  BUILD_TIMEOUT_MS,
);
