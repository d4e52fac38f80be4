/** How the mount stands, from a night's sightings. */
import { roundVerdict } from "../base/jack-turns.js";
import type { MountFit } from "../fit/fit-result.js";
import { type FitOptions, fitMount as plainFitMount } from "../fit/mount-fit.js";
import { correlationOf } from "../fit/separability.js";
import type { Night } from "../night/night.js";
import { fitReport } from "../report/fit-report.js";
import { question } from "./answer.js";
import { fitOf, nightOptions, nightPlace } from "./night.js";
import { printable } from "./printable.js";

/**
 * Fits a night: how the mount really stands. As a cell's last expression the result prints as its report.
 *
 * @param night - an opened night, or any mount with its sightings
 * @param options - by default every geometric term, held by tolerances, with everything doubtful caught
 * @throws InputError `unknown-term` for a term that the mount does not have
 * @example
 * ```ts
 * const fit = fitMount(openNight("data/first-light"));
 * fit.pole.altitude // { value: …, uncertainty: … }: arcminutes, too high positive
 * ```
 */
export function fitMount(night: Night, options: FitOptions = {}): MountFit {
  const fit = plainFitMount(night, options);
  return printable({ ...fit }, () => fitReport(fit));
}

/** `polewright fit NIGHT.csv`. */
export const fit = question({
  name: "fit",
  asks: "how the mount stands, from a night's sightings (night.csv)",
  example: "polewright fit my-telescope/night.csv --html fit.html",
  takes: { night: nightPlace, ...nightOptions },
  ask: ({ night, ...options }, read) => fitOf(night, options, read),
  say: (fit) => [fitReport(fit)],
  draw: async (fit) => {
    const { axisPointing, residualAngles, residualSky, termCorrelation } = await import("../plots/plots.js");
    return [residualSky(fit), residualAngles(fit), axisPointing(fit), termCorrelation(fit)];
  },
  json: fitJson,
  sound: (fit) => fit.sound,
});

/** A fit as JSON. Angles in arcminutes unless the key says otherwise. */
export function fitJson(fit: MountFit): object {
  const { verdict, missing } = roundVerdict(fit);
  return {
    verdict,
    missing,
    sightings: fit.sightings,
    sound: fit.sound,
    terms: fit.terms.map(
      ({ name, label, set, value, uncertainty, unit, standing, tolerance, probability }) => ({
        name,
        ...(set === null ? {} : { set }),
        label,
        value,
        uncertainty,
        unit,
        standing,
        tolerance,
        ...(probability === null ? {} : { probability }),
      }),
    ),
    pole: fit.pole,
    skyRms: { ...fit.skyRms, unit: "arcmin" },
    chiSquare: fit.chiSquare,
    residue: fit.residue,
    errorScale: fit.errorScale,
    residuals: fit.residuals.map((residual) => ({
      row: residual.row,
      star: residual.star,
      west: residual.west,
      north: residual.north,
      distance: residual.distance,
      standing: residual.standing,
      likelyStar: residual.likelyStar,
      altitudeDeg: residual.altitudeDeg,
      azimuthDeg: residual.azimuthDeg,
    })),
    notes: fit.notes.map(({ code, row, message, remedy, rows }) => ({
      code,
      row,
      ...(rows === undefined ? {} : { rows }),
      message,
      remedy,
    })),
    correlation: fit.covariance.map((row, i) => row.map((_, j) => correlationOf(fit.covariance, i, j))),
    condition: fit.condition,
    stop: fit.stop,
    priors: fit.priors,
  };
}
