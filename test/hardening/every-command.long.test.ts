/**
 * Every command from outside: wrong usage, unusable input, files of other kinds; what is written, and that no network is
 * used. Each runs with a home of its own and is ended by the first step towards a network.
 */
import { spawnSync } from "node:child_process";
import { createHash } from "node:crypto";
import {
  cpSync,
  mkdirSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  rmSync,
  statSync,
  symlinkSync,
  writeFileSync,
} from "node:fs";
import { tmpdir } from "node:os";
import { join, relative } from "node:path";
import { fileURLToPath, pathToFileURL } from "node:url";
import { Ajv2020 } from "ajv/dist/2020.js";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { BUILD_TIMEOUT_MS, built, packageFolder } from "../support/built.js";

/** A command that has not answered by then hangs. */
const HANG_MS = 120_000;
const preload = pathToFileURL(fileURLToPath(new URL("no-network.mjs", import.meta.url))).href;
const ajv = new Ajv2020({ strict: false });
const isError = ajv.compile(
  JSON.parse(readFileSync(join(packageFolder, "data/schema/error.schema.json"), "utf8")),
);

let main = "";
let world = "";
let cwd = "";

beforeAll(async () => {
  main = await built("cli/main.js");
  world = mkdtempSync(join(tmpdir(), "polewright-every-"));
  cwd = join(world, "work");
  for (const name of ["home", "tmp"]) mkdirSync(join(world, name));
  cpSync(join(packageFolder, "data/first-light"), cwd, { recursive: true });
  cpSync(join(packageFolder, "data/after-turning"), join(cwd, "after"), { recursive: true });
  writeFileSync(
    join(cwd, "drifts.csv"),
    "time,star,minutes,driftNorthArcsec\n2026-03-14T18:30:00Z,Alphard,5,-20\n2026-03-14T19:30:00Z,Sirius,5,12\n",
  );
}, BUILD_TIMEOUT_MS);
afterAll(() => rmSync(world, { recursive: true, force: true }));

interface Done {
  readonly code: number | null;
  readonly out: string;
  readonly err: string;
}

function polewright(args: readonly string[]): Done {
  const done = spawnSync(process.execPath, [main, ...args], {
    cwd,
    encoding: "utf8",
    timeout: HANG_MS,
    maxBuffer: 1e8,
    env: {
      PATH: process.env.PATH,
      HOME: join(world, "home"),
      TMPDIR: join(world, "tmp"),
      NODE_OPTIONS: `--import=${preload}`,
    },
  });
  expect(done.signal, `${args.join(" ")} hangs`).toBeNull();
  expect(done.stderr, args.join(" ")).not.toContain("NETWORK USED");
  expect(done.stderr, args.join(" ")).not.toMatch(/error of its own|\n\s+at .*:\d+:\d+/);
  return { code: done.status, out: done.stdout, err: done.stderr };
}

/** Commands with everything they need. */
const at = "2026-03-14T20:00:00Z";
const right: readonly (readonly string[])[] = [
  ["fit", "night.csv"],
  ["turns", "night.csv"],
  ["turns", "night.csv", "--brief"],
  ["rounds", "night.csv", "after/night.csv", "--turned", "after/turned.csv"],
  ["plan", "--mount", "mount.json", "--from", at, "--stars", "4"],
  ["find", "night.csv", "Sirius", "M 42", "Moon", "--at", at],
  ["find", "night.csv", "Sirius", "M 42", "--at", at, "--until", "2026-03-14T21:00:00Z"],
  ["exposure", "night.csv"],
  ["compare", "night.csv", "after/night.csv"],
  ["daylight", "--mount", "mount.json", "--at", "2026-03-14T09:00:00Z"],
  ["explain", "cone", "--night", "night.csv"],
  ["kernel", "where"],
  ["--help"],
  ["--version"],
];

describe("wrong usage", () => {
  it.each([
    [[]],
    [["fly"]],
    [["--json"]],
    [["fit"]],
    [["fit", "night.csv", "more.csv"]],
    [["fit", "night.csv", "--mnt", "mount.json"]],
    [["fit", "night.csv", "--mount"]],
    [["fit", "night.csv", "--terms"]],
    [["fit", "night.csv", "--terms", ""]],
    [["fit", "night.csv", "--terms", "polarAlt,cone"]],
    [["fit", "night.csv", "--theme", "red"]],
    [["fit", "night.csv", "--html", "a.html", "--html", "b.html"]],
    [["fit", "night.csv", "--html", "a.html", "--theme", "night", "--theme", "light"]],
    [["turns"]],
    [["turns", "night.csv", "--azimuth-by", "hand"]],
    [["turns", "night.csv", "--altitude-by", "tilt"]],
    [["turns", "night.csv", "--aim", "sun"]],
    [["rounds"]],
    [["rounds", "night.csv"]],
    [["plan"]],
    [["plan", "--mount", "mount.json"]],
    [["plan", "--mount", "mount.json", "--from", "tonight"]],
    // A time without a zone is no wrong usage: the mount file may name the zone.
    [["plan", "--mount", "mount.json", "--from", "2026-03-14T25:00:00"]],
    [["plan", "--mount", "mount.json", "--from", at, "--stars", "many"]],
    [["plan", "--mount", "mount.json", "--from", at, "--minutes", "-3"]],
    [["find", "night.csv"]],
    [["find", "night.csv", "Sirius", "--at", "20:00"]],
    [["drift"]],
    [["exposure"]],
    [["exposure", "night.csv", "--seconds", "0"]],
    [["exposure", "night.csv", "--smear", "NaN"]],
    [["keep", "night.csv"]],
    [["compare", "night.csv"]],
    [["daylight", "--mount", "mount.json"]],
    [["daylight", "--mount", "mount.json", "--at", at, "--tilt", "Infinity"]],
    [["explain"]],
    [["explain", "wobble"]],
    [["kernel"]],
    [["kernel", "eat"]],
    [["run"]],
    [["run", "x.ipynb", "--theme", "red"]],
    [["new"]],
  ])("%j is exit 2 with a sentence", (args) => {
    const { code, out, err } = polewright(args);
    expect(code).toBe(2);
    expect(out).toBe("");
    expect(err).toMatch(/[a-z]{3,} [a-z]{2,}/i);
  });
});

/** Files that are no night and no mount, by name. */
const strangers: Readonly<Record<string, () => string | Buffer>> = {
  "empty.csv": () => "",
  "blank.csv": () => "\r\n \r\n",
  "nul.csv": () => Buffer.alloc(4096),
  "picture.csv": () => Buffer.from("\x89PNG\r\n\x1a\n\0\0\0\rIHDR\0\0", "latin1"),
  "utf16.csv": () => Buffer.from("\uFEFFtime,star,hourAngle,declination\r\n", "utf16le"),
  "semicolons.csv": () => "time;star;hourAngle;declination\r\n2026-03-14T18:00:00Z;Sirius;-27,5;842,1\r\n",
  "commas.csv": () => "time,star,hourAngle,declination\n2026-03-14T18:00:00Z,Sirius,-27,5,842,1\n",
  "bars.csv": () => "time|star|hourAngle|declination\n",
  "page.csv": () => "<!doctype html><title>404</title>",
  "json.csv": () => '{"time": 1}\n',
  "header.csv": () => "time,star,houraAngle,declination\n",
  "torn.csv": () => "time,star,hourAngle,declination\n2026-03-14T18:00:00Z,Sirius\n",
  "quotes.csv": () => `time,star,hourAngle,declination\n${'"'.repeat(10_000)}\n`,
  "junk.csv": junk,
};

/** 50 MB that say nothing, the same every time. */
function junk(): Buffer {
  const block = Buffer.alloc(1_000_003);
  let state = 7;
  for (let i = 0; i < block.length; i++) {
    state = (Math.imul(state, 1_103_515_245) + 12_345) & 0x7fffffff;
    block[i] = 32 + ((state >> 16) % 95);
    if (i % 71 === 0) block[i] = 10;
  }
  return Buffer.concat(Array.from({ length: 50 }, () => block));
}

describe("a file of another kind", () => {
  beforeAll(() => {
    mkdirSync(join(cwd, "strange"));
    for (const [name, content] of Object.entries(strangers))
      writeFileSync(join(cwd, "strange", name), content());
  });
  afterAll(() => rmSync(join(cwd, "strange"), { recursive: true }));

  function refused(args: readonly string[]): {
    code: string;
    faults: { message: string; allowed: string }[];
  } {
    const { code, out, err } = polewright([...args, "--json"]);
    expect(code, args.join(" ")).toBe(1);
    expect(err.trim(), args.join(" ")).not.toBe("");
    const json = JSON.parse(out);
    expect(isError(json), `${args.join(" ")}: ${JSON.stringify(isError.errors)}`).toBe(true);
    return json.error;
  }

  it.each(Object.keys(strangers))("%s as a night is exit 1 with sentences", (name) => {
    const error = refused(["fit", `strange/${name}`, "--mount", "mount.json"]);
    expect(error.faults.length).toBeGreaterThan(0);
    // The first fifty and how many more there are: nobody reads ten thousand.
    expect(error.faults.length).toBeLessThanOrEqual(51);
  });

  it.each(Object.keys(strangers))("%s as a mount is exit 1 with sentences", (name) => {
    expect(refused(["turns", "night.csv", "--mount", `strange/${name}`]).faults.length).toBeGreaterThan(0);
  });

  it("with decimal commas is read where semicolons separate the columns, and says what to write where commas do", () => {
    const [fault] = refused(["fit", "strange/semicolons.csv", "--mount", "mount.json"]).faults;
    expect(fault).toMatchObject({ code: "counts-not-whole", found: "-27.5", column: "hourAngle" });
    const [commas] = refused(["fit", "strange/commas.csv", "--mount", "mount.json"]).faults;
    expect(commas?.message).toContain("decimal comma");
  });

  it.each([
    ["the turns of rounds", ["rounds", "night.csv", "after/night.csv", "--turned", "FILE"]],
    ["drifts", ["drift", "FILE", "--mount", "mount.json"]],
    ["a kept model", ["plan", "--mount", "mount.json", "--from", at, "--model", "FILE"]],
    ["a night held against drifts", ["drift", "drifts.csv", "--mount", "mount.json", "--night", "FILE"]],
    ["a mount by day", ["daylight", "--mount", "FILE", "--at", at]],
  ] as const)("as %s is exit 1 with sentences", (_, args) => {
    for (const name of ["empty.csv", "nul.csv", "semicolons.csv", "json.csv", "quotes.csv", "absent.csv"])
      refused(args.map((arg) => (arg === "FILE" ? `strange/${name}` : arg)));
  });

  it("as a notebook is exit 1 with sentences", () => {
    for (const name of ["empty.csv", "nul.csv", "json.csv", "absent.ipynb"]) {
      const { code, err } = polewright(["run", `strange/${name}`]);
      expect(code, name).toBe(1);
      expect(err, name).toMatch(/notebook|nbformat/i);
    }
  });
});

it("a byte-order mark and the line ends of Windows change nothing", () => {
  const plain = readFileSync(join(cwd, "night.csv"), "utf8");
  writeFileSync(join(cwd, "windows.csv"), `\uFEFF${plain.replaceAll("\n", "\r\n")}`);
  const json = (name: string) => polewright(["fit", name, "--mount", "mount.json", "--json"]).out;
  expect(json("windows.csv")).toBe(json("night.csv"));
  rmSync(join(cwd, "windows.csv"));
});

it("the faults of mount and night are reported together, each with its file", () => {
  writeFileSync(join(cwd, "bad.json"), '{ "name": "", "site": { "latitude": 91, "longitude": "18 E" } }');
  writeFileSync(join(cwd, "bad.csv"), "time,star,hourAngle,declination\n2026-03-14T18:00:00,Sirus,1,2\n");
  const { code, err } = polewright(["fit", "bad.csv", "--mount", "bad.json"]);
  expect(code).toBe(1);
  for (const told of ["site.latitude", "site.longitude", "readings", "no zone", "Sirius", "decimal degrees"])
    expect(err, told).toContain(told);
  for (const name of ["bad.json", "bad.csv"]) rmSync(join(cwd, name));
});

/** Every file under a folder with what is in it. */
function contents(folder: string, root = folder): Record<string, string> {
  const found: Record<string, string> = {};
  for (const entry of readdirSync(folder, { withFileTypes: true })) {
    const path = join(folder, entry.name);
    if (entry.isDirectory()) Object.assign(found, contents(path, root));
    else {
      const { size, mtimeMs } = statSync(path);
      const content = size < 5e6 ? createHash("sha256").update(readFileSync(path)).digest("hex") : "";
      found[relative(root, path)] = `${size} ${mtimeMs} ${content}`;
    }
  }
  return found;
}

/** The package as a user has it. Tests of other files may build at the same time, so what they make is left out. */
function packageContents(): Record<string, string> {
  return Object.fromEntries(
    ["data", "notebooks", "src"].flatMap((name) =>
      Object.entries(contents(join(packageFolder, name))).map(([path, content]) => [
        `${name}/${path}`,
        content,
      ]),
    ),
  );
}

function written(args: readonly string[]): { readonly done: Done; readonly files: string[] } {
  const before = { ...contents(world), ...packageContents() };
  const done = polewright(args);
  const after = { ...contents(world), ...packageContents() };
  const names = new Set([...Object.keys(before), ...Object.keys(after)]);
  return { done, files: [...names].filter((name) => before[name] !== after[name]).sort() };
}

describe("nothing is written but what was asked for", () => {
  it.each(right.map((args) => [args]))("%j writes nothing", (args) => {
    const { done, files } = written(args);
    expect(done.err).toBe("");
    expect(done.code).toBe(args[1] === "where" ? 1 : 0);
    expect(files).toEqual([]);
  });

  it("--html and --csv write one file each, and again over what they wrote", () => {
    for (let time = 0; time < 2; time++) {
      expect(written(["fit", "night.csv", "--html", "fit.html"]).files).toEqual(["work/fit.html"]);
      const list = ["find", "night.csv", "--at", at, "--until", "2026-03-14T21:00:00Z", "--csv", "list.csv"];
      expect(written(list).files).toEqual(["work/list.csv"]);
    }
    for (const name of ["fit.html", "list.csv"]) rmSync(join(cwd, name));
  });

  it("keep writes its model once and never over another", () => {
    expect(written(["keep", "night.csv", "--out", "model.json"]).files).toEqual(["work/model.json"]);
    const again = written(["keep", "night.csv", "--out", "model.json"]);
    expect(again.done.code).toBe(1);
    expect(again.files).toEqual([]);
    rmSync(join(cwd, "model.json"));
  });

  it("new makes its three files", () => {
    expect(written(["new", "fresh"]).files).toEqual([
      "work/fresh/first-night.ipynb",
      "work/fresh/mount.json",
      "work/fresh/night.csv",
    ]);
    const again = written(["new", "fresh"]);
    expect(again.done.code).toBe(1);
    expect(again.files).toEqual([]);
    rmSync(join(cwd, "fresh"), { recursive: true });
  });

  it("kernel add writes into Jupyter's folder, and remove takes it away", () => {
    const added = written(["kernel", "add"]).files;
    expect(added.length).toBeGreaterThan(0);
    for (const name of added) expect(name).toMatch(/^home\/.*kernels\/polewright\//);
    expect(written(["kernel", "remove"]).files).toEqual(added);
    expect(contents(join(world, "home"))).toEqual({});
  });

  it("a notebook is run without a trace, a network or an open door", { timeout: HANG_MS * 2 }, () => {
    const notebook = {
      cells: [
        {
          cell_type: "code",
          id: "fit",
          execution_count: null,
          metadata: {},
          outputs: [],
          source: [
            'import { fitMount, jackTurns, openNight, plots, show } from "polewright";\n',
            'const fit = fitMount(openNight("."));\n',
            "show(fit); show(plots.residualSky(fit)); show(jackTurns(fit));",
          ],
        },
      ],
      metadata: {},
      nbformat: 4,
      nbformat_minor: 5,
    };
    writeFileSync(join(cwd, "night.ipynb"), JSON.stringify(notebook));
    const { done, files } = written(["run", "night.ipynb", "--html", "run.html"]);
    expect(done.code, done.err + done.out).toBe(0);
    expect(files).toEqual(["work/run.html"]);
    rmSync(join(cwd, "run.html"));
  });
});

describe("a page or list asked for in the wrong place", () => {
  it("of another result of the same command is refused, and nothing is written", () => {
    for (const args of [
      ["keep", "night.csv", "--out", "kept.json", "--html", "./kept.json"],
      ["turns", "night.csv", "--sheet", "page.html", "--html", "page.html"],
    ]) {
      const { done, files } = written(args);
      expect(done.code, args.join(" ")).toBe(1);
      expect(done.err, args.join(" ")).toContain("one file");
      expect(files, args.join(" ")).toEqual([]);
    }
  });

  it.each([
    ["the night itself", "night.csv"],
    ["the mount", "mount.json"],
    ["a folder", "after"],
    ["a folder that is missing", "nowhere/fit.html"],
    ["inside a file", "night.csv/fit.html"],
    ["the night by a link", "link.html"],
  ])("%s is refused, and nothing is changed", (_, target) => {
    symlinkSync("night.csv", join(cwd, "link.html"));
    try {
      for (const args of [
        ["fit", "night.csv", "--html", target],
        ["find", "night.csv", "--at", at, "--until", "2026-03-14T21:00:00Z", "--csv", target],
        ["keep", "night.csv", "--out", target],
      ]) {
        const { done, files } = written(args);
        expect(done.code, args.join(" ")).toBe(1);
        expect(done.err, args.join(" ")).toContain(target);
        expect(files, args.join(" ")).toEqual([]);
      }
    } finally {
      rmSync(join(cwd, "link.html"));
    }
  });
});
