/** The library's core in a browser, bundled as anyone would bundle it, answers as in Node.js. */
import { readFileSync } from "node:fs";
import { join } from "node:path";
import { rolldown } from "rolldown";
import { afterAll, beforeAll, expect, test } from "vitest";
import * as core from "../../src/core.js";
import { BUILD_TIMEOUT_MS, built, packageFolder } from "../support/built.js";
import { Browser } from "./browser.js";

const NIGHT = join(packageFolder, "data", "first-light");
const mountText = readFileSync(join(NIGHT, "mount.json"), "utf8");
const nightText = readFileSync(join(NIGHT, "night.csv"), "utf8");
/** The answers agree to so many digits. */
const DIGITS = 1e-12;
/** Small ones are differences of larger angles (a residual, what is left after turning), of which they have the digits. */
const LEAST_SIZE = 10;

/** What is asked on both sides. */
function answers(library: typeof core, mountJson: string, csv: string): string {
  const plain = library.parseMountText(mountJson);
  // A builder's own term, so that the expressions are read in the browser too.
  const mount = {
    ...plain,
    customTerms: [
      {
        name: "customFork",
        label: "fork",
        hourAngle: "-cos(hourAngle)^2 / 2",
        declination: "0",
        tolerance: 2,
      },
    ],
  } as typeof plain;
  // A row with quotation marks goes through the CSV parser.
  const quoted = csv.replace(/^((?!time)[^#\n]*)$/m, (line) => line.replace(/^([^,]+)/, '"$1"'));
  const { night } = library.readNight(quoted, mount);
  const fit = library.fitMount(night);
  const found = library.findTargets(fit, fit.meanTimeMs!, [
    "M 42",
    "Jupiter",
    "Moon",
    "Canopus",
    "83.8 -5.4",
  ]);
  return JSON.stringify({ fit, turns: library.jackTurns(fit), found });
}

function numbersOf(value: unknown, path = ""): (readonly [string, unknown])[] {
  if (value === null || typeof value !== "object") return [[path, value]];
  return Object.entries(value).flatMap(([key, inner]) => numbersOf(inner, `${path}.${key}`));
}

let browser: Browser;
beforeAll(async () => {
  browser = await Browser.open();
}, BUILD_TIMEOUT_MS);
afterAll(async () => {
  await browser.close();
});

test("fit, turns and find are the same as in Node.js to twelve digits", async () => {
  await built("core.js");
  const entry = join(packageFolder, "out", "core-entry.js");
  const bundle = await rolldown({
    input: entry,
    platform: "browser",
    logLevel: "silent",
    plugins: [
      {
        name: "entry",
        resolveId: (id) => (id === entry ? id : null),
        load: (id) =>
          id === entry ? 'import * as core from "polewright/core"; globalThis.polewright = core;' : null,
      },
    ],
  });
  const { output } = await bundle.generate({ format: "iife", minify: true });
  await bundle.close();
  const script = output[0].code;
  expect(output).toHaveLength(1);
  expect(script).not.toMatch(/["'`]node:/);

  const { page, troubles } = await browser.show("<p>empty</p>");
  await page.addScriptTag({ content: script });
  const there = await page.evaluate(
    `(${answers.toString()})(polewright, ${JSON.stringify(mountText)}, ${JSON.stringify(nightText)})`,
  );
  const [inBrowser, inNode] = [String(there), answers(core, mountText, nightText)].map((text) =>
    numbersOf(JSON.parse(text)),
  );
  expect(inBrowser!.map(([path]) => path)).toEqual(inNode!.map(([path]) => path));
  expect(inNode!.length).toBeGreaterThan(500);
  const differing = inNode!.filter(([, value], index) => {
    const other = inBrowser![index]![1];
    if (typeof value !== "number" || typeof other !== "number") return value !== other;
    return Math.abs(value - other) > DIGITS * Math.max(LEAST_SIZE, Math.abs(value));
  });
  expect(differing).toEqual([]);
  expect(troubles).toEqual([]);
  await page.close();
});
