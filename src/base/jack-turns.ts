import { PolewrightError } from "../errors.js";
import type { Estimate, MountFit } from "../fit/fit-result.js";
import { lacking, type Setting, settingOf } from "./adjusters.js";
import { aimAt } from "./aim.js";
import { assemble, jackUncertainties } from "./assemble-advice.js";
import type { AxisPlace } from "./axis-motion.js";
import { arcminutes, eastOrWest, highOrLow, meansNames, opening } from "./base-words.js";
import { chooseMeans, leaveSmall } from "./choose-means.js";
import { gainsBefore } from "./gains.js";
import { equalWithin } from "./round-turns.js";
import { roundWish } from "./round-wish.js";
import type { AdjusterChoice, AzimuthMeans, TurnAdvice } from "./turn-advice.js";
import type { AimPlace, TurnOptions, TurnQuestion } from "./turn-question.js";
import { levelChange } from "./turn-steps.js";
import { turnsOfAdvice } from "./turns-made.js";

export type { TurnOptions, TurnQuestion } from "./turn-question.js";

/** An axis farther from the pole than this is no matter of jacks: arcminutes. */
const FARTHEST_ARCMIN = 20 * 60;

const azimuthAllowed = ["auto", "bolts", "tilt", "lowerBearing", "slide"];
const altitudeAllowed = ["auto", "jacks", "lowerBearing"];
const aimAllowed = ["true", "refracted"];

/**
 * Which jacks and bolts to turn, which way, how far and in what order, to bring the polar axis to the pole.
 *
 * @param fit - how the mount stands
 * @param options - what to adjust by and which pole to aim at
 * @returns the advice; `recommended` is false, with the reasons and no turns, when the fit is not sound, the error is
 *   smaller than its own uncertainty or than half a smallest turn
 * @throws PolewrightError `base-missing` when the mount file has no base, `adjuster-missing` when an adjuster is asked
 *   for that the mount does not have, `option-unknown` for an option's value that is not allowed
 * @example
 * ```ts
 * jackTurns(fit, { azimuthBy: "tilt" }).jacks[0] // { name: "north-east", riseMm: 2.25, turns: 1.125, direction: "clockwise", … }
 * ```
 */
export function jackTurns(fit: MountFit, options: TurnOptions = {}): TurnAdvice {
  const troubles = fit.sound ? [] : fit.notes.map((note) => `${note.message} ${note.remedy}`);
  return adviseTurns({ mount: fit.mount, pole: fit.pole, sound: fit.sound, troubles }, options);
}

/**
 * {@link jackTurns} from an axis error however it came to be known.
 *
 * @param question - mount, axis error with its covariance, and whether it can be trusted
 * @param options - as for {@link jackTurns}
 * @throws as {@link jackTurns}
 */
export function adviseTurns(question: TurnQuestion, options: TurnOptions = {}): TurnAdvice {
  const { mount, pole } = question;
  checkOption("azimuthBy", options.azimuthBy, azimuthAllowed);
  checkOption("altitudeBy", options.altitudeBy, altitudeAllowed);
  checkOption("aim", options.aim, aimAllowed);
  if (mount.base === null) {
    throw new PolewrightError(
      "base-missing",
      `The mount file of ${mount.name} has no base, so there is nothing to turn. Add "base" with the jacks' places in plan (eastMm, northMm), pitchMm and clockwise.`,
    );
  }
  const at = options.aim ?? "true";
  const aim = { at, ...aimAt(mount.site, at) };
  const from: AxisPlace = { altitude: pole.altitude.value, east: pole.east.value };
  const setting = settingOf(mount.base, mount.site.latitude, options.gains ?? gainsBefore, from);
  for (const [axis, by] of [
    ["east", options.azimuthBy],
    ["altitude", options.altitudeBy],
  ] as const) {
    const lack = by === undefined || by === "auto" ? null : lacking(setting, axis, by);
    if (lack !== null) {
      throw new PolewrightError(
        "adjuster-missing",
        `${opening(meansNames[by as AzimuthMeans])} cannot be used: ${lack}.`,
      );
    }
  }
  const known = [pole.altitude.value, pole.altitude.uncertainty, pole.east.value, pole.east.uncertainty];
  const isKnown = known.every(Number.isFinite);
  const isFar = isKnown && Math.hypot(from.altitude, from.east) > FARTHEST_ARCMIN;
  if (!question.sound || !isKnown || isFar) {
    return still(
      setting,
      pole,
      aim,
      [],
      [
        question.sound
          ? isFar
            ? `Turn nothing: the axis comes out ${(Math.hypot(from.altitude, from.east) / 60).toFixed(0)}° from the pole. Look at the stars' names, the times and the mount file (site, sense, perTurn); if it truly stands so, set it by level, latitude and north first, then sight again.`
            : "Turn nothing: the axis error is not known. Sight more stars, well spread over the sky, and fit again."
          : "Turn nothing: the readings cannot be trusted as they stand, so no turn can be. Mend what is named here and fit again.",
        ...question.troubles,
      ],
    );
  }
  return weighed(setting, pole, aim, options);
}

function checkOption(name: string, value: string | undefined, allowed: readonly string[]): void {
  if (value !== undefined && !allowed.includes(value)) {
    throw new PolewrightError(
      "option-unknown",
      `Option ${name} cannot be ${JSON.stringify(value)}. Allowed: ${allowed.join(", ")}.`,
    );
  }
}

/** Nothing is turned. */
function still(
  setting: Setting,
  pole: TurnQuestion["pole"],
  aim: AimPlace,
  choices: readonly AdjusterChoice[],
  reasons: readonly string[],
  uncertainties?: readonly number[],
): TurnAdvice {
  return {
    recommended: false,
    jacks: setting.base.jacks.map((jack, index) => ({
      name: jack.name,
      riseMm: 0,
      turns: 0,
      direction: "none",
      uncertaintyTurns: uncertainties?.[index] ?? 0,
    })),
    azimuthBolts: null,
    lowerBearing: null,
    slide: null,
    steps: [],
    after: setting.from,
    afterUncertainty: { altitude: pole.altitude.uncertainty, east: pole.east.uncertainty },
    hourAngleZeroShift: 0,
    warpMm: 0,
    aim: { at: aim.at, altitude: aim.altitude },
    levelChange: levelChange(0, 0),
    choices,
    cautions: [],
    reasons,
  };
}

function weighed(
  setting: Setting,
  pole: TurnQuestion["pole"],
  aim: AimPlace,
  options: TurnOptions,
): TurnAdvice {
  const { from } = setting;
  const reasons: string[] = [];
  reasons.push(
    `The axis points ${sized(pole.altitude)} ${highOrLow(from.altitude)} and ${sized(pole.east)} ${eastOrWest(from.east)}.`,
    aim.reason,
  );
  const wantsAltitude = Math.abs(aim.altitude - from.altitude) >= pole.altitude.uncertainty;
  const wantsEast = Math.abs(from.east) >= pole.east.uncertainty;
  const unsure = (axis: string, size: number, uncertainty: number): string =>
    `${axis}: left alone, for the correction of ${arcminutes(size)} is smaller than its own uncertainty of ${arcminutes(uncertainty)}.`;
  if (!wantsAltitude)
    reasons.push(unsure("Altitude", aim.altitude - from.altitude, pole.altitude.uncertainty));
  if (!wantsEast) reasons.push(unsure("East–west", from.east, pole.east.uncertainty));

  const { wish, choices, blocked } = chooseMeans(setting, aim, wantsAltitude, wantsEast, options, reasons);
  const trimmed = leaveSmall(setting, wish, reasons);
  const uncertainties = jackUncertainties(setting, trimmed, pole);
  if (trimmed.altitude === null && trimmed.east === null) {
    const headline = blocked
      ? "Turn nothing: the axis should be moved, but nothing on the base reaches far enough to be worth it."
      : stopHere(pole, aim);
    return still(setting, pole, aim, choices, [headline, ...reasons], uncertainties);
  }
  const rounded = roundWish(
    setting,
    trimmed,
    equalWithin(pole.altitude.uncertainty, pole.east.uncertainty),
    reasons,
  );
  const advice = rounded === null ? null : assemble(setting, trimmed, rounded, pole, aim, choices, reasons);
  const before = Math.hypot(from.altitude - aim.altitude, from.east);
  if (
    advice === null ||
    turnsOfAdvice(advice).length === 0 ||
    Math.hypot(advice.after.altitude - aim.altitude, advice.after.east) >= before
  ) {
    reasons.push("No set of whole smallest turns brings the axis nearer to the pole than it is now.");
    return still(setting, pole, aim, choices, [stopHere(pole, aim), ...reasons], uncertainties);
  }
  return advice;
}

function sized(estimate: Estimate): string {
  return `${arcminutes(estimate.value)} ± ${arcminutes(estimate.uncertainty)}`;
}

function stopHere(pole: TurnQuestion["pole"], aim: AimPlace): string {
  const left = Math.hypot(pole.altitude.value - aim.altitude, pole.east.value);
  return `Stop here: the axis is ${arcminutes(left)} from the ${aim.at} pole, and turning would be as likely to harm as to help. More sightings would tell more.`;
}
