import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { type Fault, InputError } from "../../src/errors.js";
import { firstMount } from "../../src/mount/first-mount.js";
import { mountFileText, parseMount, parseMountText } from "../../src/mount/mount-file.js";
import { defaultTolerances } from "../../src/mount/mount-schema.js";

const SEED = 20260314;

type Json = Record<string, unknown>;
const example = (): Json => JSON.parse(JSON.stringify(firstMount)) as Json;

/** The example with the value at a path replaced; `undefined` takes the key out. */
function withValue(path: string, value: unknown): Json {
  const json = example();
  const keys = path.split(".");
  let place: Json = json;
  for (const key of keys.slice(0, -1)) place = place[key] as Json;
  const last = keys.at(-1)!;
  if (value === undefined) delete place[last];
  else place[last] = value;
  return json;
}

function faultsOf(read: () => unknown): readonly Fault[] {
  try {
    read();
  } catch (problem) {
    if (problem instanceof InputError) return problem.faults;
    throw problem;
  }
  return [];
}

const codesOf = (json: unknown): string[] =>
  faultsOf(() => parseMount(json)).map((fault) => `${fault.code} ${fault.path}`);

describe("a mount file that is right", () => {
  it("is read as it stands, the base's figures given to each jack", () => {
    const mount = parseMount(example());
    expect(mount.site).toEqual({
      latitude: -30,
      longitude: 20,
      heightM: 1000,
      pressureHPa: 900,
      temperatureC: 12,
      dut1S: 0,
    });
    expect(mount.readings.declination).toEqual({ as: "counts", perTurn: 16384, sense: -1, smallest: 1 });
    expect(mount.base?.jacks[2]).toEqual({
      name: "south-west",
      eastMm: -600,
      northMm: -800,
      pitchMm: 2,
      clockwise: "raises",
      smallestTurn: 0.125,
      raiseLeftMm: 30,
      lowerLeftMm: 10,
      softGround: false,
    });
    expect(mount.base?.azimuthBolts).toEqual({
      end: "south",
      leverMm: 1500,
      pitchMm: 1.5,
      smallestTurn: 0.125,
      travelMm: null,
    });
  });

  it("gets its documented defaults from the least that can be given", () => {
    const mount = parseMount({
      name: "least",
      site: { latitude: 51, longitude: 0 },
      readings: { hourAngle: { as: "hours", smallest: 0.01 }, declination: { as: "degrees", smallest: 0.1 } },
    });
    expect(mount).toEqual({
      name: "least",
      site: { latitude: 51, longitude: 0, heightM: 0, pressureHPa: 1013.3, temperatureC: 10, dut1S: 0 },
      kind: "other",
      readings: {
        hourAngle: { as: "hours", perTurn: 24, sense: 1, smallest: 0.01 },
        declination: { as: "degrees", perTurn: 360, sense: 1, smallest: 0.1 },
      },
      centringArcmin: 0.7,
      timingS: 0.5,
      tolerances: defaultTolerances,
      customTerms: [],
      limits: { altitudeDeg: 15, hourAngleHours: [-12, 12], declinationDeg: [-90, 90], horizon: [] },
      base: null,
      camera: null,
      drive: null,
      trunnionSpacingMm: null,
      ringSpacingMm: null,
    });
  });

  it("takes the standard atmosphere's pressure where none is given", () => {
    // U.S. Standard Atmosphere 1976, table I, from memory: 1000 m 898.76, 2000 m 795.01, 3000 m 701.21 hPa.
    const HALF_A_HECTOPASCAL = 0.5; // the table is by geometric, the function by geopotential height: 0.4 hPa apart at most here
    for (const [heightM, pressure] of [
      [1000, 898.76],
      [2000, 795.01],
      [3000, 701.21],
    ] as const) {
      const json = withValue("site", { latitude: 0, longitude: 0, heightM });
      expect(Math.abs(parseMount(json).site.pressureHPa - pressure)).toBeLessThan(HALF_A_HECTOPASCAL);
    }
  });

  it("lets a jack differ from its base", () => {
    const json = example();
    const base = json.base as { jacks: Json[] };
    base.jacks[1] = { ...base.jacks[1], pitchMm: 3, clockwise: "lowers", lowerLeftMm: 0, softGround: true };
    const jacks = parseMount(json).base!.jacks;
    expect(jacks[1]).toMatchObject({ pitchMm: 3, clockwise: "lowers", lowerLeftMm: 0, softGround: true });
    expect(jacks[0]).toMatchObject({ pitchMm: 2, clockwise: "raises", lowerLeftMm: 10, softGround: false });
  });

  it("takes null for what a mount may be without", () => {
    const json = { ...example(), base: null, camera: null, trunnionSpacingMm: null, ringSpacingMm: null };
    expect(parseMount(json)).toMatchObject({ base: null, camera: null, trunnionSpacingMm: null });
  });

  it("is written so that it reads back the same, the defaults filled in", () => {
    const json = { ...example(), customTerms: [{ name: "customFork", hourAngle: "cos(hourAngle)" }] };
    const mount = parseMount(json);
    expect(parseMountText(mountFileText(mount))).toEqual(mount);
    expect(
      mountFileText(firstMount)
        .split("\n")
        .every((line) => line.length <= 250),
    ).toBe(true);
    expect(JSON.parse(mountFileText(firstMount))).toEqual(example());
  });
});

describe("a faulty mount file", () => {
  it.each<[string, unknown, string]>([
    ["name", "  ", "wrong-text name"],
    ["name", 4, "wrong-type name"],
    ["name", undefined, "missing-value name"],
    ["site", undefined, "missing-value site"],
    ["site.latitude", 90.01, "out-of-range site.latitude"],
    ["site.latitude", -91, "out-of-range site.latitude"],
    ["site.latitude", "-30", "number-as-text site.latitude"],
    ["site.latitude", Number.NaN, "wrong-type site.latitude"],
    ["site.latitude", null, "wrong-type site.latitude"],
    ["site.longitude", 180.5, "out-of-range site.longitude"],
    ["site.heightM", Number.POSITIVE_INFINITY, "out-of-range site.heightM"],
    ["site.pressureHPa", 29.92, "out-of-range site.pressureHPa"],
    ["site.temperatureC", 285, "out-of-range site.temperatureC"],
    ["site.dut1S", 1, "out-of-range site.dut1S"],
    ["kind", "forks", "unknown-choice kind"],
    ["readings.hourAngle.perTurn", 3, "out-of-range readings.hourAngle.perTurn"],
    ["readings.hourAngle.perTurn", undefined, "missing-value readings.hourAngle.perTurn"],
    ["readings.hourAngle.sense", 2, "unknown-choice readings.hourAngle.sense"],
    ["readings.hourAngle.sense", "1", "unknown-choice readings.hourAngle.sense"],
    [
      "readings.hourAngle",
      { as: "hours", perTurn: 360, smallest: 0.1 },
      "wrong-turn readings.hourAngle.perTurn",
    ],
    ["readings.hourAngle", { as: "degrees" }, "missing-value readings.hourAngle.smallest"],
    ["readings.declination.as", "rightAscension", "unknown-choice readings.declination.as"],
    ["centringArcmin", 0, "out-of-range centringArcmin"],
    ["timingS", -1, "out-of-range timingS"],
    ["tolerances.cone", -1, "out-of-range tolerances.cone"],
    ["tolerances.conne", 3, "unknown-key tolerances.conne"],
    ["limits.altitudeDeg", 90, "out-of-range limits.altitudeDeg"],
    ["limits.hourAngleHours", [6, -6], "limits-out-of-order limits.hourAngleHours"],
    ["limits.hourAngleHours", [-6], "missing-value limits.hourAngleHours[1]"],
    ["limits.hourAngleHours", [-6, 6, 7], "wrong-length limits.hourAngleHours[2]"],
    ["limits.declinationDeg", [-90, 91], "out-of-range limits.declinationDeg[1]"],
    [
      "limits.horizon",
      [
        [90, 12],
        [0, 20],
      ],
      "horizon-out-of-order limits.horizon[1][0]",
    ],
    [
      "limits.horizon",
      [
        [0, 12],
        [361, 20],
      ],
      "out-of-range limits.horizon[1][0]",
    ],
    ["base.pitchMm", 0, "out-of-range base.pitchMm"],
    ["base.pitchMm", undefined, "missing-value base.pitchMm"],
    ["base.clockwise", undefined, "missing-value base.clockwise"],
    ["base.clockwise", "raise", "unknown-choice base.clockwise"],
    ["base.smallestTurn", 1.5, "out-of-range base.smallestTurn"],
    ["base.raiseLeftMm", -1, "out-of-range base.raiseLeftMm"],
    ["base.azimuthBolts.end", "east", "unknown-choice base.azimuthBolts.end"],
    ["base.azimuthBolts.leverMm", undefined, "missing-value base.azimuthBolts.leverMm"],
    ["base.lowerBearing", { axisLengthMm: -3 }, "out-of-range base.lowerBearing.axisLengthMm"],
    ["base.jacks", {}, "wrong-type base.jacks"],
    ["camera.pixelUm", undefined, "missing-value camera.pixelUm"],
    ["camera", [], "list-for-object camera"],
    ["tolerances", [], "list-for-object tolerances"],
    ["site", [1, 2], "list-for-object site"],
    ["base", "four jacks", "wrong-type base"],
    ["trunnionSpacingMm", 0, "out-of-range trunnionSpacingMm"],
    ["customTerms", [{ name: "fork", hourAngle: "1" }], "wrong-text customTerms[0].name"],
    ["customTerms", [{ name: "customFork" }], "custom-term-without-effect customTerms[0]"],
    [
      "customTerms",
      [{ name: "customFork", hourAngle: "process.exit()" }],
      "custom-term-forbidden customTerms[0].hourAngle",
    ],
  ])("%s as %j is the fault %s", (path, value, fault) => {
    expect(codesOf(withValue(path, value))).toEqual([fault]);
  });

  it.each([
    [
      "in one line",
      [
        [0, 0],
        [500, 500],
        [900, 900],
      ],
      "jacks-in-one-line base.jacks",
    ],
    [
      "almost in one line",
      [
        [0, 0],
        [500, 508],
        [1000, 1000],
      ],
      "jacks-in-one-line base.jacks",
    ],
    [
      "in one place",
      [
        [0, 0],
        [500, 0],
        [0, 0],
      ],
      "jacks-in-one-place base.jacks[2]",
    ],
  ])("refuses jacks %s", (_, places, fault) => {
    const jacks = places.map(([eastMm, northMm], index) => ({ name: `jack ${index}`, eastMm, northMm }));
    expect(codesOf(withValue("base.jacks", jacks))).toEqual([fault]);
  });

  it("refuses names given twice, of jacks and of terms", () => {
    const json = example();
    (json.base as { jacks: Json[] }).jacks[3]!.name = "North-East ";
    json.customTerms = [
      { name: "customFork", hourAngle: "1" },
      { name: "customFork", hourAngle: "2" },
    ];
    expect(codesOf(json)).toEqual([
      "name-given-twice base.jacks[3].name",
      "name-given-twice customTerms[1].name",
    ]);
  });

  it("says which jacks lack what the base does not give", () => {
    const json = withValue("base.pitchMm", undefined);
    (json.base as { jacks: Json[] }).jacks[0]!.pitchMm = 2;
    expect(codesOf(json)).toEqual([1, 2, 3].map((index) => `missing-value base.jacks[${index}].pitchMm`));
  });

  it("reports every fault at once, with the line, the remedy and the word that was meant", () => {
    const text = mountFileText(firstMount)
      .replace('"latitude"', '"lattitude"')
      .replace('"counts"', '"count"')
      .replace('"pitchMm": 2,', "")
      .replace("900", '"900"');
    const faults = faultsOf(() => parseMountText(text, "mount.json"));
    expect(faults.map((fault) => [fault.code, fault.path, fault.line])).toEqual([
      ["unknown-key", "site.lattitude", 4],
      ["missing-value", "site.latitude", 4],
      ["number-as-text", "site.pressureHPa", 4],
      ["unknown-choice", "readings.hourAngle.as", 7],
      ["missing-value", "base.pitchMm", 18],
    ]);
    expect(faults[0]!.message).toContain("Did you mean latitude?");
    expect(faults[3]!.message).toContain('Did you mean "counts"?');
    expect(faults.every((fault) => fault.file === "mount.json")).toBe(true);
  });

  it("lists fifty faults and says how many more there are", () => {
    const json = example();
    for (let index = 0; index < 70; index++) json[`key${index}`] = index;
    const faults = faultsOf(() => parseMount(json));
    expect(faults).toHaveLength(51);
    expect(faults.at(-1)).toMatchObject({ code: "more-faults", message: "20 more faults are not listed." });
  });

  it.each([["constructor"], ["toString"], ["__proto__"], ["prototype"]])(
    "refuses the key %s like any other",
    (key) => {
      const text = mountFileText(firstMount).replace('"kind"', `"${key}": {"x": 1}, "kind"`);
      expect(faultsOf(() => parseMountText(text)).map((fault) => fault.code)).toEqual(["unknown-key"]);
    },
  );

  it.each([[null], [[]], [3], ["text"], [undefined], [true]])("refuses %j in place of the whole", (json) => {
    expect(faultsOf(() => parseMount(json)).map((fault) => fault.code)).toEqual(["wrong-type"]);
  });
});

describe("the text of a mount file", () => {
  const good = mountFileText(firstMount);
  it("may begin with a byte-order mark and have any line ends", () => {
    expect(parseMountText(`\uFEFF${good.replaceAll("\n", "\r\n")}`)).toEqual(parseMount(example()));
  });

  it.each([
    ["a comma too many", good.replace("12 },", "12, },"), 4, "No comma may stand before }"],
    [
      "a comma missing",
      good.replace('"kind": "split-ring",', '"kind": "split-ring"'),
      6,
      "A comma or } belongs here",
    ],
    ["a decimal comma", good.replace("-30", "-30,5"), 4, "decimal comma"],
    ["a comment", good.replace('"kind"', '// which kind\n"kind"'), 5, "no comments"],
    ["single quotation marks", good.replace('"split-ring"', "'split-ring'"), 5, "double quotation marks"],
    ["a plus", good.replace("20", "+20"), 4, "A number starts with a figure"],
    ["a needless zero", good.replace("20", "020"), 4, "without needless zeros"],
    ["a typographic minus", good.replace("-30", "−30"), 4, "typographic"],
    ["not a number", good.replace("-30", "NaN"), 4, "finite"],
    ["an open text", good.replace('"split-ring"', '"split-ring'), 5, "closing quotation mark"],
    ["a cut", good.slice(0, good.indexOf('"centringArcmin"')), 10, "The file ends"],
    ["something after the end", `${good}{}`, good.split("\n").length, "after the end"],
  ])("with %s is refused with the line", (_, text, line, message) => {
    const faults = faultsOf(() => parseMountText(text, "mount.json"));
    expect(faults).toHaveLength(1);
    expect(faults[0]).toMatchObject({ code: "not-json", line, file: "mount.json" });
    expect(faults[0]!.message).toContain(message);
  });

  it("with a key given twice is refused, both lines' values being possible", () => {
    const text = good.replace('"heightM": 1000,', '"heightM": 1000,\n"heightM": 950,');
    expect(faultsOf(() => parseMountText(text))).toMatchObject([
      { code: "key-given-twice", path: "site.heightM", line: 5 },
    ]);
  });

  it("that is empty or far too large is refused", () => {
    expect(faultsOf(() => parseMountText(" \n")).map((fault) => fault.code)).toEqual(["empty-file"]);
    expect(faultsOf(() => parseMountText("[".repeat(2_000_001))).map((fault) => fault.code)).toEqual([
      "file-too-large",
    ]);
    expect(faultsOf(() => parseMountText("[".repeat(100_000))).map((fault) => fault.code)).toEqual([
      "not-json",
    ]);
  });

  it("however it is spoilt gives a mount or faults that say where", () => {
    fc.assert(
      fc.property(spoilt(good), (text) => {
        for (const fault of faultsOf(() => parseMountText(text))) {
          const hasPlace =
            fault.line !== undefined || ["empty-file", "more-faults", "wrong-type"].includes(fault.code);
          expect(hasPlace, JSON.stringify(fault)).toBe(true);
          expect(fault.message).not.toBe("");
          expect(fault.allowed).not.toBe("");
        }
      }),
      { seed: SEED, numRuns: 1500 },
    );
  });

  it("with any values in place of its own gives a mount or faults with a path", () => {
    const leaves = leafPaths(example());
    fc.assert(
      fc.property(
        fc.array(fc.tuple(fc.constantFrom(...leaves), fc.jsonValue()), { minLength: 1, maxLength: 4 }),
        (changes) => {
          let text = JSON.stringify(example());
          const json = JSON.parse(text) as Json;
          for (const [path, value] of changes) {
            let place = json as unknown;
            for (const key of path.slice(0, -1)) place = (place as Json | undefined)?.[key];
            if (typeof place === "object" && place !== null) (place as Json)[path.at(-1)!] = value;
          }
          text = JSON.stringify(json);
          for (const fault of faultsOf(() => parseMountText(text))) {
            expect(fault.path !== undefined || fault.code === "more-faults", JSON.stringify(fault)).toBe(
              true,
            );
          }
        },
      ),
      { seed: SEED, numRuns: 1500 },
    );
  });
});

/** A text with pieces taken out, put in or doubled. */
function spoilt(good: string): fc.Arbitrary<string> {
  const piece = fc.oneof(
    fc.constantFrom(
      "",
      "{",
      "}",
      "[",
      "]",
      ",",
      ":",
      '"',
      "-",
      "1e999",
      "null",
      "\u0000",
      "\\",
      "\\u12",
      "//",
      "−",
      "\n",
    ),
    fc.string({ maxLength: 5 }),
  );
  const edit = fc.tuple(fc.nat(good.length), fc.nat(12), piece);
  return fc
    .array(edit, { minLength: 1, maxLength: 3 })
    .map((edits) =>
      edits.reduce((text, [at, length, put]) => text.slice(0, at) + put + text.slice(at + length), good),
    );
}

function leafPaths(value: unknown, path: readonly string[] = []): (readonly string[])[] {
  if (typeof value !== "object" || value === null) return [path];
  return [path, ...Object.entries(value).flatMap(([key, item]) => leafPaths(item, [...path, key]))].filter(
    (found) => found.length > 0,
  );
}
