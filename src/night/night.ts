import type { Fault } from "../errors.js";
import type { Mount } from "../mount/mount.js";
import type { Sighting } from "./sighting.js";

/** A mount and the sightings made with it. */
export interface Night {
  readonly mount: Mount;
  readonly sightings: readonly Sighting[];
  /** What the reader found that can be used and should be known; shown with every answer. */
  readonly warnings?: readonly Fault[];
}
