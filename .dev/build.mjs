/**
 * Builds dist/: src/ compiled file by file, then the command line put together in a few files, for Node.js spends more
 * of a cold start on finding a hundred small files than on the fit. Neither minified nor mapped: a stack trace reads.
 */
import { spawnSync } from "node:child_process";
import { mkdirSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { isAbsolute, join } from "node:path";
import { fileURLToPath } from "node:url";
import { rolldown } from "rolldown";
import { markBuilt } from "./freshness.mjs";
import { ownImports } from "./own-imports.mjs";

const root = fileURLToPath(new URL("..", import.meta.url));
const dist = join(root, "dist");
// tslab brings a tsc of its own that hides this one in node_modules/.bin: called by its path.
const compiler = join(root, "node_modules", "typescript", "bin", "tsc");

/** The pages that are put together for browsers: each a folder of src/page/browser with `main.ts`, a template and a style. */
const pages = ["desk", "wrong-telescope"];

/** Compiles src/ into dist/, bundles the command line and the pages; throws where anything fails. */
export async function build() {
  const started = new Date();
  mkdirSync(dist, { recursive: true });
  compile("-p", root, "--outDir", dist);
  compile("-p", join(root, "src", "page", "browser"));
  await bundleCommandLine();
  for (const page of pages) await bundlePage(page);
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

function compile(...options) {
  const done = spawnSync(process.execPath, [compiler, ...options], { encoding: "utf8" });
  if (done.status !== 0) throw new Error(`The compiler found faults:\n${done.stdout}${done.stderr}`);
}

/**
 * One HTML file with its style and its script in it, the packages that it needs too: a page has nothing else to load.
 * Licences of the packages stay in it as the minifier keeps legal comments.
 */
async function bundlePage(name) {
  const source = join(root, "src", "page", "browser");
  const script = await browserScript(name, {
    ...ownImports("default"),
    // A builder's own terms come to a page read already; and of the matrices' modules only what is used goes in.
    "#expression-parser": join(source, "shared", "expression-parser.ts"),
    "#matrices": join(root, "node_modules", "ml-matrix", "src", "index.js"),
  });
  const read = (...path) => readFileSync(join(source, ...path), "utf8");
  const html = read(name, `${name}.html`)
    .replace("/*style*/", () => plainStyle(read("shared", "page.css") + read(name, `${name}.css`)))
    .replace("/*script*/", () => script);
  mkdirSync(join(dist, "page"), { recursive: true });
  writeFileSync(join(dist, "page", `${name}.html`), html);
}

/** The script of a folder of src/page/browser and all that it imports. */
async function browserScript(name, alias) {
  const bundle = await rolldown({
    input: join(root, "src", "page", "browser", name, "main.ts"),
    platform: "browser",
    resolve: { extensionAlias: { ".js": [".ts", ".js"] }, alias },
  });
  const { output } = await bundle.generate({ format: "iife", minify: true });
  await bundle.close();
  // `</script` inside the script would end it.
  return output[0].code.replace(/<\/script/gi, "<\\/script");
}

/** A style without comments and indents. */
function plainStyle(css) {
  return css
    .replace(/\/\*[\s\S]*?\*\//g, "")
    .replace(/\n\s*/g, "\n")
    .trim();
}

if (process.argv[1] === fileURLToPath(import.meta.url)) await build();
