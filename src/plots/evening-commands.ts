/**
 * The answers of an evening's questions whole: plain data, report, pictures. What the command line and the notebook show.
 */
import type { TurnAdvice } from "../base/turn-advice.js";
import { compareDrift, type DriftComparison } from "../drift/compare.js";
import { type DriftNote, type DriftOptions, type DriftResult, solveDrift } from "../drift/drift.js";
import type { DriftObservation } from "../drift/fields.js";
import { readDrifts } from "../drift/file.js";
import { InputError } from "../errors.js";
import { type ExposureTarget, exposure } from "../exposure/exposure.js";
import { fieldFor, goodEnough } from "../exposure/good-enough.js";
import { pointingUncertaintyMap, scatterBeyond } from "../exposure/good-enough-map.js";
import { exposureSky, exposureTable } from "../exposure/sky.js";
import { type ExposureTargetOptions, exposureTargets } from "../exposure/targets.js";
import { trueOrRefracted } from "../exposure/true-or-refracted.js";
import type { MountFit } from "../fit/fit-result.js";
import type { Mount } from "../mount/mount.js";
import type { ImageField } from "../pointing/field.js";
import { driftCautions, driftReport } from "../report/drift-report.js";
import { type ExposureAnswer, exposureReport } from "../report/exposure-report.js";
import type { Report } from "../report/report.js";
import { lightTheme, type Theme } from "../report/theme.js";
import { driftAxis } from "./drift.js";
import { exposureLengths, exposureTrails } from "./exposure.js";
import type { Figure } from "./figure.js";
import { pointingUncertainty } from "./pointing-uncertainty.js";

/** An answer in every form. */
export interface EveningAnswer<Json> {
  /** Plain data, ready for JSON. */
  readonly json: Json;
  readonly report: Report;
  readonly figures: readonly Figure[];
}

/** What `drift --json` prints, as data/schema/drift.schema.json describes it. */
export interface DriftJson {
  readonly drift: DriftResult;
  /** Null where there is no fit to hold the drifts against. */
  readonly comparison: DriftComparison | null;
  readonly cautions: readonly string[];
}

const UNSOUND_FIT: DriftNote = {
  code: "unsound-fit",
  row: null,
  message: "The sightings' fit is not sound, so the drifts stand alone.",
  remedy: "Mend what the fit's notes say, then hold the drifts against it.",
};

export interface DriftQuestion {
  readonly mount: Mount;
  /** The drift file's text and name; or the drifts themselves. */
  readonly text?: string;
  readonly file?: string;
  readonly drifts?: readonly DriftObservation[];
  /** The sightings' fit to hold them against. An unsound fit is left aside. */
  readonly fit?: MountFit | null;
  readonly driveRate?: DriftOptions["driveRate"];
  readonly theme?: Theme;
}

/**
 * The polar axis from drifts, held against the sightings' fit where there is a sound one.
 *
 * @throws {@link InputError} with every fault of the drift file, or `no-drifts`, `star-below-horizon`
 * @example
 * ```ts
 * const { report } = driftCommand({ mount, text, fit: fitMount(night) });
 * ```
 */
export function driftCommand(question: DriftQuestion): EveningAnswer<DriftJson> {
  const { mount } = question;
  const theme = question.theme ?? lightTheme;
  const drifts =
    question.drifts ??
    readDrifts(question.text ?? "", {
      camera: mount.camera,
      ...(question.file === undefined ? {} : { file: question.file }),
    });
  const rate = question.driveRate === undefined ? {} : { driveRate: question.driveRate };
  const given = question.fit ?? null;
  const fit = given?.sound && given.sightings.used > 0 ? given : null;
  const compared = fit === null ? null : compareDrift(drifts, { ...fit, mount }, rate);
  const solved = compared?.result ?? solveDrift(drifts, mount, rate);
  const unsound = given !== null && fit === null;
  const result = unsound ? { ...solved, notes: [UNSOUND_FIT, ...solved.notes] } : solved;
  const comparison = compared?.comparison ?? null;
  return {
    json: { drift: result, comparison, cautions: driftCautions },
    report: driftReport(result, comparison, mount.name),
    figures: [driftAxis(result, fit?.pole ?? null, comparison, mount.name, theme)],
  };
}

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
  readonly guided?: boolean;
  /** The turns advised after the fit, for what another round would gain. */
  readonly turns?: TurnAdvice | null;
  readonly theme?: Theme;
}

/**
 * How long one may expose, on targets and over the sky; whether the mount is good enough; which pole to aim at.
 *
 * @throws {@link InputError} for names, times and options that cannot be used; `no-field` without a camera
 * @example
 * ```ts
 * const { report } = exposureCommand({ fit, targets: ["M 83"], timeMs, exposureS: 30, turns: jackTurns(fit) });
 * ```
 */
export function exposureCommand(question: ExposureQuestion): EveningAnswer<ExposureAnswer> {
  const { fit } = question;
  const { mount } = fit;
  const theme = question.theme ?? lightTheme;
  const field = fieldFor(fit, question.field);
  const options = {
    field,
    ...(question.exposureS === undefined ? {} : { exposureS: question.exposureS }),
    ...(question.smearLimit === undefined ? {} : { smearLimit: question.smearLimit }),
    ...(question.guided === undefined ? {} : { guided: question.guided }),
  };
  const asked = question.targets ?? [];
  const names = asked.filter((target): target is string => typeof target === "string");
  if (names.length > 0 && question.timeMs === undefined) throw noTime();
  const named =
    names.length === 0
      ? { targets: [], faults: [] }
      : exposureTargets(names, question.timeMs!, mount.site, { daylight: question.daylight ?? false });
  const places = asked.filter((target): target is ExposureTarget => typeof target !== "string");
  const exposures = [...named.targets, ...places].map((target) => exposure(fit, target, options));
  const sky = exposureSky(fit, options);
  const json: ExposureAnswer = {
    mountName: mount.name,
    exposures,
    leftOut: named.faults,
    table: exposureTable(fit, options),
    goodEnough: goodEnough(fit, { ...options, turns: question.turns ?? null }),
    poles: trueOrRefracted(mount, { ...options, guided: false }),
  };
  return {
    json,
    report: exposureReport(json),
    figures: [
      exposureLengths(sky, mount.limits, mount.name, theme),
      pointingUncertainty(pointingUncertaintyMap(fit, { field, scatterArcmin: scatterBeyond(fit) }), theme),
      ...exposures.map((one) => exposureTrails(one, field, theme)),
    ],
  };
}

function noTime(): InputError {
  return new InputError([
    {
      code: "missing-value",
      path: "time",
      allowed: "when the exposure begins, ISO 8601 with a zone, for instance 2026-03-14T20:00:00Z",
      message: "Targets by name need a time.",
    },
  ]);
}
