/**
 * What is known of the sags before the first drift: from the sightings' fit, or from the builder's tolerances.
 */
import { CholeskyDecomposition, inverse, Matrix } from "#matrices";
import type { Tolerances } from "../mount/mount.js";
import type { TermName } from "../mount/terms.js";
import type { MountStanding } from "../pointing/known-mount.js";

/** The terms that drift stars as the axis does. */
export const sagNames = ["tubeSag", "ringSag", "trunnionSag"] as const;

export interface KnownSags {
  /** Arcminutes, in the order of {@link sagNames}. */
  readonly values: readonly number[];
  /** Rows that make what is not known of the sags into independent numbers of unit spread. */
  readonly whitening: readonly (readonly number[])[];
}

/** Where a term stands among those of a fit, of several sets the last; −1 where it is not among them. */
export function termPlace(fit: MountStanding, name: TermName): number {
  return fit.terms.map((term) => term.name).lastIndexOf(name);
}

/** A sag known better than this is taken as known, arcminutes. */
const LEAST_SIGMA = 1e-4;

/**
 * What is known of the sags. A sag that the fit does not hold is known as the tolerances say.
 *
 * @param fit - the sightings' fit or a kept model
 * @param tolerances - 1σ, arcminutes
 */
export function knownSags(
  fit: MountStanding | null,
  tolerances: Pick<Tolerances, "tubeSag" | "ringSag" | "trunnionSag">,
): KnownSags {
  const places = sagNames.map((name) => (fit === null ? -1 : termPlace(fit, name)));
  const values = places.map((place) => (place < 0 ? 0 : fit!.terms[place]!.value));
  // Rounding, or a kept model's shortened figures, may leave the covariance a little unsymmetrical.
  const together = (i: number, j: number): number =>
    i < 0 || j < 0 ? 0 : (fit!.covariance[i]![j]! + fit!.covariance[j]![i]!) / 2;
  const covariance = new Matrix(
    places.map((i, row) =>
      places.map((j, column) => {
        if (row !== column) return together(i, j);
        return Math.max(i < 0 ? tolerances[sagNames[row]!] ** 2 : together(i, i), LEAST_SIGMA ** 2);
      }),
    ),
  );
  const cholesky = new CholeskyDecomposition(covariance);
  const whitening = cholesky.isPositiveDefinite()
    ? inverse(cholesky.lowerTriangularMatrix).to2DArray()
    : sagNames.map((_, row) =>
        sagNames.map((__, column) => (row === column ? 1 / Math.sqrt(covariance.get(row, row)) : 0)),
      );
  return { values, whitening };
}

/** Covariance of the sags with altitude and east in a fit: for each sag two values, arcminutes squared. */
export function sagsWithPole(fit: MountStanding): number[][] {
  const pole = [termPlace(fit, "polarAltitude"), termPlace(fit, "polarEast")];
  return sagNames.map((name) => {
    const sag = termPlace(fit, name);
    return pole.map((place) => (sag < 0 || place < 0 ? 0 : fit.covariance[sag]![place]!));
  });
}
