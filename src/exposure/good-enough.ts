/**
 * Is it good enough? Whether the telescope finds what it is sent to and holds it for the class's exposure, and whether another
 * round at the base, or more sightings, would gain anything.
 */
import { ARCMINUTE } from "../angles.js";
import type { RoundVerdict, Verdict } from "../base/another-round.js";
import { everyTimeCautions } from "../base/cautions.js";
import { roundVerdict } from "../base/jack-turns.js";
import type { TurnAdvice } from "../base/turn-advice.js";
import { InputError } from "../errors.js";
import { evidenceOf } from "../fit/evidence.js";
import type { MountFit } from "../fit/fit-result.js";
import {
  fieldOfCamera,
  halfFieldArcmin,
  type ImageField,
  inSmearUnit,
  type SmearUnit,
} from "../pointing/field.js";
import { standOfFit, standWith } from "../pointing/field-stand.js";
import { SIDEREAL_RATE } from "../pointing/field-track.js";
import { type ExposureOptions, exposureTask } from "./exposure.js";
import { type PointingUncertaintyMap, pointingUncertaintyMap, scatterBeyond } from "./good-enough-map.js";
import { radiusHolding } from "./good-enough-radius.js";
import { type ExposureSky, exposureSky, longestOverMost } from "./sky.js";

/** What the judgement is asked for. Everything may be left out where the mount file has a camera. */
export interface GoodEnoughOptions extends Omit<ExposureOptions, "field"> {
  /** The camera's or eyepiece's field; the mount file's camera when not given. */
  readonly field?: ImageField;
  /** The turns advised after this fit: their gain is foreseen. Left out: the gain is that of a perfect axis. */
  readonly turns?: TurnAdvice | null;
  /** From one place of the sky to the next, degrees; 10 when not given. */
  readonly stepDeg?: number;
}

export type { Verdict } from "../base/another-round.js";

/** What the next round is of. */
export type NextRound = "turns" | "sightings";

/** How an exposure holds over the sky. Smears are in the unit of the verdict. */
export interface HoldingFigures {
  /** The largest smear over the sky. */
  readonly worstSmear: number;
  /** The part of the sky, 0 to 1, where the smear stays inside the limit. */
  readonly partInside: number;
  /** The longest exposure that nine tenths of the sky allow, seconds. */
  readonly mostS: number;
}

/** Whether the telescope finds what it is sent to. Arcminutes. */
export interface FindingVerdict {
  readonly enough: boolean;
  readonly halfFieldArcmin: number;
  /** 19 of 20 targets fall inside this distance at the worst place of the sky. */
  readonly worstWithin95: number;
  /** The same on half of the sky. */
  readonly medianWithin95: number;
  /** The part of the sky, 0 to 1, where 19 of 20 targets come into the field. */
  readonly partInside: number;
  /** The same distance with a perfect model: what the readings' steps and scatter leave. */
  readonly leastWithin95: number;
  /** How many more sightings as good as these it would take; 0 when enough, null when none would do. */
  readonly sightingsMissing: number | null;
}

/** Whether the telescope holds a target for the exposure. Smears are in `unit`. */
export interface HoldingVerdict {
  readonly enough: boolean;
  readonly exposureS: number;
  readonly smearLimit: number;
  readonly unit: SmearUnit;
  readonly guided: boolean;
  readonly now: HoldingFigures;
  /** As foreseen after the turns; null without turns. */
  readonly after: HoldingFigures | null;
  /** With the axis on the pole: what turning could reach at best. The rest is the air's and the sags'. */
  readonly best: HoldingFigures;
  /** The part of the sky where the smear is too large and would not be with the axis on the pole. */
  readonly partSpoiltByAxis: number;
  /** What the axis's own uncertainty may add to a smear, 95 %. */
  readonly doubt: number;
}

/** Whether the mount is good enough, and whether another round would gain anything. */
export interface GoodEnough {
  /** What `turns`, `rounds` and `fit` say too. */
  readonly verdict: Verdict;
  /** Sightings still needed where the verdict is `not-known-yet`, else 0. */
  readonly missing: number;
  readonly by: NextRound | null;
  /** Both goals are reached. */
  readonly goodEnough: boolean;
  /** The verdict in a sentence or two, with what another round would gain. */
  readonly sentence: string;
  readonly finding: FindingVerdict;
  readonly holding: HoldingVerdict;
  readonly reasons: readonly string[];
  readonly assumptions: readonly string[];
  /** Where the next round is at the base: what can hurt there. */
  readonly cautions: readonly string[];
}

/** So much of the sky may fail before the whole counts as failing: a rim of places is no reason to turn a frame. */
const PART_THAT_MAY_FAIL = 0.05;
/** A round that lengthens exposures by less than this part is not worth a night. */
const WORTH = 0.1;

/** What foreseen exposures stand on: the drive as it is taken, and the smear allowed where the seeing measures it. */
export function exposureAssumptions({
  drive,
  seeingArcsec,
  smearLimit,
  guided,
}: Partial<ExposureOptions> = {}): string[] {
  const seeing = seeingArcsec === undefined || smearLimit !== undefined ? [] : [seeingSentence(seeingArcsec)];
  if (drive && !guided) return [driveSentence(drive), ...seeing];
  return [
    "The drive is taken to turn at exactly the sidereal rate, by a perfect clock. The error of its worm or roller, wind and seeing come on top.",
    ...seeing,
  ];
}

function driveSentence({ rate, peakToPeakArcsec }: NonNullable<ExposureOptions["drive"]>): string {
  const running =
    rate === null
      ? "at the sidereal rate"
      : `${Math.abs(rate.errorPpm).toFixed(0)} ppm too ${rate.errorPpm < 0 ? "slow" : "fast"}`;
  return `The drive is taken as its track shows it: ${running}, with a periodic error of ${peakToPeakArcsec.toFixed(1)}″ from top to bottom. Wind comes on top.`;
}

function seeingSentence(seeingArcsec: number): string {
  return `The smear allowed is what makes a star of ${Number(seeingArcsec.toFixed(1))}″ seeing a tenth wider (common practice).`;
}

const findingAssumptions: readonly string[] = [
  "Finding stays this good while the encoder zeros stay as they are: after a power cut or a slip, sight one star first.",
];

/**
 * Whether the mount is good enough for the camera and the exposure, and what another round would gain.
 *
 * @param fit - the fit
 * @param options - field, exposure, smear, and the turns that were advised
 * @throws {@link InputError} `no-field` when neither the options nor the mount file give one, or for options out of
 *   range
 * @example
 * ```ts
 * goodEnough(fit, { exposureS: 30, smearLimit: 2, turns: jackTurns(fit) }).sentence;
 * ```
 */
export function goodEnough(fit: MountFit, options: GoodEnoughOptions = {}): GoodEnough {
  const field = fieldFor(fit, options.field);
  const task = exposureTask({ ...options, field }, fit.mount.limits);
  const map = pointingUncertaintyMap(fit, { ...options, field, scatterArcmin: scatterBeyond(fit) });
  const stand = standOfFit(fit);
  const over = (terms: { polarAltitude?: number; polarEast?: number }): ExposureSky =>
    exposureSky(standWith(stand, terms), { ...options, field, limits: task.limits });
  const now = over({});
  const best = over({ polarAltitude: 0, polarEast: 0 });
  const advice = options.turns ?? null;
  const after = advice?.recommended
    ? over({ polarAltitude: advice.after.altitude, polarEast: advice.after.east })
    : null;
  const spoilt = spoiltByAxis(now, best);
  const { altitude, east, covariance } = fit.pole;
  const poleRadius = radiusHolding(0.95, altitude.uncertainty ** 2, east.uncertainty ** 2, covariance);
  const doubt = inSmearUnit(field, SIDEREAL_RATE * task.exposureS * Math.min(1, poleRadius * ARCMINUTE));
  const holding: HoldingVerdict = {
    enough: spoilt <= PART_THAT_MAY_FAIL && (task.guided || doubt <= task.smearLimit),
    exposureS: task.exposureS,
    smearLimit: task.smearLimit,
    unit: now.unit,
    guided: task.guided,
    now: figuresOf(now),
    after: after === null ? null : figuresOf(after),
    best: figuresOf(best),
    partSpoiltByAxis: spoilt,
    doubt,
  };
  const finding = findingVerdict(fit, map, field);
  const round =
    advice === null
      ? roundVerdict(fit)
      : { verdict: advice.verdict, missing: advice.missing, because: advice.reasons[0] ?? "" };
  const assumptions = [...exposureAssumptions(options), ...findingAssumptions];
  return { ...decide(fit, finding, holding, round), assumptions, finding, holding };
}

/** The field of the options, or else of the mount file's camera. */
export function fieldFor(fit: Pick<MountFit, "mount">, field?: ImageField): ImageField {
  if (field !== undefined) return field;
  if (fit.mount.camera !== null) return fieldOfCamera(fit.mount.camera);
  throw new InputError({
    code: "no-field",
    path: "camera",
    allowed:
      "a camera in the mount file (focalLengthMm, widthMm, heightMm, pixelUm), or the field of a camera or an eyepiece",
    message: "Neither the mount file nor the question says how large the field of view is.",
  });
}

function figuresOf(sky: ExposureSky): HoldingFigures {
  return { worstSmear: sky.worst.smear, partInside: sky.partInside, mostS: longestOverMost(sky) };
}

/** The part of the sky where the axis alone draws stars out too far. */
function spoiltByAxis(now: ExposureSky, best: ExposureSky): number {
  const limit = now.smearLimit;
  const spoilt = now.places.filter((place, k) => place.smear > limit && best.places[k]!.smear <= limit);
  return spoilt.length / Math.max(1, now.places.length);
}

function findingVerdict(fit: MountFit, map: PointingUncertaintyMap, field: ImageField): FindingVerdict {
  const half = halfFieldArcmin(field);
  const { worst } = map;
  const restWest = Math.max(0, worst.west ** 2 - worst.modelWest ** 2);
  const restNorth = Math.max(0, worst.north ** 2 - worst.modelNorth ** 2);
  const least = radiusHolding(0.95, restWest, restNorth);
  const partInside = map.partInside ?? 0;
  const enough = fit.sightings.used > 0 && partInside >= 1 - PART_THAT_MAY_FAIL;
  // The model's variances fall as one over the number of sightings; the readings' own stay.
  const factor = (half ** 2 - least ** 2) / Math.max(1e-12, worst.within95 ** 2 - least ** 2);
  const needed = Math.ceil(Math.max(1, fit.sightings.used) / factor);
  return {
    enough,
    halfFieldArcmin: half,
    worstWithin95: worst.within95,
    medianWithin95: map.medianWithin95,
    partInside,
    leastWithin95: least,
    sightingsMissing: enough ? 0 : half > least ? Math.max(1, needed - fit.sightings.used) : null,
  };
}

type Decision = Pick<
  GoodEnough,
  "verdict" | "missing" | "by" | "goodEnough" | "sentence" | "reasons" | "cautions"
>;

function decide(
  fit: MountFit,
  finding: FindingVerdict,
  holding: HoldingVerdict,
  { verdict, missing, because }: RoundVerdict,
): Decision {
  const goodEnough = verdict !== "unsound" && verdict !== "not-known-yet" && finding.enough && holding.enough;
  const done = (by: NextRound | null, sentence: string): Decision => ({
    verdict,
    missing,
    by,
    goodEnough,
    sentence: sentence.trim(),
    // Without evidence for a figure none is given.
    reasons: hasFigures(fit) ? [findingSentence(finding), ...holdingSentences(holding)] : [],
    cautions: by === "turns" ? everyTimeCautions : [],
  });
  if (verdict === "unsound") return done(null, because);
  if (verdict === "not-known-yet") return done("sightings", because);
  if (verdict === "turn") {
    const foreseen =
      holding.after === null ? "with the axis on the pole it would be" : "after the turns it should be";
    const reach = holding.after ?? holding.best;
    const now = goodEnough ? "It is good enough as it stands, and a" : "A";
    return done(
      "turns",
      `${now}nother round at the base is worth turning: nine tenths of the sky allow ${secondsText(holding.now.mostS)} now, ${foreseen} ${secondsText(reach.mostS)}. The exposure wanted is ${secondsText(holding.exposureS)}. ${moreStars(finding)}`,
    );
  }
  if (goodEnough) {
    return done(
      null,
      `Stop: it is good enough. ${holds(holding)} and 19 of 20 targets come into the field${stillGains(holding)}`,
    );
  }
  if (!holding.enough && holding.doubt > holding.smearLimit && !holding.guided) {
    return done(
      "sightings",
      `One more round of sightings: the axis is known to ${fit.pole.distance.uncertainty.toFixed(1)}′ only. That alone may smear stars by ${holding.doubt.toFixed(1)} ${unitText(holding.unit)} in ${secondsText(holding.exposureS)}. ${moreStars(finding)}`,
    );
  }
  if (!finding.enough && finding.sightingsMissing !== null) {
    return done("sightings", `One more round of sightings. ${moreStars(finding)}`);
  }
  const leftOver = finding.enough
    ? `Turning gains nothing more: nine tenths of the sky allow ${secondsText(holding.now.mostS)}, with the axis on the pole it would be ${secondsText(holding.best.mostS)}. Expose no longer, or guide.`
    : `More sightings gain nothing: the steps and the scatter of the readings alone leave ${finding.leastWithin95.toFixed(1)}′, half the field is ${finding.halfFieldArcmin.toFixed(1)}′. Finer encoders or a wider field would help.`;
  return done(null, `Stop here. ${leftOver}`);
}

function hasFigures(fit: MountFit): boolean {
  return evidenceOf(fit).allows !== "nothing";
}

function holds(holding: HoldingVerdict): string {
  const limited =
    percent(holding.now.partInside) === "all"
      ? "over the whole sky"
      : `over ${percent(holding.now.partInside)} of the sky, the rest being spoilt by the air or by sags, not by the axis`;
  return `An exposure of ${secondsText(holding.exposureS)} stays inside ${limitText(holding)} ${limited},`;
}

function stillGains(holding: HoldingVerdict): string {
  const reach = holding.after ?? holding.best;
  if (reach.mostS <= (1 + WORTH) * holding.now.mostS) return "; another round would gain next to nothing.";
  return `. Another round would lengthen exposures for nine tenths of the sky from ${secondsText(holding.now.mostS)} to ${secondsText(reach.mostS)}, more than was asked for.`;
}

function moreStars(finding: FindingVerdict): string {
  if (finding.enough || finding.sightingsMissing === null) return "";
  return `About ${finding.sightingsMissing} more sighting${finding.sightingsMissing === 1 ? "" : "s"} as good as these, well spread, bring 19 of 20 targets from within ${finding.worstWithin95.toFixed(1)}′ to within half the field, ${finding.halfFieldArcmin.toFixed(1)}′.`;
}

function findingSentence(finding: FindingVerdict): string {
  return `Finding: 19 of 20 targets fall within ${finding.worstWithin95.toFixed(1)}′ at the worst place of the sky, ${finding.medianWithin95.toFixed(1)}′ on half of it; half the field is ${finding.halfFieldArcmin.toFixed(1)}′. It suffices on ${percent(finding.partInside)} of the sky.`;
}

function holdingSentences(holding: HoldingVerdict): string[] {
  const { now, best, after } = holding;
  const how = holding.guided ? "guided" : "unguided";
  const sentences = [
    `Holding: in ${secondsText(holding.exposureS)}, ${how}, ${percent(now.partInside)} of the sky stays inside ${limitText(holding)}; nine tenths of it allow ${secondsText(now.mostS)}.`,
    `With the axis on the pole: ${percent(best.partInside)} of the sky, ${secondsText(best.mostS)}. What is left then is the air's and the sags'.`,
  ];
  if (after !== null) {
    sentences.push(
      `After the turns, as foreseen: ${percent(after.partInside)} of the sky, ${secondsText(after.mostS)}.`,
    );
  }
  if (!holding.guided) {
    sentences.push(
      `The axis's own uncertainty may add up to ${holding.doubt.toFixed(1)} ${unitText(holding.unit)} (95 %).`,
    );
  }
  return sentences;
}

function limitText(holding: HoldingVerdict): string {
  return `${Number(holding.smearLimit.toFixed(2))} ${unitText(holding.unit)}`;
}

/** A smear's unit in words. */
export function unitText(unit: SmearUnit): string {
  return unit === "px" ? "pixels" : "arcseconds";
}

/** `48 s`, `5.3 s`, `12 min`, `4 h`. */
export function secondsText(seconds: number): string {
  if (seconds < 9.95) return `${seconds.toFixed(1)} s`;
  if (seconds < 599.5) return `${seconds.toFixed(0)} s`;
  if (seconds < 7200) return `${(seconds / 60).toFixed(0)} min`;
  return `${Number((seconds / 3600).toFixed(1))} h`;
}

function percent(part: number): string {
  return part >= 0.9995 ? "all" : `${(100 * part).toFixed(0)} %`;
}
