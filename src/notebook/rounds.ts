/** Rounds of sighting and turning as notebooks ask for them: fits in order, and the file of turns. */
import { roundsOf } from "../answers/rounds.js";
import type { RoundsOptions, RoundsResult } from "../base/rounds.js";
import { parseTurned, type TurnedRow } from "../base/turned-file.js";
import { PolewrightError } from "../errors.js";
import { readTextFile } from "../files/text-file.js";
import type { MountFit } from "../fit/fit-result.js";

/**
 * Learns from rounds: what the turns really did, how truly the screws and the floor follow, what to turn next or whether
 * to stop.
 *
 * @param fits - the nights in order
 * @param turned - the file of turns as really made (its path), or its rows
 * @throws InputError with every fault of the file; PolewrightError `base-missing`, `round-without-night`, `no-sound-round`
 * @example
 * ```ts
 * rounds([fit, fitMount(secondNight)], "data/after-turning/turned.csv").verdict // "stop"
 * ```
 */
export function rounds(
  fits: readonly MountFit[],
  turned: string | readonly TurnedRow[],
  options: RoundsOptions = {},
): RoundsResult {
  return roundsOf(fits, typeof turned === "string" ? rowsOf(turned, fits) : turned, options);
}

function rowsOf(path: string, fits: readonly MountFit[]): readonly TurnedRow[] {
  const mount = fits[0]?.mount;
  if (mount === undefined) return [];
  if (mount.base === null) {
    throw new PolewrightError(
      "base-missing",
      `The mount file of ${mount.name} has no base, so no turns can be weighed.`,
    );
  }
  return parseTurned(readTextFile(path, "file of turns"), mount.base, path);
}
