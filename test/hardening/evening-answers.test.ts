/** The JSON of plans, findings, lists, timetables, procedures, kept models and the desk, by their schemas. */
import { readFileSync } from "node:fs";
import { join } from "node:path";
import { Ajv2020 } from "ajv/dist/2020.js";
import { describe, expect, it } from "vitest";
import type { Question, Reading } from "../../src/answers/answer.js";
import { deskOf } from "../../src/answers/desk.js";
import { find } from "../../src/answers/find.js";
import { keep } from "../../src/answers/keep.js";
import { plan } from "../../src/answers/plan.js";
import { procedureOf } from "../../src/answers/procedure.js";
import { jsonText } from "../../src/cli/give.js";
import { procedures } from "../../src/procedures/procedures.js";
import { simulateNight } from "../../src/simulate/simulate-night.js";
import { nowhereMount } from "../support/fit-fixture.js";

const ajv = new Ajv2020({ strict: true, allowUnionTypes: true, strictRequired: false, allErrors: true });
for (const name of ["find", "plan", "procedure", "kept-model", "keep", "desk"])
  ajv.addSchema(
    JSON.parse(readFileSync(join(import.meta.dirname, "../../data/schema", `${name}.schema.json`), "utf8")),
  );

const german = { ...nowhereMount, kind: "german" as const };
const fromMs = Date.UTC(2026, 2, 14, 18);
const night = (targets: number, mount = nowhereMount) => ({
  mount,
  ...simulateNight({
    seed: 5,
    mount,
    targets,
    fromMs,
    toMs: fromMs + 7_200_000,
    terms: { polarAltitude: 5, polarEast: -4 },
  }),
});
const nights: Readonly<Record<string, ReturnType<typeof night>>> = {
  whole: night(14),
  few: night(3),
  none: { ...night(3), sightings: [] },
  german: night(14, german),
};
const files: Record<string, string> = {};
const read = {
  night: (path: string) => {
    const { mount, sightings } = nights[path]!;
    return { mount, night: { mount, sightings } };
  },
  mount: () => nowhereMount,
  text: (path: string) => files[path]!,
  page: () => '<script type="application/json" id="data">null</script>',
} as unknown as Reading;

interface Answered {
  readonly notes: readonly { readonly code: string; readonly message: string; readonly remedy: string }[];
}

async function answered(question: Question, values: object, schema = question.name): Promise<Answered> {
  const told = await question.answer(values as Record<string, unknown>, read);
  for (const { path, text } of told.writes) if (typeof text === "string") files[path] = text;
  const json = JSON.parse(jsonText({ version: "0.0.0", ...told.json }));
  const check = ajv.getSchema(`${schema}.schema.json`)!;
  expect(check(json) ? null : check.errors, JSON.stringify(values)).toBeNull();
  const { notes } = json as Answered;
  expect(new Set(notes.map(({ message }) => message)).size).toBe(notes.length);
  return json as Answered;
}

const at = "2026-03-14T20:00:00Z";
const until = "2026-03-14T22:00:00Z";
const targets = ["M 42", "Jupiter", "Canopus", "Spica", "no such thing"];

describe("the JSON of", () => {
  it.each(Object.keys(nights))("find by the night %s", async (name) => {
    const now = await answered(find, { night: name, targets, at });
    const codes = now.notes.map(({ code }) => code);
    if (name === "none") expect(codes).toContain("zeros-unknown");
    if (name === "few") expect(codes).toContain("few-sightings");
    if (name === "german") expect(codes).toContain("side-beyond");
    await answered(find, { night: name, targets, at, now: "3121,-1591" });
    await answered(find, { night: name, targets, at, until });
    await answered(find, { night: name, targets, at, until, minutesEach: 15 });
    const noon = await answered(find, {
      night: name,
      targets: ["Sirius"],
      at: "2026-03-14T12:00:00Z",
      daylight: true,
    });
    expect(noon.notes.map(({ code }) => code)).toContain("sun-up");
  });

  it("plan", async () => {
    const begun = await answered(plan, { from: at, stars: 5, night: "whole" });
    expect(begun.notes).toEqual([]);
    const fresh = await answered(plan, { from: at, stars: 5, night: "none", toLearn: "cone" });
    expect(fresh.notes.map(({ code }) => code)).toContain("zeros-unknown");
    await answered(plan, { from: at, stars: 4, night: "german" });
    const play = await answered(plan, { from: at, stars: 6, night: "none", toLearn: "hourAngleBacklash" });
    expect(play.notes.map(({ code }) => code)).toContain("both-sides");
  });

  it("keep, and the file that it writes", async () => {
    await answered(keep, { night: "whole", out: "kept.json" });
    const check = ajv.getSchema("kept-model.schema.json")!;
    expect(check(JSON.parse(files["kept.json"]!)) ? null : check.errors).toBeNull();
  });

  it("desk, and the data in its page", async () => {
    for (const name of ["whole", "none"]) {
      await answered(deskOf, { night: name, out: "desk.html" });
      const [, data] = /<script type="application\/json" id="data">([\s\S]*)<\/script>/.exec(
        files["desk.html"]!,
      )!;
      const check = ajv.getSchema("desk.schema.json#/$defs/data")!;
      expect(check(JSON.parse(data!)) ? null : check.errors).toBeNull();
    }
  });

  it("procedures: the list, each by its name, and each with its result", async () => {
    await answered(procedureOf, { words: [] });
    for (const { name } of procedures) await answered(procedureOf, { words: [name] });
    const done = [
      ["encoder-turn", "before=120", "after=-16264", "radiusMm=400"],
      ["encoder-diameter", "steps=1000", "ringMm=900", "wheelMm=50"],
      ["level", "hourAngle=7", "declination=2730"],
      ["backlash", "plus=3121,3122,3121", "minus=3118,3119,3118"],
    ];
    for (const words of done) {
      const json = await answered(procedureOf, { words });
      // Each has its picture.
      expect(
        (json as unknown as { result: { picture: object | null } }).result.picture,
        words[0],
      ).not.toBeNull();
    }
  });
});

it("the schemas refuse a missing key and an unknown one", async () => {
  const check = ajv.getSchema("find.schema.json")!;
  const told = await find.answer({ night: "whole", targets: ["M 42"], at }, read);
  const whole = JSON.parse(jsonText({ version: "0.0.0", ...told.json }));
  expect(check(whole)).toBe(true);
  for (const key of Object.keys(whole)) expect(check({ ...whole, [key]: undefined }), key).toBe(false);
  expect(check({ ...whole, more: 1 })).toBe(false);
  expect(check({ ...whole, notes: ["a text"] })).toBe(false);
});
