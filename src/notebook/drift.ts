/** The cross-check by drift as notebooks ask for it. */

import { type DriftComparison, compareDrift as plainCompareDrift } from "../drift/compare.js";
import type { DriftResult } from "../drift/drift.js";
import type { DriftFields } from "../drift/fields.js";
import { makeDrifts } from "../drift/file.js";
import type { MountFit } from "../fit/fit-result.js";
import { driftReport } from "../report/drift-report.js";
import { printable } from "./printable.js";

/** Drifts held against the sightings. */
export interface DriftCheck {
  readonly drift: DriftResult;
  readonly comparison: DriftComparison;
  readonly fit: MountFit;
}

/**
 * Finds the polar axis from drifts and holds it against the sightings' fit.
 *
 * @param drifts - what was seen: a star and a time, minutes, and how far it drifted
 * @param fit - the sightings' fit
 * @throws InputError with every fault of all drifts
 * @example
 * ```ts
 * compareDrift([{ star: "Alphard", time: "2026-03-14T21:10:00Z", minutes: 10, driftNorthArcsec: 46 }], fit).comparison.agrees
 * ```
 */
export function compareDrift(drifts: readonly DriftFields[], fit: MountFit): DriftCheck {
  const { result, comparison } = plainCompareDrift(makeDrifts(drifts, fit.mount.camera), fit);
  return printable({ drift: result, comparison, fit }, () => driftReport(result, comparison, fit.mount.name));
}
