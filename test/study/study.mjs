// The simulation study: thousands of nights with known truth. Writes out/study/ (report.md, study.json).
// Run after a build: npm run study [-- --scale 0.1 --seed 1 --only "clean;outlier" --readme (writes README.md here too)]
// One night again: node test/study/study.mjs --one zeros-moved --seed 123; quick tables: worlds.mjs
import { mkdirSync, writeFileSync } from "node:fs";
import { availableParallelism } from "node:os";
import { parseArgs } from "node:util";
import { Worker } from "node:worker_threads";
import { builtLibrary } from "./library.mjs";
import { experiments, runOne } from "./run-one.mjs";
import { markdown, summarise } from "./summary.mjs";

const { values: given } = parseArgs({
  options: {
    scale: { type: "string", default: "1" },
    seed: { type: "string", default: "1" },
    only: { type: "string" },
    one: { type: "string" },
    readme: { type: "boolean", default: false },
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
  const from = firstSeed * 100_003 + place * 10_007;
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
const head = `${total} nights: \`npm run study -- --seed ${firstSeed} --scale ${given.scale}${given.only ? ` --only "${given.only}"` : ""}\`.`;
const report = `${markdown(summary, head)}\n`;
mkdirSync(given.out, { recursive: true });
writeFileSync(`${given.out}/report.md`, report);
writeFileSync(
  `${given.out}/study.json`,
  `${JSON.stringify({ seed: firstSeed, nights: total, ...summary }, null, 1)}\n`,
);
if (given.readme) writeFileSync(new URL("README.md", import.meta.url), report);
console.log(report.slice(report.indexOf("## Goals")));
console.log(`Written to ${given.out}`);
