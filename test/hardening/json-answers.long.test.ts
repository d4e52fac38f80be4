/** The JSON of fits, turns, drifts and exposures by its schemas, on many nights of every kind. */
import { readFileSync } from "node:fs";
import { join } from "node:path";
import { Ajv2020 } from "ajv/dist/2020.js";
import { describe, expect, it } from "vitest";
import { driftAnswer, driftJson } from "../../src/answers/drift.js";
import { type ExposureQuestion, exposureAnswer, exposureJson } from "../../src/answers/exposure.js";
import { fitJson } from "../../src/answers/fit.js";
import { turnsJson } from "../../src/answers/turns.js";
import { jackTurns } from "../../src/base/jack-turns.js";
import { jsonText } from "../../src/cli/give.js";
import type { DriftFields } from "../../src/drift/fields.js";
import { makeDrifts } from "../../src/drift/file.js";
import { type FitOptions, fitMount } from "../../src/fit/mount-fit.js";
import { parseMount } from "../../src/mount/mount-file.js";
import type { Night } from "../../src/night/night.js";
import { fieldOfEyepiece } from "../../src/pointing/field.js";
import type { SimulatedFault } from "../../src/simulate/options.js";
import { simulateNight } from "../../src/simulate/simulate-night.js";
import { parseTime } from "../../src/sky/time.js";
import { packageFolder } from "../support/built.js";
import { at, mountFiles } from "./ground.js";

// `strict: true` refuses a schema with a misspelt keyword; unions of types are meant (number or null).
const ajv = new Ajv2020({ strict: true, allowUnionTypes: true, allErrors: true });
for (const name of ["fit", "turns", "drift", "exposure", "error"]) {
  ajv.addSchema(JSON.parse(readFileSync(join(packageFolder, "data/schema", `${name}.schema.json`), "utf8")));
}

function troubles(schema: "fit" | "turns" | "drift" | "exposure", value: object): unknown {
  const check = ajv.getSchema(`${schema}.schema.json`)!;
  return check(JSON.parse(jsonText({ version: "0.0.0", ...value }))) ? null : check.errors;
}

function judge(night: Night, options: FitOptions = {}): void {
  const fit = fitMount(night, options);
  expect(troubles("fit", fitJson(fit))).toBeNull();
  if (night.mount.base === null) return;
  const advice = jackTurns(fit);
  expect(troubles("turns", turnsJson(fit, advice))).toBeNull();
  if (!fit.sound) expect(advice.recommended).toBe(false);
  if (!advice.recommended) expect(advice.jacks.every((jack) => jack.turns === 0)).toBe(true);
  for (const jack of advice.jacks) expect(jack.turns === 0).toBe(jack.direction === "none");
}

const exposed = (asked: ExposureQuestion) => exposureJson(asked.fit, exposureAnswer(asked).answer);

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
      for (const latitude of [-30, 48.2]) {
        const mount = parseMount(at(file, latitude, 20));
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

/** Drifts of every kind: where they tell both errors, one, or none; low; westward too; not fitting together. */
const drifts: Readonly<Record<string, readonly DriftFields[]>> = {
  "both errors": [
    { hourAngleDeg: 5, declinationDeg: 0, minutes: 10, driftNorthArcsec: 26, uncertaintyArcsec: 3 },
    { hourAngleDeg: -70, declinationDeg: 5, minutes: 10, driftNorthArcsec: -9, driftWestArcsec: 4 },
  ],
  "one way only": [{ hourAngleDeg: 0, declinationDeg: 0, minutes: 10, driftNorthArcsec: 26 }],
  nothing: [{ hourAngleDeg: 0, declinationDeg: 0, minutes: 1, driftNorthArcsec: 2, uncertaintyArcsec: 3000 }],
  "what does not fit together": [
    { hourAngleDeg: 2, declinationDeg: 0, minutes: 10, driftNorthArcsec: 200, uncertaintyArcsec: 1 },
    { hourAngleDeg: -2, declinationDeg: 0, minutes: 10, driftNorthArcsec: -200, uncertaintyArcsec: 1 },
    { hourAngleDeg: 75, declinationDeg: 0, minutes: 10, driftNorthArcsec: 90, uncertaintyArcsec: 1 },
  ],
  "stars by their names": [
    { star: "Sirius", time: "2026-03-14T19:00:00Z", minutes: 12, driftNorthArcsec: 20 },
    { star: "Spica", time: "2026-03-14T23:00:00Z", minutes: 12, driftWestArcsec: -6, uncertaintyArcsec: 2 },
  ],
};

describe("the evening's answers", () => {
  const nights = mountFiles.slice(0, 5).map((file, index) => {
    const mount = parseMount(file);
    return simulateNight({ seed: 20 + index, mount, targets: 12, ...evening, terms });
  });
  const reversed = simulateNight({
    seed: 3,
    mount: parseMount(mountFiles[0]!),
    targets: 14,
    ...evening,
    terms,
    faults: [{ kind: "sense-reversed", axis: "declination" }],
  });
  const unsound = fitMount(reversed);

  it.each(Object.entries(drifts))("from drifts that tell %s are as their schema says", (kind, fields) => {
    const seen = makeDrifts(fields);
    const codes = new Set<string>();
    for (const night of nights)
      for (const fit of [null, fitMount(night), unsound]) {
        const json = driftJson(driftAnswer(night.mount, seen, fit));
        expect(troubles("drift", json)).toBeNull();
        expect(json.comparison === null).toBe(fit === null || !fit.sound);
        if (kind in { "both errors": 0, "one way only": 0, nothing: 0 }) expect(json.drift.tells).toBe(kind);
        for (const note of json.drift.notes) codes.add(note.code);
      }
    if (kind === "one way only") expect(codes).toContain("one-way-only");
    if (kind === "what does not fit together")
      expect([...codes]).toEqual(expect.arrayContaining(["poor-fit", "low-star"]));
  });

  const places = [
    { label: "on the meridian", hourAngleDeg: 0, declinationDeg: -10 },
    { label: "far west", hourAngleDeg: 75, declinationDeg: -60 },
  ];

  it.each(nights.map((night, index) => ({ night, index })))(
    "on exposures with mount $index are as their schema says",
    ({ night }) => {
      const field = fieldOfEyepiece(0.5);
      for (const fit of [fitMount(night), fitMount({ mount: night.mount, sightings: [] })]) {
        const turns = night.mount.base === null ? null : jackTurns(fit);
        const stack = { count: 20, readNoiseE: 8, skyE: 2 };
        const json = exposed({ fit, targets: places, turns, field, exposureS: 120, seeingArcsec: 3, stack });
        expect(troubles("exposure", json)).toBeNull();
        // Without a sighting nothing is known of the axis, and no figure is given.
        expect(json.exposures.map((one) => one.unit)).toEqual(
          fit.sightings.used > 0 ? ["arcsec", "arcsec"] : [],
        );
      }
    },
  );

  it("on exposures by names, guided, and with an unsound fit are as their schema says", () => {
    const fit = fitMount(nights[0]!);
    const timeMs = parseTime("2026-03-14T20:00:00Z");
    const named = exposed({ fit, targets: ["M 42", "Sirius"], timeMs, guided: true });
    expect(troubles("exposure", named)).toBeNull();
    expect(named.goodEnough?.holding).toMatchObject({ unit: "px", guided: true, after: null });
    const wrong = exposed({ fit: unsound });
    expect(troubles("exposure", wrong)).toBeNull();
    expect(wrong.verdict).toBe("unsound");
    expect(wrong.goodEnough).toBeNull();
    expect(wrong.exposures).toEqual([]);
  });
});

/** Every answer that lacks a key, or has one too many, at any depth, or another type of value at the top. */
function* spoiltAnswers(whole: Record<string, unknown>): Generator<{ how: string; value: object }> {
  for (const key of Object.keys(whole)) {
    // A name and a sentence may be any text.
    if (key !== "mountName" && key !== "because")
      yield { how: `${key} is a text`, value: { ...whole, [key]: "x" } };
  }
  for (const path of objectPaths(whole)) {
    const copy = (): { root: Record<string, unknown>; inner: Record<string, unknown> } => {
      const root = structuredClone(whole);
      const inner = path.reduce((value, key) => value[key] as Record<string, unknown>, root);
      return { root, inner };
    };
    const more = copy();
    more.inner.more = 1;
    yield { how: `${path.join(".")} has a key more`, value: more.root };
    for (const key of Object.keys(more.inner)) {
      if (key === "more" || OPTIONAL.has(key)) continue;
      const less = copy();
      delete less.inner[key];
      yield { how: `${[...path, key].join(".")} is missing`, value: less.root };
    }
  }
}

/** Keys that a schema lets be left out. */
const OPTIONAL: ReadonlySet<string> = new Set(["set", "rows", "probability"]);

function objectPaths(value: unknown, path: readonly string[] = []): (readonly string[])[] {
  if (typeof value !== "object" || value === null) return [];
  const inner = Object.entries(value).flatMap(([key, item]) => objectPaths(item, [...path, key]));
  return Array.isArray(value) ? inner : [path, ...inner];
}

it("the schemas refuse what they should", () => {
  const night = simulateNight({ seed: 1, mount: parseMount(mountFiles[0]!), targets: 8, ...evening, terms });
  const fit = fitMount(night);
  const json = fitJson(fit) as Record<string, unknown>;
  const { mount } = night;
  const seen = makeDrifts(drifts["both errors"]!);
  const targets = [{ label: "on the meridian", hourAngleDeg: 0, declinationDeg: -10 }];
  const stack = { count: 20 };
  const answers = {
    fit: json,
    drift: driftJson(driftAnswer(mount, seen, fit)),
    exposure: exposed({ fit, targets, turns: jackTurns(fit), stack }),
  };
  for (const name of ["fit", "drift", "exposure"] as const) {
    const whole = answers[name] as Record<string, unknown>;
    expect(troubles(name, whole)).toBeNull();
    for (const spoilt of spoiltAnswers(whole))
      expect(troubles(name, spoilt.value), spoilt.how).not.toBeNull();
  }
  // JSON has no NaN: it would be written as null, which no schema here takes for a number.
  expect(troubles("fit", { ...json, condition: Number.NaN })).not.toBeNull();
});
