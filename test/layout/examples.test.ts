/** Every public function has an example in its comment, and the examples of all comments run and give what they show. */
import { cpSync, mkdtempSync, readdirSync, readFileSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import ts from "typescript";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { readDrifts } from "../../src/drift/file.js";
import * as library from "../../src/index.js";
import { chooseTheme } from "../../src/notebook/theme.js";
import { skyFrame } from "../../src/sky/sky-frame.js";
import { packageFolder } from "../support/built.js";

const SRC = join(packageFolder, "src");
/** What stands in a browser or in a process of its own has tests of its own. */
const ELSEWHERE = /^(kernel|cli|page\/browser)\//;
/** Shows in a notebook: nothing to compare with here. */
const IN_A_NOTEBOOK = /from "tslab"/;

/** The comments' examples of a file. */
const examplesOf = (path: string): string[] =>
  [...readFileSync(join(SRC, path), "utf8").matchAll(/@example\s+\* ```ts\n([\s\S]*?)\* ```/g)].map((match) =>
    match[1]!.replace(/^\s*\* ?/gm, ""),
  );

const sources = readdirSync(SRC, { recursive: true })
  .map(String)
  .filter((path) => path.endsWith(".ts") && !ELSEWHERE.test(path));
const cases = sources.flatMap((path) =>
  examplesOf(path).map((code, index) => [`${path} ${index + 1}`, path, code] as const),
);

/** Where each exported name of the source stands. */
const homes = new Map(
  sources.flatMap((path) =>
    [...readFileSync(join(SRC, path), "utf8").matchAll(/^export (?:const|function|class) (\w+)/gm)].map(
      ([, name]) => [name!, path] as const,
    ),
  ),
);

const cwd = process.cwd();
let folder = "";
let scope: Record<string, unknown> = {};
beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), "polewright-examples-"));
  cpSync(join(packageFolder, "data"), join(folder, "data"), { recursive: true });
  process.chdir(folder);
  const night = library.openNight("data/first-light");
  const fit = library.fitMount(night);
  const timeMs = library.parseTime("2026-03-14T18:30:00Z");
  const models = ["march", "april", "june"].map((month) =>
    library.openModel(`data/kept/kept-in-${month}.json`),
  );
  const driftsText = readFileSync("data/first-light/drifts.csv", "utf8");
  const secondNight = library.openNight("data/after-turning");
  scope = {
    ...library,
    nowhereSchool: night.mount,
    mount: night.mount,
    site: night.mount.site,
    base: night.mount.base,
    limits: night.mount.limits,
    night,
    fit,
    firstNight: night,
    secondNight,
    advice: library.jackTurns(fit),
    track: library.openTrack("data/first-light/track.csv", night.mount),
    drifts: readDrifts(driftsText),
    driftsText,
    trackText: readFileSync("data/first-light/track.csv", "utf8"),
    turnedText: readFileSync("data/after-turning/turned.csv", "utf8"),
    keptText: library.keptModelText(models[0]!),
    timeMs,
    mountText: readFileSync("data/first-light/mount.json", "utf8"),
    untilMs: timeMs + 3_600_000,
    frame: skyFrame(timeMs, night.mount.site),
    fromMs: timeMs,
    toMs: timeMs + 3_600_000,
    nowMs: timeMs + 3_600_000,
    march: models[0],
    april: models[1],
    june: models[2],
    kept: models[0],
    field: library.fieldOfCamera({ focalLengthMm: 1800, widthMm: 7.2, heightMm: 5.4, pixelUm: 8.6 }),
  };
});
afterAll(() => {
  chooseTheme(null);
  process.chdir(cwd);
  rmSync(folder, { recursive: true, force: true });
});

/** The value that a comment behind a line begins with; null where it says it in words, or in part. */
function shown(comment: string): { readonly value: unknown; readonly digits: number } | null {
  const text = /^("[^"]*"|\[.*?\]|\{.*?\}|-?[\d.]+\b|true|false|null)/.exec(comment)?.[1];
  if (text === undefined || text.includes("…")) return null;
  return { value: new Function(`return (${text});`)(), digits: text.split(".")[1]?.length ?? 0 };
}

describe("the examples in the comments", () => {
  it("are there", () => {
    expect(cases.length).toBeGreaterThan(80);
  });

  it("stand at every public function and class", () => {
    const exportsOf = (path: string): [string, string][] =>
      [
        ...readFileSync(join(SRC, path), "utf8").matchAll(/^export \{([^}]*)\} from "\.\/([^"]*)\.js";/gms),
      ].flatMap(([, names, from]) =>
        names!.split(",").map((name): [string, string] => [name.trim(), join(path, "..", `${from}.ts`)]),
      );
    const named = [...exportsOf("index.ts"), ...exportsOf("core.ts")].filter(
      ([name]) => /^[a-z]/i.test(name) && !name.startsWith("type "),
    );
    const drawn = [
      ...readFileSync(join(SRC, "notebook/plots.ts"), "utf8").matchAll(/^export function (\w+)/gm),
    ];
    const all = [...named, ...drawn.map(([, name]): [string, string] => [name!, "notebook/plots.ts"])];
    expect(all.length).toBeGreaterThan(70);
    const without = all.filter(([name, path]) => {
      const source = readFileSync(join(SRC, path), "utf8");
      const own = name.split(" as ")[0]!;
      const at = source.search(new RegExp(`^export (function|class) ${own}\\b`, "m"));
      return at >= 0 && !source.slice(source.lastIndexOf("/**", at), at).includes("@example");
    });
    expect(without).toEqual([]);
  });

  it.each(cases)("%s", async (_, path, code) => {
    const module: Record<string, unknown> = await import(join(SRC, path));
    const all: Record<string, unknown> = { ...scope, ...module };
    if (IN_A_NOTEBOOK.test(code)) return;
    for (const [name] of code.matchAll(/\b[a-zA-Z]\w*/g)) {
      const home = homes.get(name);
      if (!(name in all) && home !== undefined) all[name] = (await import(join(SRC, home)))[name];
    }
    const body = ts.transpile(
      code
        .replace(/^import .*$/gm, "")
        .replace(
          /^(?!const )(.+?);? \/\/ (.+)$/gm,
          (_line, expression, comment) => `check(${expression}, ${JSON.stringify(comment)});`,
        )
        .replace(/^(?!const |check\()([a-zA-Z].*?);?$/gm, "check($1);"),
      { target: ts.ScriptTarget.ES2022 },
    );
    // An example may enter a sighting: the next one finds the night as it was.
    cpSync(join(packageFolder, "data"), join(folder, "data"), { recursive: true });
    const names = Object.keys(all).filter(
      (name) => !new RegExp(`const (\\{ )?([\\w, ]*\\b)?${name}\\b`).test(code) && name !== "default",
    );
    let checked = 0;
    const check = (found: unknown, comment = ""): void => {
      checked++;
      const expected = shown(comment);
      if (expected === null) return;
      if (typeof expected.value === "number") expect(found).toBeCloseTo(expected.value, expected.digits);
      else expect(found).toEqual(expected.value);
    };
    new Function("check", ...names, body)(check, ...names.map((name) => all[name]));
    expect(checked + Number(code.includes("const "))).toBeGreaterThan(0);
  });
});
