/** The axis error from drifting stars, held against the sightings. */
import { type DriftComparison, compareDrift as plainCompareDrift } from "../drift/compare.js";
import { type DriftNote, type DriftOptions, type DriftResult, solveDrift } from "../drift/drift.js";
import type { DriftFields, DriftObservation } from "../drift/fields.js";
import { makeDrifts, readDrifts } from "../drift/file.js";
import type { MountFit, Note } from "../fit/fit-result.js";
import type { Mount } from "../mount/mount.js";
import type { Figure } from "../plots/figure.js";
import { driftCautions, driftReport } from "../report/drift-report.js";
import { question } from "./answer.js";
import { inFile } from "./given.js";
import { fitOf, fitOptions, mountOption } from "./night.js";
import { printable } from "./printable.js";
import { onlyWith, place, text } from "./takes.js";

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
  const { result, comparison } = plainCompareDrift(
    makeDrifts(drifts, fit.mount.camera, fit.mount.site.timeZone ?? null),
    fit,
  );
  return printable({ drift: result, comparison, fit }, () => driftReport(result, comparison, fit.mount.name));
}

/** Drifts with the fit that they were held against, where it is sound. */
export interface DriftAnswer {
  readonly mount: Mount;
  readonly drift: DriftResult;
  /** Null where there is no sound fit to hold the drifts against. */
  readonly comparison: DriftComparison | null;
  readonly fit: MountFit | null;
  /** The notes of the sightings' fit, sound or not. */
  readonly notes: readonly Note[];
}

const UNSOUND_FIT: DriftNote = {
  code: "unsound-fit",
  row: null,
  message: "The sightings' fit is not sound, so the drifts stand alone.",
  remedy: "Correct what the fit's notes say, then compare the drifts with it.",
};

/** The polar axis from drifts, held against the sightings' fit where there is one; an unsound fit is left aside, and said. */
export function driftAnswer(
  mount: Mount,
  drifts: readonly DriftObservation[],
  given: MountFit | null,
  options: DriftOptions = {},
): DriftAnswer {
  const fit = given?.sound && given.sightings.used > 0 ? given : null;
  const compared = fit === null ? null : plainCompareDrift(drifts, { ...fit, mount }, options);
  const solved = compared?.result ?? solveDrift(drifts, mount, options);
  const unsound = given !== null && fit === null;
  return {
    mount,
    drift: unsound ? { ...solved, notes: [UNSOUND_FIT, ...solved.notes] } : solved,
    comparison: compared?.comparison ?? null,
    fit,
    notes: given?.notes ?? [],
  };
}

/** What `drift --json` answers, as data/schema/drift.schema.json describes it. */
export function driftJson({ drift, comparison, notes }: DriftAnswer) {
  return { drift, comparison, cautions: driftCautions, notes };
}

/** The picture of a drift's answer. */
export async function driftFigures({
  mount,
  drift,
  comparison,
  fit,
}: DriftAnswer): Promise<readonly Figure[]> {
  const { driftAxis } = await import("../plots/drift.js");
  return [driftAxis(drift, fit?.pole ?? null, comparison, mount.name)];
}

/** `polewright drift DRIFTS.csv`. */
export const drift = question({
  name: "drift",
  asks: "the axis error from drifting stars",
  example: "polewright drift my-telescope/drifts.csv --night my-telescope/night.csv",
  takes: {
    drifts: place("drifts", "the file of drifts"),
    mount: mountOption,
    night: text("file", "sightings to hold the drifts against"),
    ...onlyWith("night", fitOptions),
  },
  ask({ drifts: path, night, ...options }, read) {
    const mount = read.mount(options.mount, night ?? path);
    const fit = night === undefined ? null : fitOf(night, options, read);
    const drifts = readDrifts(read.text(path, "file of drifts"), {
      camera: mount.camera,
      timeZone: mount.site.timeZone,
      file: path,
    });
    return inFile(path, () => driftAnswer(mount, drifts, fit));
  },
  say: ({ mount, drift, comparison }) => [driftReport(drift, comparison, mount.name)],
  draw: driftFigures,
  json: driftJson,
});
