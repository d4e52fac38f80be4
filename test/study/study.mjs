// The simulation study: thousands of nights with known truth. Writes out/study/ (report.md, study.json, plots).
// Run after a build: npm run study [-- --scale 0.1 --seed 1 --only "clean;outlier"]
// One night again: node test/study/study.mjs --one "zeros moved" --seed 123
import { mkdirSync, writeFileSync } from "node:fs";
import { availableParallelism } from "node:os";
import { parseArgs } from "node:util";
import { Worker } from "node:worker_threads";
import { cumulative, shares } from "./drawings.mjs";
import { experiments, runOne } from "./experiments.mjs";
import { builtLibrary } from "./library.mjs";
import { markdown, summarise } from "./summary.mjs";

const { values: given } = parseArgs({
  options: {
    scale: { type: "string", default: "1" },
    seed: { type: "string", default: "1" },
    only: { type: "string" },
    one: { type: "string" },
    workers: { type: "string", default: String(Math.min(8, availableParallelism())) },
    out: { type: "string", default: new URL("../../out/study/", import.meta.url).pathname },
  },
});
const firstSeed = Number(given.seed);

if (given.one !== undefined) {
  console.log(JSON.stringify(runOne(await builtLibrary(), given.one, firstSeed), null, 2));
  process.exit(0);
}

const BATCH = 10;
const chosen = experiments.filter(({ name }) => !given.only || given.only.split(";").includes(name));
const batches = chosen.flatMap(({ name, share }) => {
  const nights = Math.max(1, Math.round(share * Number(given.scale)));
  // Far apart, so that no two experiments share a night.
  const place = experiments.findIndex((experiment) => experiment.name === name);
  const from = firstSeed * 10_000_019 + place * 1_000_003;
  return Array.from({ length: Math.ceil(nights / BATCH) }, (_, k) => ({
    name,
    seeds: Array.from({ length: Math.min(BATCH, nights - k * BATCH) }, (_, i) => from + k * BATCH + i),
  }));
});
const total = batches.reduce((sum, { seeds }) => sum + seeds.length, 0);
const byExperiment = Object.fromEntries(chosen.map(({ name }) => [name, []]));

let done = 0;
let shown = -1;
const started = performance.now();
await new Promise((resolve, reject) => {
  let next = 0;
  let working = 0;
  const feed = (worker) => {
    if (next < batches.length) worker.postMessage(batches[next++]);
    else {
      worker.terminate();
      working--;
      if (working === 0) resolve();
    }
  };
  for (let k = 0; k < Math.min(Number(given.workers), batches.length); k++) {
    const worker = new Worker(new URL("worker.mjs", import.meta.url));
    working++;
    worker.on("error", reject);
    worker.on("message", (message) => {
      if (message.records) {
        byExperiment[message.name].push(...message.records);
        done += message.records.length;
        const percent = Math.floor((100 * done) / total);
        if (percent !== shown) {
          shown = percent;
          process.stderr.write(
            `\r${done} of ${total} nights, ${Math.round((performance.now() - started) / 1000)} s`,
          );
        }
      }
      feed(worker);
    });
  }
});
process.stderr.write("\n");
// In the order of the seeds, whichever core was first: the same study twice gives the same files.
for (const records of Object.values(byExperiment)) records.sort((a, b) => a.seed - b.seed);

const summary = summarise(byExperiment);
const head = `${total} nights, seed ${firstSeed}: \`npm run study -- --seed ${firstSeed} --scale ${given.scale}\`. Latitudes −60° to 65°, 6 to 60 sightings, encoders of 8000 to 10 million steps, errors drawn from the tolerances, polar error 2′ to 5° at first.`;
mkdirSync(given.out, { recursive: true });
const write = (name, content) => writeFileSync(`${given.out}/${name}`, content);
write("report.md", markdown(summary, head));
write("study.json", `${JSON.stringify({ seed: firstSeed, nights: total, ...summary }, null, 1)}\n`);
if (summary.coverage.length > 0) {
  write(
    "coverage.svg",
    shares("Coverage of the 95 % intervals, clean nights", summary.coverage, {
      low: 0.9,
      high: 1,
      band: [0.94, 0.96],
    }),
  );
}
write("found.svg", shares("Found as it should be", summary.found, { low: 0.9, high: 1 }));
write(
  "alarms.svg",
  shares("Alarms on clean nights", summary.alarmsOnCleanNights, { low: 0, high: 0.02, band: [0, 0.01] }),
);
const rounds = byExperiment["two rounds of turns"]?.filter((record) => record.left) ?? [];
if (rounds.length > 0) {
  const names = ["at first", "after one round", "after two rounds"];
  write(
    "polar-error-left.svg",
    cumulative(
      "Polar error, nights below",
      names.map((name, k) => ({ name, values: rounds.map((r) => r.left[k]) })),
      "′",
    ),
  );
}
for (const { what, found, wanted, met } of summary.goals) {
  console.log(
    `${met ? "met    " : "NOT MET"}  ${what}: ${(100 * found.value).toFixed(2)} % of ${found.of} (goal: ${wanted})`,
  );
}
for (const row of summary.polarErrorLeft) {
  if (Number.isFinite(row.median))
    console.log(
      `after ${row.round} rounds: polar error ${row.median.toFixed(2)}′ in the middle, 95 % below ${row.p95.toFixed(2)}′`,
    );
}
console.log(`Written to ${given.out}`);
