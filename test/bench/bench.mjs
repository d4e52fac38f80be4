// Speed, held against other ways to do the same in the same run. Prints a table and writes out/bench.json.
// Run: npm run bench (in a quiet moment: other work on the machine is in every figure)
import { mkdirSync, writeFileSync } from "node:fs";
import { cpus } from "node:os";
import { join } from "node:path";
import { Bench } from "tinybench";
import { evening, library, longNights, root, season, twelveTerms, writeCase } from "./cases.mjs";
import { byPython, commandLineStarts, emptyStarts, hasPython, kernelStarts, memoryOf } from "./processes.mjs";
import { byLevenbergMarquardt, byMlMatrix, rowsOf, startFrom } from "./rivals.mjs";

const SEASON = 100_000;
const usualTerms = twelveTerms.slice(0, 9);
const lib = await library();
const rows = [];
const say = (what, milliseconds, goal = "", note = "") => {
  rows.push({ what, milliseconds, goal, note });
  const figure = milliseconds < 10 ? milliseconds.toFixed(2) : milliseconds.toFixed(0);
  console.log(`${what.padEnd(74)} ${figure.padStart(9)} ms  ${goal.padEnd(9)} ${note}`);
};
const median = (values) => [...values].sort((a, b) => a - b)[values.length >> 1];
const ratio = (theirs, ours) => `${(theirs / ours).toFixed(1)} times`;

/** Median milliseconds of each task, warm. */
async function warm(tasks, options) {
  const bench = new Bench({ warmup: true, ...options });
  for (const [name, work] of Object.entries(tasks)) bench.add(name, work);
  await bench.run();
  return Object.fromEntries(
    bench.tasks.map(({ name, result }) => {
      if (result.error) throw result.error;
      return [name, result.latency.p50];
    }),
  );
}

/** How far two sets of terms differ, in the first one's uncertainties. */
function differ(fit, values) {
  return Math.max(
    ...fit.terms.map(({ value, uncertainty }, j) => {
      const turn = 360 * 60;
      const apart = value - values[j];
      return Math.abs(apart - turn * Math.round(apart / turn)) / uncertainty;
    }),
  );
}

console.log(`Node.js ${process.version}, ${cpus().length} × ${cpus()[0].model.trim()}\n`);

console.log("(a) an evening of 24 sightings");
const { mount, clean, misnamed } = evening(lib);
const fit = lib.fitMount(clean);
// The same unknowns as the rivals have, for comparing answers.
const none = ["eccentricity", "scale", "backlash", "meridianStep", "creep", "settling", "residue"];
const tolerances = { ...mount.tolerances, ...Object.fromEntries(none.map((name) => [name, 0])) };
const nine = lib.fitMount({ ...clean, mount: { ...mount, tolerances } });
const plainRows = rowsOf(lib, clean, usualTerms, true);
const start = startFrom(nine);
const fast = await warm(
  {
    whole: () => lib.jackTurns(lib.fitMount(clean)),
    reduce: () => lib.reduceNight(clean),
    fit: () => lib.fitMount(clean),
    turns: () => lib.jackTurns(fit),
    plain: () => lib.fitMount(clean, { catches: false }),
    misnamed: () => lib.jackTurns(lib.fitMount(misnamed)),
    marquardt: () => byLevenbergMarquardt(plainRows, start),
    matrix: () => byMlMatrix(plainRows, start),
  },
  { time: 1500 },
);
say("reduce, fit with catches, turns", fast.whole, "< 5");
say("  reduce", fast.reduce);
say("  reduce and fit with catches", fast.fit);
say("  turns", fast.turns);
say("reduce and fit, nothing doubted", fast.plain);
say("reduce, fit with catches, turns: one star misnamed", fast.misnamed);
say(
  "least squares alone by ml-levenberg-marquardt (own slopes)",
  fast.marquardt,
  "",
  ratio(fast.marquardt, fast.plain),
);
say("least squares alone by ml-matrix (QR, our slopes)", fast.matrix, "", ratio(fast.matrix, fast.plain));
const agree = { mlMatrix: differ(nine, byMlMatrix(plainRows, start)) };

const python = hasPython();
if (!python) console.log("No ERFA, NumPy and SciPy in /usr/bin/python3: not held against them.");
const sum = (times) => Math.min(...Object.values(times.reduce)) + Math.min(...Object.values(times.fit));
if (python) {
  const case24 = writeCase("evening", clean, { terms: usualTerms, priors: true, kind: "few", repeats: 100 });
  const rival = byPython(case24);
  const plainest =
    rival.milliseconds.reduce["atco13 a row"] + rival.milliseconds.fit["least_squares trf, 2-point"];
  say(
    "ERFA atco13 and least_squares as they come",
    plainest,
    "≥ 20 ×",
    `${ratio(plainest, fast.plain)} the fit, ${ratio(plainest, fast.whole)} the whole`,
  );
  say(
    "ERFA and least_squares, the quickest of eight ways",
    sum(rival.milliseconds),
    "",
    `${ratio(sum(rival.milliseconds), fast.plain)} the fit, ${ratio(sum(rival.milliseconds), fast.whole)} the whole`,
  );
  agree.scipyFew = differ(
    nine,
    usualTerms.map((name) => rival.answers["least_squares trf, 2-point"].terms[name]),
  );
}

console.log(`\n(b) a season of ${SEASON} plate-solved sightings, ${twelveTerms.length} terms`);
const night = season(lib, SEASON);
const seasonFit = lib.fitMount(night, { terms: twelveTerms });
const seasonRows = rowsOf(lib, night, twelveTerms, false);
const many = await warm(
  {
    whole: () => lib.fitMount(night, { terms: twelveTerms }),
    reduce: () => lib.reduceNight(night),
    plain: () => lib.fitMount(night, { terms: twelveTerms, catches: false }),
    matrix: () => byMlMatrix(seasonRows, startFrom(seasonFit)),
  },
  { iterations: 7, time: 0, warmupIterations: 2, warmupTime: 0 },
);
say("reduce and fit with catches", many.whole, "< 1500");
say("  reduce", many.reduce);
say("reduce and fit, nothing doubted", many.plain);
say("least squares alone by ml-matrix (QR, our slopes)", many.matrix, "", ratio(many.matrix, many.plain));
if (python) {
  const casePath = writeCase("season", night, {
    terms: twelveTerms,
    priors: false,
    kind: "many",
    repeats: 3,
  });
  const rival = byPython(casePath);
  const plainest = rival.milliseconds.reduce["atco13 a row"] + rival.milliseconds.fit["numpy.linalg.lstsq"];
  say("ERFA atco13, vectorised, and numpy.linalg.lstsq", plainest, "≥ 5 ×", ratio(plainest, many.whole));
  say(
    "ERFA frame a day (0.3″ coarser), aper13 a row, and lstsq",
    sum(rival.milliseconds),
    "",
    ratio(sum(rival.milliseconds), many.whole),
  );
  agree.numpyMany = differ(
    seasonFit,
    twelveTerms.map((name) => rival.answers["numpy.linalg.lstsq"].terms[name]),
  );
}
const sizes = [];
for (const count of [SEASON / 4, SEASON / 2, SEASON]) sizes.push({ count, ...(await memoryOf(count)) });
for (const { count, milliseconds, peakMegabytes } of sizes)
  say(
    `  a fresh process, ${count} rows`,
    milliseconds,
    count === SEASON ? "< 400 MB" : "",
    `${peakMegabytes.toFixed(0)} MB at most, ${((1000 * milliseconds) / count).toFixed(1)} µs a row`,
  );

console.log("\na long night that does not fit as it stands");
for (const [what, long] of Object.entries(longNights(lib))) {
  const times = Array.from({ length: 3 }, () => {
    const begin = performance.now();
    lib.fitMount(long);
    return performance.now() - begin;
  });
  say(what, median(times));
}

console.log("\n(c) a plan");
const from = lib.parseTime("2026-03-14T18:30:00Z");
const plan = lib.planStars(mount, from, { stars: 20 });
const planned = await warm({ plan: () => lib.planStars(mount, from, { stars: 20 }) }, { time: 2000 });
say(`20 stars of ${plan.candidates} candidates`, planned.plan, "< 200");

console.log("\n(d) the command line from a cold start");
const empty = median(emptyStarts(9));
commandLineStarts(2);
say(
  "polewright fit NIGHT.csv --json",
  median(commandLineStarts(15)),
  "< 250",
  `Node.js itself ${empty.toFixed(0)} ms`,
);

console.log("\n(e) a notebook kernel, from its start to the first result, headless");
say("a bare cell", median(await kernelStarts(5, "1 + 1")), "< 3000");
say(
  "a cell that imports the package and opens a night",
  median(
    await kernelStarts(
      3,
      'import { openNight } from "polewright";\nopenNight("../data/first-light").mount.name',
    ),
  ),
);

console.log(
  `\nAnswers differ by at most, in standard errors: ${JSON.stringify(agree, (_, v) => (typeof v === "number" ? Number(v.toPrecision(2)) : v))}`,
);
mkdirSync(join(root, "out"), { recursive: true });
const machine = `${cpus().length} × ${cpus()[0].model.trim()}`;
writeFileSync(
  join(root, "out", "bench.json"),
  `${JSON.stringify({ node: process.version, machine, rows, sizes, agree }, null, 2)}\n`,
);
