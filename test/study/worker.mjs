// One core of the study: takes [experiment, seeds] and gives back the records.
import { parentPort } from "node:worker_threads";
import { builtLibrary } from "./library.mjs";
import { runOne } from "./run-one.mjs";

const library = await builtLibrary();
parentPort.on("message", ({ name, seeds }) => {
  const records = seeds.map((seed) => {
    try {
      return runOne(library, name, seed);
    } catch (problem) {
      return { seed, crashed: String(problem?.stack ?? problem).slice(0, 600) };
    }
  });
  parentPort.postMessage({ name, records });
});
parentPort.postMessage({ ready: true });
