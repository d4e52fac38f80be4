// Writes the demonstration's nights into data/: an invented school's invented telescope, simulated from known errors.
// data/first-light/mount.json is written by hand; everything else there and in data/after-turning follows from it.
// Run after a build: node .dev/make-demo.mjs
import { readFileSync, writeFileSync } from "node:fs";
import { fileURLToPath } from "node:url";

const root = new URL("../", import.meta.url);

/** What the telescope is made with, arcminutes; it stays when the base is turned. */
const build = { cone: 12, squareness: -8, tubeSag: 3, ringSag: 1.5, trunnionSag: 0.8 };
/** Where the axis points at first, arcminutes. */
const firstPole = { polarAltitude: 14, polarEast: -19 };

/** A star every two and a half minutes, the brightest in the dusk first, from the west by north to the south-east. */
const firstStars = [
  "Sirius", "Menkar", "Acamar", "Aldebaran", "Rigel", "Betelgeuse", "Elnath", "Alhena", "Castor", "Procyon", "Adhara",
  "Arneb", "Phact", "Naos", "Alphard", "Regulus", "Suhail", "Avior", "Aspidiske", "Miaplacidus", "Acrux", "Gacrux",
];
/** Sighted in the notebook, after the night file's. */
const typedStars = [
  ["Achernar", "2026-03-14T18:52:30Z"],
  ["Canopus", "2026-03-14T19:22:10Z"],
];
const FIRST_SEED = 20260314;

const invented = [
  "Invented: no such school, no such telescope. Simulated from the errors in truth.json by .dev/make-demo.mjs.",
];

function times(start, count, minutes) {
  const first = Date.parse(start);
  // Nobody is punctual: a fixed unevenness, so that no random number is needed for it.
  return Array.from({ length: count }, (_, k) => first + 1000 * Math.round(60 * minutes * k + 37 * Math.sin(5 * k)));
}

/** A night's text with its last sightings taken out, and those as a notebook types them. */
function withoutLast(night, count) {
  const lines = night.csv.trimEnd().split("\n");
  const typed = night.sightings.slice(-count).map(({ star, time, hourAngle, declination }) => ({
    star, time, hourAngle, declination,
  }));
  return { csv: `${lines.slice(0, -count).join("\n")}\n`, typed };
}

const json = (value) => `${JSON.stringify(value, (_, v) => (typeof v === "number" ? Number(v.toFixed(4)) : v), 2)}\n`;

/**
 * The demonstration's files: path from the root, and text.
 *
 * @param library - `parseMountText` and `simulateNight`
 * @param mountText - data/first-light/mount.json
 */
export function demoFiles(library, mountText) {
  const { parseMountText, simulateNight } = library;
  const mount = parseMountText(mountText, "data/first-light/mount.json");

  const moments = times("2026-03-14T17:52:00Z", firstStars.length, 2.6);
  const firstTerms = { hourAngleZero: 148, declinationZero: -93, ...firstPole, ...build };
  const night = simulateNight({
    seed: FIRST_SEED,
    mount,
    terms: firstTerms,
    targets: [
      ...firstStars.map((star, k) => ({ star, timeMs: moments[k] })),
      ...typedStars.map(([star, time]) => ({ star, timeMs: Date.parse(time) })),
    ],
    comments: [...invented, "First light at Ridge School: the axis set by level and compass only."],
  });
  const first = withoutLast(night, typedStars.length);
  return {
    "data/first-light/night.csv": first.csv,
    "data/first-light/truth.json": json({
      about: invented[0],
      unit: "arcmin",
      terms: firstTerms,
      typedInTheNotebook: first.typed,
      sightings: night.truth.sightings,
    }),
  };
}

/** The files as the tables in data/ and the given library make them now. */
export function currentDemoFiles(library) {
  return demoFiles(library, readFileSync(new URL("data/first-light/mount.json", root), "utf8"));
}

if (process.argv[1] === fileURLToPath(import.meta.url)) {
  const dist = process.env.POLEWRIGHT_DIST ?? new URL("dist/", root).href;
  const library = {
    ...(await import(new URL("mount/mount-file.js", dist).href)),
    ...(await import(new URL("simulate/simulate-night.js", dist).href)),
  };
  for (const [path, text] of Object.entries(currentDemoFiles(library))) writeFileSync(new URL(path, root), text);
}
