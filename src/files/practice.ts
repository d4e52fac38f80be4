/**
 * Practice copies of a night: in the system's temporary folder, removed when the program ends; what a killed one left is
 * swept by the next.
 */
import { copyFileSync, rmSync } from "node:fs";
import { join } from "node:path";
import { MOUNT_FILE, NIGHT_FILE } from "./night-folder.js";
import { newScratchFolder } from "./scratch.js";

const ours = new Set<string>();

/**
 * Copies a night's folder for practice.
 *
 * @param folder - holds `mount.json` and `night.csv`
 * @returns the copy's path; it is removed when the program ends
 */
export function practiceCopy(folder: string): string {
  const copy = newScratchFolder("practice");
  if (ours.size === 0) process.once("exit", removeOurs);
  ours.add(copy);
  for (const name of [MOUNT_FILE, NIGHT_FILE]) copyFileSync(join(folder, name), join(copy, name));
  return copy;
}

function removeOurs(): void {
  for (const copy of ours) rmSync(copy, { recursive: true, force: true });
}
