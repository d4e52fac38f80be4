/**
 * The folder of a running kernel: its sockets, and for a moment the file with its key. Only its owner may enter it. Whoever
 * is killed cannot remove it; the next start does.
 */
import { lstatSync, mkdtempSync, readdirSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";

const PREFIX = "polewright-kernel-";

/** A new folder that names this process. */
export function newScratchFolder(): string {
  // mkdtemp makes it for its owner alone (0700).
  return mkdtempSync(join(tmpdir(), `${PREFIX}${process.pid}-`));
}

/** Removes the folders of this user's processes that are no more. */
export function sweepScratchFolders(): void {
  const root = tmpdir();
  for (const name of readdirSync(root)) {
    const owner = new RegExp(`^${PREFIX}(\\d+)-\\w+$`).exec(name)?.[1];
    if (owner === undefined || isAlive(Number(owner))) continue;
    const folder = join(root, name);
    try {
      // Of the folder itself, never of what a link leads to. Windows has no owners' numbers, but a folder for each user.
      const stat = lstatSync(folder);
      const own = process.getuid === undefined || stat.uid === process.getuid();
      if (own && stat.isDirectory()) rmSync(folder, { recursive: true, force: true });
    } catch {
      // Somebody else swept it at the same time, or it is another's: neither keeps this kernel from starting.
    }
  }
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
