/**
 * The JSON of a fit and of turns: stable, described by data/schema.
 */
import type { TurnAdvice } from "../base/turn-advice.js";
import type { MountFit } from "../fit/fit-result.js";

/** A fit as JSON. Angles in arcminutes unless the key says otherwise. */
export function fitJson(fit: MountFit): object {
  return {
    sightings: fit.sightings,
    sound: fit.sound,
    terms: fit.terms.map(({ name, label, set, value, uncertainty, unit, standing, tolerance }) => ({
      name,
      ...(set === null ? {} : { set }),
      label,
      value,
      uncertainty,
      unit,
      standing,
      tolerance,
    })),
    pole: fit.pole,
    skyRms: { ...fit.skyRms, unit: "arcmin" },
    chiSquare: fit.chiSquare,
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
    correlation: fit.covariance.map((row, i) =>
      row.map((value, j) => value / Math.sqrt(fit.covariance[i]![i]! * fit.covariance[j]![j]!)),
    ),
    condition: fit.condition,
    stop: fit.stop,
    priors: fit.priors,
  };
}

/** Turns as JSON. */
export function turnsJson(advice: TurnAdvice): object {
  return { ...advice };
}
