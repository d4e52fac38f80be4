/**
 * A kept model on another night: the encoders were switched on anew, so their zeros are anybody's guess; one star
 * gives them back, and a second one tells whether the mount still stands as it did.
 */
import { ARCMINUTE, wrapHalfTurn } from "../angles.js";
import { InputError } from "../errors.js";
import { stanceOf } from "../fit/bench.js";
import type { TermName } from "../mount/terms.js";
import type { Night } from "../night/night.js";
import { expectedError, reduceNight } from "../night/reduce.js";
import {
  type KnownMount,
  type KnownTerm,
  knownMount,
  type MountStanding,
  skyPartials,
} from "../pointing/known-mount.js";

/** How one of tonight's sightings agrees with the kept model and the sightings before it. */
export interface Agreement {
  /** The sighting, counted from 1. */
  readonly row: number;
  readonly star: string;
  /** Telescope minus star before this sighting was used, arcminutes on the sky. */
  readonly west: number;
  readonly north: number;
  /** The same over its expected size, with both ways together: above 3.5 once in five hundred times. */
  readonly ratio: number;
  readonly agrees: boolean;
}

/** A kept model with tonight's zeros. */
export interface TonightStanding extends MountStanding {
  readonly terms: readonly (KnownTerm & { readonly uncertainty: number })[];
  /** The first sighting of each zero set sets the zeros and always agrees. */
  readonly agreements: readonly Agreement[];
}

/** A zero that may be anything, 1σ, arcminutes. */
const ANY_ZERO = 180 * 60;
const AGREES_UNDER = 3.5;

/**
 * Takes tonight's zeros from one star or a few, the rest from the kept model, each by its own uncertainty. Of several
 * zero sets and tube positions those of the last sighting are answered.
 *
 * @param kept - from {@link keptStanding}, or a fit of another night
 * @param night - tonight's sightings, at least one in use; more than a few are better fitted anew
 * @throws {@link InputError} `no-sightings`
 * @example
 * ```ts
 * const tonight = standingTonight(keptStanding(kept, mount), night);
 * findTargets(mount, tonight, nowMs, ["M 42"]);
 * ```
 */
export function standingTonight(kept: MountStanding, night: Night): TonightStanding {
  const used = night.sightings.filter(
    ({ use, hourAngle, declination }) => use && hourAngle !== null && declination !== null,
  );
  if (used.length === 0) {
    throw new InputError([
      {
        code: "no-sightings",
        allowed: "one sighting of tonight or more, with both readings",
        message: "Tonight's zeros cannot be told without a sighting of tonight.",
      },
    ]);
  }
  const mount = night.mount;
  const all = knownMount({ ...kept, mount });
  const known = inForceOnly(all);
  const size = known.names.length;
  const covariance = known.covariance;
  const values = Float64Array.from(known.places, (place) => known.coefficients[place]! / ARCMINUTE);
  /** Forgets what was found of a term: it is `value`, or what it was, give or take `sigma`; arcminutes. */
  const forget = (name: TermName, sigma: number, value?: number): void => {
    const index = known.names.indexOf(name);
    if (index < 0) return;
    for (let j = 0; j < size; j++) {
      covariance[index * size + j] = 0;
      covariance[j * size + index] = 0;
    }
    covariance[index * size + index] = sigma ** 2;
    if (value !== undefined) values[index] = value;
  };
  const reduced = reduceNight({ mount, sightings: used });
  const rows = new Float64Array(2 * size);
  const scratch = new Float64Array(2 + 2 * known.model.size);
  const angles = new Float64Array(2);
  const agreements = used.map((sighting, i): Agreement => {
    const before = used[i - 1];
    const setsZeros = before?.zeroSet !== sighting.zeroSet;
    if (setsZeros) {
      forget("hourAngleZero", ANY_ZERO);
      forget("declinationZero", ANY_ZERO);
    }
    // As in a fit, a tube turned in its rings has a cone of its own; the first position is taken for the kept one.
    if (before !== undefined && before.tubeSet !== sighting.tubeSet) forget("cone", mount.tolerances.cone, 0);
    values.forEach((value, index) => {
      known.coefficients[known.places[index]!] = value * ARCMINUTE;
    });
    const direction = { hourAngle: reduced.hourAngle[i]!, declination: reduced.declination[i]! };
    const stance = stanceOf(sighting);
    known.model.forward(known.coefficients, direction.hourAngle, direction.declination, stance, angles);
    skyPartials(known, direction, stance, rows, scratch);
    const expected = expectedError(mount, direction.declination, sighting.centringArcmin);
    const offset = [
      (wrapHalfTurn(reduced.readingHourAngle[i]! - angles[0]!) * Math.cos(direction.declination)) / ARCMINUTE,
      wrapHalfTurn(reduced.readingDeclination[i]! - angles[1]!) / ARCMINUTE,
    ] as const;
    const square = absorb(values, covariance, rows, offset, [
      expected.west / ARCMINUTE,
      expected.north / ARCMINUTE,
    ]);
    const ratio = setsZeros ? 0 : Math.sqrt(square);
    return {
      row: sighting.row,
      star: sighting.star,
      west: setsZeros ? 0 : offset[0],
      north: setsZeros ? 0 : offset[1],
      ratio,
      agrees: ratio < AGREES_UNDER,
    };
  });
  return {
    mount,
    terms: known.names.map((name, index) => ({
      name,
      set: null,
      value: values[index]!,
      uncertainty: Math.sqrt(covariance[index * size + index]!),
    })),
    covariance: known.names.map((_, i) => Array.from(covariance.subarray(i * size, (i + 1) * size))),
    agreements,
  };
}

/** The same knowledge without the terms of sets that are no longer in force. */
function inForceOnly(all: KnownMount): KnownMount {
  const kept = all.places.flatMap((place, index) => (place >= 0 ? [index] : []));
  const size = all.names.length;
  const covariance = new Float64Array(kept.length ** 2);
  kept.forEach((from, i) => {
    kept.forEach((to, j) => {
      covariance[i * kept.length + j] = all.covariance[from * size + to]!;
    });
  });
  return {
    ...all,
    names: kept.map((index): TermName => all.names[index]!),
    places: kept.map((index) => all.places[index]!),
    covariance,
  };
}

/**
 * Takes two measured offsets into the values and their covariance (Kalman 1960: weighted least squares, one sighting at
 * a time).
 *
 * @returns the offsets' square over what was expected of them
 */
function absorb(
  values: Float64Array,
  covariance: Float64Array,
  rows: Float64Array,
  offset: readonly [number, number],
  sigma: readonly [number, number],
): number {
  const size = values.length;
  const spreadOf = (row: number): Float64Array => {
    const out = new Float64Array(size);
    for (let i = 0; i < size; i++) {
      for (let j = 0; j < size; j++) out[i]! += covariance[i * size + j]! * rows[row * size + j]!;
    }
    return out;
  };
  const [pa, pb] = [spreadOf(0), spreadOf(1)];
  let aa = sigma[0] ** 2;
  let bb = sigma[1] ** 2;
  let ab = 0;
  for (let i = 0; i < size; i++) {
    aa += rows[i]! * pa[i]!;
    ab += rows[i]! * pb[i]!;
    bb += rows[size + i]! * pb[i]!;
  }
  const determinant = aa * bb - ab * ab;
  const weighted = [
    (bb * offset[0] - ab * offset[1]) / determinant,
    (aa * offset[1] - ab * offset[0]) / determinant,
  ] as const;
  for (let i = 0; i < size; i++) values[i]! += pa[i]! * weighted[0] + pb[i]! * weighted[1];
  for (let i = 0; i < size; i++) {
    for (let j = 0; j <= i; j++) {
      const taken =
        (bb * pa[i]! * pa[j]! - ab * (pa[i]! * pb[j]! + pb[i]! * pa[j]!) + aa * pb[i]! * pb[j]!) /
        determinant;
      const value = covariance[i * size + j]! - taken;
      covariance[i * size + j] = value;
      covariance[j * size + i] = value;
    }
  }
  return offset[0] * weighted[0] + offset[1] * weighted[1];
}
