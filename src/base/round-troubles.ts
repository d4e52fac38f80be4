/**
 * Why a round's change was not what the turns should have made: one adjuster that did not do what it should, turns made
 * the wrong way, or neither.
 *
 * One adjuster that moved otherwise by so many millimetres shifts the axis along one line; a change that lies on
 * that line, by an amount that a slipping, seized or wrongly turned screw could make, points to it.
 */
import { ARCMINUTE, DEGREE } from "../angles.js";
import type { Base } from "../mount/mount.js";
import { type AxisPlace, type BaseMotion, firstOrderMotion, moveAxis, stillBase } from "./axis-motion.js";
import { arcminutes, millimetres } from "./base-words.js";
import { expectedMotion, type Gains, type MotionParts } from "./gains.js";
import { jackFrame } from "./jack-frame.js";
import type { RoundNote } from "./round-note.js";
import {
  AZIMUTH_BOLTS,
  BASE_SLIDE,
  slideLever,
  slidingEnd,
  type TurnMade,
  type TurnsEffect,
  turnPerMm,
} from "./turns-made.js";

/** What is to be explained. Arcminutes. */
export interface ChangeQuestion {
  readonly base: Base;
  readonly latitudeDeg: number;
  readonly turns: readonly TurnMade[];
  readonly effect: TurnsEffect;
  readonly gains: Gains;
  readonly from: AxisPlace;
  /** Found minus expected: altitude, east. */
  readonly surprise: readonly [number, number];
  /** Covariance of the surprise without the gains' part. */
  readonly covariance: readonly [readonly [number, number], readonly [number, number]];
  readonly round: number;
}

/** 99 % of χ² with one degree of freedom: how far off its line a change may lie. */
const ON_THE_LINE = 6.63;
/** Part of the change asked for that an ordinary gain may account for besides, 1σ. */
const ORDINARY_GAIN = 0.1;
/** A screw moved by none of its turns up to twice them the wrong way, and a little beyond for the uncertainty. */
const PLAUSIBLE: readonly [number, number] = [-2.3, -0.25];

interface Suspect {
  readonly name: string;
  readonly askedMm: number;
  /** Arcminutes for one millimetre: altitude, east. */
  readonly perMm: readonly [number, number];
}

/** The note that says what most likely happened. */
export function explainChange(question: ChangeQuestion): RoundNote {
  const { surprise, round, effect, latitudeDeg } = question;
  const asked = firstOrderMotion(effect.whole, latitudeDeg);
  const spread = widened(question.covariance, asked);
  const suspects = suspectsOf(question)
    .map((suspect) => ({ suspect, ...alongLine(suspect.perMm, surprise, spread) }))
    .filter(({ suspect, amountMm, offLine }) => {
      const part = amountMm / suspect.askedMm;
      return offLine < ON_THE_LINE && part > PLAUSIBLE[0] && part < PLAUSIBLE[1];
    })
    .sort((a, b) => a.offLine - b.offLine);
  const best = suspects[0];
  // A single screw that was not turned, or the wrong way, is told by its name; that one explains several would be chance.
  const several = question.turns.length > 1;
  if ((best === undefined || several) && wrongWay(question, spread)) {
    return {
      code: "turned-the-wrong-way",
      round,
      adjusters: adjustersOf(question),
      message: `Round ${round} moved the axis as far as asked but the other way: everything seems to have been turned the wrong way round.`,
      remedy:
        "Look whether the threads are left-handed: then correct `clockwise` in the mount file. If the turns were simply made the other way, correct the file of turns.",
    };
  }
  if (several && isFoundAt(question.from, question, question.covariance)) {
    return {
      code: "nothing-moved",
      round,
      adjusters: adjustersOf(question),
      message: `After round ${round} the axis stands where it stood before, as if nothing had been turned.`,
      remedy:
        "Were these turns made before this night's sightings? If not, make them now, or take them out of the file of turns. If they were, look whether the screws really lift the frame.",
    };
  }
  if (best !== undefined) {
    const { suspect, amountMm } = best;
    const really = suspect.askedMm + amountMm;
    const others = suspects.slice(1).map((other) => other.suspect.name);
    const also =
      others.length === 0
        ? ""
        : ` It could as well be ${others.join(" or ")}: these look the same from the sky.`;
    return {
      code: "jack-did-not-follow",
      round,
      adjusters: suspects.map((one) => one.suspect.name),
      message: `In round ${round} the axis moved as if ${suspect.name} had gone ${signedWay(really)} instead of ${signedWay(suspect.askedMm)}.${also}`,
      remedy: suspects.every((one) => one.suspect.name === BASE_SLIDE)
        ? "Was the base slid as written down: at all, that way, by so much, and did it stay there? Correct the file of turns before turning on."
        : "Look at that screw and its foot: seized, slipping on its plate, sunk, turned the other way, or miscounted? Correct the file of turns, or mend it, before turning on.",
    };
  }
  return {
    code: "unexplained-change",
    round,
    adjusters: [],
    message: `Round ${round} left the axis ${arcminutes(surprise[0])} ${surprise[0] < 0 ? "lower" : "higher"} and ${arcminutes(surprise[1])} further ${surprise[1] < 0 ? "west" : "east"} than the turns should have, and no single adjuster explains it.`,
    remedy:
      "Look for a foot that lifts, a frame that twists, a floor that gives, and turns not written down or written down the wrong way round.",
  };
}

function signedWay(mm: number): string {
  return `${mm < 0 ? "−" : "+"}${millimetres(mm)}`;
}

type Spread = readonly [readonly [number, number], readonly [number, number]];

function widened(covariance: Spread, asked: AxisPlace): Spread {
  return [
    [covariance[0][0] + (ORDINARY_GAIN * asked.altitude) ** 2, covariance[0][1]],
    [covariance[1][0], covariance[1][1] + (ORDINARY_GAIN * asked.east) ** 2],
  ];
}

/** aᵀ S⁻¹ b for a 2 × 2 covariance. */
function product(a: readonly [number, number], b: readonly [number, number], spread: Spread): number {
  const [[p, q], [r, s]] = spread;
  const determinant = p * s - q * r;
  return (a[0] * (s * b[0] - q * b[1]) + a[1] * (p * b[1] - r * b[0])) / determinant;
}

/** How many millimetres along a suspect's line explain the surprise best, and the χ² that stays. */
function alongLine(
  perMm: readonly [number, number],
  surprise: readonly [number, number],
  spread: Spread,
): { readonly amountMm: number; readonly offLine: number } {
  const own = product(perMm, perMm, spread);
  const amountMm = product(perMm, surprise, spread) / own;
  return { amountMm, offLine: product(surprise, surprise, spread) - amountMm * amountMm * own };
}

function suspectsOf({ base, effect, latitudeDeg, gains }: ChangeQuestion): Suspect[] {
  const suspects: Suspect[] = [];
  const frame = jackFrame(base.jacks);
  const sign = latitudeDeg < 0 ? -1 : 1;
  const sine = Math.abs(Math.sin(latitudeDeg * DEGREE));
  if (frame !== null) {
    base.jacks.forEach((jack, index) => {
      const askedMm = effect.risesMm[index]!;
      if (askedMm === 0) return;
      suspects.push({
        name: jack.name,
        askedMm,
        perMm: [
          (sign * frame.slopeNorthPerMm[index]! * gains.altitude.jacks.value) / ARCMINUTE,
          (-sine * frame.slopeEastPerMm[index]! * gains.east.tilt.value) / ARCMINUTE,
        ],
      });
    });
  }
  const add = (name: string, askedMm: number, motionPerMm: BaseMotion): void => {
    if (askedMm === 0) return;
    const { altitude, east } = firstOrderMotion(motionPerMm, latitudeDeg);
    suspects.push({ name, askedMm, perMm: [altitude, east] });
  };
  if (base.azimuthBolts !== null) {
    const per = turnPerMm(base.azimuthBolts.end, base.azimuthBolts.leverMm);
    add(AZIMUTH_BOLTS, effect.bolts.turn / per, { ...stillBase, turn: per * gains.east.bolts.value });
  }
  if (base.lowerBearing !== null) {
    const per = 1 / base.lowerBearing.axisLengthMm;
    add("lower bearing (east–west)", effect.lowerBearing.bearingEast / per, {
      ...stillBase,
      bearingEast: per * gains.east.lowerBearing.value,
    });
    add("lower bearing (up–down)", effect.lowerBearing.bearingUp / per, {
      ...stillBase,
      bearingUp: per * gains.altitude.lowerBearing.value,
    });
  }
  const perSlide = turnPerMm(slidingEnd(latitudeDeg), slideLever(base));
  add(BASE_SLIDE, effect.slide.turn / perSlide, {
    ...stillBase,
    turn: perSlide * gains.east.slide.value,
  });
  return suspects;
}

function adjustersOf({ turns }: ChangeQuestion): string[] {
  return [...new Set(turns.map((turn) => turn.adjuster))];
}

/** Whether the axis was found near a place. */
function isFoundAt(place: AxisPlace, question: ChangeQuestion, spread: Spread): boolean {
  const { effect, gains, from, latitudeDeg, surprise } = question;
  const expected = moveAxis(from, expectedMotion(effect, gains), latitudeDeg);
  const off: [number, number] = [
    expected.altitude + surprise[0] - place.altitude,
    expected.east + surprise[1] - place.east,
  ];
  return product(off, off, spread) < 2 * ON_THE_LINE;
}

/** Whether the change is what the turns would have made with every one of them reversed. */
function wrongWay(question: ChangeQuestion, spread: Spread): boolean {
  const { effect, gains, from, latitudeDeg } = question;
  const reversedParts: MotionParts = {
    tilt: opposite(effect.tilt),
    bolts: opposite(effect.bolts),
    slide: opposite(effect.slide),
    lowerBearing: opposite(effect.lowerBearing),
  };
  return isFoundAt(moveAxis(from, expectedMotion(reversedParts, gains), latitudeDeg), question, spread);
}

function opposite(motion: BaseMotion): BaseMotion {
  return {
    slopeEast: -motion.slopeEast,
    slopeNorth: -motion.slopeNorth,
    turn: -motion.turn,
    bearingEast: -motion.bearingEast,
    bearingUp: -motion.bearingUp,
  };
}
