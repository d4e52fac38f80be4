// The package as others get it: packed, installed into an empty folder, run, compiled against, and described.
// The last line states the counts.
import { spawn, spawnSync } from "node:child_process";
import {
  existsSync,
  mkdirSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  rmSync,
  statSync,
  writeFileSync,
} from "node:fs";
import { tmpdir } from "node:os";
import { dirname, join } from "node:path";
import { check, stateCounts } from "../test/support/counting.mjs";

const root = new URL("..", import.meta.url).pathname;
const LARGEST_TARBALL = 1_800_000;
/** What a project that uses this package may have. */
const PROJECTS_TYPESCRIPT = "5.9.3";
const LARGEST_INSTALLED_MB = 40;
/** What a folder takes on the disk, in blocks as the disk has them. */
const megabytes = (folder) =>
  Number(spawnSync("du", ["-sk", folder], { encoding: "utf8" }).stdout.split("\t")[0]) / 1024;
const run = (cwd, command, ...args) => spawnSync(command, args, { cwd, encoding: "utf8" });
/** The same beside the other checks: what fetches much and waits for the network. */
const begin = (cwd, command, ...args) => {
  const child = spawn(command, args, { cwd });
  let stderr = "";
  child.stderr.on("data", (text) => {
    stderr += text;
  });
  child.stdout.resume();
  return new Promise((done) => {
    child.on("close", (status) => done({ status, stderr }));
  });
};
/** Other versions of Node.js, Deno and Bun, where the registry has them: the program, its package, and how it runs a file. */
const RUNTIMES = [
  ["node", `node-${process.platform}-${process.arch}@22`],
  ["node", `node-${process.platform}-${process.arch}@24`],
  ["deno", "deno", "run", "-A"],
  ["bun", "bun"],
];

/** What the pages of a folder refer to and is not there: files and places in them. Other sites are not asked. */
function brokenLinks(folder) {
  const pages = readdirSync(folder, { recursive: true }).filter((path) => path.endsWith(".html"));
  const texts = new Map(pages.map((path) => [join(folder, path), readFileSync(join(folder, path), "utf8")]));
  return [...texts].flatMap(([page, text]) =>
    [...text.matchAll(/ (?:href|src)="(?!https:|data:)([^"]*)"/g)]
      .map(([, link]) => link)
      .filter((link) => {
        const [path, place] = link.split("#").map(decodeURIComponent);
        const file = path === "" ? page : join(dirname(page), path);
        return !existsSync(file) || (place && texts.has(file) && !texts.get(file).includes(` id="${place}"`));
      })
      .map((link) => `${page}: ${link}`),
  );
}

const work = mkdtempSync(join(tmpdir(), "polewright-package-"));
/** An empty project of its own. */
const project = (name) => {
  const place = join(work, name);
  mkdirSync(place);
  writeFileSync(join(place, "package.json"), '{ "private": true }');
  return place;
};
const install = (place, what) => [place, "npm", "install", "--no-audit", "--no-fund", what];
try {
  const fetched = new Map(RUNTIMES.map(([, what]) => [what, begin(...install(project(what), what))]));
  const packed = run(root, "npm", "pack", "--json", "--pack-destination", work);
  const [{ filename, files }] = JSON.parse(packed.stdout);
  const tarball = join(work, filename);
  check("the tarball is small", statSync(tarball).size < LARGEST_TARBALL, `${statSync(tarball).size} bytes`);
  check("no tests in it", !files.some(({ path }) => path.startsWith("test/")));
  const user = join(work, "user");
  mkdirSync(user);
  writeFileSync(join(user, "package.json"), JSON.stringify({ name: "user", private: true, type: "module" }));
  run(...install(user, `typescript@${PROJECTS_TYPESCRIPT}`));
  const before = megabytes(user);
  const installed = run(...install(user, tarball));
  check("npm install FILE", installed.status === 0, installed.stderr.slice(-500));
  const added = megabytes(user) - before;
  console.log(`library and command line: ${added.toFixed(1)} MB`);
  check(
    "library and command line take 40 MB at most",
    added <= LARGEST_INSTALLED_MB,
    `${added.toFixed(1)} MB`,
  );
  const ownCompiler = (when) => {
    const said = run(user, "npx", "--no-install", "tsc", "--version").stdout.trim();
    check(`a project's tsc is its own ${when}`, said === `Version ${PROJECTS_TYPESCRIPT}`, said);
  };
  ownCompiler("with the library");
  const made = run(user, "npx", "--no-install", "polewright", "new", "demo");
  check("polewright new", made.status === 0, made.stderr);
  const early = run(join(user, "demo"), "npx", "--no-install", "polewright", "run", "first-night.ipynb");
  check(
    "run says what it lacks",
    early.status === 1 && early.stderr.includes("polewright kernel add"),
    early.stderr,
  );
  const kernelAdd = (...settings) =>
    spawnSync("npx", ["--no-install", "polewright", "kernel", "add"], {
      cwd: user,
      encoding: "utf8",
      env: { ...process.env, JUPYTER_DATA_DIR: join(work, "jupyter"), ...Object.fromEntries(settings) },
    });
  const cutOff = kernelAdd(
    ["npm_config_registry", "http://127.0.0.1:9/"],
    ["npm_config_cache", join(work, "cache")],
  );
  check(
    "kernel add says what to do without a network",
    cutOff.status === 1 && cutOff.stderr.includes("By hand: npm"),
  );
  check("and adds no kernel then", !existsSync(join(work, "jupyter", "kernels")));
  const known = kernelAdd();
  check("kernel add fetches what notebooks need", known.status === 0, known.stderr.slice(-800));
  const offline = kernelAdd(["npm_config_registry", "http://127.0.0.1:9/"]);
  check("and once fetched it needs no network", offline.status === 0, offline.stderr.slice(-800));
  ownCompiler("with the kernel");
  const ran = run(join(user, "demo"), "npx", "--no-install", "polewright", "run", "first-night.ipynb");
  check("polewright run", ran.status === 0, (ran.stdout + ran.stderr).slice(-800));
  writeFileSync(
    join(user, "use.ts"),
    'import { fitMount, type MountFit, openNight, type StarName } from "polewright";\n' +
      'const star: StarName = "Achernar";\nconst fit: MountFit = fitMount(openNight("demo"));\n' +
      "console.log(star, fit.pole.altitude.value);\n",
  );
  const compilers = {
    "TypeScript 5.9": join(root, "node_modules/typescript/bin/tsc"),
    "TypeScript 5.0": join(root, "node_modules/@tslab/typescript-for-tslab/bin/tsc"),
  };
  for (const [name, compiler] of Object.entries(compilers))
    for (const [module, resolution] of [
      ["NodeNext", "NodeNext"],
      ["ES2022", "node10"],
    ]) {
      const options = ["--noEmit", "--strict", "--target", "ES2022", "--module", module];
      const types = ["--types", "node", "--typeRoots", join(root, "node_modules/@types")];
      const resolving = ["--moduleResolution", resolution, "--skipLibCheck", ...types];
      const done = run(user, process.execPath, compiler, ...options, ...resolving, "use.ts");
      check(`${name} compiles against it, ${resolution}`, done.status === 0, done.stdout.slice(0, 600));
      writeFileSync(
        join(user, "wrong.ts"),
        'import type { StarName } from "polewright";\nexport const star: StarName = "Achernor";\n',
      );
      const wrong = run(user, process.execPath, compiler, ...options, ...resolving, "wrong.ts");
      check(
        `${name} refuses a misspelt star, ${resolution}`,
        wrong.stdout.includes("Achernor"),
        wrong.stdout,
      );
    }
  const { version } = JSON.parse(readFileSync(join(root, "package.json"), "utf8"));
  const said = run(user, "npx", "--no-install", "polewright", "--version");
  check("tells its version", said.stdout.trim() === version, said.stdout);
  // Library and command line say on every runtime what Node.js says.
  writeFileSync(
    join(user, "use.mjs"),
    'import { fitMount, openNight } from "polewright";\n' +
      // The last digits are the engine's own.
      'const tidy = (_, value) => (typeof value === "number" ? Number(value.toPrecision(9)) : value);\n' +
      'console.log(JSON.stringify(fitMount(openNight("demo")).pole, tidy));\n',
  );
  const answersBy = (...runtime) => {
    const [program, ...words] = runtime;
    const library = run(user, program, ...words, "use.mjs");
    const cli = run(user, program, ...words, "node_modules/polewright/dist/cli/main.js", "explain", "cone");
    return {
      ok: library.status === 0 && cli.status === 0,
      says: library.stdout + cli.stdout,
      errors: library.stderr + cli.stderr,
    };
  };
  const byNode = answersBy(process.execPath);
  check("Node.js runs the library and the command line", byNode.ok, byNode.errors);
  for (const [name, what, ...words] of RUNTIMES) {
    const place = join(work, what);
    const program = join(place, "node_modules", ".bin", name);
    if ((await fetched.get(what)).status !== 0 || run(place, program, "--version").status !== 0) {
      console.log(`Not tried: ${what}, which is not to be had here.`);
      continue;
    }
    const other = answersBy(program, ...words);
    check(`${what} says what Node.js says`, other.ok && other.says === byNode.says, other.errors.slice(-800));
  }
  // From a git address npm builds the package itself, by the script `prepare`.
  const clone = join(work, "clone");
  run(work, "git", "clone", "--quiet", "--depth", "1", `file://${root}`, clone);
  const third = project("third");
  const building = begin(...install(third, `git+file://${clone}`));
  const bare = run(clone, "npm", "ci", "--omit=dev", "--no-audit", "--no-fund");
  check("npm ci --omit=dev on a clone", bare.status === 0, bare.stderr.slice(-800));
  const fromGit = await building;
  const explained = run(third, "npx", "--no-install", "polewright", "explain", "cone");
  check(
    "npm install from a git address",
    fromGit.status === 0 && explained.status === 0,
    (fromGit.stderr + explained.stderr).slice(-800),
  );
  // TypeDoc ends with an error for every warning: a public name without a comment, a type that is not exported.
  const described = run(root, "npm", "run", "docs");
  const remarks = described.stdout + described.stderr;
  check(
    "npm run docs without a warning",
    described.status === 0 && !remarks.includes("[warning]"),
    remarks.slice(-1500),
  );
  const broken = brokenLinks(join(root, "out/api"));
  check("no broken link in the site", broken.length === 0, broken.slice(0, 20).join("\n"));
} catch (error) {
  check("the checks ran through", false, error.stack);
} finally {
  rmSync(work, { recursive: true, force: true });
}
process.exitCode = stateCounts();
