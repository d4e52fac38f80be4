/**
 * Practice copies of a night: in the system's temporary folder, removed when the program ends; what a killed one left is
 * swept by the next.
 */
import { copyFileSync, mkdtempSync, readdirSync, rmSync, statSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { MOUNT_FILE, NIGHT_FILE } from "./night-folder.js";

const PREFIX = "polewright-practice-";
/** A copy of a program that is gone is left alone for so long, whatever its number stands for by now. */
const OLD_MS = 600_000;

const ours = new Set<string>();

/**
 * Copies a night's folder for practice.
 *
 * @param folder - holds `mount.json` and `night.csv`
 * @param nowMs - milliseconds since 1970
 * @returns the copy's path; it is removed when the program ends
 */
export function practiceCopy(folder: string, nowMs = Date.now()): string {
  sweep(nowMs);
  const copy = mkdtempSync(join(tmpdir(), `${PREFIX}${process.pid}-`));
  if (ours.size === 0) process.once("exit", removeOurs);
  ours.add(copy);
  for (const name of [MOUNT_FILE, NIGHT_FILE]) copyFileSync(join(folder, name), join(copy, name));
  return copy;
}

function removeOurs(): void {
  for (const copy of ours) rmSync(copy, { recursive: true, force: true });
}

function sweep(nowMs: number): void {
  for (const name of readdirSync(tmpdir())) {
    const owner = name.startsWith(PREFIX) ? Number.parseInt(name.slice(PREFIX.length), 10) : Number.NaN;
    if (!name.startsWith(PREFIX) || isRunning(owner)) continue;
    const path = join(tmpdir(), name);
    try {
      if (nowMs - statSync(path).mtimeMs > OLD_MS) rmSync(path, { recursive: true, force: true });
    } catch {
      // Another program's, or gone already.
    }
  }
}

function isRunning(pid: number): boolean {
  if (!(pid > 0)) return false;
  try {
    process.kill(pid, 0);
    return true;
  } catch (problem) {
    // It runs for somebody else.
    return (problem as NodeJS.ErrnoException).code === "EPERM";
  }
}
