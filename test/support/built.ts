/**
 * The built package, for tests that start it as a program: built once, and again only after a source has changed.
 */
import { existsSync, mkdirSync, rmSync, statSync } from "node:fs";
import { join } from "node:path";
import { setTimeout as sleep } from "node:timers/promises";
import { fileURLToPath } from "node:url";
import { build } from "../../.dev/build.mjs";
import { isStale } from "../../.dev/freshness.mjs";

/** The package's folder. */
export const packageFolder = fileURLToPath(new URL("../..", import.meta.url));
const dist = join(packageFolder, "dist");
const lock = join(dist, ".building");
/** How long a hook that builds may take: vitest's own 10 s are short on a busy machine. */
export const BUILD_TIMEOUT_MS = 180_000;
/** A build takes some seconds; a lock older than this was left by one that was killed. */
const LOCK_LIFE_MS = 180_000;

/**
 * Builds the package if a source is newer than the last build. Several test files may call it at the same time.
 *
 * @param needed - the file wanted, relative to `dist`
 * @returns its absolute path
 * @throws where the file is not there after the build
 */
export async function built(needed: string): Promise<string> {
  const path = join(dist, needed);
  while (isStale() || !existsSync(path)) {
    if (!takeLock()) {
      await sleep(100);
      continue;
    }
    try {
      await build();
      if (!existsSync(path)) throw new Error(`The build did not make ${path}.`);
      return path;
    } finally {
      rmSync(lock, { recursive: true, force: true });
    }
  }
  return path;
}

function takeLock(): boolean {
  mkdirSync(dist, { recursive: true });
  try {
    mkdirSync(lock);
    return true;
  } catch {
    const since = statSync(lock, { throwIfNoEntry: false })?.mtimeMs;
    if (since !== undefined && Date.now() - since > LOCK_LIFE_MS)
      rmSync(lock, { recursive: true, force: true });
    return false;
  }
}
