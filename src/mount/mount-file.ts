/**
 * The mount file: read, checked as a whole, defaults filled in; and written.
 */
import { Atmosphere } from "astronomy-engine";
import * as v from "valibot";
import { type Fault, InputError, shown } from "../errors.js";
import { FaultList } from "../fault-list.js";
import { didYouMean } from "./did-you-mean.js";
import { joinPath, jsonPlaces } from "./json-places.js";
import type { AxisReadings, Base, CustomTerm, Mount } from "./mount.js";
import { faultsBetweenKeys } from "./mount-checks.js";
import {
  allowedText,
  defaultTolerances,
  isNumberSchema,
  type MountFile,
  mountSchema,
  schemaKeys,
  schemaOf,
} from "./mount-schema.js";
import { dialTurn } from "./readings.js";

const DEFAULT_TEMPERATURE_C = 10;
const DEFAULT_SMALLEST_TURN = 1 / 8;

/** A mount file is a few kilobytes; a thousand times that is something else. */
const LARGEST_FILE = 2_000_000;

/**
 * Checks a parsed mount file and fills in its defaults.
 *
 * Left out, a key means: `heightM` 0, `pressureHPa` that of the standard atmosphere at the height, `temperatureC` 10,
 * `dut1S` 0, `kind` other, `sense` 1, `smallest` one count (a dial must give it), `centringArcmin` 0.7, `timingS` 0.5,
 * `tolerances` cone 20, squareness 15, tubeSag 5, ringSag 3, trunnionSag 2, no custom terms, limits of 15° altitude,
 * the whole turn and a free horizon; in the base `smallestTurn` 1/8, `warpLimitMm` 0.3, `tiltLimitDeg` 2, firm
 * ground. `base` and `camera` may be left out whole.
 *
 * @param json - the parsed JSON
 * @param file - the file's name, for messages
 * @returns the mount; written as JSON and read again it is unchanged
 * @throws InputError with every fault of the file, each with its path
 * @example
 * ```ts
 * const mount = parseMount({
 *   name: "Nowhere School 40 cm",
 *   site: { latitude: -30, longitude: 20, heightM: 1000 },
 *   readings: { hourAngle: { as: "counts", perTurn: 16384 }, declination: { as: "counts", perTurn: 16384, sense: -1 } },
 * });
 * mount.readings.declination.sense // -1
 * ```
 */
export function parseMount(json: unknown, file?: string): Mount {
  const faults = new FaultList();
  const name = file === undefined ? {} : { file };
  if (typeof json !== "object" || json === null || Array.isArray(json)) {
    throw new InputError({
      code: "wrong-type",
      ...name,
      found: shown(Array.isArray(json) ? "a list" : json),
      allowed: allowedText(mountSchema),
      message: "A mount file is one object.",
    });
  }
  const read = v.safeParse(mountSchema, json);
  const found = [
    ...unknownKeyFaults(mountSchema, json, "", 0),
    ...(read.issues ?? []).map(issueFault),
    ...faultsBetweenKeys(json),
  ];
  // A fault that two checks see is one fault, and what is no object has no members to lack.
  const seen = new Set<string>();
  const lists = found.filter((fault) => fault.code === "list-for-object").map((fault) => `${fault.path}.`);
  for (const fault of found) {
    const key = `${fault.code} ${fault.path}`;
    const isBelow = lists.some((path) => fault.path?.startsWith(path));
    if (!seen.has(key) && !isBelow) faults.add({ ...fault, ...name });
    seen.add(key);
  }
  faults.throwIfAny(file);
  return withDefaults(read.output as MountFile);
}

/**
 * Reads the text of a mount file.
 *
 * @param text - JSON; a byte-order mark at its start is passed over
 * @param file - the file's name, for messages
 * @returns the mount
 * @throws InputError `not-json` with line and character, `key-given-twice`, or the faults of {@link parseMount},
 *   each with path and line
 * @example
 * ```ts
 * parseMountText(mountText, "mount.json").name // "Nowhere School 40 cm"
 * ```
 */
export function parseMountText(text: string, file?: string): Mount {
  const name = file === undefined ? {} : { file };
  const refuse = (code: string, message: string, allowed: string, rest: Partial<Fault> = {}): never => {
    throw new InputError({ code, ...name, ...rest, message, allowed });
  };
  if (text.length > LARGEST_FILE) {
    refuse(
      "file-too-large",
      "This is too large for a mount file.",
      `at most ${LARGEST_FILE / 1e6} million characters`,
    );
  }
  const plain = text.replace(/^\uFEFF/, "");
  if (plain.trim() === "")
    refuse("empty-file", "The mount file is empty.", "one JSON object; `polewright new` writes a first one");
  const { slip, repeated, lines } = jsonPlaces(plain);
  if (slip !== null) {
    const { line, character } = slip.place;
    refuse(
      "not-json",
      `At character ${character} of the line the JSON breaks off. ${slip.message}`,
      "JSON (RFC 8259)",
      {
        line,
        found: shown(slip.found),
      },
    );
  }
  const faults: Fault[] = repeated.map(({ path, place }) => ({
    code: "key-given-twice",
    ...name,
    path,
    line: place.line,
    allowed: "each key once",
    message: "This key stands twice in the same object, and only one of the values could count.",
  }));
  let mount: Mount | null = null;
  try {
    mount = parseMount(JSON.parse(plain), file);
  } catch (problem) {
    if (!(problem instanceof InputError)) throw problem;
    faults.push(...problem.faults.map((fault) => ({ ...fault, ...lineOf(fault.path, lines) })));
  }
  if (mount === null || faults.length > 0) {
    faults.sort((a, b) => (a.line ?? 0) - (b.line ?? 0));
    const list = new FaultList();
    for (const fault of faults) list.add(fault);
    throw new InputError(list.listed(file));
  }
  return mount;
}

/**
 * The text of a mount file.
 *
 * @param mount - a mount, or any object of the mount file's form
 * @returns JSON, short lists on one line, ending in a newline
 */
export function mountFileText(mount: unknown): string {
  return `${pretty(mount, "", 0)}\n`;
}

const LINE_WIDTH = 110;

function pretty(value: unknown, indent: string, keyWidth: number): string {
  const flat = spacedJson(value);
  const inner = `${indent}  `;
  if (
    typeof value !== "object" ||
    value === null ||
    (indent !== "" && indent.length + keyWidth + flat.length <= LINE_WIDTH)
  ) {
    return flat;
  }
  if (Array.isArray(value)) {
    return value.length === 0
      ? "[]"
      : `[\n${value.map((item) => inner + pretty(item, inner, 1)).join(",\n")}\n${indent}]`;
  }
  const members = Object.entries(value)
    .filter(([, item]) => item !== undefined)
    .map(([key, item]) => `${inner}${JSON.stringify(key)}: ${pretty(item, inner, key.length + 5)}`);
  return members.length === 0 ? "{}" : `{\n${members.join(",\n")}\n${indent}}`;
}

function spacedJson(value: unknown): string {
  if (Array.isArray(value)) return `[${value.map(spacedJson).join(", ")}]`;
  if (typeof value === "object" && value !== null) {
    const members = Object.entries(value).filter(([, item]) => item !== undefined);
    if (members.length === 0) return "{}";
    return `{ ${members.map(([key, item]) => `${JSON.stringify(key)}: ${spacedJson(item)}`).join(", ")} }`;
  }
  return JSON.stringify(value) ?? "null";
}

/** The line of a path, or of the nearest object above it that stands in the file. */
function lineOf(path: string | undefined, lines: ReadonlyMap<string, number>): { readonly line?: number } {
  for (let place = path ?? ""; ; ) {
    const line = lines.get(place);
    if (line !== undefined) return { line };
    if (place === "") return {};
    place = place.slice(0, Math.max(0, place.lastIndexOf("."), place.lastIndexOf("[")));
  }
}

/** Keys that the grammar does not know, and lists in place of objects. */
function unknownKeyFaults(schema: v.GenericSchema, value: unknown, path: string, depth: number): Fault[] {
  if (typeof value !== "object" || value === null || depth > 8) return [];
  const known = schemaKeys(schema);
  if (Array.isArray(value)) {
    // To valibot a list is an object too.
    if (known !== null) {
      const message = "A list stands where an object belongs.";
      return [{ code: "list-for-object", path, found: "a list", allowed: allowedText(schema), message }];
    }
    return value.flatMap((item, index) => {
      const inner = schemaOf(schema, index);
      return inner === null ? [] : unknownKeyFaults(inner, item, joinPath(path, index), depth + 1);
    });
  }
  if (known === null) return [];
  return Object.entries(value).flatMap(([key, item]) => {
    const inner = schemaOf(schema, key);
    if (inner !== null) return unknownKeyFaults(inner, item, joinPath(path, key), depth + 1);
    const near = didYouMean(key, known);
    return [
      {
        code: "unknown-key",
        path: joinPath(path, key),
        found: shown(key),
        allowed: known.join(", "),
        message: `The mount file has no such key here.${near === null ? "" : ` Did you mean ${near}?`}`,
      },
    ];
  });
}

/** One of valibot's issues in our own words. */
function issueFault(issue: v.InferIssue<typeof mountSchema>): Fault {
  let path = "";
  let schema: v.GenericSchema = mountSchema;
  for (const step of issue.path ?? []) {
    const key = step.key as string | number;
    path = joinPath(path, key);
    schema = schemaOf(schema, key) ?? schema;
  }
  const input: unknown = issue.input;
  const common = { path, allowed: allowedText(schema) };
  if (input === undefined) return { code: "missing-value", ...common, message: "This is missing." };
  const found = typeof input === "number" ? String(input) : shown(clipped(input));
  if (issue.kind === "validation") {
    const code =
      typeof input === "number" ? "out-of-range" : Array.isArray(input) ? "list-too-long" : "wrong-text";
    const message = {
      "out-of-range": "This number is out of its range.",
      "list-too-long": "This list is too long.",
      "wrong-text": "This text cannot stand here.",
    }[code];
    return { code, ...common, found, message };
  }
  if (issue.type === "picklist") {
    const choices = common.allowed.match(/[\w-]+(?=")/g) ?? [];
    const near = typeof input === "string" ? didYouMean(input, choices) : null;
    return {
      code: "unknown-choice",
      ...common,
      found,
      message: `This is none of the choices.${near === null ? "" : ` Did you mean "${near}"?`}`,
    };
  }
  if (isNumberSchema(schema) && typeof input === "string" && /^\s*[-+−]?[\d.,]+\s*$/.test(input)) {
    return {
      code: "number-as-text",
      ...common,
      found: shown(JSON.stringify(input)),
      message: "This is text, not a number; take the quotation marks away.",
    };
  }
  if (isNumberSchema(schema) && typeof input === "string") {
    const isSexagesimal = /\d\s*[°:′'d ]\s*\d/.test(input) || /\d\s*[°NSEW]/i.test(input);
    const message = isSexagesimal
      ? "This is text, not a number; write decimal degrees, south and west negative."
      : "This is text, not a number.";
    return { code: "wrong-type", ...common, found: shown(JSON.stringify(input)), message };
  }
  if (issue.type === "strict_tuple")
    return { code: "wrong-length", ...common, found, message: "This list has another number of entries." };
  return { code: "wrong-type", ...common, found, message: "This is of another kind." };
}

/** A long list or object is named, not shown. */
function clipped(value: unknown): unknown {
  if (Array.isArray(value)) return value.length > 20 ? `a list of ${value.length}` : value;
  return typeof value === "object" && value !== null ? "an object" : value;
}

function withDefaults({ $schema: _, note: __, ...file }: MountFile): Mount {
  const { site, readings, base, tolerances } = file;
  const heightM = site.heightM ?? 0;
  return {
    ...file,
    site: {
      latitude: site.latitude,
      longitude: site.longitude,
      heightM,
      pressureHPa: site.pressureHPa ?? standardPressureHPa(heightM),
      temperatureC: site.temperatureC ?? DEFAULT_TEMPERATURE_C,
      dut1S: site.dut1S ?? 0,
      ...(site.timeZone == null ? {} : { timeZone: site.timeZone }),
    },
    readings: {
      hourAngle: axisReadings(readings.hourAngle),
      declination: axisReadings(readings.declination),
    },
    tolerances: { ...defaultTolerances, ...tolerances },
    customTerms: file.customTerms.map((term): CustomTerm => ({ ...term, label: term.label ?? term.name })),
    base: base ? baseWithDefaults(base) : null,
  };
}

/** The standard atmosphere's pressure (U.S. Standard Atmosphere 1976), to 0.1 hPa. */
function standardPressureHPa(heightM: number): number {
  return Math.round(Atmosphere(heightM).pressure / 10) / 10;
}

function axisReadings(axis: MountFile["readings"]["hourAngle"]): AxisReadings {
  return {
    as: axis.as,
    // A dial's smallest part and an encoder's counts are there: the checks between keys refuse the file without them.
    perTurn: axis.as === "counts" ? axis.perTurn! : dialTurn[axis.as],
    sense: axis.sense ?? 1,
    smallest: axis.smallest ?? 1,
    ...(axis.card === undefined ? {} : { card: axis.card }),
  };
}

function baseWithDefaults(base: NonNullable<MountFile["base"]>): Base {
  const { azimuthBolts, lowerBearing, warpLimitMm, tiltLimitDeg } = base;
  const smallestTurn = base.smallestTurn ?? DEFAULT_SMALLEST_TURN;
  return {
    ...(base.confirmed === undefined ? {} : { confirmed: base.confirmed }),
    jacks: base.jacks.map((jack) => ({
      name: jack.name,
      eastMm: jack.eastMm,
      northMm: jack.northMm,
      // These four are there: the checks between keys refuse the file without them.
      pitchMm: (jack.pitchMm ?? base.pitchMm)!,
      clockwise: (jack.clockwise ?? base.clockwise)!,
      smallestTurn: jack.smallestTurn ?? smallestTurn,
      raiseLeftMm: (jack.raiseLeftMm ?? base.raiseLeftMm)!,
      lowerLeftMm: (jack.lowerLeftMm ?? base.lowerLeftMm)!,
      softGround: jack.softGround ?? base.softGround ?? false,
    })),
    warpLimitMm,
    tiltLimitDeg,
    azimuthBolts: azimuthBolts && {
      ...azimuthBolts,
      smallestTurn: azimuthBolts.smallestTurn ?? smallestTurn,
    },
    lowerBearing: lowerBearing && {
      ...lowerBearing,
      smallestTurn: lowerBearing.smallestTurn ?? smallestTurn,
    },
  };
}
