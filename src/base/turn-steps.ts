/** The order of turning as steps to tick off. */
import { ARCMINUTE } from "../angles.js";
import type { Base } from "../mount/mount.js";
import { arcminutes, millimetres, turnsOf } from "./base-words.js";
import type { JackFrame } from "./jack-frame.js";
import type { BaseSlide, BoltTurn, LevelChange, LowerBearingMove, TurnStep } from "./turn-advice.js";
import { LARGEST_STEP_TURNS, orderOfTurning } from "./turning-order.js";
import { AZIMUTH_BOLTS, BASE_SLIDE, LOWER_BEARING } from "./turns-made.js";

/** The adjuster's name of a look at the level. */
const LEVEL_CHECK = "level";

/** What is to be done. */
export interface Deeds {
  readonly base: Base;
  readonly frame: JackFrame | null;
  readonly risesMm: readonly number[];
  readonly bolts: BoltTurn | null;
  readonly lowerBearing: LowerBearingMove | null;
  readonly slide: BaseSlide | null;
  /** How much of a tilt asked for is to be expected, north and east. */
  readonly gainNorth: number;
  readonly gainEast: number;
}

/** The change of level for slopes. */
export function levelChange(slopeNorth: number, slopeEast: number): LevelChange {
  return {
    northUpArcmin: slopeNorth / ARCMINUTE + 0,
    eastUpArcmin: slopeEast / ARCMINUTE + 0,
    northUpMmPerM: 1000 * slopeNorth + 0,
    eastUpMmPerM: 1000 * slopeEast + 0,
  };
}

/**
 * The steps: sliding first, for it disturbs the rest; then the jacks, round the feet; then bolts and bearing.
 *
 * @throws PolewrightError `no-safe-order` when no order of the jacks keeps the twist limit
 */
export function turnSteps(deeds: Deeds): TurnStep[] {
  return [...slideSteps(deeds), ...jackSteps(deeds), ...boltSteps(deeds), ...bearingSteps(deeds)];
}

function slideSteps({ slide }: Deeds): TurnStep[] {
  if (slide === null) return [];
  return [
    {
      text: `Slide the ${slide.end} end of the base ${millimetres(slide.shiftMm)} to the ${slide.direction}, the other end staying where it is; then see that every foot bears.`,
      adjuster: BASE_SLIDE,
      turns: 0,
      direction: slide.direction,
      mm: slide.shiftMm,
    },
  ];
}

function jackSteps({ base, frame, risesMm, gainNorth, gainEast }: Deeds): TurnStep[] {
  if (frame === null || risesMm.every((rise) => rise === 0)) return [];
  const order = orderOfTurning(base.jacks, frame, risesMm, base.warpLimitMm);
  const whole = order.reduce((sum, step) => sum + Math.abs(step.riseMm), 0);
  const done = risesMm.map(() => 0);
  const steps: TurnStep[] = [];
  let moved = 0;
  let halfSeen = false;
  const check = (text: (level: LevelChange) => string): void => {
    const plane = frame.planeOf(done);
    const level = levelChange(plane.slopeNorth * gainNorth, plane.slopeEast * gainEast);
    steps.push({ text: text(level), adjuster: LEVEL_CHECK, turns: 0, direction: "none", mm: 0, level });
  };
  check(
    () =>
      "Before the first turn, note where the bubble or the inclinometer stands: all changes of level count from there.",
  );
  for (const step of order) {
    const jack = base.jacks[step.jack]!;
    const direction = step.riseMm > 0 === (jack.clockwise === "raises") ? "clockwise" : "anticlockwise";
    done[step.jack]! += step.riseMm;
    moved += Math.abs(step.riseMm);
    steps.push({
      text: `Turn the ${jack.name} jack ${turnsOf(step.turns)} ${direction}: ${millimetres(step.riseMm)} ${step.riseMm > 0 ? "up" : "down"}${jack.softGround ? ", and let the ground settle" : ""}.`,
      adjuster: jack.name,
      turns: step.turns,
      direction,
      mm: Math.abs(step.riseMm),
    });
    if (!halfSeen && order.length > 3 && moved >= whole / 2 && moved < whole) {
      halfSeen = true;
      check((level) => `Half-way, look at the level: ${levelText(level)}`);
    }
  }
  check((level) => `The jacks are done, look at the level: ${levelText(level)}`);
  return steps;
}

function levelText(level: LevelChange): string {
  const side = (arcmin: number, mmPerM: number, plus: string, minus: string): string =>
    `the ${arcmin < 0 ? minus : plus} side up by ${arcminutes(arcmin)} (${Math.abs(mmPerM).toFixed(2)} mm per metre)`;
  return `${side(level.northUpArcmin, level.northUpMmPerM, "north", "south")}, ${side(level.eastUpArcmin, level.eastUpMmPerM, "east", "west")}. If it is not so to about a fifth, stop and find out why.`;
}

/** Turns cut into equal pieces of whole smallest turns, none above the largest step, the last one the rest. */
function pieces(turns: number, smallestTurn: number): number[] {
  const most = Math.max(smallestTurn, Math.floor(LARGEST_STEP_TURNS / smallestTurn + 1e-9) * smallestTurn);
  const list: number[] = [];
  let left = turns;
  while (left > 1e-9) {
    const piece = Math.min(most, left);
    list.push(piece);
    left -= piece;
  }
  return list;
}

function boltSteps({ base, bolts }: Deeds): TurnStep[] {
  if (bolts === null || base.azimuthBolts === null) return [];
  const { pitchMm, smallestTurn } = base.azimuthBolts;
  const opposite = bolts.direction === "east" ? "west" : "east";
  return pieces(bolts.turns, smallestTurn).map((turns) => ({
    text: `At the ${bolts.end} end: back the ${bolts.direction} bolt off by ${turnsOf(turns)}, then push with the ${opposite} bolt by ${turnsOf(turns)}: that end moves ${millimetres(turns * pitchMm)} ${bolts.direction}.`,
    adjuster: AZIMUTH_BOLTS,
    turns,
    direction: bolts.direction,
    mm: turns * pitchMm,
  }));
}

function bearingSteps({ base, lowerBearing }: Deeds): TurnStep[] {
  const bearing = base.lowerBearing;
  if (lowerBearing === null || bearing === null) return [];
  const move = (
    mm: number,
    turns: number | null,
    pitch: number | null,
    plus: string,
    minus: string,
  ): TurnStep[] => {
    if (mm === 0) return [];
    const direction = mm > 0 ? plus : minus;
    if (turns === null || pitch === null) {
      return [
        {
          text: `Move the lower bearing ${millimetres(mm)} ${direction} with shims.`,
          adjuster: LOWER_BEARING,
          turns: 0,
          direction,
          mm: Math.abs(mm),
        },
      ];
    }
    return pieces(turns, bearing.smallestTurn).map((piece) => ({
      text: `Move the lower bearing ${direction} by ${turnsOf(piece)}: ${millimetres(piece * pitch)}.`,
      adjuster: LOWER_BEARING,
      turns: piece,
      direction,
      mm: piece * pitch,
    }));
  };
  return [
    ...move(lowerBearing.eastMm, lowerBearing.eastTurns, bearing.eastWestPitchMm, "east", "west"),
    ...move(lowerBearing.upMm, lowerBearing.upTurns, bearing.upDownPitchMm, "up", "down"),
  ];
}

/** A run of steps that repeats. */
export interface StepGroup {
  readonly times: number;
  readonly steps: readonly TurnStep[];
}

/**
 * The same steps with repeated rounds put together, so that a long order fits a page.
 *
 * @param steps - the steps of an advice
 * @returns groups in order; a group's steps are done one after the other, the whole group `times` over
 * @example
 * ```ts
 * groupSteps(advice.steps) // [{ times: 12, steps: [north-east 1/8, north-west 1/8] }, …]
 * ```
 */
export function groupSteps(steps: readonly TurnStep[]): StepGroup[] {
  const groups: StepGroup[] = [];
  let place = 0;
  while (place < steps.length) {
    let best = { length: 1, times: 1 };
    for (let length = 1; length <= 16 && place + 2 * length <= steps.length; length++) {
      let times = 1;
      while (
        place + (times + 1) * length <= steps.length &&
        Array.from({ length }, (_, index) => index).every(
          (index) => steps[place + index]!.text === steps[place + times * length + index]!.text,
        )
      ) {
        times += 1;
      }
      if (times > 1 && times * length > best.times * best.length) best = { length, times };
    }
    groups.push({ times: best.times, steps: steps.slice(place, place + best.length) });
    place += best.length * best.times;
  }
  return groups;
}
