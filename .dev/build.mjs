/**
 * Builds dist/: src/ compiled file by file, then the command line put together in a few files, for Node.js spends more
 * of a cold start on finding a hundred small files than on the fit. Neither minified nor mapped: a stack trace reads.
 */
import { spawnSync } from "node:child_process";
import { mkdirSync, rmSync, writeFileSync } from "node:fs";
import { isAbsolute, join } from "node:path";
import { fileURLToPath } from "node:url";
import { rolldown } from "rolldown";
import { markBuilt } from "./freshness.mjs";
import { ownImports } from "./own-imports.mjs";

const root = fileURLToPath(new URL("..", import.meta.url));
const dist = join(root, "dist");
// tslab brings a tsc of its own that hides this one in node_modules/.bin: called by its path.
const compiler = join(root, "node_modules", "typescript", "bin", "tsc");

/** Compiles src/ into dist/ and bundles the command line; throws where either fails. */
export async function build() {
  const started = new Date();
  mkdirSync(dist, { recursive: true });
  const done = spawnSync(process.execPath, [compiler, "-p", root, "--outDir", dist], { encoding: "utf8" });
  if (done.status !== 0) throw new Error(`The compiler found faults:\n${done.stdout}${done.stderr}`);
  await bundleCommandLine();
  markBuilt(started);
}

/**
 * Only our own modules go in; each package stays where npm put it, with its licence. CommonJS, for Node.js starts it
 * sooner than modules; a package.json beside it says so.
 */
async function bundleCommandLine() {
  const bundle = await rolldown({
    input: join(root, "src", "cli", "main.ts"),
    platform: "node",
    external: (name) => !/^[.#]/.test(name) && !isAbsolute(name),
    resolve: { extensionAlias: { ".js": [".ts"] }, alias: ownImports("node") },
  });
  const dir = join(dist, "cli");
  rmSync(dir, { recursive: true, force: true });
  await bundle.write({ dir, format: "cjs", entryFileNames: "[name].js", chunkFileNames: "[name].js" });
  writeFileSync(join(dir, "package.json"), '{ "type": "commonjs" }\n');
  await bundle.close();
}

if (process.argv[1] === fileURLToPath(import.meta.url)) await build();
