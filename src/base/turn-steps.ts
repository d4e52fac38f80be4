/** The order of turning as steps to tick off. */
import { ARCMINUTE } from "../angles.js";
import type { Way } from "./adjusters/adjuster.js";
import { waysOf } from "./adjusters/adjusters.js";
import { arcminutes, millimetres, turnsOf } from "./base-words.js";
import type { Setting } from "./correction.js";
import { gainOf } from "./gains.js";
import type { LevelChange, Move, TurnStep } from "./turn-advice.js";
import { LARGEST_STEP_TURNS, orderOfTurning } from "./turning-order.js";

/** The adjuster's name of a look at the level. */
const LEVEL_CHECK = "level";

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
 * The steps in the order of the rotations: the jacks, round the feet; then what turns the base; then the bearing.
 *
 * @throws PolewrightError `no-safe-order` when no order of the jacks keeps the twist limit
 */
export function turnSteps(
  setting: Setting,
  risesMm: readonly number[],
  moves: readonly (Move & { readonly way: Way })[],
): TurnStep[] {
  return [
    ...jackSteps(setting, risesMm),
    ...waysOf(setting.adjusters).flatMap((way) =>
      moves.filter((move) => move.way === way).flatMap((move) => waySteps(way, move)),
    ),
  ];
}

function jackSteps({ base, frame, gains }: Setting, risesMm: readonly number[]): TurnStep[] {
  if (frame === null || risesMm.every((rise) => rise === 0)) return [];
  const gainNorth = gainOf(gains, { axis: "altitude", by: "jacks" }).value;
  const gainEast = gainOf(gains, { axis: "east", by: "tilt" }).value;
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

/** One move cut into equal pieces of whole smallest turns, none above the largest step, the last one the rest. */
function waySteps(way: Way, { adjuster, direction, mm, turns }: Move): TurnStep[] {
  const step = (size: number, part: number | null): TurnStep => ({
    text: way.step(direction, size, part),
    adjuster,
    turns: part ?? 0,
    direction,
    mm: size,
  });
  const { pitchMm, smallestMm } = way;
  if (turns === null || pitchMm === null) return [step(mm, null)];
  const smallest = smallestMm / pitchMm;
  const most = Math.max(smallest, Math.floor(LARGEST_STEP_TURNS / smallest + 1e-9) * smallest);
  const list: TurnStep[] = [];
  for (let left = turns; left > 1e-9; left -= most) {
    const piece = Math.min(most, left);
    list.push(step(piece * pitchMm, piece));
  }
  return list;
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
 * groupSteps(advice.steps) // groups, such as: twelve times over, north-east 1/8, then north-west 1/8
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
