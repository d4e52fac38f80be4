/**
 * Drifts from a file or from calls: every fault at once.
 */
import { FaultList } from "../fault-list.js";
import type { Camera } from "../mount/mount.js";
import { readTable } from "../tables/read-table.js";
import { readFields } from "../tables/table.js";
import { type DriftFields, type DriftObservation, driftTable } from "./fields.js";

export interface DriftFileOptions {
  /** The file's name, for messages. */
  readonly file?: string;
  /** Turns pixels into arcseconds. */
  readonly camera?: Camera | null;
  /** The site's zone, for times that have none. */
  readonly timeZone?: string | null;
}

/**
 * Reads a drift file: CSV (RFC 4180, UTF-8) with a header, `#` comments and blank lines passed over.
 *
 * Columns, in any order: `minutes` and a drift (`driftNorthArcsec` or `driftNorthPixels`, also `…West…`); where it was
 * seen: `time` and `star`, or `time`, `raDeg` and `decDeg` (ICRS), or `hourAngleDeg` and `declinationDeg` (observed); and
 * `uncertaintyArcsec`, `side` (`beyond` where the tube was turned over the pole), `note`.
 *
 * @param text - the file's text
 * @returns the drifts, in the order of the file
 * @throws {@link InputError} with every fault by line, row and column
 * @example
 * ```ts
 * readDrifts("hourAngleDeg,declinationDeg,minutes,driftNorthArcsec\n0,0,10,-52\n").length // 1
 * ```
 */
export function readDrifts(text: string, options: DriftFileOptions = {}): DriftObservation[] {
  const { camera = null, timeZone = null, file } = options;
  const { rows } = readTable(driftTable, text, { camera, timeZone }, file === undefined ? {} : { file });
  return rows.map(({ value }) => value);
}

/**
 * Drifts that a program gives, checked.
 *
 * @param camera - turns pixels into arcseconds
 * @param timeZone - the site's zone, IANA, for times that have none
 * @throws {@link InputError} with every fault of all of them
 * @example
 * ```ts
 * makeDrifts([{ hourAngleDeg: 0, declinationDeg: 0, minutes: 10, driftNorthArcsec: -52 }]);
 * ```
 */
export function makeDrifts(
  fields: readonly DriftFields[],
  camera: Camera | null = null,
  timeZone: string | null = null,
): DriftObservation[] {
  const faults = new FaultList();
  const of = { camera, timeZone };
  const drifts = fields.map((one, index) => readFields(driftTable, one, index + 1, of, faults));
  faults.throwIfAny();
  return drifts.filter((drift) => drift !== null);
}
