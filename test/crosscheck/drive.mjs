// Holds the drive's rate, periods and amplitudes against courses made by ERFA and plain rotations, and the periodogram against
// astropy and SciPy. Run after a build: node test/crosscheck/drive.mjs [--tracks 60] [--seed 1] [--keep FOLDER]
// Needs Debian's python3-erfa, python3-numpy, python3-scipy, python3-astropy (/usr/bin/python3).
import { spawnSync } from "node:child_process";
import { mkdtempSync, readFileSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { parseArgs } from "node:util";
import { check, stateCounts } from "../support/counting.mjs";

const { values: given } = parseArgs({
  options: {
    tracks: { type: "string", default: "60" },
    seed: { type: "string", default: "1" },
    keep: { type: "string" },
  },
});
const here = new URL(".", import.meta.url).pathname;
const dist = new URL("../../dist/", import.meta.url);
const PYTHON = "/usr/bin/python3";
const load = (path) => import(new URL(path, dist).href);
const { drive } = await load("drive/drive.js");
const { readTrack } = await load("drive/track-file.js");
const { periodogram } = await load("drive/periodogram.js");
const { parseMount } = await load("mount/mount-file.js");
const { gaussian, seededRandom } = await load("simulate/random.js");

const folder = given.keep ?? mkdtempSync(join(tmpdir(), "polewright-tracks-"));
const made = spawnSync(
  PYTHON,
  [join(here, "make_tracks.py"), folder, "--tracks", given.tracks, "--seed", given.seed],
  {
    encoding: "utf8",
  },
);
process.stdout.write(made.stdout);
if (made.status !== 0) {
  console.error(made.stderr);
  process.exit(1);
}
const truth = JSON.parse(readFileSync(join(folder, "truth.json"), "utf8"));
const random = seededRandom(Number(given.seed));
const names = ["polarAltitude", "polarEast", "tubeSag", "ringSag", "trunnionSag"];
const inside = { rate: 0, here: 0, amplitude: 0, period: 0 };
let seen = 0;
let onlyIt = 0;
let bumpsRight = 0;
let periodogramTrack = null;
const started = performance.now();
for (const one of truth) {
  const mount = parseMount({
    name: "Crosscheck",
    site: one.site,
    readings: { hourAngle: { as: "counts", perTurn: 16384 }, declination: { as: "counts", perTurn: 16384 } },
  });
  const text = readFileSync(join(folder, one.file), "utf8");
  const track = readTrack(text, mount);
  periodogramTrack ??= track;
  // The axis is known to so much, as after a night of sightings; the sags are none, and known to be.
  const sigma = one.axisKnownArcmin;
  const value = (k) => (k < 2 ? [one.altitude, one.east][k] + sigma * gaussian(random) : 0);
  const standing = {
    mount,
    terms: names.map((name, k) => ({ name, set: null, value: value(k) })),
    covariance: names.map((_, i) => names.map((__, j) => (i !== j ? 0 : i < 2 ? sigma ** 2 : 1e-6))),
  };
  const found = drive(track, mount, { standing });
  const within = (value, uncertainty, true_) => Math.abs(value - true_) < 2 * uncertainty;
  if (within(found.rate.errorPpm, found.rate.uncertaintyPpm, one.errorPpm)) inside.rate += 1;
  const wave = found.periodic.find((p) => Math.abs(p.periodS / one.periodS - 1) < 0.05);
  if (wave !== undefined) {
    seen += 1;
    if (within(wave.amplitudeArcsec, wave.uncertaintyArcsec, one.amplitudeArcsec)) inside.amplitude += 1;
    if (within(wave.periodS, wave.periodUncertaintyS, one.periodS)) inside.period += 1;
  }
  if (found.periodic.length === 1) onlyIt += 1;
  const rows = found.bumps.map((bump) => bump.row).join();
  if (rows === (one.bump === null ? "" : String(one.bump.row))) bumpsRight += 1;
}
const count = truth.length;
const share = (number) => `${number} of ${count}`;
// 95 % less what chance takes: 2.6 standard deviations of the count.
const least = 0.95 * count - 2.6 * Math.sqrt(0.95 * 0.05 * count);
check("the rate lies within 2 σ in 95 %", inside.rate >= least, share(inside.rate));
check("the amplitude lies within 2 σ in 95 %", inside.amplitude >= least, share(inside.amplitude));
check("the period lies within 2 σ in 95 %", inside.period >= least, share(inside.period));
check("the period is seen", seen >= 0.99 * count, share(seen));
check("no other period is seen, but on few courses", onlyIt >= 0.93 * count, share(onlyIt));
check("bumps are found where they were, and nowhere else", bumpsRight >= 0.97 * count, share(bumpsRight));

// The periodogram against astropy's and SciPy's, the same values at the same frequencies.
const seconds = Float64Array.from(
  periodogramTrack,
  (point) => (point.timeMs - periodogramTrack[0].timeMs) / 1000,
);
const values = Float64Array.from(periodogramTrack, (point) => point.westArcsec);
const range = { from: 1 / 3000, to: 1 / 60, step: 1 / 40_000 };
const same = (column, out) => out.set(column);
const ones = new Float64Array(seconds.length).fill(1);
const floating = periodogram(seconds, same, [ones], values, range);
const less = values.map((one) => one - values.reduce((a, b) => a + b, 0) / values.length);
const centred = periodogram(seconds, same, [], less, range);
const asked = JSON.stringify({
  seconds: [...seconds],
  values: [...values],
  frequencies: floating.map((point) => point.frequency),
});
const answered = spawnSync(PYTHON, [join(here, "lomb_scargle.py")], {
  input: `${asked}\n`,
  encoding: "utf8",
  maxBuffer: 1e8,
});
if (answered.status !== 0) console.error(answered.stderr);
const python = JSON.parse(answered.stdout);
// Ours is half the ratio (χ²₀ − χ²) / χ² times the degrees of freedom left.
const compare = (points, others, unknowns) =>
  points.reduce((worst, point, k) => {
    const expected = (others[k] * (seconds.length - unknowns)) / 2;
    return Math.max(worst, Math.abs(point.power - expected) / (1 + expected));
  }, 0);
const astropy = compare(floating, python.floating, 3);
const scipy = compare(centred, python.centred, 2);
check(
  "the periodogram is astropy's with a floating mean",
  astropy < 1e-6,
  `differs by ${astropy.toExponential(1)} at most`,
);
check(
  "the periodogram is SciPy's of centred values",
  scipy < 1e-6,
  `differs by ${scipy.toExponential(1)} at most`,
);
console.log(`${((performance.now() - started) / count).toFixed(0)} ms a course`);
if (given.keep === undefined) rmSync(folder, { recursive: true });
process.exitCode = stateCounts();
