/** The real turns of a wish, rounded to what a hand can set. */
import type { AxisName, Way } from "./adjusters/adjuster.js";
import { millimetres } from "./base-words.js";
import { effectAt, realTurns, type Setting, type Wish, wayBy } from "./correction.js";
import { type OtherScrew, type RoundedTurns, roundTurns } from "./round-turns.js";

/** A way other than the jacks', rounded with the rest. */
interface RoundedWay extends OtherScrew {
  readonly axis: AxisName;
  readonly way: Way;
}

/** Rounded turns and the steps they are counted in. */
export interface RoundedWish {
  readonly rounded: RoundedTurns;
  readonly jackStepsMm: readonly number[];
  readonly others: readonly RoundedWay[];
}

/** Rounds the turns that a wish takes; null where no whole steps keep the limits. Says so when it takes finer steps. */
export function roundWish(
  setting: Setting,
  wish: Wish,
  equalWithinArcmin: number,
  reasons: string[],
): RoundedWish | null {
  const { base, frame } = setting;
  const real = realTurns(setting, wish);
  if (real.risesMm === null) return null;
  const { risesMm } = real;
  const effect = effectAt(setting, wish, real.up, real.over);
  const others = (["altitude", "east"] as const).flatMap((axis): RoundedWay[] => {
    const way = wish[axis]?.way;
    if (way === undefined || way.byJacks) return [];
    const per = axis === "altitude" ? effect.ofUp : effect.ofOver;
    return [
      {
        axis,
        way,
        stepMm: way.smallestMm,
        lowestMm: Math.max(-1e9, -way.leftMm[1]),
        highestMm: Math.min(1e9, way.leftMm[0]),
        realMm: (axis === "altitude" ? real.up : real.over) * way.mmPerUnit,
        perMm: [per[0] / way.mmPerUnit, per[1] / way.mmPerUnit],
      },
    ];
  });
  const north = wayBy(setting, "altitude", "jacks");
  const east = wayBy(setting, "east", "tilt");
  const tilts = wish.altitude?.way.byJacks || wish.east?.way.byJacks;
  if (!tilts || frame === null || north === null || east === null) {
    return {
      rounded: roundTurns({ jacks: null, others, equalWithinArcmin })!,
      jackStepsMm: base.jacks.map(() => 1),
      others,
    };
  }
  // Every jack may be rounded either way, so both slopes matter even where one of them is not asked for.
  const slopes = effectAt(
    setting,
    { altitude: { way: north, to: 0 }, east: { way: east, to: 0 } },
    wish.altitude?.way.byJacks ? real.up : 0,
    wish.east?.way.byJacks ? real.over : 0,
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
        realMm: risesMm,
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
