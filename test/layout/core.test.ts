/** What a browser may import, `polewright/core`, reaches nothing of Node.js and no package but those that run there. */
import { readFileSync } from "node:fs";
import { dirname, join, relative } from "node:path";
import { expect, it } from "vitest";
import { ownImports } from "../../.dev/own-imports.mjs";

const SRC = new URL("../../src/", import.meta.url).pathname;
const inBrowser: Record<string, string> = ownImports("default");
const PACKAGES = new Set([
  "@date-fns/tz/tzOffset",
  "astronomy-engine",
  "csv-parse/browser/esm/sync",
  "geomagnetism",
  "mathjs/number",
  "ml-matrix",
  "valibot",
]);

interface Reached {
  readonly files: readonly string[];
  readonly foreign: ReadonlyMap<string, string>;
}

/** Every file and package that is reached from a file by imports that stay when types are taken away. */
function reachedFrom(start: string): Reached {
  const files = [join(SRC, start)];
  const foreign = new Map<string, string>();
  for (const file of files) {
    const code = readFileSync(file, "utf8").replace(/\/\*[\s\S]*?\*\//g, "");
    for (const [, type, names, from] of code.matchAll(
      /^(?:import|export)( type)?(?: ([^;"]*?) from)? "([^"]+)";/gms,
    )) {
      const onlyTypes = type !== undefined || /^\{(\s*type [^,}]+,?)+\s*\}$/.test(names ?? "");
      if (onlyTypes) continue;
      const target = inBrowser[from!] ?? from!;
      if (!target.startsWith(".") && !target.startsWith("/")) {
        foreign.set(target, relative(SRC, file));
        continue;
      }
      const path = target.startsWith("/") ? target : join(dirname(file), target.replace(/\.js$/, ".ts"));
      if (!files.includes(path)) files.push(path);
    }
    for (const [, from] of code.matchAll(/\bimport\("([^"]+)"\)(?!\.)/g)) {
      const path = join(dirname(file), from!.replace(/\.js$/, ".ts"));
      if (!from!.startsWith(".")) foreign.set(from!, relative(SRC, file));
      else if (!files.includes(path)) files.push(path);
    }
  }
  return { files: files.map((file) => relative(SRC, file)), foreign };
}

it("the core reaches no Node.js, no disk, and only packages that run in a browser", () => {
  const { files, foreign } = reachedFrom("core.ts");
  expect(files.length).toBeGreaterThan(100);
  expect([...foreign].filter(([name]) => !PACKAGES.has(name))).toEqual([]);
  expect(files.filter((file) => /^(files|cli|kernel)\//.test(file))).toEqual([]);
});

it.each(["desk", "wrong-telescope"])("the page %s reaches nothing of Node.js either", (page) => {
  const { files, foreign } = reachedFrom(`page/browser/${page}/main.ts`);
  expect(files.length).toBeGreaterThan(10);
  expect([...foreign].filter(([name]) => !PACKAGES.has(name))).toEqual([]);
  expect(files.filter((file) => /^(files|cli|kernel|notebook)\//.test(file))).toEqual([]);
});

it("the same walk finds Node.js below the whole library", () => {
  const { foreign } = reachedFrom("index.ts");
  expect([...foreign.keys()].filter((name) => name.startsWith("node:"))).toContain("node:fs");
});
