/**
 * Whether dist/ is what src/ compiles to. A stamp of our own tells: the compiler's own record is also rewritten by a mere
 * type check, which writes no code.
 */
import { existsSync, mkdirSync, readdirSync, statSync, utimesSync, writeFileSync } from "node:fs";
import { dirname, join } from "node:path";
import { fileURLToPath } from "node:url";

const root = dirname(dirname(fileURLToPath(import.meta.url)));
const dist = join(root, "dist");
const stamp = join(dist, ".built");

/** True where a source is newer than the last build. */
export function isStale() {
  const last = statSync(stamp, { throwIfNoEntry: false })?.mtimeMs;
  if (last === undefined || !existsSync(join(dist, "index.js"))) return true;
  const sources = readdirSync(join(root, "src"), { recursive: true, encoding: "utf8" });
  const files = [...sources.map((name) => join("src", name)), "tsconfig.json", "package.json"];
  return files.some((name) => (statSync(join(root, name), { throwIfNoEntry: false })?.mtimeMs ?? 0) > last);
}

/** Notes that dist/ was built from the sources as they were at a moment. */
export function markBuilt(started) {
  mkdirSync(dist, { recursive: true });
  writeFileSync(stamp, "");
  utimesSync(stamp, started, started);
}
