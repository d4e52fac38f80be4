import { existsSync, readFileSync, statSync } from "node:fs";
import { dirname, join } from "node:path";
import type { Reading } from "../answers/answer.js";
import { type Fault, InputError } from "../errors.js";
import { MOUNT_FILE, NIGHT_FILE, readMountFile, readNightFile } from "../files/night-folder.js";
import { pagePart } from "../files/page-template.js";
import { readTextFile } from "../files/text-file.js";
import type { Mount } from "../mount/mount.js";
import { parseMount } from "../mount/mount-file.js";
import type { NightReading } from "../night/night-file.js";

/** The night file: the one given, or `night.csv` in the folder given. */
export function nightPathFor(path: string): string {
  return existsSync(path) && statSync(path).isDirectory() ? join(path, NIGHT_FILE) : path;
}

/** The mount file: the one given, else `mount.json` beside the night file, without a night in the working folder. */
export function mountPathFor(nightPath: string | undefined, mountPath: string | undefined): string {
  if (mountPath !== undefined) return mountPath;
  const beside = nightPath === undefined ? MOUNT_FILE : join(dirname(nightPathFor(nightPath)), MOUNT_FILE);
  if (existsSync(beside)) return beside;
  throw new InputError({
    code: "mount-file-missing",
    file: beside,
    message:
      nightPath === undefined
        ? "There is no mount file in this folder."
        : "There is no mount file beside the night file.",
    allowed: `--mount FILE, or mount.json in ${nightPath === undefined ? "this" : "the night's"} folder; \`polewright new FOLDER\` writes a first one`,
  });
}

/**
 * Reads from the disk, and keeps what the readers warn of.
 *
 * @param theme - the theme asked for; that of POLEWRIGHT_THEME when none is
 */
export function diskReading(
  theme = process.env.POLEWRIGHT_THEME,
): Reading & { readonly warnings: readonly Fault[] } {
  const warnings: Fault[] = [];
  return {
    warnings,
    mount: (mountPath, besides) => readMountFile(mountPathFor(besides, mountPath)),
    text: readTextFile,
    textIfThere: (path, what) => (existsSync(path) ? readTextFile(path, what) : null),
    beside: (nightPath, name) => join(dirname(nightPathFor(nightPath)), name),
    page: pagePart,
    pageTheme: theme === "night" ? "night" : "day",
    night(nightPath, mountPath) {
      const { mount, reading } = readNightInput(nightPath, mountPath);
      warnings.push(...reading.warnings);
      return { mount, night: reading.night };
    },
  };
}

/** Reads a night with its mount; the faults of both files come together. */
function readNightInput(
  nightPath: string,
  mountOption: string | undefined,
): { mount: Mount; reading: NightReading } {
  const path = nightPathFor(nightPath);
  const mount = (): Mount => readMountFile(mountPathFor(path, mountOption));
  const faults: Fault[] = [];
  const collected = <Result>(read: () => Result): Result | null => {
    try {
      return read();
    } catch (problem) {
      if (!(problem instanceof InputError)) throw problem;
      faults.push(...problem.faults);
      return null;
    }
  };
  const read = collected(mount);
  const reading = collected(() => readNightFile(path, read ?? anyMount()));
  if (read === null || reading === null) {
    // Neither how the axes are read nor the site's zone is known without a mount: what hangs on them cannot be judged.
    const hangsOnMount = ({ code, column }: Fault): boolean =>
      column === "hourAngle" ||
      column === "declination" ||
      (code === "time-without-zone" && namesZone(mountOption ?? join(dirname(path), MOUNT_FILE)));
    throw new InputError(faults.filter((one) => read !== null || one.file !== path || !hangsOnMount(one)));
  }
  return { mount: read, reading };
}

/** Whether a mount file, faulty as it is, names its site's zone. */
function namesZone(path: string): boolean {
  return existsSync(path) && statSync(path).isFile() && readFileSync(path, "latin1").includes('"timeZone"');
}

/** Stands in for a faulty mount file, so that the night's own faults are found too. */
function anyMount(): Mount {
  const axis = { as: "degrees", smallest: 1 };
  return parseMount({
    name: "none",
    site: { latitude: 0, longitude: 0 },
    readings: { hourAngle: axis, declination: axis },
  });
}
