/**
 * The mount file's grammar: which keys there are and what each may hold. What depends on several keys at once stands in
 * mount-checks.ts, defaults in mount-file.ts.
 */
import * as v from "valibot";
import { PolewrightError } from "../errors.js";
import { isTimeZone } from "../sky/zone.js";
import type { Tolerances } from "./mount.js";

/** A schema whose metadata say in words what is allowed. */
type Schema = v.GenericSchema;

const allowed = <Input>(text: string) => v.metadata<Input, { readonly allowed: string }>({ allowed: text });

interface Range {
  readonly from?: number;
  /** Like `from`, but this value itself is not allowed. */
  readonly above?: number;
  readonly to?: number;
  readonly below?: number;
}

function inRange(value: number, { from, above, to, below }: Range): boolean {
  return (
    (from === undefined || value >= from) &&
    (above === undefined || value > above) &&
    (to === undefined || value <= to) &&
    (below === undefined || value < below)
  );
}

function rangeText({ from, above, to, below }: Range): string {
  const low = from !== undefined ? `from ${from}` : above !== undefined ? `above ${above}` : "";
  const high =
    to !== undefined
      ? `${from !== undefined ? "" : "and "}to ${to}`
      : below !== undefined
        ? `to below ${below}`
        : "";
  return [low, high].filter((part) => part !== "").join(" ");
}

/** A finite number in a range; `unit` completes the words, for instance `degrees, north positive`. */
function number(range: Range, unit: string) {
  return v.pipe(
    v.number(),
    v.check((value) => Number.isFinite(value) && inRange(value, range)),
    allowed(`a number ${rangeText(range)}${unit === "" ? "" : `, ${unit}`}`),
  );
}

function text(longest: number, what: string) {
  return v.pipe(
    v.string(),
    v.check((value) => value.trim() !== "" && value.length <= longest),
    allowed(`${what}, 1 to ${longest} characters`),
  );
}

function choice<const Choices extends readonly (string | number)[]>(choices: Choices) {
  const words = choices.map((word) => (typeof word === "string" ? `"${word}"` : String(word)));
  return v.pipe(v.picklist(choices), allowed(words.join(" or ")));
}

function list<Item extends Schema>(item: Item, most: number, what: string) {
  return v.pipe(
    v.array(item),
    v.check((items) => items.length <= most),
    allowed(`a list of at most ${most} ${what}`),
  );
}

function section<Entries extends v.ObjectEntries>(entries: Entries) {
  return v.pipe(v.object(entries), allowed(`an object with the keys ${Object.keys(entries).join(", ")}`));
}

function pair<First extends Schema, Second extends Schema>(first: First, second: Second, what: string) {
  return v.pipe(v.strictTuple([first, second]), allowed(what));
}

/** What a builder is taken to know of his own work unless his mount file says otherwise: 1σ, arcminutes. */
export const defaultTolerances: Tolerances = {
  cone: 20,
  squareness: 15,
  tubeSag: 5,
  ringSag: 3,
  trunnionSag: 2,
  eccentricity: 1,
  scale: 1,
  backlash: 1.5,
  meridianStep: 1,
  creep: 4,
  settling: 2,
  residue: 1,
};

/** How well a star is centred unless the mount file says otherwise: 1σ, arcminutes. */
const DEFAULT_CENTRING_ARCMIN = 0.7;
/** How well a time is noted unless the mount file says otherwise: 1σ, seconds. */
const DEFAULT_TIMING_S = 0.5;
const DEFAULT_LOWEST_ALTITUDE_DEG = 15;
const DEFAULT_WARP_LIMIT_MM = 0.3;
const DEFAULT_TILT_LIMIT_DEG = 2;

const LARGEST_MM = 100_000;
const length = number({ above: 0, to: LARGEST_MM }, "millimetres");
/** Of a telescope: what is given in metres or inches falls below. */
const focalLength = number({ from: 20, to: LARGEST_MM }, "millimetres");
const pictureSide = number({ from: 0.2, to: 1000 }, "millimetres, of the sensor");
const travel = number({ from: 0, to: LARGEST_MM }, "millimetres");
const place = number({ from: -LARGEST_MM, to: LARGEST_MM }, "millimetres");
const pitch = number({ above: 0, to: 100 }, "millimetres for one turn");
const smallestTurn = number({ above: 0, to: 1 }, "parts of a turn");
/** Smaller than this no tolerance means anything; it must not drown in rounding. */
const LEAST_TOLERANCE = 1e-6;
const tolerance = v.pipe(
  v.number(),
  v.check((value) => value === 0 || (value >= LEAST_TOLERANCE && value <= 10_800)),
  allowed(`0 (the term is left out) or a number from ${LEAST_TOLERANCE} to 10800, arcminutes (1σ)`),
);

const tolerances = v.entriesFromList(
  Object.keys(defaultTolerances) as (keyof Tolerances)[],
  v.optional(tolerance),
);

const axis = (kinds: readonly ["counts", "degrees", "hours", ..."rightAscension"[]]) =>
  section({
    as: choice(kinds),
    perTurn: v.optional(number({ from: 4, to: 1e10 }, "readings in a full turn of the axis")),
    sense: v.optional(choice([1, -1])),
    card: v.optional(
      v.pipe(
        v.string(),
        v.regex(/^[A-Z0-9_-]{1,8}$/),
        allowed("a keyword of a FITS header: 1 to 8 capital letters, figures, - or _"),
      ),
    ),
    smallest: v.optional(number({ above: 0, to: 1e6 }, "the smallest step, in the reading's own unit")),
  });

const jackDefaults = {
  pitchMm: v.optional(pitch),
  clockwise: v.optional(choice(["raises", "lowers"])),
  smallestTurn: v.optional(smallestTurn),
  raiseLeftMm: v.optional(travel),
  lowerLeftMm: v.optional(travel),
  softGround: v.optional(v.pipe(v.boolean(), allowed("true or false"))),
};

const jack = section({ name: text(60, "a jack's name"), eastMm: place, northMm: place, ...jackDefaults });

const azimuthBolts = section({
  end: choice(["north", "south"]),
  leverMm: length,
  pitchMm: pitch,
  smallestTurn: v.optional(smallestTurn),
  travelMm: v.nullish(travel, null),
});

const lowerBearing = section({
  axisLengthMm: length,
  eastWestPitchMm: v.nullish(pitch, null),
  upDownPitchMm: v.nullish(pitch, null),
  smallestTurn: v.optional(smallestTurn),
  travelMm: v.nullish(travel, null),
});

const drivePart = section({
  name: text(60, "a part's name"),
  periodS: number({ from: 0.1, to: 90_000 }, "seconds for one turn while the drive follows"),
});

const drive = section({
  parts: v.optional(list(drivePart, 40, "parts"), []),
  rollerDiameterMm: v.nullish(length, null),
  ringDiameterMm: v.nullish(length, null),
  wormTeeth: v.nullish(number({ from: 2, to: 100_000 }, "teeth of the worm wheel"), null),
  reduction: v.nullish(
    number({ above: 0, to: 1e9 }, "turns of the motor for one turn of the polar axis"),
    null,
  ),
  stepsPerTurn: v.nullish(number({ above: 0, to: 1e9 }, "steps for one turn of the motor"), null),
  stepRateHz: v.nullish(number({ above: 0, to: 1e9 }, "steps a second while it follows the stars"), null),
});

const customTerm = section({
  name: v.pipe(
    v.string(),
    v.check((name) => /^custom[A-Z][A-Za-z0-9]{0,59}$/.test(name)),
    allowed('"custom" and a capitalised word, for instance "customFork"'),
  ),
  label: v.optional(text(80, "a label")),
  hourAngle: v.optional(text(500, "an expression"), "0"),
  declination: v.optional(text(500, "an expression"), "0"),
  tolerance: v.nullish(tolerance, null),
});

/** The whole mount file. */
export const mountSchema = section({
  $schema: v.optional(text(500, "where an editor finds data/schema/mount.schema.json")),
  name: text(200, "the mount's name"),
  note: v.optional(v.pipe(v.string(), allowed("any text, for the builder's own use"))),
  site: section({
    latitude: number({ from: -90, to: 90 }, "degrees, north positive"),
    longitude: number({ from: -180, to: 180 }, "degrees, east positive"),
    heightM: v.optional(number({ from: -500, to: 9000 }, "metres above the sea")),
    pressureHPa: v.optional(
      v.pipe(
        v.number(),
        v.check((pressure) => pressure === 0 || (pressure >= 300 && pressure <= 1100)),
        allowed(
          "a number from 300 to 1100, hectopascals at the telescope (not reduced to the sea), or 0 for no air",
        ),
      ),
    ),
    temperatureC: v.optional(number({ from: -80, to: 60 }, "degrees Celsius")),
    dut1S: v.optional(number({ from: -0.9, to: 0.9 }, "seconds, UT1 less UTC")),
    timeZone: v.nullish(
      v.pipe(
        v.string(),
        v.check(isTimeZone),
        allowed('the IANA name of the zone that the clocks there keep, for instance "Africa/Johannesburg"'),
      ),
    ),
  }),
  kind: v.optional(choice(["split-ring", "fork", "yoke", "german", "other"]), "other"),
  readings: section({
    hourAngle: axis(["counts", "degrees", "hours", "rightAscension"]),
    declination: axis(["counts", "degrees", "hours"]),
  }),
  centringArcmin: v.optional(number({ above: 0, to: 600 }, "arcminutes (1σ)"), DEFAULT_CENTRING_ARCMIN),
  timingS: v.optional(number({ from: 0, to: 3600 }, "seconds (1σ)"), DEFAULT_TIMING_S),
  tolerances: v.optional(section(tolerances), {}),
  customTerms: v.optional(list(customTerm, 20, "terms"), []),
  limits: v.optional(
    section({
      altitudeDeg: v.optional(
        number({ from: 0, below: 90 }, "degrees above the horizon"),
        DEFAULT_LOWEST_ALTITUDE_DEG,
      ),
      hourAngleHours: v.optional(
        pair(
          number({ from: -12, to: 12 }, "hours"),
          number({ from: -12, to: 12 }, "hours"),
          "two hour angles, from and to, hours from -12 to 12",
        ),
        [-12, 12],
      ),
      declinationDeg: v.optional(
        pair(
          number({ from: -90, to: 90 }, "degrees"),
          number({ from: -90, to: 90 }, "degrees"),
          "two declinations, from and to, degrees from -90 to 90",
        ),
        [-90, 90],
      ),
      horizon: v.optional(
        list(
          pair(
            number({ from: 0, to: 360 }, "degrees from north through east"),
            number({ from: -10, to: 90 }, "degrees above the horizon"),
            "an azimuth and an altitude, degrees",
          ),
          3600,
          "pairs of azimuth and altitude",
        ),
        [],
      ),
    }),
    {},
  ),
  base: v.nullish(
    section({
      confirmed: v.optional(
        v.pipe(
          v.boolean(),
          allowed("true: these figures are this base's own, the unusual ones too; false: an example's"),
        ),
      ),
      jacks: v.optional(list(jack, 24, "jacks"), []),
      ...jackDefaults,
      warpLimitMm: v.optional(number({ above: 0, to: 100 }, "millimetres"), DEFAULT_WARP_LIMIT_MM),
      tiltLimitDeg: v.optional(number({ above: 0, to: 45 }, "degrees"), DEFAULT_TILT_LIMIT_DEG),
      azimuthBolts: v.nullish(azimuthBolts, null),
      lowerBearing: v.nullish(lowerBearing, null),
    }),
  ),
  camera: v.nullish(
    section({
      focalLengthMm: focalLength,
      widthMm: pictureSide,
      heightMm: pictureSide,
      pixelUm: number({ from: 0.1, to: 1000 }, "micrometres"),
    }),
    null,
  ),
  drive: v.nullish(drive, null),
  trunnionSpacingMm: v.nullish(length, null),
  ringSpacingMm: v.nullish(length, null),
});

/** A mount file that keeps to the grammar, before its defaults are filled in. */
export type MountFile = v.InferOutput<typeof mountSchema>;

/** The parts of valibot's schemas that walking them needs. */
interface SchemaParts {
  readonly entries?: Readonly<Record<string, Schema>>;
  readonly item?: Schema;
  readonly items?: readonly Schema[];
  readonly wrapped?: Schema;
}

function unwrapped(schema: Schema): Schema {
  let inner = schema;
  for (let parts = inner as SchemaParts; parts.wrapped !== undefined; parts = inner as SchemaParts)
    inner = parts.wrapped;
  return inner;
}

/** The keys that an object of this schema may have, or null where the schema is not of an object. */
export function schemaKeys(schema: Schema): readonly string[] | null {
  const { entries } = unwrapped(schema) as SchemaParts;
  return entries === undefined ? null : Object.keys(entries);
}

/** The schema of a member or an element, or null where there is none. */
export function schemaOf(schema: Schema, key: string | number): Schema | null {
  const { entries, item, items } = unwrapped(schema) as SchemaParts;
  if (typeof key === "number") return item ?? items?.[key] ?? null;
  return entries !== undefined && Object.hasOwn(entries, key) ? entries[key]! : null;
}

/** A member's schema as it is written, optional or not. */
export function schemaMember(schema: Schema, key: string): Schema {
  const member = (unwrapped(schema) as SchemaParts).entries?.[key];
  if (member === undefined) throw new PolewrightError("schema-without-member", `The schema has no ${key}.`);
  return member;
}

/** Whether an object must have this member. */
export function isNeeded(member: Schema): boolean {
  return (member as SchemaParts).wrapped === undefined;
}

/** What a schema allows, in words. */
export function allowedText(schema: Schema): string {
  const words = v.getMetadata(unwrapped(schema)).allowed;
  if (typeof words !== "string")
    throw new PolewrightError("schema-without-words", "A schema does not say what it allows.");
  return words;
}

/** Whether the schema holds a number. */
export function isNumberSchema(schema: Schema): boolean {
  return unwrapped(schema).type === "number";
}
