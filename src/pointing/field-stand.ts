/**
 * How a mount stands, as far as it matters once the telescope tracks: the terms that really turn the telescope,
 * without those that only shift a reading.
 */
import { ARCMINUTE, DEGREE } from "../angles.js";
import { compileCustomTerm } from "../mount/custom-term.js";
import { BUILT_IN_COUNT, type MountModel, mountModel } from "../mount/model.js";
import type { CustomTerm, Mount } from "../mount/mount.js";
import { type TermName, termNames, turningTerms } from "../mount/terms.js";
import { type RefractionConstants, refractionConstants } from "../sky/refraction.js";
import type { Site } from "../sky/site.js";
import type { MountStanding } from "./known-mount.js";

/** A site as far as tracking needs it. */
export type TrackingSite = Pick<Site, "latitude" | "pressureHPa" | "temperatureC">;

/** How a mount stands: its site and its terms, arcminutes (scale errors arcminutes a radian); absent terms are zero. */
export interface MountStand {
  readonly site: TrackingSite;
  readonly terms: Readonly<Partial<Record<TermName, number>>>;
  /** The builder's own terms that `terms` names. */
  readonly customTerms?: readonly CustomTerm[];
}

/** A mount that tracks: its model, the terms in force in radians, and the air above it. */
export interface TrackingMount {
  readonly model: MountModel;
  /** In the model's order. Zeros, eccentricity, scale and backlash are nil: they do not turn the telescope. */
  readonly coefficients: Float64Array;
  readonly refraction: RefractionConstants;
  /** Latitude, radians. */
  readonly latitude: number;
}

const turning: ReadonlySet<string> = new Set(turningTerms);

/** Whatever says how a mount stands: a fit, a kept model, or its terms alone. */
export type AnyStand = MountStand | Pick<MountStanding, "mount" | "terms">;

/**
 * How the mount of a fit stands. Of several zero sets or tube positions the last is taken: the one now in force.
 *
 * @param fit - a fit or a kept model
 * @example
 * ```ts
 * standOfFit(fit).terms.polarAltitude; // 13.4
 * ```
 */
export function standOfFit(fit: Pick<MountStanding, "mount" | "terms">): MountStand {
  const terms: Partial<Record<TermName, number>> = {};
  for (const term of fit.terms) terms[term.name] = term.value;
  return standOfMount(fit.mount, terms);
}

/**
 * How a mount stands with the terms given.
 *
 * @param mount - for its site and the builder's own terms
 * @param terms - arcminutes; absent ones are zero
 */
export function standOfMount(mount: Mount, terms: MountStand["terms"]): MountStand {
  const { latitude, pressureHPa, temperatureC } = mount.site;
  return { site: { latitude, pressureHPa, temperatureC }, terms, customTerms: mount.customTerms };
}

/** The same mount with some terms changed, arcminutes. */
export function standWith(stand: MountStand, terms: MountStand["terms"]): MountStand {
  return { ...stand, terms: { ...stand.terms, ...terms } };
}

/**
 * Makes a stand ready for tracking.
 *
 * @throws {@link InputError} `air-out-of-range`, or the faults of a builder's own term
 */
export function trackingMount(stand: MountStand): TrackingMount {
  const custom = (stand.customTerms ?? []).filter((term) => stand.terms[term.name as TermName]);
  const latitude = stand.site.latitude * DEGREE;
  const model = mountModel(
    latitude,
    custom.map((term) => compileCustomTerm(term)),
  );
  const coefficients = new Float64Array(model.size);
  termNames.forEach((name, index) => {
    if (turning.has(name)) coefficients[index] = (stand.terms[name] ?? 0) * ARCMINUTE;
  });
  custom.forEach((term, index) => {
    coefficients[BUILT_IN_COUNT + index] = (stand.terms[term.name as TermName] ?? 0) * ARCMINUTE;
  });
  return { model, coefficients, refraction: refractionConstants(stand.site), latitude };
}

/** What is known with a stand. */
export interface StandAndMount {
  readonly stand: MountStand;
  /** Null where only terms were given. */
  readonly mount: Mount | null;
}

/** A stand and its mount, from whatever says how a mount stands. */
export function standAndMount(from: AnyStand): StandAndMount {
  return "mount" in from ? { stand: standOfFit(from), mount: from.mount } : { stand: from, mount: null };
}
