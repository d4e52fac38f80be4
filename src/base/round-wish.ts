/** The real turns of a wish, rounded to what a hand can set. */
import type { Base } from "../mount/mount.js";
import { effectAt, realTurns, type Setting, type Wish } from "./adjusters.js";
import { millimetres } from "./base-words.js";
import { type OtherScrew, type RoundedTurns, roundTurns } from "./round-turns.js";
import type { AltitudeMeans, AzimuthMeans } from "./turn-advice.js";
import { bearingStepMm, SLIDE_STEP_MM, slideLever, slidingEnd, turnPerMm } from "./turns-made.js";

/** Rounded turns and the steps they are counted in. */
export interface RoundedWish {
  readonly rounded: RoundedTurns;
  readonly jackStepsMm: readonly number[];
  readonly others: readonly (OtherScrew & { readonly axis: "altitude" | "east" })[];
}

/** Smallest step of a means, millimetres. */
export function stepOf(base: Base, axis: "altitude" | "east", by: AzimuthMeans | AltitudeMeans): number {
  if (by === "jacks" || by === "tilt")
    return Math.min(...base.jacks.map((jack) => jack.pitchMm * jack.smallestTurn));
  if (by === "bolts") return base.azimuthBolts!.pitchMm * base.azimuthBolts!.smallestTurn;
  if (by === "slide") return SLIDE_STEP_MM;
  return bearingStepMm(base.lowerBearing!, axis);
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
