/** Rounded turns made into the advice: turns, steps, what is left, cautions and reasons. */
import { ARCMINUTE, DEGREE } from "../angles.js";
import { PolewrightError } from "../errors.js";
import type { Estimate } from "../fit/fit-result.js";
import type { Base } from "../mount/mount.js";
import type { Setting, Wish } from "./adjusters.js";
import { type AxisPlace, moveAxis } from "./axis-motion.js";
import { arcminutes, millimetres, placeText } from "./base-words.js";
import { cautionsFor } from "./cautions.js";
import { expectedMotion } from "./gains.js";
import type { RoundedWish } from "./round-wish.js";
import type {
  AdjusterChoice,
  BaseSlide,
  BoltTurn,
  JackTurn,
  LowerBearingMove,
  TurnAdvice,
  TurnStep,
} from "./turn-advice.js";
import type { AimPlace, TurnQuestion } from "./turn-question.js";
import { levelChange, turnSteps } from "./turn-steps.js";
import { effectOfTurns, settingVariance, slidingEnd, turnsOfAdvice } from "./turns-made.js";

/** Extra uncertainty of a rise on ground that yields, as a part of the rise. */
const SOFT_GROUND = 0.2;

/** The advice for rounded turns, with what the exact rotation leaves. */
export function assemble(
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
export function jackUncertainties(setting: Setting, wish: Wish, pole: TurnQuestion["pole"]): number[] {
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
