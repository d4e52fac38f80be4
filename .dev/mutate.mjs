/**
 * Do the tests notice? Changes the source in one small way after another (a sign, a bound, a condition, a figure) and runs the
 * test files that come to the place; a change that they all let pass is printed.
 *
 * node .dev/mutate.mjs fit base --most 60 --seed 1      rooms or files of src/, so many mutants drawn from each
 * node .dev/mutate.mjs fit/rows.ts:53 fit/rows.ts:60    all mutants of a line
 *
 * Mutants that no test file comes to count as let pass. Those that run for ever count as noticed.
 */
import { mkdirSync, readdirSync, readFileSync, rmSync, statSync, writeFileSync } from "node:fs";
import { join, relative } from "node:path";
import { fileURLToPath } from "node:url";
import { parseArgs } from "node:util";
import { createVitest } from "vitest/node";
import { seededRandom } from "../dist/simulate/random.js";
import { mutantsOf, mutationPlugin } from "./mutation-plugin.mjs";

const { values, positionals } = parseArgs({
  allowPositionals: true,
  options: {
    most: { type: "string", default: "60" },
    seed: { type: "string", default: "1" },
    tests: { type: "string", default: "" },
  },
});
const root = fileURLToPath(new URL("..", import.meta.url));
const folder = join(root, "out", "mutation");
rmSync(folder, { recursive: true, force: true });
mkdirSync(folder, { recursive: true });
process.env.POLEWRIGHT_MUTATION = folder;
process.env.POLEWRIGHT_TESTS = "short";
/** Tests that start the built program see no mutant. */
const ELSEWHERE =
  /test\/(browser|cli|crosscheck|kernel|layout|notebooks|package|reference|study|sight\/watch-command)/;
const RECORD_LIMIT_MS = 600_000;

function filesOf(place) {
  const path = join(root, "src", place);
  if (statSync(path).isFile()) return [path];
  return readdirSync(path, { recursive: true })
    .map((name) => join(path, String(name)))
    .filter((name) => name.endsWith(".ts"))
    .sort();
}

const random = seededRandom(Number(values.seed));
const chosen = [];
for (const place of positionals) {
  const [path, line] = place.split(":");
  const all = filesOf(path)
    .flatMap(mutantsOf)
    .filter((one) => line === undefined || one.line === Number(line));
  for (let i = all.length - 1; i > 0; i--) {
    const j = Math.floor(random() * (i + 1));
    [all[i], all[j]] = [all[j], all[i]];
  }
  const some = all.slice(0, Number(values.most));
  console.log(`${place}: ${some.length} of ${all.length} mutants`);
  chosen.push(...some.map((one) => ({ ...one, place })));
}
for (const [id, one] of chosen.entries()) one.id = id;

const vitest = await createVitest(
  "test",
  {
    config: join(root, ".dev/vitest.config.mjs"),
    watch: false,
    bail: 1,
    pool: "forks",
    reporters: [{}],
    setupFiles: [join(root, ".dev/mutation-setup.mjs")],
  },
  { plugins: [mutationPlugin(chosen)] },
);
const filters = values.tests === "" ? [] : values.tests.split(",");
const specs = (await vitest.globTestSpecifications(filters)).filter(
  ({ moduleId }) => !ELSEWHERE.test(moduleId),
);

/** How many tests of each file pass without any mutant. */
const usually = new Map();
const passedOf = (module) => [...module.children.allTests("passed")].length;

/**
 * True where a test fails, or the process that runs them ends before its time. A run that the end of the one before has cut
 * short, so that fewer tests than usual have passed and none has failed, is made again.
 */
async function fails(files, active, limitMs) {
  for (let run = 0; run < MOST_RUNS; run++) {
    const ended = await runOnce(files, active, limitMs);
    if (ended !== "cut short") return ended === "failed";
  }
  return false;
}
const MOST_RUNS = 3;

async function runOnce(files, active, limitMs) {
  writeFileSync(join(folder, "active.json"), JSON.stringify({ active, limitMs }));
  vitest.state.filesMap.clear();
  const { testModules, unhandledErrors } = await vitest.runTestSpecifications(files);
  const bad = testModules.filter((module) => !module.ok());
  for (const module of active === null ? bad : []) {
    for (const error of module.errors()) console.log(module.moduleId, error.message);
    for (const test of module.children.allTests("failed"))
      console.log(test.fullName, test.result().errors?.[0]?.message);
  }
  if (active === null) for (const error of unhandledErrors) console.log(error);
  if (bad.length > 0 || unhandledErrors.length > 0) return "failed";
  if (active === null) for (const module of testModules) usually.set(module.moduleId, passedOf(module));
  const isWhole =
    testModules.length === files.length &&
    testModules.every((module) => passedOf(module) >= (usually.get(module.moduleId) ?? 0));
  return isWhole ? "passed" : "cut short";
}

if (await fails(specs, null, RECORD_LIMIT_MS)) throw new Error("The tests fail without any mutant.");
const times = new Map(
  vitest.state.getTestModules().map((module) => [module.moduleId, module.diagnostic().duration]),
);
const reached = new Map();
for (const spec of specs) {
  const name = join(folder, `seen-${spec.moduleId.replaceAll("/", "_")}.json`);
  try {
    for (const id of JSON.parse(readFileSync(name, "utf8")))
      reached.set(id, [...(reached.get(id) ?? []), spec]);
  } catch {}
}

const passed = new Map(positionals.map((place) => [place, []]));
let done = 0;
for (const one of chosen) {
  const files = (reached.get(one.id) ?? []).sort(
    (a, b) => (times.get(a.moduleId) ?? 0) - (times.get(b.moduleId) ?? 0),
  );
  const usualMs = files.reduce((sum, file) => sum + (times.get(file.moduleId) ?? 0), 0);
  const noticed = files.length > 0 && (await fails(files, one.id, 20_000 + 5 * usualMs));
  done++;
  if (noticed) continue;
  passed.get(one.place).push(one);
  const short = (text) => text.replace(/\s+/g, " ").slice(0, 90);
  console.log(
    `${done}/${chosen.length} let pass (${files.length} files): ${relative(root, one.path)}:${one.line}  ${short(one.from)}  →  ${short(one.to)}`,
  );
}
for (const [place, some] of passed) {
  const count = chosen.filter((one) => one.place === place).length;
  console.log(
    `${place}: ${count - some.length} of ${count} noticed, ${Math.round((100 * (count - some.length)) / count)} %`,
  );
}
await vitest.close();
process.exit(0);
