// One core of the study: takes [experiment, seeds] and gives back the records.
import { parentPort } from "node:worker_threads";
import { runOne } from "./experiments.mjs";
import { builtLibrary } from "./library.mjs";

const library = await builtLibrary();
parentPort.on("message", ({ name, seeds }) => {
  parentPort.postMessage({ name, records: seeds.map((seed) => runOne(library, name, seed)) });
});
parentPort.postMessage({ ready: true });
