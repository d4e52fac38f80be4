/** Files of other evenings as notebooks open them. */

import type { TrackPoint } from "../drive/drive-track.js";
import { readTrack } from "../drive/track-file.js";
import { readTextFile } from "../files/text-file.js";
import { type KeptModel, parseKeptModel } from "../keep/keep.js";
import type { Mount } from "../mount/mount.js";

/**
 * A kept model from its file, for `standingTonight` and `months`.
 *
 * @param path - the file that `polewright keep` wrote
 * @throws InputError where it cannot be read or is no kept model
 * @example
 * ```ts
 * openModel("data/kept/kept-in-march.json").mount // "Nowhere School 40 cm"
 * ```
 */
export function openModel(path: string): KeptModel {
  return parseKeptModel(readTextFile(path, "kept model"), path);
}

/**
 * A tracked star's course from its file, for `drive`.
 *
 * @param path - the file of the course
 * @param mount - its camera turns pixels into arcseconds; it says how the axes are read
 * @throws InputError with every fault by line, row and column
 * @example
 * ```ts
 * const night = openNight("data/first-light");
 * openTrack("data/first-light/track.csv", night.mount).length // 481
 * ```
 */
export function openTrack(path: string, mount: Mount): readonly TrackPoint[] {
  return readTrack(readTextFile(path, "track"), mount, path);
}
