/**
 * The true pole or the refracted one: what it changes, at a latitude, to aim the axis at the one or the other.
 *
 * An axis on the true pole and a drive at the sidereal rate leave the air's own drift. An axis on the refracted pole, higher by
 * the refraction at the pole's altitude, follows stars near the pole better, and others elsewhere worse or better. Readings do
 * not care: the model holds either.
 */
import { refractedPole } from "../base/aim.js";
import type { Aim } from "../base/turn-advice.js";
import type { Mount } from "../mount/mount.js";
import { type MountStand, standOfMount } from "../pointing/field-stand.js";
import type { ExposureOptions } from "./exposure.js";
import { type ExposureSky, exposureSky, longestOverMost } from "./sky.js";

/** Exposures over the sky with the axis on one pole. */
interface PoleAim {
  readonly at: Aim;
  /** The longest exposure that nine tenths of the sky allow, seconds. */
  readonly mostS: number;
  /** The longest that half of the sky allows. */
  readonly medianS: number;
  /** The largest smear over the sky in the exposure asked for, in the unit of the field. */
  readonly worstSmear: number;
}

/** What it changes to aim at the one pole or the other. */
export interface TrueOrRefracted {
  readonly latitudeDeg: number;
  /** How far above the true pole the refracted one stands, arcminutes. */
  readonly raisedArcmin: number;
  readonly exposureS: number;
  readonly unit: ExposureSky["unit"];
  readonly truePole: PoleAim;
  readonly refractedPole: PoleAim;
  /** Which lets nine tenths of the sky be exposed longer; the true one where it matters less than a twentieth. */
  readonly better: Aim;
  /** The same in a sentence. */
  readonly sentence: string;
}

/** A gain smaller than this part is not worth leaving the true pole. */
const WORTH = 0.05;

/**
 * What it changes to aim the axis at the true or at the refracted pole: for an otherwise perfect mount, at this site and
 * over the sky that it can reach.
 *
 * @param mount - its site, air and limits
 * @param options - field, exposure, smear
 * @throws {@link InputError} for options out of range
 * @example
 * ```ts
 * trueOrRefracted(mount, { field: fieldOfCamera(mount.camera), exposureS: 60 }).sentence;
 * ```
 */
export function trueOrRefracted(mount: Mount, options: ExposureOptions): TrueOrRefracted {
  const raisedArcmin = refractedPole(mount.site);
  const over = (at: Aim): { aim: PoleAim; sky: ExposureSky } => {
    const stand: MountStand = standOfMount(mount, { polarAltitude: at === "true" ? 0 : raisedArcmin });
    const sky = exposureSky(stand, { limits: mount.limits, ...options });
    return {
      sky,
      aim: {
        at,
        mostS: longestOverMost(sky),
        medianS: sky.medianLongestS,
        worstSmear: sky.worst.smear,
      },
    };
  };
  const onTrue = over("true");
  const onRefracted = over("refracted");
  const better: Aim = onRefracted.aim.mostS > (1 + WORTH) * onTrue.aim.mostS ? "refracted" : "true";
  const seconds = (value: number): string => `${value < 10 ? value.toFixed(1) : value.toFixed(0)} s`;
  const both = `nine tenths of the sky allow ${seconds(onTrue.aim.mostS)} with the axis on the true pole and ${seconds(onRefracted.aim.mostS)} on the refracted one, ${raisedArcmin.toFixed(1)}′ higher`;
  return {
    latitudeDeg: mount.site.latitude,
    raisedArcmin,
    exposureS: onTrue.sky.exposureS,
    unit: onTrue.sky.unit,
    truePole: onTrue.aim,
    refractedPole: onRefracted.aim,
    better,
    sentence:
      better === "true"
        ? `Aim at the true pole: with a drive at the sidereal rate ${both}.`
        : `The refracted pole serves long exposures better: with a drive at the sidereal rate ${both}.`,
  };
}
