/**
 * Whether another round at the base is worth it: the one place that turns, rounds, exposure, fit and the notebook ask.
 */
import { ARCMINUTE, ARCSECOND } from "../angles.js";
import type { Evidence, Verdict } from "../fit/evidence.js";
import type { PoleError } from "../fit/fit-result.js";
import type { Camera, Mount } from "../mount/mount.js";
import { arcminutes, count } from "./base-words.js";

export type { Verdict } from "../fit/evidence.js";

/** What the decision rests on. */
export interface RoundQuestion {
  readonly mount: Pick<Mount, "base" | "camera">;
  readonly pole: Pick<PoleError, "altitude" | "east" | "covariance">;
  readonly evidence: Evidence;
  /** The altitude aimed at, from the true pole, arcminutes. */
  readonly aimAltitude?: number;
}

/** The decision, and why. */
export interface RoundVerdict {
  readonly verdict: Verdict;
  /** Sightings still needed where the verdict is `not-known-yet`, else 0. */
  readonly missing: number;
  /** The verdict in a sentence. */
  readonly because: string;
}

/**
 * A correction must be so many times its own uncertainty along it. The axis ends farther from the pole than before where
 * the error of the measurement is more than half the correction: at three times, 7 of 100 times, and by more than the
 * uncertainty 2 of 100 times (normal errors, Φ(−1.5) and Φ(−2)).
 */
const SURE = 3;
/** An axis farther from the pole than this is no matter of jacks: arcminutes. */
const FARTHEST_ARCMIN = 20 * 60;
/** What a class's picture is held against where nothing else is asked: seconds, and pixels of smear (common practice, no source). */
export const CLASS_EXPOSURE_S = 60;
export const CLASS_SMEAR_PX = 2;
/** An axis that adds so small a part of the smear allowed is not seen: in quadrature it adds one part in seventy. */
const NOT_SEEN = 1 / 6;
export const WORTH_TURNING = "Another round is worth turning.";
/** How fast a star drifts for an axis error, arcseconds a second for a radian: 15.041″ of sidereal motion. */
const SIDEREAL_ARCSEC = 15.041;

/**
 * Decides.
 *
 * @example
 * ```ts
 * anotherRound({ mount, pole: fit.pole, evidence: evidenceOf(fit) }).verdict // "turn"
 * ```
 */
export function anotherRound(question: RoundQuestion): RoundVerdict {
  const { mount, pole, evidence } = question;
  const said = (verdict: Verdict, because: string, missing = 0): RoundVerdict => ({
    verdict,
    missing,
    because,
  });
  if (evidence.unsound) {
    return said(
      "unsound",
      "Turn nothing: the readings cannot be trusted as they stand. Correct what is named here and fit again.",
    );
  }
  if (mount.base?.confirmed === false) {
    return said(
      "unsound",
      'Turn nothing: the figures of the base in the mount file are an example\'s. Measure your own base and write its figures in. Then set "confirmed" to true, or take that line out.',
    );
  }
  if (evidence.allows !== "advice") {
    return said(
      "not-known-yet",
      `Not known yet: turn nothing. Sight ${count(evidence.missing, "more star")}, well spread over the sky, and fit again.`,
      evidence.missing,
    );
  }
  const known = [pole.altitude.value, pole.altitude.uncertainty, pole.east.value, pole.east.uncertainty];
  if (!known.every(Number.isFinite)) {
    return said(
      "not-known-yet",
      "Turn nothing: the axis error is not known. Sight more stars, well spread over the sky, and fit again.",
      1,
    );
  }
  const altitude = pole.altitude.value - (question.aimAltitude ?? 0);
  const east = pole.east.value;
  const distance = Math.hypot(altitude, east);
  if (distance > FARTHEST_ARCMIN) {
    return said(
      "unsound",
      `Turn nothing: the axis comes out ${(distance / 60).toFixed(0)}° from the pole. Look at the stars' names, the times and the mount file (site, sense, perTurn). If it truly stands so, set it by level, latitude and north first, then sight again.`,
    );
  }
  const along = uncertaintyAlong(pole, altitude, east);
  if (distance < SURE * along) {
    return said(
      "stop",
      `Stop here: the axis is ${arcminutes(distance)} from the pole, and that is known to ± ${arcminutes(along)} only. Turning would be nearly as likely to harm as to help. More sightings would show more.`,
    );
  }
  const unseen = mount.camera === null ? 0 : unseenBelow(mount.camera);
  if (distance + 2 * along < unseen) {
    return said(
      "stop",
      `Stop here: the axis is ${arcminutes(distance)} ± ${arcminutes(along)} from the pole. In ${CLASS_EXPOSURE_S} s the camera would not show a better axis.`,
    );
  }
  return said("turn", WORTH_TURNING);
}

/**
 * Nearer to the pole than this nothing is gained by turning: the axis is known no better, or the camera shows nothing of it.
 *
 * @returns arcminutes; null where the axis is not known
 */
export function goodEnoughWithin(mount: RoundQuestion["mount"], pole: RoundQuestion["pole"]): number | null {
  const along = uncertaintyAlong(pole, pole.altitude.value, pole.east.value);
  if (!Number.isFinite(along)) return null;
  return Math.max(SURE * along, (mount.camera === null ? 0 : unseenBelow(mount.camera)) - 2 * along);
}

/** 1σ of the axis's place along the correction, arcminutes. */
function uncertaintyAlong(pole: RoundQuestion["pole"], altitude: number, east: number): number {
  const distance = Math.hypot(altitude, east);
  const [a, e] = distance > 0 ? [altitude / distance, east / distance] : [1, 0];
  const variance =
    (a * pole.altitude.uncertainty) ** 2 + (e * pole.east.uncertainty) ** 2 + 2 * a * e * pole.covariance;
  return Math.sqrt(Math.max(0, variance));
}

/** The axis error below which a class's picture shows nothing of it, arcminutes. */
function unseenBelow(camera: Camera): number {
  const pixelArcsec = camera.pixelUm / 1000 / camera.focalLengthMm / ARCSECOND;
  return (NOT_SEEN * CLASS_SMEAR_PX * pixelArcsec) / (SIDEREAL_ARCSEC * CLASS_EXPOSURE_S) / ARCMINUTE;
}
