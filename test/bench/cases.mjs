// The problems that are timed: an evening's sightings, and a season of plate-solved pictures, both simulated.
import { mkdirSync, readFileSync, writeFileSync } from "node:fs";
import { dirname, join } from "node:path";
import { fileURLToPath } from "node:url";

export const root = join(dirname(fileURLToPath(import.meta.url)), "..", "..");
export const out = join(root, "out", "bench");
const distUrl = process.env.POLEWRIGHT_DIST ?? new URL("../../dist/", import.meta.url).href;

const ARCMINUTE = Math.PI / 180 / 60;
const DAY_MS = 86_400_000;
/** A star that is not where its name says: Bellatrix is 7.6° from Betelgeuse. */
const MISNAMED = { row: 6, as: "Bellatrix" };
const SEASON_START_MS = Date.UTC(2026, 2, 14, 19);
const SEASON_NIGHTS = 60;
const NIGHT_HOURS = 8;
/** Nothing is sighted lower than 17°. */
const LOWEST_SINE = 0.3;
const SEASON_SEED = 20260314;

/** The nine geometric terms and three of worn encoders that tell apart from them: what the season is fitted with. */
export const twelveTerms = [
  "hourAngleZero",
  "declinationZero",
  "polarAltitude",
  "polarEast",
  "cone",
  "squareness",
  "tubeSag",
  "ringSag",
  "trunnionSag",
  "hourAngleEccentricSin",
  "declinationEccentricSin",
  "declinationScale",
];
export const seasonTruth = {
  hourAngleZero: 148,
  declinationZero: -93,
  polarAltitude: 14,
  polarEast: -19,
  cone: 12,
  squareness: -8,
  tubeSag: 3,
  ringSag: 1.5,
  trunnionSag: 0.8,
  hourAngleEccentricSin: 2.2,
  declinationEccentricSin: -1.1,
  declinationScale: 1.7,
};

/** The functions of the build that are timed or that make the problems. */
export async function library() {
  const modules = await Promise.all(
    [
      "base/jack-turns.js",
      "plan/plan.js",
      "plan/candidates.js",
      "plan/choice.js",
      "fit/mount-fit.js",
      "fit/bench.js",
      "fit/columns.js",
      "fit/rows.js",
      "fit/story.js",
      "mount/mount-file.js",
      "mount/model.js",
      "mount/terms.js",
      "night/night-file.js",
      "night/reduce.js",
      "simulate/random.js",
      "simulate/simulate-night.js",
      "sky/observe.js",
      "sky/sky-over-night.js",
      "sky/time.js",
    ].map((path) => import(new URL(path, distUrl).href)),
  );
  return Object.assign({}, ...modules);
}

export const distFile = (path) => fileURLToPath(new URL(path, distUrl));

/** The demonstration's night with the two stars typed in its notebook: 24 sightings. */
export function evening(lib) {
  const folder = join(root, "data", "first-light");
  const mount = lib.parseMountText(readFileSync(join(folder, "mount.json"), "utf8"));
  const { typedInTheNotebook } = JSON.parse(readFileSync(join(folder, "truth.json"), "utf8"));
  const text = readFileSync(join(folder, "night.csv"), "utf8");
  const typed = typedInTheNotebook
    .map((s) => [s.time, s.star, s.hourAngle, s.declination].join(","))
    .join("\n");
  const clean = lib.readNight(`${text.trimEnd()}\n${typed}\n`, mount).night;
  const lines = `${text.trimEnd()}\n${typed}\n`.split("\n");
  const first = lines.findIndex((line) => line.startsWith("2026"));
  const fields = lines[first + MISNAMED.row - 1].split(",");
  fields[1] = MISNAMED.as;
  lines[first + MISNAMED.row - 1] = fields.join(",");
  const misnamed = lib.readNight(lines.join("\n"), mount).night;
  return { mount, clean, misnamed };
}

const LONG_NIGHT = 1000;

/** Nights of a thousand sightings each, by what is wrong with them. */
export function longNights(lib) {
  const mount = lib.parseMountText(readFileSync(join(root, "data", "first-light", "mount.json"), "utf8"));
  const night = (faults) =>
    lib.simulateNight({
      seed: SEASON_SEED,
      mount,
      terms: { hourAngleZero: 4, declinationZero: -6, polarEast: 20 },
      targets: LONG_NIGHT,
      fromMs: SEASON_START_MS,
      toMs: SEASON_START_MS + NIGHT_HOURS * 3_600_000,
      faults,
    });
  const everySo = (step) =>
    Array.from({ length: LONG_NIGHT / step - 1 }, (_, k) => ({
      kind: "outlier",
      row: (k + 1) * step,
      west: 60 + k,
      north: -40,
    }));
  return {
    [`${LONG_NIGHT} sightings, every twentieth wrong`]: night(everySo(20)),
    "  zeros that moved": night([
      { kind: "zeros-moved", row: LONG_NIGHT / 4, hourAngle: 300, declination: -200 },
    ]),
    "  a wrong clock": night([{ kind: "clock", hours: 5 }]),
    "  a reversed encoder": night([{ kind: "sense-reversed", axis: "declination" }]),
  };
}

/** Plate-solved pictures of a season: coordinates instead of names, fine encoders, one zero throughout. */
export function season(lib, count) {
  const mount = lib.parseMountText(readFileSync(join(root, "data", "first-light", "mount.json"), "utf8"));
  const fine = { ...mount.readings.hourAngle, perTurn: 1_000_000 };
  const fineMount = {
    ...mount,
    centringArcmin: 0.3,
    readings: { hourAngle: fine, declination: { ...fine, sense: -1 } },
  };
  const random = lib.seededRandom(SEASON_SEED);
  const model = lib.modelOfMount(fineMount);
  const coefficients = new Float64Array(model.size);
  lib.termNames.forEach((name, k) => {
    coefficients[k] = (seasonTruth[name] ?? 0) * ARCMINUTE;
  });
  const sky = lib.skyOverNight(SEASON_START_MS, SEASON_START_MS + SEASON_NIGHTS * DAY_MS, mount.site);
  const readings = new Float64Array(2);
  const stance = { beyond: false, hourAngleApproach: 0, declinationApproach: 0 };
  const latitude = (mount.site.latitude * Math.PI) / 180;
  const sightings = [];
  for (let k = 0; k < count; k++) {
    const inNight = ((k * SEASON_NIGHTS) / count) % 1;
    const night = Math.floor((k * SEASON_NIGHTS) / count);
    const timeMs =
      Math.round((SEASON_START_MS + night * DAY_MS + inNight * NIGHT_HOURS * 3_600_000) / 1000) * 1000;
    const frame = sky.at(timeMs);
    const hourAngle = (2 * random() - 1) * 1.4;
    const declination = (-75 + 110 * random()) * (Math.PI / 180);
    const up =
      Math.sin(latitude) * Math.sin(declination) +
      Math.cos(latitude) * Math.cos(declination) * Math.cos(hourAngle);
    // Too low: on the near side of the equator instead.
    const seen = { hourAngle, declination: up > LOWEST_SINE ? declination : -Math.abs(declination) - 0.1 };
    const position = lib.icrsFromObservedIn(frame, seen);
    const cos = Math.cos(seen.declination);
    const west =
      (lib.gaussian(random) * 0.3 + lib.gaussian(random) * mount.timingS * 0.2507 * cos) * ARCMINUTE;
    const north = lib.gaussian(random) * 0.3 * ARCMINUTE;
    model.forward(coefficients, seen.hourAngle + west / cos, seen.declination + north, stance, readings);
    const counts = (angle, sense) => Math.round((sense * angle * 1_000_000) / (2 * Math.PI));
    sightings.push({
      row: k + 1,
      line: k + 2,
      time: new Date(timeMs).toISOString(),
      timeMs,
      star: `${position.raDeg.toFixed(4)} ${position.decDeg.toFixed(4)}`,
      catalogueStar: null,
      position,
      hourAngle: counts(readings[0], 1),
      declination: counts(readings[1], -1),
      pressureHPa: null,
      temperatureC: null,
      zeroSet: "",
      tubeSet: "",
      side: "normal",
      hourAngleApproach: null,
      declinationApproach: null,
      centringArcmin: null,
      use: true,
      note: "",
    });
  }
  return { mount: fineMount, sightings };
}

/** Writes a night for the rivals in Python; returns the case's path. */
export function writeCase(name, night, { terms, priors, kind, repeats }) {
  mkdirSync(out, { recursive: true });
  const { mount, sightings } = night;
  const columns = [
    (s) => s.position.raDeg,
    (s) => s.position.decDeg,
    (s) => s.position.pmRaCosDecMasYr ?? 0,
    (s) => s.position.pmDecMasYr ?? 0,
    (s) => s.position.parallaxMas ?? 0,
    (s) => s.position.radialVelocityKmS ?? 0,
    (s) => s.timeMs,
    (s) => s.hourAngle,
    (s) => s.declination,
  ];
  const rows = join(out, `${name}.f64`);
  const values = new Float64Array(columns.length * sightings.length);
  columns.forEach((column, c) => {
    sightings.forEach((sighting, k) => {
      values[c * sightings.length + k] = column(sighting);
    });
  });
  writeFileSync(rows, new Uint8Array(values.buffer));
  const path = join(out, `${name}.json`);
  const { site, readings, centringArcmin, timingS, tolerances } = mount;
  const plain = { site, readings, centringArcmin, timingS, tolerances };
  writeFileSync(path, JSON.stringify({ mount: plain, rows, terms, priors, kind, repeats }));
  return path;
}
