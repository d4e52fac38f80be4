/** How long an exposure may be, and whether the mount is good enough. */
import { jackTurns, roundVerdict } from "../base/jack-turns.js";
import type { TurnAdvice } from "../base/turn-advice.js";
import { drive as readDrive } from "../drive/drive.js";
import { readTrack } from "../drive/track-file.js";
import { InputError } from "../errors.js";
import {
  type Exposure,
  type ExposureOptions,
  type ExposureTarget,
  exposure as plainExposure,
} from "../exposure/exposure.js";
import {
  exposureAssumptions,
  fieldFor,
  type GoodEnough,
  type GoodEnoughOptions,
  goodEnough as plainGoodEnough,
} from "../exposure/good-enough.js";
import { pointingUncertaintyMap, scatterBeyond } from "../exposure/good-enough-map.js";
import { exposureSky, exposureTable } from "../exposure/sky.js";
import { exposureStack, type StackOptions } from "../exposure/stack.js";
import { type ExposureTargetOptions, exposureTargets } from "../exposure/targets.js";
import { trueOrRefracted } from "../exposure/true-or-refracted.js";
import { evidenceOf } from "../fit/evidence.js";
import type { MountFit } from "../fit/fit-result.js";
import type { Figure } from "../plots/figure.js";
import { fieldOfEyepiece, type ImageField } from "../pointing/field.js";
import { type AnyStand, standAndMount } from "../pointing/field-stand.js";
import { type ExposureAnswer, exposureReport, goodEnoughReport } from "../report/exposure-report.js";
import { question } from "./answer.js";
import { given } from "./given.js";
import { momentMs } from "./moment.js";
import { fitOf, nightOptions, nightPlace } from "./night.js";
import { printable } from "./printable.js";
import { flag, number, onlyWith, onlyWithout, places, positive, text, time } from "./takes.js";

/**
 * What an exposure on a target shows of the mount's errors, from the exact model. As a cell's last expression it prints
 * as its report.
 *
 * @param stand - a fit, a kept model, or how the mount stands
 * @param target - where the target is seen when the exposure begins
 * @param options - field, length, smear
 * @throws InputError for options or a target out of range
 * @example
 * ```ts
 * const field = fieldOfCamera({ focalLengthMm: 1800, widthMm: 7.2, heightMm: 5.4, pixelUm: 8.6 });
 * exposure(fit, { label: "M 83", hourAngleDeg: -20, declinationDeg: -29.9 }, { field, exposureS: 30 }).longestS;
 * ```
 */
export function exposure(stand: AnyStand, target: ExposureTarget, options: ExposureOptions): Exposure {
  const one = plainExposure(stand, target, options);
  const mountName = standAndMount(stand).mount?.name ?? "the telescope";
  return printable({ ...one }, () =>
    exposureReport({
      mountName,
      because: null,
      exposures: [one],
      stacks: [],
      leftOut: [],
      table: null,
      goodEnough: null,
      poles: null,
      assumptions: exposureAssumptions(options),
    }),
  );
}

/**
 * Whether the mount is good enough for the camera and the exposure, and what another round would gain.
 *
 * @param fit - the fit
 * @param options - field, exposure, smear, and the turns that were advised
 * @throws InputError `no-field` without a camera, and faulty options
 * @example
 * ```ts
 * goodEnough(fit, { field: fieldOfEyepiece(1) }).verdict // "turn"
 * ```
 */
export function goodEnough(fit: MountFit, options: GoodEnoughOptions = {}): GoodEnough {
  const answer = plainGoodEnough(fit, options);
  return printable({ ...answer }, () => goodEnoughReport(answer, fit.mount.name));
}

/** What the command and its page are asked. */
export interface ExposureQuestion {
  readonly fit: MountFit;
  /** Names of targets, and when the exposure begins; or places themselves. */
  readonly targets?: readonly (string | ExposureTarget)[];
  /** Milliseconds of UTC since 1970; needed with names. */
  readonly timeMs?: number;
  readonly daylight?: ExposureTargetOptions["daylight"];
  /** The mount file's camera when not given. */
  readonly field?: ImageField;
  readonly exposureS?: number;
  readonly smearLimit?: number;
  readonly seeingArcsec?: number;
  readonly drive?: ExposureOptions["drive"];
  readonly guided?: boolean;
  /** A stack of such exposures on each target. */
  readonly stack?: Omit<StackOptions, "field" | "exposureS" | "guided" | "drive">;
  /** The turns advised after the fit, for what another round would gain. */
  readonly turns?: TurnAdvice | null;
}

/** The whole answer, with the field that it holds for. */
export interface WholeExposure {
  readonly answer: ExposureAnswer;
  readonly field: ImageField;
}

/**
 * How long one may expose, on targets and over the sky; whether the mount is good enough; which pole to aim at.
 *
 * @throws InputError for names, times and options that cannot be used; `no-field` without a camera
 */
export function exposureAnswer(question: ExposureQuestion): WholeExposure {
  const { fit } = question;
  const { mount } = fit;
  const field = fieldFor(fit, question.field);
  const options = { field, ...optionsOf(question) };
  const poles = trueOrRefracted(mount, { ...options, guided: false, drive: null });
  const assumptions = exposureAssumptions(options);
  const { because } = roundVerdict(fit);
  if (evidenceOf(fit).allows === "nothing") {
    const none = { exposures: [], stacks: [], leftOut: [], table: null, goodEnough: null };
    return { field, answer: { mountName: mount.name, because, ...none, poles, assumptions } };
  }
  const asked = question.targets ?? [];
  const names = asked.filter((target): target is string => typeof target === "string");
  if (names.length > 0 && question.timeMs === undefined) throw noTime();
  const named =
    question.timeMs === undefined || names.length === 0
      ? { targets: [], faults: [] }
      : exposureTargets(names, question.timeMs, mount.site, { daylight: question.daylight ?? false });
  const places = asked.filter((target): target is ExposureTarget => typeof target !== "string");
  const all = [...named.targets, ...places];
  const exposures = all.map((target) => plainExposure(fit, target, options));
  const { stack, guided = false, drive = null } = question;
  const stacks =
    stack === undefined
      ? []
      : all.map((target) =>
          exposureStack(fit, target, { ...stack, field, guided, drive, exposureS: exposures[0]!.exposureS }),
        );
  const goodEnough = plainGoodEnough(fit, { ...options, turns: question.turns ?? null });
  const answer: ExposureAnswer = {
    mountName: mount.name,
    because: goodEnough.sentence,
    exposures,
    stacks,
    leftOut: named.faults,
    table: exposureTable(fit, options),
    goodEnough,
    poles,
    assumptions,
  };
  return { answer, field };
}

const optionsOf = ({ exposureS, smearLimit, seeingArcsec, drive, guided }: ExposureQuestion) =>
  given({ exposureS, smearLimit, seeingArcsec, drive, guided });

/** `polewright exposure NIGHT.csv [TARGET…]`. */
export const exposureOf = question({
  name: "exposure",
  asks: "how long an exposure may be, and whether the mount is good enough",
  example: 'polewright exposure my-telescope/night.csv "M 42" --at 2026-03-14T20:00:00Z --seconds 20',
  takes: {
    night: nightPlace,
    targets: places("targets", "names, or coordinates"),
    ...nightOptions,
    ...onlyWith("targets", { at: time("when it begins, for targets by name") }),
    seconds: positive("number", "the exposure wanted (60 when not given)"),
    smear: positive("pixels", "the smear allowed (2 when not given; without a camera: arcseconds, 60)"),
    ...onlyWithout("smear", {
      seeing: positive("arcseconds", "the seeing: the smear allowed is then what makes a star a tenth wider"),
    }),
    track: text("file", "a tracked star's course: what the drive adds counts too"),
    ...onlyWith("targets", {
      stack: positive("number", "so many exposures, laid over each other afterwards"),
    }),
    ...onlyWith("stack", {
      pause: number("seconds", "between two exposures of the stack (0 when not given)"),
      readNoise: positive("electrons", "the camera's read noise"),
      sky: positive("electrons", "the sky's light in a pixel and second"),
    }),
    field: positive("degrees", "an eyepiece's field instead of the camera's"),
    guided: flag("a guider holds one star"),
  },
  ask(asks, read) {
    const { night, targets, at, seconds, smear, seeing, track, field, guided, ...others } = asks;
    const { stack, pause, readNoise, sky, ...options } = others;
    const fit = fitOf(night, options, read);
    const course = track === undefined ? undefined : readTrack(read.text(track, "track"), fit.mount, track);
    const asked: ExposureQuestion = {
      fit,
      targets,
      turns: fit.mount.base === null || !fit.sound ? null : jackTurns(fit),
      ...given({
        timeMs: at === undefined ? undefined : momentMs(at, fit.mount.site),
        exposureS: seconds,
        smearLimit: smear,
        seeingArcsec: seeing,
        drive: course === undefined ? undefined : readDrive(course, fit.mount, { standing: fit }),
        stack:
          stack === undefined
            ? undefined
            : { count: stack, ...given({ pauseS: pause, readNoiseE: readNoise, skyE: sky }) },
        field: field === undefined ? undefined : fieldOfEyepiece(field),
        guided: guided || undefined,
      }),
    };
    return { fit, asked, ...exposureAnswer(asked) };
  },
  say: ({ fit, answer }) => [exposureReport(answer, answer.goodEnough === null ? fit.notes : [])],
  draw: ({ asked, answer, field }) => exposureFigures(asked, { answer, field }),
  json: ({ fit, answer }) => exposureJson(fit, answer),
  sound: ({ fit }) => fit.sound,
});

/** What `exposure --json` answers, as data/schema/exposure.schema.json describes it. */
export function exposureJson(fit: MountFit, answer: ExposureAnswer) {
  const { verdict, missing } = answer.goodEnough ?? roundVerdict(fit);
  return { verdict, missing, ...answer, notes: fit.notes };
}

/** The pictures of an exposure's answer. */
export async function exposureFigures(
  asked: ExposureQuestion,
  { answer, field }: WholeExposure,
): Promise<readonly Figure[]> {
  const { fit } = asked;
  if (answer.goodEnough === null) return [];
  const { limits, name } = fit.mount;
  const [{ exposureLengths, exposureTrails }, { stackOfPictures }, { pointingUncertainty }] =
    await Promise.all([
      import("../plots/exposure.js"),
      import("../plots/stack.js"),
      import("../plots/pointing-uncertainty.js"),
    ]);
  return [
    exposureLengths(exposureSky(fit, { field, ...optionsOf(asked) }), limits, name),
    pointingUncertainty(pointingUncertaintyMap(fit, { field, scatterArcmin: scatterBeyond(fit) })),
    ...answer.exposures.map((one) => exposureTrails(one, field)),
    ...answer.stacks.map((one) => stackOfPictures(one, field)),
  ];
}

function noTime(): InputError {
  return new InputError({
    code: "missing-value",
    path: "time",
    allowed: "when the exposure begins, ISO 8601 with a zone, for instance 2026-03-14T20:00:00Z",
    message: "Targets by name need a time.",
  });
}
