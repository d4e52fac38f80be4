/** What drive, months and compare answer as JSON, by their schemas. */
import { readFileSync } from "node:fs";
import { Ajv2020 } from "ajv/dist/2020.js";
import { describe, expect, it } from "vitest";
import type { Question, Reading } from "../../src/answers/answer.js";
import { compare } from "../../src/answers/compare.js";
import { driveOf } from "../../src/answers/drive.js";
import { keep } from "../../src/answers/keep.js";
import { monthsOf } from "../../src/answers/months.js";
import { jsonText } from "../../src/cli/give.js";
import { reportText } from "../../src/report/text.js";
import { gaussian, seededRandom } from "../../src/simulate/random.js";
import { simulateNight } from "../../src/simulate/simulate-night.js";
import { nowhereMount } from "../support/fit-fixture.js";

const ajv = new Ajv2020({ strict: true, allowUnionTypes: true, allErrors: true });
for (const name of ["drive", "months", "compare"])
  ajv.addSchema(
    JSON.parse(readFileSync(new URL(`../../data/schema/${name}.schema.json`, import.meta.url), "utf8")),
  );

const mount = {
  ...nowhereMount,
  drive: {
    parts: [{ name: "worm", periodS: 478.7 }],
    rollerDiameterMm: 50,
    ringDiameterMm: 900,
    wormTeeth: null,
    reduction: null,
    stepsPerTurn: null,
    stepRateHz: 102.4,
  },
};
const random = seededRandom(4);
const track = [
  "time,star,westArcsec,northArcsec",
  ...Array.from({ length: 200 }, (_, i) => {
    const seconds = 20 * i;
    const west = 0.004 * seconds + 6 * Math.sin((2 * Math.PI * seconds) / 478.7) + gaussian(random);
    const time = new Date(Date.UTC(2026, 2, 14, 19) + 1000 * seconds).toISOString();
    return `${time},${i === 0 ? "Procyon" : ""},${west.toFixed(3)},${gaussian(random).toFixed(3)}`;
  }),
].join("\n");

const nights = [0, 1, 2, 3].map((k) => {
  const fromMs = Date.UTC(2026, k, 14, 18);
  return simulateNight({
    seed: 50 + k,
    mount,
    terms: { polarAltitude: 5, polarEast: -4 + 3 * k },
    targets: 12,
    fromMs,
    toMs: fromMs + 7_200_000,
  });
});
const files: Record<string, string> = { "track.csv": track };
const read: Reading = {
  night: (path) => ({ mount, night: { mount, sightings: nights[Number(path[5])]!.sightings } }) as never,
  mount: () => mount,
  text: (path) => files[path]!,
};

async function answered(question: Question, values: object, schema?: string) {
  const told = await question.answer(values as Record<string, unknown>, read);
  if (schema !== undefined) {
    const check = ajv.getSchema(`${schema}.schema.json`)!;
    expect(check(JSON.parse(jsonText({ version: "0.0.0", ...told.json }))) ? null : check.errors).toBeNull();
  }
  const text = told.reports.map((report) => reportText(report, { width: 80 })).join("\n");
  expect(text).not.toMatch(/NaN|undefined|null|unknown\b(?! part)/);
  return { ...told, text, figures: await told.figures() };
}

describe("the answers", () => {
  it("of drive: with the axis by a night, and without", async () => {
    const alone = await answered(driveOf, { track: "track.csv" }, "drive");
    expect(alone.text).toContain("worm");
    expect(alone.figures).toHaveLength(4);
    const night = await answered(driveOf, { track: "track.csv", night: "night0" }, "drive");
    const json = night.json as { polar: { sigmas: number | null }; cautions: string[] };
    expect(json.polar.sigmas).not.toBeNull();
    expect(json.cautions.length).toBeGreaterThan(2);
    await expect(answered(driveOf, { track: "track.csv", night: "night0", model: "x" })).rejects.toThrow(
      /not by both/,
    );
  });

  it("of keep, months and compare", async () => {
    for (const k of [0, 1, 2, 3]) {
      const told = await keep.answer({ night: `night${k}`, out: `kept${k}.json` }, read);
      files[`kept${k}.json`] = told.writes[0]!.text;
    }
    const kept = [0, 1, 2, 3].map((k) => `kept${k}.json`);
    const found = await answered(monthsOf, { kept }, "months");
    expect(found.text).toMatch(/polar axis.* drifts/);
    // A picture of each term that changed, and of none that stood still.
    const { terms } = found.json as { terms: { verdict: string }[] };
    const changed = terms.filter(({ verdict }) => verdict !== "steady" && verdict !== "not told");
    expect(found.figures).toHaveLength(changed.length);
    expect(changed.length).toBeGreaterThan(0);
    expect(changed.length).toBeLessThan(terms.length);
    const compared = await answered(compare, { older: kept[0], newer: kept[3] }, "compare");
    expect(compared.text).toContain("All terms together decide");
    const model = await answered(driveOf, { track: "track.csv", model: kept[0] }, "drive");
    expect((model.json as { polar: { sigmas: number | null } }).polar.sigmas).not.toBeNull();
  });
});
