/**
 * Folders in the system's temporary folder that last as long as the program: a kernel's sockets, a practice copy. Only their
 * owner may enter them. Whoever is killed cannot remove his; the next start does.
 */
import { lstatSync, mkdtempSync, readdirSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";

/** Of version 0.1, whose names do not say whose they are: left alone for so long. */
const OLD_MS = 600_000;

/** A new folder that names this process; those of this user's processes that are no more are removed. */
export function newScratchFolder(kind: "kernel" | "practice"): string {
  const root = tmpdir();
  const prefix = `polewright-${kind}-`;
  const named = new RegExp(`^${prefix}(?:(\\d+)-)?\\w{6}$`);
  for (const name of readdirSync(root)) {
    const [isOurs, owner] = named.exec(name) ?? [];
    if (isOurs === undefined || (owner !== undefined && isAlive(Number(owner)))) continue;
    const folder = join(root, name);
    try {
      // Of the folder itself, never of what a link leads to. Windows has no owners' numbers, but a folder for each user.
      const stat = lstatSync(folder);
      const own = process.getuid === undefined || stat.uid === process.getuid();
      const over = owner !== undefined || Date.now() - stat.mtimeMs > OLD_MS;
      if (own && over && stat.isDirectory()) rmSync(folder, { recursive: true, force: true });
    } catch {
      // Somebody else swept it at the same time, or it is another's: neither keeps this program from starting.
    }
  }
  // mkdtemp makes it for its owner alone (0700).
  return mkdtempSync(join(root, `${prefix}${process.pid}-`));
}

function isAlive(processId: number): boolean {
  try {
    process.kill(processId, 0);
    return true;
  } catch (error) {
    // Another user's process may not be signalled, but it is there.
    return (error as NodeJS.ErrnoException).code !== "ESRCH";
  }
}
