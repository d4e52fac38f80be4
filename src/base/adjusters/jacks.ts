/** Levelling jacks: north–south tilt for the altitude, east–west tilt for the azimuth at the price 1/|sin φ|. */
import { ARCMINUTE, DEGREE } from "../../angles.js";
import type { Jack } from "../../mount/mount.js";
import { stillBase } from "../axis-motion.js";
import { arcminutes, millimetres } from "../base-words.js";
import { jackFrame } from "../jack-frame.js";
import {
  type Adjuster,
  type AxisName,
  type BaseFacts,
  badDirection,
  seenAmount,
  type TurnMade,
  type Way,
} from "./adjuster.js";
import { slideLever, slidingEnd } from "./slide.js";

/** What a star showed all jacks together to do goes by this name in the file of turns. */
export const ALL_JACKS = "jacks";
/** East–west tilt is of no use nearer to the equator than this: 1/|sin φ| is above 29. */
const LEAST_TILT_LATITUDE_DEG = 2;

/** The rise of a jack for a turn made, up positive, millimetres. */
function riseOf(jack: Jack, turn: TurnMade): number {
  const { direction } = turn;
  if (direction === "up" || direction === "down") {
    return (direction === "up" ? 1 : -1) * (turn.mm ?? turn.turns * jack.pitchMm);
  }
  if (turn.mm !== null) throw badDirection(turn, "up or down, where the way is given in millimetres");
  if (direction !== "clockwise" && direction !== "anticlockwise") {
    throw badDirection(turn, "clockwise or anticlockwise");
  }
  return ((direction === "clockwise") === (jack.clockwise === "raises") ? 1 : -1) * turn.turns * jack.pitchMm;
}

/** The rise of every jack, in the base's order, millimetres. */
export function risesOf(jacks: readonly Jack[], turns: readonly TurnMade[]): number[] {
  return jacks.map((jack) =>
    turns
      .filter((turn) => turn.adjuster === jack.name && turn.seen === undefined)
      .reduce((sum, turn) => sum + riseOf(jack, turn), 0),
  );
}

export function jacks({ base, latitudeDeg }: BaseFacts): Adjuster | null {
  const frame = jackFrame(base.jacks);
  const few = frame === null ? "the jacks are fewer than three, or stand in one line" : null;
  if (base.jacks.length === 0) return null;
  const sine = Math.abs(Math.sin(latitudeDeg * DEGREE));
  const northern = latitudeDeg >= 0;
  const common = {
    adjuster: ALL_JACKS,
    directions: ["up", "down"],
    pitchMm: Math.min(...base.jacks.map((jack) => jack.pitchMm)),
    smallestMm: Math.min(...base.jacks.map((jack) => jack.pitchMm * jack.smallestTurn)),
    leftMm: [Number.POSITIVE_INFINITY, Number.POSITIVE_INFINITY],
    byJacks: true,
    step: () => "",
  } as const;
  const tilted = (extent: number, mm: number): string =>
    `a tilt of ${arcminutes(mm / extent / ARCMINUTE)}, ${millimetres(mm)} across the jacks`;
  const north = frame?.northExtent || 1;
  const east = frame?.eastExtent || 1;
  const ways: Way[] = [
    {
      ...common,
      axis: "altitude",
      by: "jacks",
      title: "the jacks",
      motion: (slopeNorth) => ({ ...stillBase, slopeNorth }),
      mmPerUnit: north,
      lack: few,
      words: (mm) => tilted(north, mm),
      rest: (radians) =>
        `For the rest pack the feet of the ${radians > 0 === northern ? "north" : "south"} side by about ${millimetres(north * radians)}. Then set the jacks back to the middle of their travel and sight again.`,
    },
    {
      ...common,
      axis: "east",
      by: "tilt",
      title: "tilting the base east–west with the jacks",
      motion: (slopeEast) => ({ ...stillBase, slopeEast }),
      mmPerUnit: east,
      lack:
        few ??
        (Math.abs(latitudeDeg) < LEAST_TILT_LATITUDE_DEG
          ? `so near to the equator an east–west tilt moves the axis by only ${sine.toFixed(3)} of it`
          : null),
      words: (mm) => tilted(east, mm),
      rest: (radians) =>
        `For the rest slide the base: its ${slidingEnd(latitudeDeg)} end about ${millimetres((slideLever(base) * radians) / Math.max(0.01, Math.cos(latitudeDeg * DEGREE)))}.`,
    },
  ];
  return {
    names: base.jacks.map((jack) => jack.name),
    ways,
    spots: base.jacks.map(({ name, eastMm, northMm }) => ({
      adjuster: name,
      title: name,
      eastMm,
      northMm,
      foot: true,
    })),
    caution:
      "Jacks: one at a time, in the small steps given. Stop if one goes stiff or suddenly easy: the foot has taken too much weight or lost it.",
    directions: (inMillimetres) =>
      inMillimetres ? ["up", "down"] : ["clockwise", "anticlockwise", "up", "down"],
    screws: (turns) => {
      const rises = risesOf(base.jacks, turns);
      return base.jacks.flatMap((jack, index) =>
        frame === null || !turns.some((turn) => turn.adjuster === jack.name)
          ? []
          : [
              {
                name: jack.name,
                askedMm: rises[index]!,
                stepMm: jack.pitchMm * jack.smallestTurn,
                perMm: [
                  { axis: "altitude", by: "jacks", amount: frame.slopeNorthPerMm[index]! },
                  { axis: "east", by: "tilt", amount: frame.slopeEastPerMm[index]! },
                ],
              },
            ],
      );
    },
  };
}

/** The base as its jacks stand after turns: what was raised is travel used upward and won downward. */
export function jacksAfter(base: BaseFacts["base"], used: readonly TurnMade[]): readonly Jack[] {
  const frame = jackFrame(base.jacks);
  const counted = risesOf(base.jacks, used);
  const seen = (axis: AxisName, by: string): number => seenAmount(used, ALL_JACKS, { axis, by });
  const tilt = { mean: 0, slopeNorth: seen("altitude", "jacks"), slopeEast: seen("east", "tilt") };
  // What a star showed is taken as raised, not lowered, as the advice asks for.
  const plane = frame?.risesOf(tilt) ?? base.jacks.map(() => 0);
  const lowest = Math.min(0, ...plane);
  return base.jacks.map((jack, index) => {
    const rise = counted[index]! + plane[index]! - lowest;
    return {
      ...jack,
      raiseLeftMm: Math.max(0, jack.raiseLeftMm - rise),
      lowerLeftMm: Math.max(0, jack.lowerLeftMm + rise),
    };
  });
}
