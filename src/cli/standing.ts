import { readMountFile } from "../files/night-folder.js";
import { readTextFile } from "../files/text-file.js";
import { keptStanding, parseKeptModel } from "../keep/keep.js";
import { soundFit, standingTonight } from "../keep/tonight.js";
import type { Mount } from "../mount/mount.js";
import type { Night } from "../night/night.js";
import type { MountStanding } from "../pointing/known-mount.js";
import { readNightInput } from "./night-input.js";

/** What is known of a mount: from a night, from a kept model, or from both. */
export interface KnownTonight {
  readonly mount: Mount;
  readonly night: Night | null;
  readonly standing: MountStanding | null;
}

/**
 * How the mount stands tonight: the night's own fit, or a kept model with its zeros set by tonight's first stars.
 *
 * @throws {@link InputError} `night-not-sound` for a night that must be mended first
 */
export function knownTonight(
  mountPath: string,
  nightPath: string | undefined,
  keptPath: string | undefined,
): KnownTonight {
  const { mount, night } =
    nightPath === undefined
      ? { mount: readMountFile(mountPath), night: null }
      : readNightInput(nightPath, mountPath);
  const used = night?.sightings.filter((sighting) => sighting.use).length ?? 0;
  const kept =
    keptPath === undefined
      ? null
      : keptStanding(parseKeptModel(readTextFile(keptPath, "kept model"), keptPath), mount);
  if (kept !== null) {
    return {
      mount,
      night,
      standing: night !== null && used > 0 ? standingTonight(kept, night, nightPath) : kept,
    };
  }
  if (night === null || used === 0) return { mount, night, standing: null };
  return { mount, night, standing: soundFit(night, nightPath) };
}
