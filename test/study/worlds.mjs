// The worlds of world-table.mjs through the built library's fit, quickly, in one process: coverage, widths, notes.
// Run after a build: node test/study/worlds.mjs [--world clean,play* (all but long ones when left out)] [--nights 40]
//   [--seed 1] [--terms (coverage of each term)] [--codes (all notes)] [--failing (seeds of nights that miss what they
//   should tell, have unasked alarms or are wrong)] [--compare (a second night of each mount, unchanged: called changed?)]
//   [--one SEED (a night whole; with --world)] [--write FOLDER (mount, night and truth of each night)] [--list]
import { mkdirSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { parseArgs } from "node:util";
import { drawWorldNight } from "./draw-world.mjs";
import { heldAgainst, judge, together } from "./judge.mjs";
import { builtLibrary } from "./library.mjs";
import { kinds } from "./night-kinds.mjs";
import { worlds } from "./world-table.mjs";

const { values: given } = parseArgs({
  options: {
    world: { type: "string" },
    nights: { type: "string", default: "40" },
    seed: { type: "string", default: "1" },
    terms: { type: "boolean", default: false },
    codes: { type: "boolean", default: false },
    failing: { type: "boolean", default: false },
    one: { type: "string" },
    compare: { type: "boolean", default: false },
    write: { type: "string" },
    list: { type: "boolean", default: false },
  },
});
if (given.list) {
  for (const { name, of, what, told, goals } of worlds)
    console.log(
      `${name.padEnd(26)} ${what}; ${kinds[of].words}. Told: ${told.map((codes) => codes.join(" or ")).join(", ")} ${JSON.stringify(goals)}`,
    );
  process.exit(0);
}
const library = await builtLibrary();
const wanted = given.world?.split(",");
const isWanted = (name) =>
  wanted.some((one) => name === one || (one.endsWith("*") && name.startsWith(one.slice(0, -1))));
const chosen = worlds.filter(({ name, of }) => (wanted ? isWanted(name) : of !== "long"));
if (chosen.length === 0) throw new Error("no such world; --list shows them");

function showOne(name, seed) {
  const night = drawWorldNight(library, name, seed);
  const fit = library.fitMount(night);
  console.log(
    `latitude ${night.mount.site.latitude.toFixed(1)}, ${night.sightings.length} sightings, sound ${fit.sound}`,
  );
  console.log(
    `truth: ${JSON.stringify({ faults: night.truth.faults, disturbance: night.truth.disturbance })}`,
  );
  for (const note of fit.notes) console.log(`${note.code} @${note.row}: ${note.message}`);
  for (const { name: term, set, value, uncertainty } of fit.terms) {
    const truth = night.terms[term];
    const against =
      truth === undefined ? "" : `truth ${truth.toFixed(3)} (${((value - truth) / uncertainty).toFixed(2)})`;
    console.log(
      `${`${term} ${set ?? ""}`.padEnd(30)} ${value.toFixed(3).padStart(10)} ± ${uncertainty.toFixed(3).padEnd(8)} ${against}`,
    );
  }
}

function writeNights() {
  mkdirSync(given.write, { recursive: true });
  for (const { name } of chosen)
    for (let k = 0; k < Number(given.nights); k++) {
      const seed = seedOf(k);
      const night = drawWorldNight(library, name, seed);
      const write = (what, text) => writeFileSync(join(given.write, `${name}-${seed}.${what}`), text);
      write("mount.json", library.mountFileText(night.mount));
      write("night.csv", night.csv);
      write("truth.json", `${JSON.stringify(night.terms)}\n`);
    }
}

const seedOf = (k) => Number(given.seed) * 100_003 + k;

/** A world's nights judged, and what failed, with seeds. */
function runWorld(name) {
  const judged = [];
  const failing = [];
  for (let k = 0; k < Number(given.nights); k++) {
    const night = drawWorldNight(library, name, seedOf(k));
    const started = performance.now();
    let fit;
    try {
      fit = library.fitMount(night);
    } catch (problem) {
      console.log(`  ${name} --one ${seedOf(k)} threw: ${String(problem?.stack ?? problem).slice(0, 400)}`);
      continue;
    }
    const milliseconds = performance.now() - started;
    const later = given.compare && fit.sound ? library.fitMount(night.another()) : null;
    const one = judge(library, fit, night, later?.sound ? library.compareModels(fit, later) : null);
    judged.push({ ...one, milliseconds });
    const reasons = [
      ...(one.told ? [] : ["not told"]),
      ...(one.placed === false ? ["misplaced"] : []),
      ...(one.renamed === false ? ["not renamed"] : []),
      ...(one.wrong ? ["wrong"] : []),
      ...(one.changed ? ["changed"] : []),
      ...one.unasked,
    ];
    if (reasons.length > 0) failing.push(`${seedOf(k)} (${reasons.join(", ")})`);
  }
  return { judged, failing };
}

const percent = ({ value }) => (Number.isNaN(value) ? "" : `${Math.round(100 * value)}`);
const columns = [
  ["pole", (found) => percent(found.pole)],
  ["zeros", (found) => percent(found.zeros)],
  ["geom", (found) => percent(found.geometry)],
  ["oth", (found) => percent(found.others)],
  ["terms", (found) => percent(found.terms)],
  ["sigma", (found) => found.sigma.toFixed(3)],
  ["worst", (found) => found.worst.toFixed(1)],
  ["> 3.5", (found) => `${found.farOff}`],
  ["told", (found, world) => (world.told.length > 0 ? percent(found.told) : "")],
  ["placed", (found) => percent(found.placed)],
  ["renamed", (found) => percent(found.renamed)],
  ["unasked", (found) => percent(found.unasked)],
  ["stopped", (found) => percent(found.stopped)],
  ["no turn", (found) => percent(found.withheld)],
  ["wrong", (found) => percent(found.wrong)],
  ...(given.compare ? [["changed", (found) => percent(found.changed)]] : []),
];

function showWorlds() {
  console.log(
    `95 % intervals cover (%), sigma: pole's median ′, worst: deviation in σ, > 3.5: nights with one beyond 3.5 σ, notes (%); ${given.nights} nights a world, seed ${given.seed}; ! misses its goal beyond chance, ? by chance perhaps`,
  );
  console.log(
    `${"world".padEnd(25)}${columns.map(([name]) => name.padStart(8)).join("")}  ms half, most  notes`,
  );
  for (const world of chosen) {
    const { judged, failing } = runWorld(world.name);
    if (judged.length === 0) continue;
    const found = together(judged);
    const against = new Map(heldAgainst(world.goals, found).map(({ name, met }) => [name, met]));
    const mark = (name) => (against.get(name) === false ? "!" : against.get(name) === null ? "?" : "");
    const cells = columns.map(([name, text]) => `${mark(name)}${text(found, world)}`.padStart(8));
    const times = judged.map(({ milliseconds }) => milliseconds).sort((a, b) => a - b);
    const codes = Object.entries(found.codes).slice(0, given.codes ? undefined : 5);
    console.log(
      `${world.name.padEnd(25)}${cells.join("")}  ${times[times.length >> 1].toFixed(1).padStart(6)} ${times.at(-1).toFixed(0).padStart(5)}  ${codes
        .map(([code, value]) => `${code} ${Math.round(100 * value)}`)
        .join(", ")}`,
    );
    if (given.terms)
      console.log(
        `    ${Object.entries(found.byTerm)
          .map(([name, term]) => `${name} ${percent(term)} (rms ${term.rms.toFixed(2)})`)
          .join(", ")}`,
      );
    if (given.failing && failing.length > 0) console.log(`    --one ${failing.slice(0, 12).join("; ")}`);
  }
}

if (given.one !== undefined) showOne(chosen[0].name, Number(given.one));
else if (given.write !== undefined) writeNights();
else showWorlds();
