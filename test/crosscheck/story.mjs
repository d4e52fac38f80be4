// Holds the command line's posterior against an independent one (story_posterior.py) on nights of the study's worlds.
// Run after a build: node test/crosscheck/story.mjs [--worlds clean,camera-eccentric-scale] [--nights 1] [--seed 1]
//   [--show (every term)]. Needs Debian's python3-erfa, python3-numpy, python3-scipy. Exit 1 when anything fails.
import { spawnSync } from "node:child_process";
import { mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { parseArgs } from "node:util";
import { drawWorldNight } from "../study/draw-world.mjs";
import { builtDist, builtLibrary } from "../study/library.mjs";
import { check as checkOne, stateCounts } from "../support/counting.mjs";

const { values: given } = parseArgs({
  options: {
    worlds: { type: "string", default: "eccentric-1,camera-eccentric-scale" },
    nights: { type: "string", default: "1" },
    seed: { type: "string", default: "1" },
    show: { type: "boolean", default: false },
  },
});
const check = (night, what, holds, detail) => checkOne(`${night}: ${what}`, holds, detail);
const PYTHON = "/usr/bin/python3";
/** Values, in units of their uncertainty, and uncertainties, as a fraction. */
const VALUE_SIGMAS = 0.1;
const UNCERTAINTY_FRACTION = 0.05;
/** Of what may be there or not, but hardly is: such a part of its prior's width does not count. */
const NOTHING = 0.05;
/** Chances that a cause acts. */
const PROBABILITY = 0.05;

/** The stated widths, arcminutes, of what may be there or not. */
const widthOf = Object.fromEntries(
  ["hourAngle", "declination"].flatMap((axis) => [
    [`${axis}EccentricSin`, 1],
    [`${axis}EccentricCos`, 1],
    [`${axis}Scale`, 1],
    [`${axis}Backlash`, 1.5],
    [`${axis}MeridianStep`, 1],
    [`${axis}Creep`, 4],
  ]),
);
Object.assign(widthOf, { polarAltitudeRate: 2, polarEastRate: 2 });

const library = await builtLibrary();
const cli = new URL("cli/main.js", builtDist).pathname;
const folder = mkdtempSync(join(tmpdir(), "polewright-story-"));
const nights = given.worlds.split(",").flatMap((world) =>
  Array.from({ length: Number(given.nights) }, (_, k) => {
    const seed = Number(given.seed) * 100_003 + k;
    const night = drawWorldNight(library, world, seed);
    const [mountFile, nightFile] = ["mount.json", "night.csv"].map((name) =>
      join(folder, `${world}-${seed}.${name}`),
    );
    writeFileSync(mountFile, library.mountFileText(night.mount));
    writeFileSync(nightFile, night.csv);
    const run = spawnSync(process.execPath, [cli, "fit", nightFile, "--mount", mountFile, "--json"], {
      encoding: "utf8",
    });
    const fit = JSON.parse(run.stdout);
    const left = fit.residuals.filter(({ standing }) => standing !== "used").map(({ row }) => row);
    return { name: `${world} ${seed}`, fit, truth: night.terms, question: [mountFile, nightFile, left] };
  }),
);
const python = spawnSync(PYTHON, [join(import.meta.dirname, "story_posterior.py"), "--many"], {
  encoding: "utf8",
  input: nights.map(({ question }) => `${JSON.stringify(question)}\n`).join(""),
  maxBuffer: 1e8,
  env: { ...process.env, OPENBLAS_NUM_THREADS: "1" },
});
check("all nights", "the independent posterior answers", python.status === 0, python.stderr.slice(0, 600));
const answers = python.stdout.trim().split("\n").map(JSON.parse);

nights.forEach(({ name, fit, truth }, k) => {
  const other = answers[k];
  const { errorScale, residue } = other;
  for (const term of fit.terms) {
    const [value, sigma] = [other.terms[term.name], other.uncertainties[term.name]];
    if (!check(name, `${term.name} is in both`, value !== undefined)) continue;
    const least = NOTHING * (widthOf[term.name] ?? 0);
    const off = wrap(term.value - value);
    const said = `${term.value.toFixed(4)} ± ${term.uncertainty.toFixed(4)} against ${value.toFixed(4)} ± ${sigma.toFixed(4)}`;
    if (given.show)
      console.log(
        `${name} ${term.name.padEnd(26)} ${said.padEnd(60)} off ${(off / sigma).toFixed(2)} σ, ratio ${(term.uncertainty / sigma).toFixed(3)}, chance ${term.probability?.toFixed(3) ?? ""} ${other.probability[term.name]?.toFixed(3) ?? ""}; truth ${truth[term.name]?.toFixed(3)}`,
      );
    check(name, `value of ${term.name}`, Math.abs(off) <= Math.max(VALUE_SIGMAS * sigma, least), said);
    check(
      name,
      `uncertainty of ${term.name}`,
      Math.abs(term.uncertainty - sigma) <= Math.max(UNCERTAINTY_FRACTION * sigma, least),
      said,
    );
    if (term.probability !== undefined && term.probability !== null)
      check(
        name,
        `chance that ${term.name} acts`,
        Math.abs(term.probability - other.probability[term.name]) <= PROBABILITY,
        `${term.probability} against ${other.probability[term.name]}`,
      );
  }
  if (given.show)
    console.log(
      `${name} residue ${JSON.stringify(fit.residue)} ${JSON.stringify(residue)}, error scale ${JSON.stringify(fit.errorScale)} ${JSON.stringify(errorScale)}`,
    );
  // Where the JSON has them.
  if (fit.residue)
    check(
      name,
      "chance of a residue",
      Math.abs(fit.residue.probability - residue.probability) <= PROBABILITY,
      `${fit.residue.probability} against ${residue.probability}`,
    );
  if (fit.errorScale)
    check(
      name,
      "scale of the errors",
      Math.abs(fit.errorScale.value - errorScale.value) <= UNCERTAINTY_FRACTION,
      `${fit.errorScale.value} against ${errorScale.value}`,
    );
});
rmSync(folder, { recursive: true, force: true });
process.exit(stateCounts());

function wrap(arcminutes) {
  return arcminutes - 21600 * Math.round(arcminutes / 21600);
}
