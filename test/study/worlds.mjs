// The worlds of world-table.mjs through the built library's fit, quickly, in one process: coverage, widths, notes.
// Run after a build: node test/study/worlds.mjs [--world clean,play-2 (all but long ones when left out)] [--nights 40]
//   [--seed 1] [--terms (coverage of each term)] [--codes (all notes)] [--failing (seeds of nights that miss what they
//   should tell, have unasked alarms or are wrong)] [--compare (a second night of each mount, unchanged: called changed?)]
//   [--one SEED (a night whole; with --world)] [--list]
import { parseArgs } from "node:util";
import { judge, missed, together } from "./judge.mjs";
import { builtLibrary } from "./library.mjs";
import { drawWorldNight, worlds } from "./world-table.mjs";

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
    list: { type: "boolean", default: false },
  },
});
if (given.list) {
  for (const { name, of, told, goals } of worlds)
    console.log(
      `${name.padEnd(26)} ${of.padEnd(7)} told: ${(told ?? []).join(" or ")} goals: ${JSON.stringify(goals ?? {})}`,
    );
  process.exit(0);
}
const library = await builtLibrary();
const byPrefix = (name) =>
  (given.world ?? "")
    .split(",")
    .some((wanted) => name === wanted || (wanted.endsWith("*") && name.startsWith(wanted.slice(0, -1))));
const chosen = worlds.filter(({ name, of }) => (given.world ? byPrefix(name) : of !== "long"));
if (chosen.length === 0) throw new Error(`no such world; --list shows them`);

if (given.one !== undefined) {
  const night = drawWorldNight(library, chosen[0].name, Number(given.one));
  const fit = library.fitMount(night);
  console.log(
    `latitude ${night.mount.site.latitude.toFixed(1)}, ${night.sightings.length} sightings, sound ${fit.sound}`,
  );
  console.log(
    `truth: ${JSON.stringify({ faults: night.truth.faults, disturbance: night.truth.disturbance })}`,
  );
  for (const note of fit.notes) console.log(`${note.code} @${note.row}: ${note.message}`);
  const row = (name, truth, value, uncertainty) =>
    console.log(
      `${name.padEnd(26)} truth ${truth.toFixed(3).padStart(10)}  found ${value.toFixed(3).padStart(10)} ± ${uncertainty.toFixed(3)}  (${((value - truth) / uncertainty).toFixed(2)})`,
    );
  for (const { name, set, value, uncertainty } of fit.terms)
    if (night.terms[name] !== undefined)
      row(set ? `${name} ${set}` : name, night.terms[name], value, uncertainty);
    else console.log(`${name.padEnd(26)} ${value.toFixed(3)} ± ${uncertainty.toFixed(3)}`);
  process.exit(0);
}

const percent = (share) => (Number.isNaN(share) ? "" : `${Math.round(100 * share)}`);
const columns = [
  "pole",
  "zero",
  "geom",
  "oth",
  "terms",
  "σ pole",
  "worst",
  "told",
  "plcd",
  "unask",
  "sound",
  "wrong",
  ...(given.compare ? ["chngd"] : []),
  "ms",
  "most",
];
console.log(
  `95 % intervals cover (%), σ pole ′, notes (%); ${given.nights} nights a world, seed ${given.seed}; ! misses its goal`,
);
console.log(`${"world".padEnd(25)}${columns.map((name) => name.padStart(7)).join("")}  notes`);
for (const world of chosen) {
  const judged = [];
  const failing = [];
  for (let k = 0; k < Number(given.nights); k++) {
    const seed = Number(given.seed) * 100_003 + k;
    const night = drawWorldNight(library, world.name, seed);
    const started = performance.now();
    let fit;
    try {
      fit = library.fitMount(night);
    } catch (problem) {
      console.log(`  ${world.name} --one ${seed} threw: ${String(problem?.stack ?? problem).slice(0, 400)}`);
      continue;
    }
    const milliseconds = performance.now() - started;
    const later = given.compare && fit.sound ? library.fitMount(night.another()) : null;
    const comparison = later?.sound ? library.compareModels(fit, later) : null;
    const one = { ...judge(fit, night, comparison), milliseconds };
    judged.push(one);
    const reasons = [
      ...(world.told && !one.told ? ["not told"] : []),
      ...(one.placed === false ? ["misplaced"] : []),
      ...(one.soundAndWrong ? ["wrong"] : []),
      ...(one.changed ? ["changed"] : []),
      ...one.unasked,
    ];
    if (reasons.length > 0) failing.push(`${seed} (${reasons.join(", ")})`);
  }
  if (judged.length === 0) continue;
  const found = together(judged);
  const misses = missed(world.goals, found);
  const mark = (name, text) => (misses.includes(name) ? `!${text}` : text).padStart(7);
  console.log(
    world.name.padEnd(25) +
      mark("pole", percent(found.pole)) +
      percent(found.zeros).padStart(7) +
      percent(found.geometry).padStart(7) +
      percent(found.others).padStart(7) +
      mark("terms", percent(found.terms)) +
      mark("sigma", found.sigma.toFixed(3)) +
      found.worst.toFixed(1).padStart(7) +
      mark("told", world.told ? percent(found.told) : "") +
      mark("placed", percent(found.placed)) +
      percent(found.unasked).padStart(7) +
      percent(found.sound).padStart(7) +
      percent(found.soundAndWrong).padStart(7) +
      (given.compare ? percent(found.changed).padStart(7) : "") +
      found.millisecondsMedian.toFixed(found.millisecondsMedian < 10 ? 1 : 0).padStart(7) +
      found.millisecondsMost.toFixed(0).padStart(7) +
      `  ${Object.entries(found.codes)
        .slice(0, given.codes ? undefined : 5)
        .map(([code, share]) => `${code} ${percent(share)}`)
        .join(", ")}`,
  );
  if (given.terms)
    console.log(
      `    ${Object.entries(found.byTerm)
        .map(([name, { covered, rms }]) => `${name} ${percent(covered)} (rms ${rms.toFixed(2)})`)
        .join(", ")}`,
    );
  if (given.failing && failing.length > 0) console.log(`    --one ${failing.slice(0, 12).join("; ")}`);
}
