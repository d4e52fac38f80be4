/**
 * From the axis error to turns of jacks and bolts.
 */
import { ARCMINUTE, DEGREE } from "../angles.js";
import { PolewrightError } from "../errors.js";
import type { Estimate, MountFit, PoleError } from "../fit/fit-result.js";
import type { Base, Mount } from "../mount/mount.js";
import {
  altitudePreference,
  azimuthPreference,
  effectAt,
  lacking,
  preferred,
  reachablePart,
  realTurns,
  type Setting,
  settingOf,
  smallestEffect,
  type Wish,
  weigh,
} from "./adjusters.js";
import { aimAt } from "./aim.js";
import { type AxisPlace, moveAxis } from "./axis-motion.js";
import {
  arcminutes,
  eastOrWest,
  highOrLow,
  meansNames,
  millimetres,
  opening,
  placeText,
} from "./base-words.js";
import { cautionsFor } from "./cautions.js";
import { expectedMotion, type Gains, gainsBefore } from "./gains.js";
import { equalWithin, type OtherScrew, type RoundedTurns, roundTurns } from "./round-turns.js";
import type {
  AdjusterChoice,
  Aim,
  AltitudeMeans,
  AzimuthMeans,
  BaseSlide,
  BoltTurn,
  JackTurn,
  LowerBearingMove,
  TurnAdvice,
  TurnStep,
} from "./turn-advice.js";
import { levelChange, turnSteps } from "./turn-steps.js";
import {
  effectOfTurns,
  SHIM_STEP_MM,
  SLIDE_STEP_MM,
  settingVariance,
  slideLever,
  slidingEnd,
  turnPerMm,
  turnsOfAdvice,
} from "./turns-made.js";

/** What the builder may choose. */
export interface TurnOptions {
  /** What moves the axis in azimuth; `auto` weighs what there is. */
  readonly azimuthBy?: AzimuthMeans | "auto";
  /** What moves the axis in altitude. */
  readonly altitudeBy?: AltitudeMeans | "auto";
  /** Which pole to aim at: the true one (default) or the refracted one. */
  readonly aim?: Aim;
  /** What earlier rounds have taught; by default 1 ± 0.2 everywhere. */
  readonly gains?: Gains;
}

/** What an advice starts from. */
export interface TurnQuestion {
  readonly mount: Mount;
  readonly pole: Pick<PoleError, "altitude" | "east" | "covariance">;
  /** False when the readings cannot be trusted: no turns then. */
  readonly sound: boolean;
  /** What is wrong when they cannot. */
  readonly troubles: readonly string[];
}

/** Extra uncertainty of a rise on ground that yields, as a part of the rise. */
const SOFT_GROUND = 0.2;
/** Less of a correction than this is not worth starting. */
const WORTH_GOING = 0.01;
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
  if (!question.sound || !known.every(Number.isFinite)) {
    return still(
      setting,
      pole,
      aim,
      [],
      [
        question.sound
          ? "Turn nothing: the axis error is not known. Sight more stars, well spread over the sky, and fit again."
          : "Turn nothing: the readings cannot be trusted as they stand, so no turn can be. Mend what is named here and fit again.",
        ...question.troubles,
      ],
    );
  }
  return weighed(setting, pole, aim, options);
}

interface AimPlace {
  readonly at: Aim;
  readonly altitude: number;
  readonly reason: string;
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

/** Settles on what moves each axis, with the reasons; far corrections are cut to what the travel allows. */
function chooseMeans(
  setting: Setting,
  aim: AimPlace,
  wantsAltitude: boolean,
  wantsEast: boolean,
  options: TurnOptions,
  reasons: string[],
): { readonly wish: Wish; readonly choices: readonly AdjusterChoice[]; readonly blocked: boolean } {
  const choices: AdjusterChoice[] = [];
  let blocked = false;
  let altitude: Wish["altitude"] = null;
  if (wantsAltitude) {
    const weighedOnes = altitudePreference.map((by) =>
      weigh(setting, "altitude", by, { altitude: { by, to: aim.altitude }, east: null }),
    );
    const forced = options.altitudeBy ?? "auto";
    const by =
      forced !== "auto"
        ? forced
        : (preferred(setting.base, weighedOnes, altitudePreference) ??
          altitudePreference.find((one) => lacking(setting, "altitude", one) === null) ??
          null);
    choices.push(...weighedOnes.map((choice) => ({ ...choice, chosen: choice.by === by })));
    if (by === null) {
      blocked = true;
      reasons.push(
        `Altitude: nothing can move the axis up or down (${weighedOnes.map((choice) => `${meansNames[choice.by]}: ${choice.because}`).join("; ")}). Shim the base by ${arcminutes(aim.altitude - setting.from.altitude)}.`,
      );
    } else {
      const part = reachablePart((some) =>
        reaches(setting, {
          altitude: { by, to: along(setting.from.altitude, aim.altitude, some) },
          east: null,
        }),
      );
      if (part < WORTH_GOING) blocked = true;
      else altitude = { by, to: along(setting.from.altitude, aim.altitude, part) };
      reasons.push(...choiceReasons("Altitude", weighedOnes, by, forced !== "auto"));
      if (part < 1)
        reasons.push(partReason(setting, "altitude", by, part, aim.altitude - setting.from.altitude));
      else if (altitude !== null) northTiltReason(setting, altitude, reasons);
    }
  }
  let east: Wish["east"] = null;
  if (wantsEast) {
    const weighedOnes = azimuthPreference.map((by) =>
      weigh(setting, "east", by, { altitude, east: { by, to: 0 } }),
    );
    const forced = options.azimuthBy ?? "auto";
    const by =
      forced !== "auto"
        ? forced
        : (preferred(setting.base, weighedOnes, azimuthPreference) ??
          azimuthPreference.find((one) => lacking(setting, "east", one) === null) ??
          null);
    choices.push(...weighedOnes.map((choice) => ({ ...choice, chosen: choice.by === by })));
    if (by === null) {
      blocked = true;
      reasons.push(
        `East–west: nothing can move the axis (${weighedOnes.map((choice) => `${meansNames[choice.by]}: ${choice.because}`).join("; ")})`,
      );
    } else {
      const part = reachablePart((some) =>
        reaches(setting, { altitude, east: { by, to: along(setting.from.east, 0, some) } }),
      );
      if (part < WORTH_GOING) blocked = true;
      else east = { by, to: along(setting.from.east, 0, part) };
      reasons.push(...choiceReasons("East–west", weighedOnes, by, forced !== "auto"));
      if (part < 1) reasons.push(partReason(setting, "east", by, part, setting.from.east));
    }
  }
  return { wish: { altitude, east }, choices, blocked };
}

function along(from: number, to: number, part: number): number {
  return from + (to - from) * part;
}

/** Whether a wish stays within every travel (the builder's tilt limit is for choosing, not for forbidding). */
function reaches(setting: Setting, wish: Wish): boolean {
  const real = realTurns(setting, wish);
  if (real.risesMm === null) return false;
  const { azimuthBolts, lowerBearing } = setting.base;
  if (wish.east?.by === "bolts" && azimuthBolts?.travelMm != null) {
    if (Math.abs(real.over) * azimuthBolts.leverMm > azimuthBolts.travelMm) return false;
  }
  if (lowerBearing?.travelMm != null) {
    const { axisLengthMm, travelMm } = lowerBearing;
    if (wish.east?.by === "lowerBearing" && Math.abs(real.over) * axisLengthMm > travelMm) return false;
    if (wish.altitude?.by === "lowerBearing" && Math.abs(real.up) * axisLengthMm > travelMm) return false;
  }
  return true;
}

function choiceReasons(
  axis: string,
  choices: readonly AdjusterChoice[],
  by: AzimuthMeans | AltitudeMeans,
  forced: boolean,
): string[] {
  const chosen = choices.find((choice) => choice.by === by)!;
  const others = choices.filter((choice) => choice.by !== by && choice.travelMm > 0);
  return [
    `${axis} by ${meansNames[by]}${forced ? ", as you asked" : ""}: ${chosen.because}.`,
    ...others.map(
      (choice) =>
        `Not by ${meansNames[choice.by]}${choice.possible ? ", though it would reach" : ""}: ${choice.because}.`,
    ),
  ];
}

function partReason(
  setting: Setting,
  axis: "altitude" | "east",
  by: AzimuthMeans | AltitudeMeans,
  part: number,
  whole: number,
): string {
  const rest = arcminutes(whole * (1 - part));
  const remedy =
    by === "jacks"
      ? `For the rest pack the feet of the ${sideToRaise(setting, whole)} side by about ${millimetres((setting.frame?.northExtent ?? 0) * whole * (1 - part) * ARCMINUTE)}, set the jacks back to the middle of their travel, and sight again.`
      : by === "tilt"
        ? `For the rest slide the base: its ${slidingEnd(setting.latitudeDeg)} end about ${millimetres((slideLever(setting.base) * whole * (1 - part) * ARCMINUTE) / Math.max(0.01, Math.cos(setting.latitudeDeg * DEGREE)))}.`
        : "For the rest move the whole base, set this adjuster back to the middle of its travel, and sight again.";
  return `${axis === "altitude" ? "Altitude" : "East–west"}: ${meansNames[by]} ${by === "tilt" || by === "lowerBearing" ? "reaches" : "reach"} only ${Math.round(100 * part)} % of the way; ${rest} stays. ${remedy}`;
}

/** The side to raise for an axis that is too low or too high by `change`: what raises the elevated end. */
function sideToRaise(setting: Setting, change: number): "north" | "south" {
  const northern = setting.latitudeDeg >= 0;
  return change > 0 === northern ? "north" : "south";
}

function northTiltReason(setting: Setting, altitude: NonNullable<Wish["altitude"]>, reasons: string[]): void {
  if (altitude.by !== "jacks") return;
  const { up } = realTurns(setting, { altitude, east: null });
  if (Math.abs(up) > setting.base.tiltLimitDeg * DEGREE) {
    reasons.push(
      `The altitude takes a north–south tilt of ${arcminutes(up / ARCMINUTE)}, more than the limit of ${setting.base.tiltLimitDeg}° out of level: the base may have stood out of level before, or the frame was built for another latitude; look at both before turning.`,
    );
  }
}

/** Smallest step of a means, millimetres. */
function stepOf(base: Base, axis: "altitude" | "east", by: AzimuthMeans | AltitudeMeans): number {
  if (by === "jacks" || by === "tilt")
    return Math.min(...base.jacks.map((jack) => jack.pitchMm * jack.smallestTurn));
  if (by === "bolts") return base.azimuthBolts!.pitchMm * base.azimuthBolts!.smallestTurn;
  if (by === "slide") return SLIDE_STEP_MM;
  const bearing = base.lowerBearing!;
  const pitch = axis === "east" ? bearing.eastWestPitchMm : bearing.upDownPitchMm;
  return pitch === null ? SHIM_STEP_MM : pitch * bearing.smallestTurn;
}

/** Drops an axis whose correction is less than half a smallest turn. */
function leaveSmall(setting: Setting, wish: Wish, reasons: string[]): Wish {
  const check = (axis: "altitude" | "east", to: number, by: AzimuthMeans | AltitudeMeans): boolean => {
    const size = Math.abs(to - setting.from[axis]);
    const step = smallestEffect(setting, axis, by, stepOf(setting.base, axis, by));
    if (size >= step / 2) return true;
    reasons.push(
      `${axis === "altitude" ? "Altitude" : "East–west"}: left alone, for the correction of ${arcminutes(size)} is less than half of what one smallest turn does (${arcminutes(step)}).`,
    );
    return false;
  };
  return {
    altitude:
      wish.altitude !== null && check("altitude", wish.altitude.to, wish.altitude.by) ? wish.altitude : null,
    east: wish.east !== null && check("east", wish.east.to, wish.east.by) ? wish.east : null,
  };
}

/** Rounded turns and the steps they are counted in. */
interface RoundedWish {
  readonly rounded: RoundedTurns;
  readonly jackStepsMm: readonly number[];
  readonly others: readonly (OtherScrew & { readonly axis: "altitude" | "east" })[];
}

function roundWish(
  setting: Setting,
  wish: Wish,
  equalWithinArcmin: number,
  reasons: string[],
): RoundedWish | null {
  const { base, frame } = setting;
  const real = realTurns(setting, wish);
  if (real.risesMm === null) return null;
  const effect = effectAt(setting, wish, real.up, real.over);
  const others: (OtherScrew & { axis: "altitude" | "east" })[] = [];
  const other = (
    axis: "altitude" | "east",
    by: AzimuthMeans | AltitudeMeans,
    amount: number,
    perUnit: readonly [number, number],
  ): void => {
    if (by === "jacks" || by === "tilt") return;
    // Millimetres, east or up positive, of the end or bearing that moves.
    const unitPerMm =
      by === "bolts"
        ? turnPerMm(base.azimuthBolts!.end, base.azimuthBolts!.leverMm)
        : by === "slide"
          ? turnPerMm(slidingEnd(setting.latitudeDeg), slideLever(base))
          : 1 / base.lowerBearing!.axisLengthMm;
    const travel =
      by === "bolts"
        ? base.azimuthBolts!.travelMm
        : by === "lowerBearing"
          ? base.lowerBearing!.travelMm
          : null;
    others.push({
      axis,
      stepMm: stepOf(base, axis, by),
      lowestMm: travel === null ? -1e9 : -travel,
      highestMm: travel === null ? 1e9 : travel,
      realMm: amount / unitPerMm,
      perMm: [perUnit[0] * unitPerMm, perUnit[1] * unitPerMm],
    });
  };
  if (wish.altitude !== null) other("altitude", wish.altitude.by, real.up, effect.ofUp);
  if (wish.east !== null) other("east", wish.east.by, real.over, effect.ofOver);
  const tilts = wish.altitude?.by === "jacks" || wish.east?.by === "tilt";
  if (!tilts || frame === null) {
    return {
      rounded: roundTurns({ jacks: null, others, equalWithinArcmin })!,
      jackStepsMm: base.jacks.map(() => 1),
      others,
    };
  }
  // Every jack may be rounded either way, so both slopes matter even where one of them is not asked for.
  const slopes = effectAt(
    setting,
    { altitude: { by: "jacks", to: 0 }, east: { by: "tilt", to: 0 } },
    wish.altitude?.by === "jacks" ? real.up : 0,
    wish.east?.by === "tilt" ? real.over : 0,
  );
  for (const part of [1, 2, 4, 8, 16]) {
    const jackStepsMm = base.jacks.map((jack) => (jack.pitchMm * jack.smallestTurn) / part);
    const rounded = roundTurns({
      jacks: {
        frame,
        screws: base.jacks.map((jack, index) => ({
          stepMm: jackStepsMm[index]!,
          lowestMm: -jack.lowerLeftMm,
          highestMm: jack.raiseLeftMm,
        })),
        realMm: real.risesMm,
        perSlopeEast: slopes.ofOver,
        perSlopeNorth: slopes.ofUp,
        warpLimitMm: base.warpLimitMm,
      },
      others,
      equalWithinArcmin,
    });
    if (rounded !== null) {
      if (part > 1) {
        reasons.push(
          `Whole smallest turns would twist the frame by more than ${millimetres(base.warpLimitMm)}, so the jacks are to be set to 1/${part} of a smallest turn.`,
        );
      }
      return { rounded, jackStepsMm, others };
    }
  }
  return null;
}

function assemble(
  setting: Setting,
  wish: Wish,
  { rounded, jackStepsMm, others }: RoundedWish,
  pole: TurnQuestion["pole"],
  aim: AimPlace,
  choices: readonly AdjusterChoice[],
  reasons: string[],
): TurnAdvice {
  const { base, latitudeDeg, gains, from } = setting;
  const uncertainties = jackUncertainties(setting, wish, pole);
  const jacks: JackTurn[] = base.jacks.map((jack, index) => {
    const riseMm = tidy((rounded.jackSteps[index] ?? 0) * jackStepsMm[index]!);
    const soft = jack.softGround ? (SOFT_GROUND * riseMm) / jack.pitchMm : 0;
    return {
      name: jack.name,
      riseMm,
      turns: tidy(Math.abs(riseMm) / jack.pitchMm),
      direction:
        riseMm === 0 ? "none" : riseMm > 0 === (jack.clockwise === "raises") ? "clockwise" : "anticlockwise",
      uncertaintyTurns: Math.hypot(
        uncertainties[index]!,
        soft,
        riseMm === 0 ? 0 : jack.smallestTurn / Math.sqrt(12),
      ),
    };
  });
  const moved = (axis: "altitude" | "east"): number => {
    const index = others.findIndex((screw) => screw.axis === axis);
    return index < 0 ? 0 : tidy(rounded.otherSteps[index]! * others[index]!.stepMm);
  };
  const azimuthBolts = wish.east?.by === "bolts" ? boltTurn(setting, moved("east"), pole) : null;
  const lowerBearing = bearingMove(
    base,
    wish.east?.by === "lowerBearing" ? moved("east") : 0,
    wish.altitude?.by === "lowerBearing" ? moved("altitude") : 0,
  );
  const slideMm = wish.east?.by === "slide" ? moved("east") : 0;
  const slide: BaseSlide | null =
    slideMm === 0
      ? null
      : {
          end: slidingEnd(latitudeDeg),
          direction: slideMm > 0 ? "east" : "west",
          shiftMm: Math.abs(slideMm),
        };
  const draft = { jacks, azimuthBolts, lowerBearing, slide };
  const made = turnsOfAdvice(draft);
  const effect = effectOfTurns(base, made, latitudeDeg);
  const motion = expectedMotion(effect, gains);
  const place = moveAxis(from, motion, latitudeDeg);
  const after = { altitude: place.altitude, east: place.east };
  const set = settingVariance(base, made, latitudeDeg);
  const follow = (axis: "altitude" | "east"): number => {
    const by = wish[axis]?.by;
    if (by === undefined) return 0;
    const gain = (gains[axis] as Readonly<Record<string, Estimate>>)[by]!;
    return (gain.uncertainty / gain.value) * (after[axis] - from[axis]);
  };
  const afterUncertainty = {
    altitude: Math.hypot(pole.altitude.uncertainty, Math.sqrt(set.altitude), follow("altitude")),
    east: Math.hypot(pole.east.uncertainty, Math.sqrt(set.east), follow("east")),
  };
  const steps = stepsOrNone(setting, draft, effect.risesMm, reasons);
  reasons.push(
    ...outcomeReasons(setting, after, afterUncertainty, place.hourAngleZero, effect.warpMm, aim, follow),
  );
  return {
    recommended: true,
    ...draft,
    steps,
    after,
    afterUncertainty,
    hourAngleZeroShift: place.hourAngleZero,
    warpMm: Math.round(effect.warpMm * 1e6) / 1e6,
    aim: { at: aim.at, altitude: aim.altitude },
    levelChange: levelChange(motion.slopeNorth, motion.slopeEast),
    choices,
    cautions: cautionsFor({
      softJacks: base.jacks
        .filter((jack, index) => jack.softGround && jacks[index]!.turns > 0)
        .map((jack) => jack.name),
      lowers: jacks.some((jack) => jack.riseMm < 0),
      slides: slide !== null,
      boltsMove: azimuthBolts !== null,
      bearingMoves: lowerBearing !== null,
      tiltArcmin: Math.hypot(motion.slopeNorth, motion.slopeEast) / ARCMINUTE,
    }),
    reasons,
  };
}

/** Without the last digits of binary fractions, and without a negative zero. */
function tidy(value: number): number {
  return Math.round(value * 1e9) / 1e9 + 0;
}

function stepsOrNone(
  setting: Setting,
  draft: Pick<TurnAdvice, "azimuthBolts" | "lowerBearing" | "slide">,
  risesMm: readonly number[],
  reasons: string[],
): TurnStep[] {
  const deeds = {
    base: setting.base,
    frame: setting.frame,
    bolts: draft.azimuthBolts,
    lowerBearing: draft.lowerBearing,
    slide: draft.slide,
    gainNorth: setting.gains.altitude.jacks.value,
    gainEast: setting.gains.east.tilt.value,
  };
  try {
    return turnSteps({ ...deeds, risesMm });
  } catch (error) {
    if (!(error instanceof PolewrightError)) throw error;
    reasons.push(`${error.message} The jacks' steps are therefore left out.`);
    return turnSteps({ ...deeds, risesMm: risesMm.map(() => 0) });
  }
}

/** 1σ of each jack's turns from the sightings: the mean height held, the tilt as uncertain as the axis, turns. */
function jackUncertainties(setting: Setting, wish: Wish, pole: TurnQuestion["pole"]): number[] {
  const { base, frame, latitudeDeg, gains } = setting;
  if (frame === null) return base.jacks.map(() => 0);
  const sign = latitudeDeg < 0 ? -1 : 1;
  const byJacks = wish.altitude?.by === "jacks";
  const byTilt = wish.east?.by === "tilt";
  const north = byJacks ? (sign * ARCMINUTE) / gains.altitude.jacks.value : 0;
  const east = byTilt ? -ARCMINUTE / (Math.abs(Math.sin(latitudeDeg * DEGREE)) * gains.east.tilt.value) : 0;
  return base.jacks.map((jack, index) => {
    const place = frame.places[index]!;
    const perAltitude = north * place.north;
    const perEast = east * place.east;
    const variance =
      (perAltitude * pole.altitude.uncertainty) ** 2 +
      (perEast * pole.east.uncertainty) ** 2 +
      2 * perAltitude * perEast * pole.covariance;
    return Math.sqrt(Math.max(0, variance)) / jack.pitchMm;
  });
}

function boltTurn(setting: Setting, shiftMm: number, pole: TurnQuestion["pole"]): BoltTurn | null {
  const bolts = setting.base.azimuthBolts;
  if (bolts === null || shiftMm === 0) return null;
  const perArcmin =
    (ARCMINUTE * bolts.leverMm) / (Math.cos(setting.latitudeDeg * DEGREE) * setting.gains.east.bolts.value);
  return {
    end: bolts.end,
    direction: shiftMm > 0 ? "east" : "west",
    shiftMm: Math.abs(shiftMm),
    turns: tidy(Math.abs(shiftMm) / bolts.pitchMm),
    uncertaintyTurns: Math.hypot(
      (pole.east.uncertainty * perArcmin) / bolts.pitchMm,
      bolts.smallestTurn / Math.sqrt(12),
    ),
  };
}

function bearingMove(base: Base, eastMm: number, upMm: number): LowerBearingMove | null {
  if (base.lowerBearing === null || (eastMm === 0 && upMm === 0)) return null;
  const { eastWestPitchMm, upDownPitchMm } = base.lowerBearing;
  const turns = (mm: number, pitch: number | null): number | null =>
    mm === 0 || pitch === null ? null : tidy(Math.abs(mm) / pitch);
  return { eastMm, upMm, eastTurns: turns(eastMm, eastWestPitchMm), upTurns: turns(upMm, upDownPitchMm) };
}

function outcomeReasons(
  setting: Setting,
  after: AxisPlace,
  uncertainty: AxisPlace,
  zeroShift: number,
  warpMm: number,
  aim: AimPlace,
  follow: (axis: "altitude" | "east") => number,
): string[] {
  const reasons = [
    `Rounded to what a hand can set, ${placeText(after)} should be left (± ${arcminutes(uncertainty.altitude)} in altitude, ± ${arcminutes(uncertainty.east)} east–west).`,
  ];
  const yielding = Math.hypot(follow("altitude"), follow("east"));
  const measured = Math.hypot(after.altitude - aim.altitude, after.east, 1);
  if (yielding > measured) {
    reasons.push(
      `How truly the screws and the floor follow is known to about a fifth only until a round has taught it, so ${arcminutes(yielding)} or so may be left: sight again after turning, and let a second round finish it.`,
    );
  }
  if (Math.abs(zeroShift) >= 0.05) {
    reasons.push(
      `The hour-angle readings will shift by ${arcminutes(zeroShift)} (they will read further ${zeroShift > 0 ? "west" : "east"}): nothing is wrong, the base has carried the ring with it, and the next fit finds the new zero.`,
    );
  }
  if (setting.base.jacks.length > 3 && warpMm > 1e-9) {
    reasons.push(
      `The rounding leaves a foot ${millimetres(warpMm)} out of the plane of the others, inside the limit of ${millimetres(setting.base.warpLimitMm)}.`,
    );
  }
  return reasons;
}
