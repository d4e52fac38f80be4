/**
 * Why a round's change was not what the turns should have made: one adjuster that did not do what it should, or neither.
 *
 * One screw that moved otherwise by so many millimetres shifts the axis along one line; a change that lies on that line, by
 * an amount that a slipping, seized or wrongly turned screw could make, points to it.
 */
import type { Base } from "../mount/mount.js";
import { BASE_SLIDE } from "./adjusters/slide.js";
import { type AxisPlace, firstOrderMotion, moveAxis } from "./axis-motion.js";
import { arcminutes, millimetres } from "./base-words.js";
import { expectedMotion, type Gains } from "./gains.js";
import { jackFrame } from "./jack-frame.js";
import type { RoundNote } from "./round-note.js";
import type { LevelReading } from "./rounds-result.js";
import { effectPerMm, type TurnMade, type TurnsEffect } from "./turns-made.js";

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
  readonly covariance: Spread;
  readonly round: number;
}

type Spread = readonly [readonly [number, number], readonly [number, number]];

/** 99 % of χ² with one degree of freedom: how far off its line a change may lie. */
const ON_THE_LINE = 6.63;
/** Part of the change asked for that an ordinary gain may account for besides, 1σ. */
const ORDINARY_GAIN = 0.1;
/** A screw moved by none of its turns up to twice them the wrong way, and a little beyond for the uncertainty. */
const PLAUSIBLE: readonly [number, number] = [-2.3, -0.25];
/** From here on it went the wrong way, rather than not at all: half-way between −1 and −2. */
const WRONG_WAY = -1.5;

/** The note that says what most likely happened. */
export function explainChange(question: ChangeQuestion): RoundNote {
  const { surprise, round, effect, latitudeDeg, gains } = question;
  const asked = firstOrderMotion(effect.whole, latitudeDeg);
  const spread = widened(question.covariance, asked);
  const suspects = effect.screws
    .map((suspect) => {
      const per = effectPerMm(suspect, effect.ways, latitudeDeg, gains);
      return { suspect, ...alongLine([per.altitude, per.east], surprise, spread) };
    })
    .filter(({ suspect, amountMm, offLine }) => {
      const part = amountMm / suspect.askedMm;
      return offLine < ON_THE_LINE && part > PLAUSIBLE[0] && part < PLAUSIBLE[1];
    })
    .sort((a, b) => a.offLine - b.offLine);
  const best = suspects[0];
  // A single screw that was not turned is told by its name; that one explains several would be chance.
  if (question.turns.length > 1 && isFoundAt(question.from, question)) {
    return {
      code: "nothing-moved",
      round,
      adjusters: [...new Set(question.turns.map((turn) => turn.adjuster))],
      message: `After round ${round} the axis stands where it stood before, as if nothing had been turned.`,
      remedy:
        "Were these turns made before this night's sightings? If not, make them now, or take them out of the file of turns. If they were, look whether the screws really lift the frame.",
    };
  }
  if (best !== undefined) {
    const { suspect, amountMm } = best;
    const others = suspects.slice(1).map((other) => other.suspect.name);
    const also =
      others.length === 0
        ? ""
        : ` It could equally be ${others.join(" or ")}: these look the same from the sky.`;
    const isWrongWay = amountMm / suspect.askedMm < WRONG_WAY;
    return {
      code: isWrongWay ? "turned-the-wrong-way" : "jack-did-not-follow",
      round,
      adjusters: suspects.map((one) => one.suspect.name),
      message: `In round ${round} the axis moved as if ${suspect.name} had gone ${signedWay(suspect.askedMm + amountMm)} instead of ${signedWay(suspect.askedMm)}.${also}`,
      remedy: isWrongWay
        ? THREAD_REMEDY
        : suspects.every((one) => one.suspect.name === BASE_SLIDE)
          ? "Was the base slid as written down: at all, that way, by so much, and did it stay there? Correct the file of turns before turning on."
          : "Look at that screw and its foot: seized, slipping on its plate, sunk, turned the other way, or miscounted? Correct the file of turns, or repair it, before turning on.",
    };
  }
  return {
    code: "unexplained-change",
    round,
    adjusters: [],
    message: `Round ${round} left the axis ${arcminutes(surprise[0])} ${surprise[0] < 0 ? "lower" : "higher"} and ${arcminutes(surprise[1])} further ${surprise[1] < 0 ? "west" : "east"} than the turns should have. No single adjuster explains it.`,
    remedy:
      "Look for a foot that lifts, a frame that twists, a floor that gives, and turns not written down or written down the wrong way round.",
  };
}

const THREAD_REMEDY =
  "Turn nothing more. Look whether its thread is left-handed: then correct `clockwise` (or the end that moves) in the mount file. If the turns were simply made the other way, correct the file of turns.";

/** Adjusters whose every turn went the wrong way. */
export function wrongWayNote(round: number, adjusters: readonly string[]): RoundNote {
  const names = adjusters.join(", ");
  return {
    code: "turned-the-wrong-way",
    round,
    adjusters,
    message: `Round ${round} moved the axis the wrong way: as if every turn of ${names} had gone the opposite way.`,
    remedy: THREAD_REMEDY,
  };
}

/** How well a level is read, millimetres per metre, and how truly a tilt follows. */
const LEVEL_MM_PER_M = 0.15;
const LEVEL_FOLLOWS = 0.15;

/** A level that shows another tilt than the jacks should have made; null where it agrees. */
export function levelNote(
  base: Base,
  effect: TurnsEffect,
  level: LevelReading,
  round: number,
): RoundNote | null {
  const frame = jackFrame(base.jacks);
  if (frame === null) return null;
  const plane = frame.planeOf(effect.risesMm);
  const expected = { north: 1000 * plane.slopeNorth, east: 1000 * plane.slopeEast };
  const off: [number, number] = [level.north - expected.north, level.east - expected.east];
  const allowed = Math.hypot(LEVEL_MM_PER_M, LEVEL_FOLLOWS * Math.hypot(expected.north, expected.east));
  if (Math.hypot(...off) <= 3 * allowed) return null;
  const spread: Spread = [
    [allowed ** 2, 0],
    [0, allowed ** 2],
  ];
  const suspects = base.jacks
    .map((jack, index) => {
      const per: [number, number] = [
        1000 * frame.slopeNorthPerMm[index]!,
        1000 * frame.slopeEastPerMm[index]!,
      ];
      return { name: jack.name, asked: effect.risesMm[index]!, ...alongLine(per, off, spread) };
    })
    .filter(({ asked, amountMm, offLine }) => {
      const part = amountMm / asked;
      return offLine < ON_THE_LINE && part > PLAUSIBLE[0] && part < PLAUSIBLE[1];
    })
    .sort((a, b) => a.offLine - b.offLine)
    .map(({ name }) => name);
  const found = `north side ${signedWay(level.north)} and east side ${signedWay(level.east)} per metre`;
  const wanted = `${signedWay(expected.north)} and ${signedWay(expected.east)}`;
  return {
    code: "level-differs",
    round,
    adjusters: suspects,
    message: `After round ${round} the level shows ${found}; the turns should have made ${wanted}.${suspects.length === 0 ? "" : ` It is as if ${suspects.join(" or ")} had not gone its way.`}`,
    remedy:
      "Look for a foot that lifts off its plate, a jack that was not turned, and a frame that twists. Correct the file of turns, or the foot, before turning on.",
  };
}

function signedWay(mm: number): string {
  return `${mm < 0 ? "−" : "+"}${millimetres(mm)}`;
}

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

/** Whether the axis was found near a place. */
function isFoundAt(
  place: AxisPlace,
  { effect, gains, from, latitudeDeg, surprise, covariance }: ChangeQuestion,
): boolean {
  const expected = moveAxis(from, expectedMotion(effect, gains), latitudeDeg);
  const off: [number, number] = [
    expected.altitude + surprise[0] - place.altitude,
    expected.east + surprise[1] - place.east,
  ];
  return product(off, off, covariance) < 2 * ON_THE_LINE;
}
