/** Rounded turns made into the advice: moves, steps, what is left, cautions and reasons. */
import { ARCMINUTE } from "../angles.js";
import { PolewrightError } from "../errors.js";
import type { AxisName, TurnDirection, Way } from "./adjusters/adjuster.js";
import { slidingEnd } from "./adjusters/slide.js";
import type { RoundVerdict } from "./another-round.js";
import { type AxisPlace, firstOrderMotion, moveAxis } from "./axis-motion.js";
import { arcminutes, millimetres, placeText } from "./base-words.js";
import { cautionsFor } from "./cautions.js";
import type { Setting, Wish } from "./correction.js";
import { expectedMotion, gainOf } from "./gains.js";
import type { RoundedWish } from "./round-wish.js";
import type { AdjusterChoice, JackTurn, Move, TurnAdvice, TurnStep } from "./turn-advice.js";
import type { AimPlace, TurnQuestion } from "./turn-question.js";
import { levelChange, turnSteps } from "./turn-steps.js";
import { effectOfTurns, settingVariance, turnsOfAdvice } from "./turns-made.js";

/** Extra uncertainty of a rise on ground that yields, as a part of the rise. */
const SOFT_GROUND = 0.2;

/** What has been weighed before. */
export interface Weighing {
  readonly setting: Setting;
  readonly pole: TurnQuestion["pole"];
  readonly aim: AimPlace;
  readonly choices: readonly AdjusterChoice[];
  readonly reasons: readonly string[];
  readonly notes: readonly string[];
}

/** Nothing is turned. */
export function stillAdvice(
  { setting, pole, aim, choices, reasons, notes }: Weighing,
  { verdict, missing, because }: RoundVerdict,
  uncertainties?: readonly number[],
): TurnAdvice {
  return {
    recommended: false,
    verdict,
    missing,
    moves: [],
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
    underStar: null,
    levelChange: levelChange(0, 0),
    choices,
    notes,
    cautions: [],
    reasons: [because, ...reasons],
  };
}

/** The advice for rounded turns, with what the exact rotation leaves. */
export function assemble(
  { setting, pole, aim, choices, reasons, notes }: Weighing,
  wish: Wish,
  { rounded, jackStepsMm, others }: RoundedWish,
): TurnAdvice {
  const { base, latitudeDeg, gains, from } = setting;
  const told = [...reasons];
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
  const wayMoves = others.flatMap(({ way, stepMm }, index) => {
    const mm = tidy(rounded.otherSteps[index]! * stepMm);
    return mm === 0 ? [] : [wayMove(setting, way, mm, pole)];
  });
  const moves: Move[] = [
    ...jacks.flatMap(({ name, riseMm, turns, direction, uncertaintyTurns }) =>
      direction === "none"
        ? []
        : [{ adjuster: name, direction, mm: Math.abs(riseMm), turns, uncertaintyTurns }],
    ),
    ...wayMoves.map(({ way: _, signedMm: __, ...move }) => move),
  ];
  const made = turnsOfAdvice({ moves });
  const effect = effectOfTurns(base, made, latitudeDeg);
  const motion = expectedMotion(effect, gains);
  const place = moveAxis(from, motion, latitudeDeg);
  const after = { altitude: place.altitude, east: place.east };
  const set = settingVariance(base, made, latitudeDeg);
  const follow = (axis: AxisName): number => {
    const way = wish[axis]?.way;
    if (way === undefined) return 0;
    const gain = gainOf(gains, way);
    return (gain.uncertainty / gain.value) * (after[axis] - from[axis]);
  };
  const afterUncertainty = {
    altitude: Math.hypot(pole.altitude.uncertainty, Math.sqrt(set.altitude), follow("altitude")),
    east: Math.hypot(pole.east.uncertainty, Math.sqrt(set.east), follow("east")),
  };
  const steps = stepsOrNone(setting, effect.risesMm, wayMoves, told);
  told.push(
    ...outcomeReasons(setting, after, afterUncertainty, place.hourAngleZero, effect.warpMm, aim, follow),
  );
  return {
    recommended: true,
    verdict: "turn",
    missing: 0,
    moves,
    jacks,
    ...namedFields(setting, wayMoves),
    steps,
    after,
    afterUncertainty,
    hourAngleZeroShift: place.hourAngleZero,
    warpMm: Math.round(effect.warpMm * 1e6) / 1e6,
    aim: { at: aim.at, altitude: aim.altitude },
    underStar: null,
    levelChange: levelChange(motion.slopeNorth, motion.slopeEast),
    choices,
    notes,
    cautions: cautionsFor({
      softJacks: base.jacks
        .filter((jack, index) => jack.softGround && jacks[index]!.turns > 0)
        .map((jack) => jack.name),
      lowers: jacks.some((jack) => jack.riseMm < 0),
      adjusters: setting.adjusters
        .filter((adjuster) => moves.some((move) => adjuster.names.includes(move.adjuster)))
        .map((adjuster) => adjuster.caution),
      tiltArcmin: Math.hypot(motion.slopeNorth, motion.slopeEast) / ARCMINUTE,
    }),
    reasons: told,
  };
}

/** Without the last digits of binary fractions, and without a negative zero. */
function tidy(value: number): number {
  return Math.round(value * 1e9) / 1e9 + 0;
}

type WayMove = Move & { readonly way: Way; readonly signedMm: number };

function wayMove(setting: Setting, way: Way, mm: number, pole: TurnQuestion["pole"]): WayMove {
  const { pitchMm } = way;
  const perMm = Math.abs(firstOrderMotion(way.motion(1 / way.mmPerUnit), setting.latitudeDeg)[way.axis]);
  const direction: TurnDirection = way.directions[mm > 0 ? 0 : 1];
  return {
    way,
    signedMm: mm,
    adjuster: way.adjuster,
    direction,
    mm: Math.abs(mm),
    turns: pitchMm === null ? null : tidy(Math.abs(mm) / pitchMm),
    uncertaintyTurns:
      pitchMm === null
        ? 0
        : Math.hypot(
            pole[way.axis].uncertainty / (perMm * gainOf(setting.gains, way).value) / pitchMm,
            way.smallestMm / pitchMm / Math.sqrt(12),
          ),
  };
}

/** The moves again under the names that they have had since the first version. */
function namedFields(
  { base, latitudeDeg }: Setting,
  moves: readonly WayMove[],
): Pick<TurnAdvice, "azimuthBolts" | "lowerBearing" | "slide"> {
  const by = (word: string, axis: AxisName): WayMove | undefined =>
    moves.find(({ way }) => way.by === word && way.axis === axis);
  const bolts = by("bolts", "east");
  const slide = by("slide", "east");
  const east = by("lowerBearing", "east");
  const up = by("lowerBearing", "altitude");
  const sideways = (move: WayMove): "east" | "west" => (move.signedMm > 0 ? "east" : "west");
  return {
    azimuthBolts:
      bolts === undefined || base.azimuthBolts === null
        ? null
        : {
            end: base.azimuthBolts.end,
            direction: sideways(bolts),
            shiftMm: bolts.mm,
            turns: bolts.turns ?? 0,
            uncertaintyTurns: bolts.uncertaintyTurns,
          },
    lowerBearing:
      east === undefined && up === undefined
        ? null
        : {
            eastMm: east?.signedMm ?? 0,
            upMm: up?.signedMm ?? 0,
            eastTurns: east?.turns ?? null,
            upTurns: up?.turns ?? null,
          },
    slide:
      slide === undefined
        ? null
        : { end: slidingEnd(latitudeDeg), direction: sideways(slide), shiftMm: slide.mm },
  };
}

function stepsOrNone(
  setting: Setting,
  risesMm: readonly number[],
  moves: readonly WayMove[],
  reasons: string[],
): TurnStep[] {
  try {
    return turnSteps(setting, risesMm, moves);
  } catch (error) {
    if (!(error instanceof PolewrightError)) throw error;
    reasons.push(`${error.message} The jacks' steps are therefore left out.`);
    return turnSteps(
      setting,
      risesMm.map(() => 0),
      moves,
    );
  }
}

/** 1σ of each jack's turns from the sightings: the mean height held, the tilt as uncertain as the axis, turns. */
export function jackUncertainties(setting: Setting, wish: Wish, pole: TurnQuestion["pole"]): number[] {
  const { base, frame, latitudeDeg, gains } = setting;
  if (frame === null) return base.jacks.map(() => 0);
  /** Slope for one arcminute of the axis. */
  const slope = (axis: AxisName): number => {
    const way = wish[axis]?.way;
    if (way === undefined || !way.byJacks) return 0;
    return 1 / (firstOrderMotion(way.motion(1), latitudeDeg)[axis] * gainOf(gains, way).value);
  };
  const north = slope("altitude");
  const east = slope("east");
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

function outcomeReasons(
  setting: Setting,
  after: AxisPlace,
  uncertainty: AxisPlace,
  zeroShift: number,
  warpMm: number,
  aim: AimPlace,
  follow: (axis: AxisName) => number,
): string[] {
  const reasons = [
    `Rounded to what a hand can set, ${placeText(after)} should be left (± ${arcminutes(uncertainty.altitude)} in altitude, ± ${arcminutes(uncertainty.east)} east–west).`,
  ];
  const yielding = Math.hypot(follow("altitude"), follow("east"));
  const measured = Math.hypot(after.altitude - aim.altitude, after.east, 1);
  if (yielding > measured) {
    reasons.push(
      `How truly the screws and the floor follow is known to about a fifth only until a round has taught it. So ${arcminutes(yielding)} or so may be left. Turn under a star, or sight again after turning and let a second round finish it.`,
    );
  }
  if (Math.abs(zeroShift) >= 0.05) {
    reasons.push(
      `The hour-angle readings will shift by ${arcminutes(zeroShift)} (they will read further ${zeroShift > 0 ? "west" : "east"}). Nothing is wrong: the base has carried the ring with it, and the next fit finds the new zero.`,
    );
  }
  if (warpMm > 1e-9) {
    reasons.push(
      `The rounding leaves a foot ${millimetres(warpMm)} out of the plane of the others, inside the limit of ${millimetres(setting.base.warpLimitMm)}.`,
    );
  }
  return reasons;
}
