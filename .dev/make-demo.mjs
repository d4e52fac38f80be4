// Writes the demonstration's nights into data/: an invented school's invented telescope, simulated from known errors.
// data/first-light/mount.json is written by hand; everything else there and in data/after-turning follows from it.
// Run after a build: node .dev/make-demo.mjs
import { mkdirSync, readFileSync, writeFileSync } from "node:fs";
import { fileURLToPath } from "node:url";

const root = new URL("../", import.meta.url);

/** What the telescope is made with, arcminutes; it stays when the base is turned. */
const build = { cone: 12, squareness: -8, tubeSag: 3, ringSag: 1.5, trunnionSag: 0.8 };
/** Where the axis points at first, arcminutes. */
const firstPole = { polarAltitude: 14, polarEast: -19 };

/** A star every two and a half minutes, the brightest in the dusk first, from the west by north to the south-east. */
const firstStars = [
  "Sirius",
  "Menkar",
  "Acamar",
  "Aldebaran",
  "Rigel",
  "Betelgeuse",
  "Elnath",
  "Alhena",
  "Castor",
  "Procyon",
  "Adhara",
  "Arneb",
  "Phact",
  "Naos",
  "Alphard",
  "Regulus",
  "Suhail",
  "Avior",
  "Aspidiske",
  "Miaplacidus",
  "Acrux",
  "Gacrux",
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
  return Array.from(
    { length: count },
    (_, k) => first + 1000 * Math.round(60 * minutes * k + 37 * Math.sin(5 * k)),
  );
}

/** A night's text with its last sightings taken out, and those as a notebook types them. */
function withoutLast(night, count) {
  const lines = night.csv.trimEnd().split("\n");
  const typed = night.sightings.slice(-count).map(({ star, time, hourAngle, declination }) => ({
    star,
    time,
    hourAngle,
    declination,
  }));
  return { csv: `${lines.slice(0, -count).join("\n")}\n`, typed };
}

/** The drive as it runs: too slow by its roller, which is out of round as its worm is. Arcseconds at the equator. */
const drive = {
  errorPpm: -420,
  waves: [
    { part: "worm", periodS: 79.782, amplitudeArcsec: 3.5, phaseDeg: 40 },
    { part: "roller", periodS: 4786.894, amplitudeArcsec: 9, phaseDeg: 200 },
  ],
};
/** One picture: seeing and the place of its middle. */
const trackNoisePx = 0.8;
const TRACK_SEED = 20260315;

/** Alphard in the camera for two hours and forty minutes while the drive runs and nobody touches it. */
function trackText(library, mount, terms) {
  const random = library.seededRandom(TRACK_SEED);
  const fromMs = Date.parse("2026-03-14T19:30:00Z");
  const start = library.observe(library.findStar("Alphard"), fromMs, mount.site);
  const stand = library.trackingMount(library.standOfMount(mount, terms));
  const course = library.trackTarget(stand, start, [], { ratePpm: drive.errorPpm });
  const pixel = mount.camera.pixelUm / 1000 / mount.camera.focalLengthMm;
  const arcsec = Math.PI / 180 / 3600;
  const wave = (seconds) =>
    drive.waves.reduce(
      (sum, { periodS, amplitudeArcsec, phaseDeg }) =>
        sum + amplitudeArcsec * Math.sin((2 * Math.PI * seconds) / periodS + (phaseDeg * Math.PI) / 180),
      0,
    );
  const rows = [];
  for (let seconds = 0; seconds <= 9600; seconds += 20) {
    const [{ east, north }] = course.placesAt(seconds);
    const shaft = (wave(seconds) - wave(0)) * arcsec * Math.cos(start.declination);
    const west = (shaft - east) / pixel + trackNoisePx * library.gaussian(random);
    const time = new Date(fromMs + 1000 * seconds).toISOString().replace(".000", "");
    const north_ = north / pixel + trackNoisePx * library.gaussian(random);
    rows.push(`${time},${seconds === 0 ? "Alphard" : ""},${west.toFixed(2)},${north_.toFixed(2)}`);
  }
  return `# ${invented[0]}\n# Alphard in the camera, three pictures a minute; the drive was not touched.\ntime,star,westPixels,northPixels\n${rows.join("\n")}\n`;
}

/** Two stars that were let drift across the cross-wire. */
function driftsText(library, mount, terms) {
  const stand = library.trackingMount(library.standOfMount(mount, terms));
  const arcsec = Math.PI / 180 / 3600;
  const rows = [
    ["Alphard", "2026-03-14T20:10:00Z", 8, 0.6],
    ["Spica", "2026-03-14T20:30:00Z", 8, -0.9],
  ].map(([star, time, minutes, error]) => {
    const start = library.observe(library.findStar(star), Date.parse(time), mount.site);
    const [end] = library.trackTarget(stand, start).placesAt(60 * minutes);
    return `${star},${time},${minutes},${(end.north / arcsec + error).toFixed(1)}`;
  });
  return `# ${invented[0]}\nstar,time,minutes,driftNorthArcsec\n${rows.join("\n")}\n`;
}

/** The nights kept after the turning: the floor under the base goes on settling. Arcminutes. */
const keptNights = [
  { name: "kept-in-march", from: "2026-03-28T17:50:00Z", temperatureC: 17, polarAltitude: 0.6 },
  { name: "kept-in-april", from: "2026-04-25T17:20:00Z", temperatureC: 12, polarAltitude: -1.7 },
  { name: "kept-in-june", from: "2026-06-13T16:50:00Z", temperatureC: 5, polarAltitude: -5.8 },
];
const KEPT_STARS = 18;

/**
 * The kept models: path from the root, and text. Their last digits follow the fit, so they are compared by value.
 */
export function keptFiles(library, mountText) {
  const mount = library.parseMountText(mountText, "data/first-light/mount.json");
  return Object.fromEntries(
    keptNights.map(({ name, from, temperatureC, ...moved }, index) => {
      const fromMs = Date.parse(from);
      const night = library.simulateNight({
        seed: 20260328 + index,
        mount,
        terms: {
          ...build,
          ...moved,
          hourAngleZero: 40 - 30 * index,
          declinationZero: 12 * index,
          polarEast: 0.4,
        },
        targets: KEPT_STARS,
        fromMs,
        toMs: fromMs + 3_600_000,
        comments: invented,
      });
      const kept = library.keepModel(library.fitMount(night), invented[0], temperatureC);
      return [`data/kept/${name}.json`, library.keptModelText(kept)];
    }),
  );
}

const json = (value) =>
  `${JSON.stringify(value, (_, v) => (typeof v === "number" ? Number(v.toFixed(4)) : v), 2)}\n`;

/** A week later the encoders have been switched on anew. */
const secondZeros = { hourAngleZero: -71, declinationZero: 38 };
/** What the screws and the floor really do of what is asked of them: the pads under the feet give a little. */
const gains = { tilt: 0.93, bolts: 0.98 };
const secondStars = [
  "Sirius",
  "Menkar",
  "Acamar",
  "Aldebaran",
  "Rigel",
  "Betelgeuse",
  "Elnath",
  "Alhena",
  "Castor",
  "Procyon",
  "Adhara",
  "Arneb",
  "Phact",
  "Naos",
  "Alphard",
  "Regulus",
  "Suhail",
  "Avior",
  "Aspidiske",
  "Miaplacidus",
  "Canopus",
  "Acrux",
];
const SECOND_SEED = 20260321;

/**
 * The demonstration's files: path from the root, and text.
 *
 * @param library - the functions of the modules named below
 * @param mountText - data/first-light/mount.json
 */
export function demoFiles(library, mountText) {
  const mount = library.parseMountText(mountText, "data/first-light/mount.json");
  const firstMoments = times("2026-03-14T17:52:00Z", firstStars.length, 2.6);
  const firstTerms = { hourAngleZero: 148, declinationZero: -93, ...firstPole, ...build };
  const firstNight = library.simulateNight({
    seed: FIRST_SEED,
    mount,
    terms: firstTerms,
    targets: [
      ...firstStars.map((star, k) => ({ star, timeMs: firstMoments[k] })),
      ...typedStars.map(([star, time]) => ({ star, timeMs: Date.parse(time) })),
    ],
    comments: [...invented, "First light at Nowhere School: the axis set by level and compass only."],
  });
  const first = withoutLast(firstNight, typedStars.length);

  // The turns that the whole first night advises, as the screws and the floor carry them out.
  const advice = library.jackTurns(library.fitMount(firstNight));
  const asked = library.turnsOfAdvice(advice);
  const done = asked.map((turn) => {
    const gain = turn.adjuster === "azimuth bolts" ? gains.bolts : gains.tilt;
    return { ...turn, turns: turn.turns * gain, mm: turn.mm === null ? null : turn.mm * gain };
  });
  const from = { altitude: firstPole.polarAltitude, east: firstPole.polarEast };
  const now = library.applyTurns(mount.base, done, mount.site, from);

  const secondMoments = times("2026-03-21T17:48:00Z", secondStars.length, 2.6);
  const secondTerms = { ...secondZeros, polarAltitude: now.altitude, polarEast: now.east, ...build };
  const secondNight = library.simulateNight({
    seed: SECOND_SEED,
    mount,
    terms: secondTerms,
    targets: secondStars.map((star, k) => ({ star, timeMs: secondMoments[k] })),
    comments: [
      ...invented,
      "A week later, after the turns in turned.csv; the encoders were switched on anew.",
    ],
  });
  return {
    "data/first-light/night.csv": first.csv,
    "data/first-light/track.csv": trackText(library, mount, firstTerms),
    "data/first-light/drifts.csv": driftsText(library, mount, firstTerms),
    "data/first-light/truth.json": json({
      about: invented[0],
      unit: "arcmin",
      terms: firstTerms,
      drive,
      typedInTheNotebook: first.typed,
      sightings: firstNight.truth.sightings,
    }),
    "data/after-turning/mount.json": mountText,
    "data/after-turning/turned.csv": `# ${invented[0]}\n# The turns that the first night, with the two stars typed in, advises: made to the letter.\n${library.turnedFileText(library.turnedRows(advice, 1))}`,
    "data/after-turning/night.csv": secondNight.csv,
    "data/after-turning/truth.json": json({
      about: invented[0],
      unit: "arcmin",
      gains,
      terms: secondTerms,
      sightings: secondNight.truth.sightings,
    }),
  };
}

/** The kept models as the given library makes them now. */
export function currentKeptFiles(library) {
  return keptFiles(library, readFileSync(new URL("data/first-light/mount.json", root), "utf8"));
}

/** The files as the given library makes them now. */
export function currentDemoFiles(library) {
  return demoFiles(library, readFileSync(new URL("data/first-light/mount.json", root), "utf8"));
}

if (process.argv[1] === fileURLToPath(import.meta.url)) {
  const dist = process.env.POLEWRIGHT_DIST ?? new URL("dist/", root).href;
  const modules = await Promise.all(
    [
      "mount/mount-file.js",
      "simulate/simulate-night.js",
      "fit/mount-fit.js",
      "base/jack-turns.js",
      "base/turns-made.js",
      "base/turned-file.js",
      "keep/keep.js",
      "pointing/field-stand.js",
      "pointing/field-track.js",
      "simulate/random.js",
      "sky/find-star.js",
      "sky/observe.js",
    ].map((path) => import(new URL(path, dist).href)),
  );
  for (const folder of ["after-turning", "kept"])
    mkdirSync(new URL(`data/${folder}/`, root), { recursive: true });
  const library = Object.assign({}, ...modules);
  const files = { ...currentDemoFiles(library), ...currentKeptFiles(library) };
  for (const [path, text] of Object.entries(files)) writeFileSync(new URL(path, root), text);
}
