/**
 * Sets up a fresh clone: dependencies by the lock file, the compiled package, and the link by which notebooks in this
 * folder find the package by its name. Does only what is missing or out of date.
 */
import { spawnSync } from "node:child_process";
import { existsSync, lstatSync, mkdirSync, rmSync, statSync, symlinkSync } from "node:fs";
import { dirname, join } from "node:path";
import { fileURLToPath } from "node:url";
import { isStale } from "./freshness.mjs";

const root = dirname(dirname(fileURLToPath(import.meta.url)));
const modules = join(root, "node_modules");

const [major, minor] = process.versions.node.split(".").map(Number);
if (major < 20 || (major === 20 && minor < 19)) {
  console.error(`Polewright needs Node.js 20.19 or later; this is ${process.version}.`);
  process.exit(1);
}

function run(what, command, args, options = {}) {
  console.error(what);
  const done = spawnSync(command, args, { cwd: root, stdio: ["ignore", 2, 2], ...options });
  if (done.status !== 0) {
    console.error(`That failed: ${command} ${args.join(" ")}`);
    process.exit(done.status ?? 1);
  }
}

const installed = join(modules, ".package-lock.json");
const lock = join(root, "package-lock.json");
if (!existsSync(installed) || statSync(installed).mtimeMs < statSync(lock).mtimeMs) {
  const npm = process.env.npm_execpath;
  const args = ["ci", "--no-audit", "--no-fund"];
  if (npm) run("Installing what the package needs …", process.execPath, [npm, ...args]);
  else run("Installing what the package needs …", "npm", args, { shell: process.platform === "win32" });
}

if (isStale()) {
  rmSync(join(root, "dist"), { recursive: true, force: true });
  run("Compiling …", process.execPath, [join(root, ".dev", "build.mjs")]);
}

const link = join(modules, "polewright");
const isLink = (path) => {
  try {
    return lstatSync(path).isSymbolicLink();
  } catch {
    return false;
  }
};
if (!isLink(link) || !existsSync(link)) {
  if (isLink(link)) rmSync(link);
  mkdirSync(modules, { recursive: true });
  symlinkSync(
    process.platform === "win32" ? root : "..",
    link,
    process.platform === "win32" ? "junction" : "dir",
  );
}
