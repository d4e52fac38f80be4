/** The rooms of src import only inwards, and the core knows no disk, clock, console or chance of its own. */
import { readdirSync, readFileSync } from "node:fs";
import { dirname, join, relative } from "node:path";
import { expect, it } from "vitest";

const SRC = new URL("../../src/", import.meta.url).pathname;
/** What a fitted night needs. */
const FITTED = ["words", "sky", "mount", "tables", "night", "fit"];
const EVENING = [...FITTED, "base", "pointing"];
/** Every room that asks, below the rooms that show. */
const CORE = [
  ...EVENING,
  "plan",
  "find",
  "drift",
  "drive",
  "exposure",
  "keep",
  "months",
  "procedures",
  "daylight",
];
/** Each room and the rooms it may import from, besides itself and the files at the top of src. */
const ALLOWED: Record<string, readonly string[]> = {
  words: [],
  sky: [],
  mount: ["sky"],
  tables: ["words", "sky", "mount"],
  night: ["words", "sky", "mount", "tables"],
  fit: ["words", "sky", "mount", "night"],
  base: [...FITTED, "pointing"],
  pointing: FITTED,
  plan: EVENING,
  find: EVENING,
  drift: EVENING,
  exposure: [...EVENING, "find", "drive"],
  drive: [...FITTED, "pointing"],
  procedures: FITTED,
  months: [...FITTED, "pointing", "keep"],
  keep: EVENING,
  sight: [...EVENING, "plan"],
  daylight: EVENING,
  simulate: [...FITTED, "pointing"],
  report: CORE,
  plots: CORE,
  page: [...CORE, "simulate", "report", "plots"],
  answers: [...CORE, "report", "plots", "simulate", "page"],
};
/** What stands behind one of package.json's "imports" in Node.js; a browser gets another. */
const NODE_ALLOWED = new Set(["mount/expression-parser.ts"]);

/** `now` is the clock of the one who asks. */
const CLOCK_ALLOWED = new Set(["answers/moment.ts"]);

/** The scripts of the pages are for a browser; core.test.ts keeps them. */
const files = readdirSync(SRC, { recursive: true })
  .map(String)
  .filter((path) => path.endsWith(".ts") && !path.startsWith("page/browser/"));

it.each(Object.keys(ALLOWED))("%s", (room) => {
  const own = files.filter((path) => path.startsWith(`${room}/`));
  expect(own.length).toBeGreaterThan(0);
  for (const path of own) {
    const text = readFileSync(join(SRC, path), "utf8");
    const code = text.replace(/\/\*[\s\S]*?\*\//g, "").replace(/^\s*\/\/.*$/gm, "");
    for (const [, target] of code.matchAll(/from\s+"([^"]+)"/g)) {
      if (target!.startsWith(".")) {
        const to = relative(SRC, join(SRC, dirname(path), target!));
        const other = to.includes("/") ? to.split("/")[0]! : null;
        if (other !== null && other !== room) expect(ALLOWED[room], `${path} imports ${to}`).toContain(other);
      } else if (target!.startsWith("node:")) {
        expect(NODE_ALLOWED.has(path), `${path} imports ${target}`).toBe(true);
      } else expect(target, path).not.toBe("tslab");
    }
    if (CLOCK_ALLOWED.has(path)) continue;
    for (const forbidden of [/\bconsole\./, /\bDate\.now\(/, /\bMath\.random\(/, /\bprocess\./, /\bfetch\(/])
      expect(code, `${path}: ${forbidden}`).not.toMatch(forbidden);
  }
});
