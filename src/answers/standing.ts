import type { Note } from "../fit/fit-result.js";
import { keptStanding, parseKeptModel } from "../keep/keep.js";
import { soundFit, standingTonight } from "../keep/tonight.js";
import type { Mount } from "../mount/mount.js";
import type { Night } from "../night/night.js";
import type { MountStanding } from "../pointing/known-mount.js";
import type { Reading } from "./answer.js";

/** What is known of a mount: from a night, from a kept model, or from both. */
export interface KnownTonight {
  readonly mount: Mount;
  readonly night: Night | null;
  readonly standing: MountStanding | null;
  /** The notes of the night's fit, where it is the night that is stood on. */
  readonly notes: readonly Note[];
}

/**
 * How the mount stands tonight: the night's own fit, or a kept model with its zeros set by tonight's first stars.
 *
 * @throws {@link InputError} `night-not-sound` for a night that must be mended first
 */
export function knownTonight(
  read: Reading,
  mountPath: string | undefined,
  nightPath: string | undefined,
  keptPath: string | undefined,
): KnownTonight {
  const { mount, night } =
    nightPath === undefined
      ? { mount: read.mount(mountPath), night: null }
      : read.night(nightPath, mountPath);
  const used = night?.sightings.filter((sighting) => sighting.use).length ?? 0;
  const kept =
    keptPath === undefined
      ? null
      : keptStanding(parseKeptModel(read.text(keptPath, "kept model"), keptPath), mount);
  if (kept !== null) {
    if (night === null || used === 0) return { mount, night, standing: kept, notes: [] };
    const tonight = standingTonight(kept, night, nightPath);
    return { mount, night, standing: tonight, notes: tonight.notes };
  }
  if (night === null || used === 0) return { mount, night, standing: null, notes: [] };
  const fit = soundFit(night, nightPath);
  return { mount, night, standing: fit, notes: fit.notes };
}
