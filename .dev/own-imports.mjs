/**
 * The package's own "imports" for whatever reads src/ instead of dist/: each name with the source that stands behind it in
 * Node.js, or in a browser.
 */
import { readFileSync } from "node:fs";
import { fileURLToPath } from "node:url";

const root = fileURLToPath(new URL("..", import.meta.url));

/**
 * @param {"node" | "default"} condition - which side
 * @returns {Record<string, string>} of each name the absolute path of its source, or the package that it stands for
 */
export function ownImports(condition) {
  const { imports } = JSON.parse(readFileSync(new URL("../package.json", import.meta.url), "utf8"));
  return Object.fromEntries(
    Object.entries(imports).map(([name, sides]) => [name, sourceOf(sides[condition])]),
  );
}

function sourceOf(target) {
  return target.startsWith("./dist/")
    ? root + target.replace("./dist/", "src/").replace(/\.js$/, ".ts")
    : target;
}
