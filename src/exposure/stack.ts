/**
 * Exposures as they are used: many short ones, laid over each other afterwards. What a single one smears is the exposure's question;
 * here it is how far the field walks and turns over the whole stack, and how short a single one may be before the camera's
 * read noise counts.
 */
import { ARCSECOND, DEGREE } from "../angles.js";
import type { DriveResult } from "../drive/drive-result.js";
import { type Fault, InputError, shown } from "../errors.js";
import { checkField, type ImageField } from "../pointing/field.js";
import { type AnyStand, standAndMount, trackingMount } from "../pointing/field-stand.js";
import { directionFromDegrees, type FieldPlace, trackTarget } from "../pointing/field-track.js";
import { usualSide } from "../pointing/known-mount.js";
import { LONGEST_EXPOSURE_S } from "./drive-budget.js";
import { type ExposureTarget, reachableSeconds } from "./exposure.js";

/** A stack of short exposures. */
export interface StackOptions {
  readonly field: ImageField;
  /** One exposure, seconds. */
  readonly exposureS: number;
  readonly count: number;
  /** Between two exposures, seconds; 0 when not given. */
  readonly pauseS?: number;
  /** Somebody keeps the target in the middle. */
  readonly guided?: boolean;
  /** What a track told of the drive: its rate error makes the field walk. */
  readonly drive?: Pick<DriveResult, "rate"> | null;
  /** The camera's read noise, electrons, and the sky's light, electrons a pixel and second. */
  readonly readNoiseE?: number;
  readonly skyE?: number;
}

/** What a stack shows. */
export interface Stack {
  readonly label: string;
  readonly exposureS: number;
  readonly count: number;
  /** From the beginning of the first to the end of the last, seconds. */
  readonly totalS: number;
  /** How far the target walks in the picture from the beginning to the end, arcseconds. */
  readonly walk: { readonly west: number; readonly north: number };
  /** How far the picture turns about it, degrees, north through east positive. */
  readonly rotationDeg: number;
  /** Where the picture stands at equal steps of time: the walk so far, and the turning. */
  readonly path: readonly { readonly west: number; readonly north: number; readonly rotationDeg: number }[];
  /** The part of the picture that every exposure of the stack holds, 0 to 1: by the walk, and by the turning to first order. */
  readonly common: number;
  /** How long the telescope can follow, seconds; shorter than the stack where the target leaves the limits. */
  readonly followsS: number;
  /** By how much the read noise makes the sky's noise larger, a part; null where it is not told. */
  readonly readNoisePart: number | null;
  /** The shortest exposure whose read noise adds 5 % to the sky's, seconds; null where it is not told. */
  readonly shortestS: number | null;
}

/** Read noise that adds this part to the sky's noise is no loss: common practice, no source. */
const ADDED_PART = 0.05;
const PATH_STEPS = 16;

/**
 * How far the field walks and turns over a stack of exposures, and whether a single one is long enough.
 *
 * A pixel's noise in one exposure is √(sky · t + R²) (Merline and Howell 1995, Experimental Astronomy 6, 163; Howell 2000, Handbook of
 * CCD Astronomy, 4.4): the read noise R adds √(1 + R² / (sky · t)) − 1 to the sky's.
 *
 * @param stand - a fit, a kept model, or how the mount stands
 * @param target - where the target is seen when the stack begins
 * @throws {@link InputError} `stack-out-of-range` with every fault
 * @example
 * ```ts
 * exposureStack(fit, { label: "M 83", hourAngleDeg: -20, declinationDeg: -29.9 }, { field, exposureS: 20, count: 60 }).walk;
 * ```
 */
export function exposureStack(stand: AnyStand, target: ExposureTarget, options: StackOptions): Stack {
  checkField(options.field);
  const { exposureS, count, pauseS = 0, readNoiseE, skyE } = options;
  const totalS = count * exposureS + (count - 1) * pauseS;
  refuse(options, totalS);
  const { stand: known, mount } = standAndMount(stand);
  const direction = directionFromDegrees(target.hourAngleDeg, target.declinationDeg);
  const beyond = mount !== null && usualSide(mount, direction.hourAngle) === "beyond";
  const ratePpm = options.drive?.rate?.errorPpm ?? 0;
  const { ownMotion } = target;
  const follow = {
    beyond,
    guided: options.guided ?? false,
    ratePpm,
    ...(ownMotion === undefined ? {} : { ownMotion }),
  };
  const reach = 0.25 * DEGREE;
  const track = trackTarget(trackingMount(known), direction, [{ east: 0, north: reach }], follow);
  const path = Array.from({ length: PATH_STEPS + 1 }, (_, step) => {
    const [middle, above] = track.placesAt((totalS * step) / PATH_STEPS) as [FieldPlace, FieldPlace];
    return {
      west: -middle.east / ARCSECOND,
      north: middle.north / ARCSECOND,
      rotationDeg: Math.atan2(above.east - middle.east, above.north - middle.north) / DEGREE,
    };
  });
  const { west, north, rotationDeg } = path.at(-1)!;
  const [width, height] = [3600 * options.field.widthDeg, 3600 * options.field.heightDeg];
  const spread = (of: (place: (typeof path)[number]) => number): number =>
    Math.max(...path.map(of)) - Math.min(...path.map(of));
  const turn =
    Math.sin(
      Math.min(
        90,
        spread((place) => place.rotationDeg),
      ) * DEGREE,
    ) / 2;
  const left = (side: number, walk: number, other: number): number =>
    Math.max(0, 1 - (walk + turn * other) / side);
  const common =
    left(
      width,
      spread((place) => place.west),
      height,
    ) *
    left(
      height,
      spread((place) => place.north),
      width,
    );
  const share = readNoiseE === undefined || skyE === undefined ? null : readNoiseE ** 2 / skyE;
  return {
    label: target.label,
    exposureS,
    count,
    totalS,
    walk: { west, north },
    rotationDeg,
    path,
    common,
    followsS: Math.min(totalS, reachableSeconds(track, mount?.limits ?? null)),
    readNoisePart: share === null ? null : Math.sqrt(1 + share / exposureS) - 1,
    shortestS: share === null ? null : share / ((1 + ADDED_PART) ** 2 - 1),
  };
}

function refuse(options: StackOptions, totalS: number): void {
  const faults: Fault[] = [];
  const check = (path: string, value: number | undefined, fits: boolean, allowed: string): void => {
    if (value === undefined || fits) return;
    faults.push({
      code: "stack-out-of-range",
      path,
      found: shown(value),
      allowed,
      message: "The stack cannot be so.",
    });
  };
  const { exposureS, count, pauseS = 0, readNoiseE, skyE } = options;
  check("exposureS", exposureS, exposureS > 0, "seconds above 0");
  check("count", count, Number.isInteger(count) && count >= 1, "a whole number, 1 or more");
  check("pauseS", pauseS, pauseS >= 0, "seconds, 0 or more");
  check("readNoiseE", readNoiseE, (readNoiseE ?? 0) >= 0, "electrons, 0 or more");
  check("skyE", skyE, (skyE ?? 1) > 0, "electrons a pixel and second, above 0");
  if (faults.length === 0)
    check(
      "count",
      count,
      totalS <= LONGEST_EXPOSURE_S,
      `a stack of at most ${LONGEST_EXPOSURE_S} s (four hours)`,
    );
  if (faults.length > 0) throw new InputError(faults);
}
