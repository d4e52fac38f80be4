/** The JSON of fits and turns by its schemas, on many nights of every kind. */
import { readFileSync } from "node:fs";
import { join } from "node:path";
import { Ajv2020 } from "ajv/dist/2020.js";
import { describe, expect, it } from "vitest";
import { jackTurns } from "../../src/base/jack-turns.js";
import { jsonText } from "../../src/cli/answer.js";
import { fitJson, turnsJson } from "../../src/cli/fit-json.js";
import { type FitOptions, fitMount } from "../../src/fit/mount-fit.js";
import { parseMount } from "../../src/mount/mount-file.js";
import type { Night } from "../../src/night/night.js";
import type { SimulatedFault } from "../../src/simulate/options.js";
import { simulateNight } from "../../src/simulate/simulate-night.js";
import { parseTime } from "../../src/sky/time.js";
import { packageFolder } from "../support/built.js";
import { at, mountFiles } from "./ground.js";

// `strict: true` refuses a schema with a misspelt keyword; unions of types are meant (number or null).
const ajv = new Ajv2020({ strict: true, allowUnionTypes: true, allErrors: true });
for (const name of ["fit", "turns", "error"]) {
  ajv.addSchema(JSON.parse(readFileSync(join(packageFolder, "data/schema", `${name}.schema.json`), "utf8")));
}

function troubles(schema: "fit" | "turns", value: object): unknown {
  const check = ajv.getSchema(`${schema}.schema.json`)!;
  return check(JSON.parse(jsonText({ version: "0.0.0", ...value }))) ? null : check.errors;
}

function judge(night: Night, options: FitOptions = {}): void {
  const fit = fitMount(night, options);
  expect(troubles("fit", fitJson(fit))).toBeNull();
  if (night.mount.base === null) return;
  const advice = jackTurns(fit);
  expect(troubles("turns", { ...fitJson(fit), turns: turnsJson(advice) })).toBeNull();
  if (!fit.sound) expect(advice.recommended).toBe(false);
  if (!advice.recommended) expect(advice.jacks.every((jack) => jack.turns === 0)).toBe(true);
  for (const jack of advice.jacks) expect(jack.turns === 0).toBe(jack.direction === "none");
}

const evening = { fromMs: parseTime("2026-03-14T18:00Z"), toMs: parseTime("2026-03-14T22:00Z") };
const terms = {
  polarAltitude: 14,
  polarEast: -19,
  cone: 8,
  tubeSag: 2,
  hourAngleZero: 150,
  declinationZero: -90,
};
const faults: readonly (readonly SimulatedFault[])[] = [
  [],
  [{ kind: "misnamed", row: 4, instead: "neighbour" }],
  [{ kind: "outlier", row: 5, west: 40, north: -25 }],
  [{ kind: "zeros-moved", row: 6, hourAngle: 300, declination: -120 }],
  [{ kind: "sense-reversed", axis: "declination" }],
  [{ kind: "wrong-steps", axis: "hourAngle", factor: 2 }],
  [{ kind: "clock", hours: 2 }],
  [{ kind: "longitude-sign" }],
];

describe.each(mountFiles.map((file, index) => ({ file, index })))("mount $index", ({ file, index }) => {
  it.each(faults.map((fault) => [fault[0]?.kind ?? "nothing", fault] as const))(
    "with %s wrong answers as its schema says",
    (kind, fault) => {
      // A displayed right ascension has no encoder whose steps or sense could be wrong.
      if (kind === "wrong-steps" && index !== 0 && index !== 5) return;
      // Its own term is the root of the altitude, which stars entered at a wrong time have below 0.
      if ((kind === "clock" || kind === "longitude-sign") && index === 5) return;
      for (const latitude of [-29.37, 48.2]) {
        const mount = parseMount(at(file, latitude, 18.02));
        judge(simulateNight({ seed: 7 + index, mount, targets: 14, ...evening, terms, faults: fault }));
      }
    },
  );

  it("with few sightings, sets, sides and chosen terms answers as its schema says", () => {
    const mount = parseMount(file);
    for (const targets of [1, 2, 3, 6, 10]) {
      const night = simulateNight({
        seed: targets,
        mount,
        targets,
        ...evening,
        terms,
        beyond: "west",
        approach: "written",
      });
      judge(night);
      judge(night, { terms: ["polarAltitude", "polarEast", "hourAngleZero", "declinationZero"] });
      judge(night, { terms: ["polarEast"], catches: false });
      const sightings = night.sightings.map((one, n) => ({
        ...one,
        zeroSet: n % 2 ? "b" : "a",
        tubeSet: n % 3 ? "" : "turned",
      }));
      judge({ mount: night.mount, sightings });
    }
    judge({ mount, sightings: [] });
  });
});

it("the schemas refuse what they should", () => {
  const night = simulateNight({ seed: 1, mount: parseMount(mountFiles[0]!), targets: 8, ...evening, terms });
  const json = fitJson(fitMount(night)) as Record<string, unknown>;
  expect(troubles("fit", json)).toBeNull();
  for (const key of Object.keys(json)) {
    const { [key]: _, ...without } = json;
    expect(troubles("fit", without), key).not.toBeNull();
    expect(troubles("fit", { ...json, [key]: "x" }), key).not.toBeNull();
  }
  expect(troubles("fit", { ...json, more: 1 })).not.toBeNull();
  // JSON has no NaN: it would be written as null, which no schema here takes for a number.
  expect(troubles("fit", { ...json, condition: Number.NaN })).not.toBeNull();
});
