import { existsSync } from "node:fs";
import { dirname, join } from "node:path";
import { faultText, InputError } from "../errors.js";
import { readMountFile, readNightFile } from "../files/night-folder.js";
import type { Mount } from "../mount/mount.js";
import type { Night } from "../night/night.js";

/** The mount file of a night: the one given, else `mount.json` beside the night file. */
export function mountPathFor(nightPath: string, mountPath: string | undefined): string {
  if (mountPath !== undefined) return mountPath;
  const beside = join(dirname(nightPath), "mount.json");
  if (existsSync(beside)) return beside;
  throw new InputError([
    {
      code: "mount-file-missing",
      file: beside,
      message: "There is no mount file beside the night file.",
      allowed: "--mount FILE, or mount.json in the night's folder",
    },
  ]);
}

/** Reads a night with its mount; the faults of both files come together, warnings go to stderr. */
export function readNightInput(
  nightPath: string,
  mountOption: string | undefined,
): { mount: Mount; night: Night } {
  const mount = readMountFile(mountPathFor(nightPath, mountOption));
  const { night, warnings } = readNightFile(nightPath, mount);
  for (const warning of warnings) process.stderr.write(`Note: ${faultText(warning)}\n`);
  return { mount, night };
}
