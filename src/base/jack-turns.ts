import { PolewrightError } from "../errors.js";
import { type Evidence, evidenceOf } from "../fit/evidence.js";
import type { Estimate, MountFit } from "../fit/fit-result.js";
import { noteText } from "../words/notes.js";
import { means } from "./adjusters/adjusters.js";
import { aimAt } from "./aim.js";
import { anotherRound, type RoundVerdict, WORTH_TURNING } from "./another-round.js";
import { assemble, jackUncertainties, stillAdvice, type Weighing } from "./assemble-advice.js";
import type { AxisPlace } from "./axis-motion.js";
import { arcminutes, eastOrWest, highOrLow } from "./base-words.js";
import { chooseMeans, leaveSmall } from "./choose-means.js";
import { type Setting, settingOf, type Wish, wayBy } from "./correction.js";
import { gainsBefore } from "./gains.js";
import { equalWithin } from "./round-turns.js";
import { roundWish } from "./round-wish.js";
import type { TurnAdvice } from "./turn-advice.js";
import type { AimPlace, TurnOptions, TurnQuestion } from "./turn-question.js";
import { type UnderStarOptions, underStar } from "./under-star.js";

export type { TurnOptions, TurnQuestion } from "./turn-question.js";

/**
 * Which jacks and bolts to turn, which way, how far and in what order, to bring the polar axis to the pole; and the same
 * turned by what a star shows.
 *
 * @param fit - how the mount stands
 * @param options - what to adjust by, which pole to aim at, and from when on a star is looked at
 * @returns the advice; `recommended` is false, with the reasons and no turns, unless `verdict` is `turn`
 * @throws PolewrightError `base-missing` when the mount file has no base, `adjuster-missing` when an adjuster is asked
 *   for that the mount does not have, `option-unknown` for an option's value that is not allowed
 * @example
 * ```ts
 * jackTurns(fit, { azimuthBy: "tilt" }).jacks[0] // { name: "north-east", riseMm: 2.25, turns: 1.125, direction: "clockwise", … }
 * ```
 */
export function jackTurns(fit: MountFit, options: TurnOptions & UnderStarOptions = {}): TurnAdvice {
  const { advice, setting, wish } = advised(questionOf(fit), options);
  return wish === null ? advice : { ...advice, underStar: underStar(fit, setting, wish, options) };
}

/** What a night asks. */
export function questionOf(fit: MountFit, othersHold = false): TurnQuestion {
  const evidence = evidenceOf(fit, othersHold);
  return {
    mount: fit.mount,
    pole: fit.pole,
    sound: !evidence.unsound,
    troubles: evidence.unsound ? fit.notes.map(noteText) : [],
    evidence,
  };
}

/**
 * Whether another round is worth it after a night: what turns, exposure, fit and the notebook say alike.
 *
 * @param fit - how the mount stands
 * @example
 * ```ts
 * roundVerdict(fit).verdict // "turn"
 * ```
 */
export function roundVerdict(fit: MountFit, options: TurnOptions = {}): RoundVerdict {
  const question = questionOf(fit);
  if (fit.mount.base === null) return anotherRound({ ...question, evidence: evidenceOf(fit) });
  const { verdict, missing, reasons } = adviseTurns(question, options);
  return { verdict, missing, because: verdict === "turn" ? WORTH_TURNING : (reasons[0] ?? "") };
}

const all: Evidence = { allows: "advice", missing: 0, unsound: false };

/**
 * {@link jackTurns} from an axis error however it came to be known.
 *
 * @param question - mount, axis error with its covariance, and whether it can be trusted
 * @param options - as for {@link jackTurns}
 * @throws as {@link jackTurns}
 */
export function adviseTurns(question: TurnQuestion, options: TurnOptions = {}): TurnAdvice {
  return advised(question, options).advice;
}

/** An advice, what it started from, and where the axis is to go; null where nothing is turned. */
export interface Advised {
  readonly advice: TurnAdvice;
  readonly setting: Setting;
  readonly wish: Wish | null;
}

/** {@link adviseTurns} with what turning under a star needs besides. */
export function advised(question: TurnQuestion, options: TurnOptions = {}): Advised {
  const { mount, pole } = question;
  checkOption("azimuthBy", options.azimuthBy, ["auto", ...means.east]);
  checkOption("altitudeBy", options.altitudeBy, ["auto", ...means.altitude]);
  checkOption("aim", options.aim, ["true", "refracted"]);
  if (mount.base === null) {
    throw new PolewrightError(
      "base-missing",
      `The mount file of ${mount.name} has no base, so there is nothing to turn. Add "base" with the jacks' places in plan (eastMm, northMm), pitchMm and clockwise; or with azimuthBolts or lowerBearing.`,
    );
  }
  const at = options.aim ?? "true";
  const aim = { at, ...aimAt(mount.site, at) };
  const from: AxisPlace = { altitude: pole.altitude.value, east: pole.east.value };
  const setting = settingOf(
    mount.base,
    mount.site.latitude,
    options.gains ?? gainsBefore,
    from,
    options.used,
  );
  for (const [axis, by] of [
    ["east", options.azimuthBy],
    ["altitude", options.altitudeBy],
  ] as const) {
    if (by === undefined || by === "auto") continue;
    const way = wayBy(setting, axis, by);
    const lack = way === null ? "the mount file's base has none" : way.lack;
    if (lack !== null) throw new PolewrightError("adjuster-missing", `"${by}" cannot be used: ${lack}.`);
  }
  const evidence = question.evidence ?? all;
  const decided =
    question.decided ??
    anotherRound({
      mount,
      pole,
      evidence: { ...evidence, unsound: evidence.unsound || !question.sound },
      aimAltitude: aim.altitude,
    });
  const weighing: Weighing = { setting, pole, aim, choices: [], reasons: question.troubles, notes: [] };
  return decided.verdict === "turn"
    ? { ...weighed(weighing, options), setting }
    : { advice: stillAdvice(weighing, decided), setting, wish: null };
}

function checkOption(name: string, value: string | undefined, allowed: readonly string[]): void {
  if (value !== undefined && !allowed.includes(value)) {
    throw new PolewrightError(
      "option-unknown",
      `Option ${name} cannot be ${JSON.stringify(value)}. Allowed: ${allowed.join(", ")}.`,
    );
  }
}

function weighed({ setting, pole, aim }: Weighing, options: TurnOptions): Omit<Advised, "setting"> {
  const { from } = setting;
  const reasons: string[] = [
    `The axis points ${sized(pole.altitude)} ${highOrLow(from.altitude)} and ${sized(pole.east)} ${eastOrWest(from.east)}.`,
    aim.reason,
  ];
  const wants = {
    altitude: Math.abs(aim.altitude - from.altitude) >= pole.altitude.uncertainty,
    east: Math.abs(from.east) >= pole.east.uncertainty,
  };
  const unsure = (axis: string, size: number, uncertainty: number): string =>
    `${axis}: left alone, for the correction of ${arcminutes(size)} is smaller than its own uncertainty of ${arcminutes(uncertainty)}.`;
  if (!wants.altitude) {
    reasons.push(unsure("Altitude", aim.altitude - from.altitude, pole.altitude.uncertainty));
  }
  if (!wants.east) reasons.push(unsure("East–west", from.east, pole.east.uncertainty));

  const notes: string[] = [];
  const { wish, choices, blocked } = chooseMeans(setting, aim, wants, options, reasons, notes);
  const trimmed = leaveSmall(setting, wish, reasons);
  const uncertainties = jackUncertainties(setting, trimmed, pole);
  const weighing: Weighing = { setting, pole, aim, choices, reasons, notes };
  const stop = (because: string): Omit<Advised, "setting"> => ({
    advice: stillAdvice(weighing, { verdict: "stop", missing: 0, because }, uncertainties),
    wish: null,
  });
  if (trimmed.altitude === null && trimmed.east === null) {
    return stop(
      blocked
        ? "Turn nothing: the axis should be moved, but nothing on the base reaches far enough to be worth it."
        : stopHere(pole, aim),
    );
  }
  const within = equalWithin(
    trimmed.altitude === null ? 0 : pole.altitude.uncertainty,
    trimmed.east === null ? 0 : pole.east.uncertainty,
  );
  const rounded = roundWish(setting, trimmed, within, reasons);
  const advice = rounded === null ? null : assemble(weighing, trimmed, rounded);
  const before = Math.hypot(from.altitude - aim.altitude, from.east);
  if (
    advice === null ||
    advice.moves.length === 0 ||
    Math.hypot(advice.after.altitude - aim.altitude, advice.after.east) >= before
  ) {
    reasons.push("No set of whole smallest turns brings the axis nearer to the pole than it is now.");
    return stop(stopHere(pole, aim));
  }
  return { advice, wish: trimmed };
}

function sized(estimate: Estimate): string {
  return `${arcminutes(estimate.value)} ± ${arcminutes(estimate.uncertainty)}`;
}

function stopHere(pole: TurnQuestion["pole"], aim: AimPlace): string {
  const left = Math.hypot(pole.altitude.value - aim.altitude, pole.east.value);
  return `Stop here: the axis is ${arcminutes(left)} from the ${aim.at} pole, and turning would be as likely to harm as to help. More sightings would show more.`;
}
