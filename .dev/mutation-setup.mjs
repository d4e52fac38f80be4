/** In the process that runs the tests: which mutant is on, and which ones a test file comes to. */
import { readFileSync, writeFileSync } from "node:fs";
import { Worker } from "node:worker_threads";
import { afterAll, expect } from "vitest";

const folder = process.env.POLEWRIGHT_MUTATION;
const { active, limitMs } = JSON.parse(readFileSync(`${folder}/active.json`, "utf8"));
const seen = new Set();
globalThis.mutant = active === null ? (id) => void seen.add(id) : (id) => id === active;

// A mutant that never ends is ended from outside: a loop listens to no timer of its own thread.
const watch = new Worker(`setTimeout(() => process.kill(${process.pid}, "SIGKILL"), ${limitMs});`, {
  eval: true,
});
watch.unref();

afterAll(async () => {
  await watch.terminate();
  if (active !== null) return;
  const name = expect.getState().testPath.replaceAll("/", "_");
  writeFileSync(`${folder}/seen-${name}.json`, JSON.stringify([...seen]));
  seen.clear();
});
