import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { setTimeout as sleep } from "node:timers/promises";
import { fileURLToPath } from "node:url";
import { onTestFinished } from "vitest";

/** A stand-in for the package, so that the kernel's tests need nothing of the rest. */
export const fixturePackage = fileURLToPath(new URL("./fixture-package", import.meta.url));

/** An empty folder outside the project. */
export function scratchFolder(): string {
  return mkdtempSync(join(tmpdir(), "polewright-test-"));
}

/** An empty folder outside the project that goes when the test ends. */
export function testFolder(): string {
  const folder = scratchFolder();
  onTestFinished(() => rmSync(folder, { recursive: true, force: true }));
  return folder;
}

/** Whether a process is there. */
export function isAlive(processId: number): boolean {
  try {
    process.kill(processId, 0);
    return true;
  } catch {
    return false;
  }
}

/** Waits for something that another process does; gives up after a time that only a failure takes. */
export async function eventually(condition: () => boolean, giveUpMs = 20_000): Promise<boolean> {
  for (let waited = 0; waited < giveUpMs; waited += 50) {
    if (condition()) return true;
    await sleep(50);
  }
  return condition();
}
