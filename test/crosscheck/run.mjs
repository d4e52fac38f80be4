// Holds the command line against ERFA, SciPy and simulated truth on fresh nights.
// Run after a build: node test/crosscheck/run.mjs [--nights 24] [--seed N] [--keep FOLDER]
// Needs Debian's python3-erfa, python3-numpy, python3-scipy (/usr/bin/python3). Exit 1 when anything fails.
import { spawn, spawnSync } from "node:child_process";
import { mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { createInterface } from "node:readline";
import { parseArgs } from "node:util";
import { check as checkOne, stateCounts } from "../support/counting.mjs";

const { values: given } = parseArgs({
  options: {
    nights: { type: "string", default: "24" },
    seed: { type: "string" },
    keep: { type: "string" },
    kinds: { type: "string" },
  },
});
const here = new URL(".", import.meta.url).pathname;
const cli = new URL("cli/main.js", process.env.POLEWRIGHT_DIST ?? new URL("../../dist/", import.meta.url))
  .pathname;
const PYTHON = "/usr/bin/python3";

// Tolerances, and why.
/** In units of a term's own uncertainty. Chance exceeds 3.5 once in 2100 terms, and 4.5 once in 150 000. */
const TRUTH_SIGMAS = 3.5;
const NEVER_SIGMAS = 4.5;
const CHANCE_BEYOND = 4.65e-4;
/** Clean nights on which chance may raise an alarm: the goal is below this share. */
const ALARM_SHARE = 0.01;
/** The sky's rms against the expected one, as a fraction; for few sightings as far as chance reaches (3.5 sigma). */
const RMS_FRACTION = 0.25;
/** Against SciPy, arcminutes: refraction differs from ERFA's by up to 2″ at 15°. */
const CLASSICAL_ARCMIN = 0.02;
/** Where tolerances hold ill-determined terms, the refraction's difference is magnified: in units of the uncertainty. */
const TERM_SIGMAS = 0.02;
const ERROR_FRACTION = 0.01;
/** χ² without sags in the model is large, and each of its residuals bears the difference of the refractions. */
const CHI_SQUARE_FRACTION = 0.06;
const SCALE_UP_PROBABILITY = 0.05;
/** The polar error left by one round of turns, 10 000 steps and 24 sightings. */
const LEFT_ARCMIN = 2.5;

const faulty = new Set(["reversed", "steps", "clock", "longitude"]);
const alarms = new Set([
  "misnamed-star",
  "outlier",
  "zeros-moved",
  "sense-reversed",
  "clock-zone",
  "poor-fit",
  "added-term",
]);
const classicalTerms = [
  "hourAngleZero",
  "declinationZero",
  "polarAltitude",
  "polarEast",
  "cone",
  "squareness",
];

const check = (night, what, holds, detail) => checkOne(`${night}: ${what}`, holds, detail);

function polewright(...args) {
  const run = spawnSync(process.execPath, [cli, ...args], { encoding: "utf8", maxBuffer: 1e8 });
  let json = null;
  try {
    json = JSON.parse(run.stdout);
  } catch {
    // Told by the check that follows.
  }
  return { status: run.status, json, stderr: run.stderr };
}

/** A Python script that answers line by line. */
function pythonHelper(script) {
  const child = spawn(PYTHON, [join(here, script)], { stdio: ["pipe", "pipe", "inherit"] });
  const lines = createInterface({ input: child.stdout })[Symbol.asyncIterator]();
  return {
    async ask(question) {
      child.stdin.write(`${JSON.stringify(question)}\n`);
      const { value, done } = await lines.next();
      if (done) throw new Error(`${script} stopped`);
      return JSON.parse(value);
    },
    end: () => child.stdin.end(),
  };
}

const folder = given.keep ?? mkdtempSync(join(tmpdir(), "polewright-crosscheck-"));
mkdirSync(folder, { recursive: true });
const made = spawnSync(
  PYTHON,
  [
    join(here, "make_nights.py"),
    folder,
    "--nights",
    given.nights,
    ...(given.seed ? ["--seed", given.seed] : []),
    ...(given.kinds ? ["--kinds", given.kinds] : []),
  ],
  { encoding: "utf8" },
);
process.stdout.write(made.stdout);
if (made.status !== 0) {
  console.error(made.stderr);
  process.exit(1);
}

const scipy = pythonHelper("fit_with_scipy.py");
const turner = pythonHelper("apply_turns.py");
const ratios = [];
let clean = 0;
const alarmed = [];
let terms = 0;
let worst = 0;
const beyond = [];

for (const name of readdirSync(folder).sort()) {
  const mountFile = join(folder, name, "mount.json");
  const nightFile = join(folder, name, "night.csv");
  const truth = JSON.parse(readFileSync(join(folder, name, "truth.json"), "utf8"));
  const mount = JSON.parse(readFileSync(mountFile, "utf8"));
  const { status, json: fit, stderr } = polewright("fit", nightFile, "--mount", mountFile, "--json");
  if (
    !check(
      name,
      "fit --json prints one object",
      fit !== null && Array.isArray(fit?.terms),
      `exit ${status}, ${stderr.slice(0, 300)}`,
    )
  )
    continue;
  const codes = fit.notes.filter((note) => alarms.has(note.code));
  const turns = polewright("turns", nightFile, "--mount", mountFile, "--json");
  check(name, "turns --json prints one object", turns.json !== null, turns.stderr.slice(0, 300));

  if (faulty.has(truth.kind)) {
    const { code } = truth.expected;
    check(
      name,
      `note ${code}`,
      codes.some((note) => note.code === code),
      JSON.stringify({ fault: truth.fault, notes: codes.map((n) => n.code) }),
    );
    check(name, "exit code 1", status === 1 && turns.status === 1, `fit ${status}, turns ${turns.status}`);
    check(name, "no turns", turns.json?.turns?.recommended !== true);
    continue;
  }
  check(
    name,
    "exit code 0",
    status === 0 && turns.status === 0,
    `fit ${status}, turns ${turns.status}: ${stderr.slice(0, 300)}`,
  );

  // Notes.
  if (truth.expected === null) {
    clean++;
    if (codes.length > 0) alarmed.push(`${name}: ${JSON.stringify(codes)}`);
  } else {
    const { code, row, star } = truth.expected;
    const note = codes.find((found) => found.code === code && found.row === row);
    check(
      name,
      `note ${code} at row ${row}`,
      note !== undefined,
      JSON.stringify({ fault: truth.fault, notes: codes }),
    );
    check(name, "no other alarm", codes.length === 1, JSON.stringify(codes));
    if (star !== undefined) {
      const likely = fit.residuals.find((residual) => residual.row === row)?.likelyStar;
      check(name, `row ${row} is called ${star}`, likely === star, String(likely));
    }
  }

  // Truth.
  for (const [term, value] of Object.entries(truth.terms)) {
    const zero = term === "hourAngleZero" || term === "declinationZero";
    const found = fit.terms.find((estimate) => estimate.name === term);
    if (!check(name, `${term} is there`, found !== undefined)) continue;
    // A zero is what it is but for whole turns.
    const off = zero ? wrap(found.value - value) : found.value - value;
    terms++;
    const said = `${term} of ${name}: ${found.value} ± ${found.uncertainty}, true ${value}`;
    if (Math.abs(off) > TRUTH_SIGMAS * found.uncertainty) beyond.push(said);
    check(
      name,
      `${term} within ${NEVER_SIGMAS} of its uncertainty`,
      Math.abs(off) <= NEVER_SIGMAS * found.uncertainty,
      said,
    );
  }

  // Sky rms.
  const { degreesOfFreedom } = fit.chiSquare;
  const ratio = fit.skyRms.found / fit.skyRms.expected;
  ratios.push(ratio);
  const allowed = Math.max(RMS_FRACTION, 3.5 / Math.sqrt(2 * degreesOfFreedom));
  check(
    name,
    "sky rms as expected",
    Math.abs(ratio - 1) <= allowed,
    `${ratio.toFixed(3)}, allowed 1 ± ${allowed.toFixed(2)}`,
  );

  // SciPy.
  if (truth.kind !== "slip") {
    // The averaged fit is held against every model enumerated in story.mjs; here the classical one against SciPy.
    const classical = polewright(
      "fit",
      nightFile,
      "--mount",
      mountFile,
      "--json",
      "--terms",
      classicalTerms.join(","),
    );
    // Without sags in the model large sags may look like faults: SciPy leaves out the same rows.
    if (
      check(
        name,
        "fit --terms prints one object",
        classical.json?.terms !== undefined,
        classical.stderr.slice(0, 300),
      )
    ) {
      const left = classical.json.residuals
        .filter((residual) => residual.standing !== "used")
        .map((residual) => residual.row);
      const several = classical.json.terms.some((term) => term.set);
      if (!several) {
        const other = await scipy.ask([mountFile, nightFile, classicalTerms, left]);
        const { value: chiSquare, degreesOfFreedom: free, probability } = classical.json.chiSquare;
        // The project's rule: scaled up, never down, from a probability of 5 % on.
        const scale = probability < SCALE_UP_PROBABILITY ? Math.max(1, Math.sqrt(chiSquare / free)) : 1;
        check(
          name,
          "chi-square as SciPy",
          Math.abs(chiSquare / other.chiSquare - 1) <= CHI_SQUARE_FRACTION && free === other.degreesOfFreedom,
          `${chiSquare} (${free}) against ${other.chiSquare} (${other.degreesOfFreedom})`,
        );
        compare(name, classical.json, other, CLASSICAL_ARCMIN, scale);
      }
    }
  }

  // Turns.
  if (truth.kind === "turnable" && turns.json?.turns) {
    const advice = turns.json.turns;
    const { base } = mount;
    const rises = Object.fromEntries(advice.jacks.map((jack) => [jack.name, jack.riseMm]));
    const left = await turner.ask({
      latitude: mount.site.latitude,
      polarAltitude: truth.terms.polarAltitude,
      polarEast: truth.terms.polarEast,
      jacks: base.jacks.map((jack) => ({ ...jack, riseMm: rises[jack.name] ?? 0 })),
      bolts: advice.azimuthBolts && { ...advice.azimuthBolts, leverMm: base.azimuthBolts.leverMm },
    });
    check(
      name,
      `polar error under ${LEFT_ARCMIN}′ after the advised turns`,
      left.distance < LEFT_ARCMIN,
      `${left.distance.toFixed(2)}′ from ${Math.hypot(truth.terms.polarAltitude, truth.terms.polarEast).toFixed(1)}′`,
    );
  }
}
scipy.end();
turner.end();

// What single nights may do by chance, all together may not: a binomial count's three sigmas.
const mostBy = (share, of) => Math.ceil(share * of + 3 * Math.sqrt(share * of));
check(
  "clean nights",
  "no more alarms than chance allows",
  alarmed.length <= mostBy(ALARM_SHARE, clean),
  alarmed.join("; "),
);
check(
  "all terms",
  `within ${TRUTH_SIGMAS} of their uncertainty but for chance`,
  beyond.length <= mostBy(CHANCE_BEYOND, terms),
  beyond.join("; "),
);
for (const said of [...alarmed, ...beyond]) console.log(`noted: ${said}`);
if (ratios.length >= 6) {
  const mean = ratios.reduce((sum, ratio) => sum + ratio, 0) / ratios.length;
  check(
    "all nights",
    "mean of found over expected sky rms",
    Math.abs(mean - 1) < 0.45 / Math.sqrt(ratios.length),
    mean.toFixed(3),
  );
}
if (!given.keep) rmSync(folder, { recursive: true, force: true });
console.log(`largest difference from SciPy: ${worst.toFixed(4)} of a term's uncertainty`);
process.exit(stateCounts());

function wrap(arcminutes) {
  return arcminutes - 21600 * Math.round(arcminutes / 21600);
}

/** Terms and standard errors against SciPy's; `scale`: what chi-square has widened the uncertainties by. */
function compare(night, fit, other, tolerance, scale) {
  for (const term of fit.terms) {
    const value = other.terms[term.name];
    if (value === undefined) {
      check(night, `${term.name} is in SciPy's fit too`, false);
      continue;
    }
    const off = Math.abs(wrap(term.value - value));
    const error = other.standardErrors[term.name];
    worst = Math.max(worst, off / error);
    check(
      night,
      `${term.name} as SciPy (--terms)`,
      off <= Math.max(tolerance, TERM_SIGMAS * error),
      `${term.value} against ${value}`,
    );
    check(
      night,
      `uncertainty of ${term.name} as SciPy`,
      Math.abs(term.uncertainty / (scale * error) - 1) <= ERROR_FRACTION,
      `${term.uncertainty} against ${error} × ${scale}`,
    );
  }
}
