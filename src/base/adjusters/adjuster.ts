/**
 * What every adjuster of the base is: its names, the ways in which it moves the axis, and what of its turns was made.
 *
 * The advice, the rounds, the file of turns and the sheets iterate over these objects and know no adjuster by name. An
 * amount is in the unit of its way: a slope, an angle in radians, or a part of the axis's length.
 */
import { PolewrightError } from "../../errors.js";
import type { Base } from "../../mount/mount.js";
import type { BaseMotion } from "../axis-motion.js";
import { millimetres, turnsOf } from "../base-words.js";

/** Which way the axis moves. */
export type AxisName = "altitude" | "east";

/** Which way an adjuster was turned, or moved. */
export type TurnDirection = "clockwise" | "anticlockwise" | "east" | "west" | "up" | "down";

/** One adjuster turned. */
export interface TurnMade {
  /** A jack's name, `azimuth bolts`, `lower bearing`, or `base`. */
  readonly adjuster: string;
  /** Turns, never negative; for what has no screw 0. */
  readonly turns: number;
  readonly direction: TurnDirection;
  /** The way moved, never negative, millimetres: for what has no screw; with a screw null. */
  readonly mm: number | null;
  /** What the adjuster did to the base as a star showed it; then nothing was counted. */
  readonly seen?: readonly Amount[];
}

/** So much of one way. */
export interface Amount {
  readonly axis: AxisName;
  readonly by: string;
  readonly amount: number;
  /** Seen on a star: what it is, whatever the screw and the floor did. */
  readonly seen?: boolean;
}

/** One screw (or foot, or end) and how far it was asked to go. */
export interface Screw {
  readonly name: string;
  /** Up or east positive, millimetres. */
  readonly askedMm: number;
  /** The finest setting, millimetres. */
  readonly stepMm: number;
  /** What one millimetre of it is of each way. */
  readonly perMm: readonly Amount[];
}

/** One way in which an adjuster moves the axis. */
export interface Way {
  readonly axis: AxisName;
  /** The word for it in options and JSON. */
  readonly by: string;
  /** The adjuster's name in the file of turns. */
  readonly adjuster: string;
  /** `the azimuth bolts`. */
  readonly title: string;
  /** How the base moves for an amount. */
  motion(amount: number): BaseMotion;
  /** Millimetres that the moved part goes for a unit amount, east or up positive. */
  readonly mmPerUnit: number;
  /** The words for millimetres above and below zero. */
  readonly directions: readonly [TurnDirection, TurnDirection];
  /** Millimetres a turn; null where there is no screw. */
  readonly pitchMm: number | null;
  readonly smallestMm: number;
  /** Travel left towards the first and the second direction, millimetres. */
  readonly leftMm: readonly [number, number];
  /** Made by several jacks together, whose travel is each one's own. */
  readonly byJacks: boolean;
  /** Why it is of no use here; null where it is of use. */
  readonly lack: string | null;
  /** How far it goes, for the reasons: `the south end moves 2.1 mm`. */
  words(mm: number): string;
  /** One step: turns are null where there is no screw. */
  step(direction: TurnDirection, mm: number, turns: number | null): string;
  /** What to do about a rest that is out of its reach, radians of axis. */
  rest(radians: number): string;
}

/** Where something that can be turned or moved is on the base, seen from above. */
export interface Spot {
  /** Its name in the file of turns. */
  readonly adjuster: string;
  /** What is written beside it: `azimuth bolts: south end`. */
  readonly title: string;
  readonly eastMm: number;
  readonly northMm: number;
  /** A foot, which is drawn even where it stays. */
  readonly foot: boolean;
}

/** Something on the base that moves the axis. */
export interface Adjuster {
  /** What the file of turns calls it; several for jacks. */
  readonly names: readonly string[];
  readonly ways: readonly Way[];
  readonly spots: readonly Spot[];
  directions(inMillimetres: boolean): readonly TurnDirection[];
  /** What was turned, screw by screw. Turns of other adjusters are passed over. */
  screws(turns: readonly TurnMade[]): readonly Screw[];
  /** What can hurt when it moves. */
  readonly caution: string;
}

/** What an adjuster is made from. */
export interface BaseFacts {
  readonly base: Base;
  readonly latitudeDeg: number;
  /** Turns made since the mount file's travel was measured. */
  readonly used: readonly TurnMade[];
}

/** What the screw of a simple adjuster is like. */
export interface SimpleWay
  extends Pick<Way, "axis" | "by" | "title" | "motion" | "mmPerUnit" | "pitchMm" | "smallestMm" | "lack"> {
  readonly directions: readonly ["east", "west"] | readonly ["up", "down"];
  readonly travelMm: number | null;
  words(mm: number): string;
  step(direction: TurnDirection, far: string, turns: string | null): string;
}

const REST =
  "For the rest move the whole base, set this adjuster back to the middle of its travel, and sight again.";

/**
 * An adjuster with a screw (or shims, or a lever) for each way.
 *
 * @param name - its name in the file of turns
 */
export function simpleAdjuster(
  name: string,
  facts: BaseFacts,
  caution: string,
  ways: readonly SimpleWay[],
  spot: Omit<Spot, "adjuster" | "foot">,
): Adjuster {
  const words = ways.flatMap((way) => way.directions);
  const screws = (turns: readonly TurnMade[]): Screw[] =>
    ways.flatMap((way) => {
      const own = turns.filter((turn) => turn.adjuster === name && turn.seen === undefined);
      for (const turn of own) {
        if (!words.some((word) => word === turn.direction)) throw badDirection(turn, words.join(" or "));
      }
      const mine = own.filter((turn) => way.directions.some((word) => word === turn.direction));
      const askedMm = mine.reduce(
        (sum, turn) =>
          sum +
          (turn.direction === way.directions[0] ? 1 : -1) * (turn.mm ?? turn.turns * (way.pitchMm ?? 0)),
        0,
      );
      if (mine.length === 0) return [];
      const { axis, by, mmPerUnit } = way;
      const title = ways.length === 1 ? name : `${name} (${axis === "east" ? "east–west" : "up–down"})`;
      return [{ name: title, askedMm, stepMm: way.smallestMm, perMm: [{ axis, by, amount: 1 / mmPerUnit }] }];
    });
  return {
    names: [name],
    spots: [{ ...spot, adjuster: name, foot: false }],
    caution,
    directions: () => words,
    screws,
    ways: ways.map((way): Way => {
      const used = usedMm(facts.used, name, way);
      const travel = way.travelMm ?? Number.POSITIVE_INFINITY;
      return {
        ...way,
        adjuster: name,
        leftMm: [Math.max(0, travel - used), Math.max(0, travel + used)],
        byJacks: false,
        step: (direction, mm, turns) =>
          way.step(direction, millimetres(mm), turns === null ? null : turnsOf(turns)),
        rest: () => REST,
      };
    }),
  };

  function usedMm(used: readonly TurnMade[], adjuster: string, way: SimpleWay): number {
    const counted = screws(used)
      .flatMap((screw) => screw.perMm.map((per) => ({ per, mm: screw.askedMm })))
      .filter(({ per }) => per.axis === way.axis && per.by === way.by)
      .reduce((sum, { mm }) => sum + mm, 0);
    return counted + seenAmount(used, adjuster, way) * way.mmPerUnit;
  }
}

/** Half the length of a base without jacks, as it is drawn, millimetres. */
const UNKNOWN_HALF_MM = 200;

/**
 * The middle of an end of the base.
 *
 * @param part - 1 at the edge itself, 0 in the middle of the base
 */
export function endOf(base: Base, end: "north" | "south", part = 1): Pick<Spot, "eastMm" | "northMm"> {
  const easts = base.jacks.map(({ eastMm }) => eastMm);
  const norths = base.jacks.map(({ northMm }) => northMm);
  if (norths.length === 0) return { eastMm: 0, northMm: (end === "north" ? 1 : -1) * part * UNKNOWN_HALF_MM };
  const [low, high] = [Math.min(...norths), Math.max(...norths)];
  return {
    eastMm: (Math.min(...easts) + Math.max(...easts)) / 2,
    northMm: (low + high) / 2 + ((end === "north" ? 1 : -1) * part * (high - low)) / 2,
  };
}

/** How much of a way a star showed, in the way's unit. */
export function seenAmount(
  used: readonly TurnMade[],
  adjuster: string,
  way: { readonly axis: AxisName; readonly by: string },
): number {
  return used
    .filter((turn) => turn.adjuster === adjuster)
    .flatMap((turn) => turn.seen ?? [])
    .filter((amount) => amount.axis === way.axis && amount.by === way.by)
    .reduce((sum, { amount }) => sum + amount, 0);
}

export function badDirection(turn: TurnMade, allowed: string): PolewrightError {
  return new PolewrightError(
    "unknown-direction",
    `${turn.adjuster} cannot be turned "${turn.direction}". Allowed: ${allowed}.`,
  );
}

/** A way whose effect on its axis is less than a tenth of its turn is of no use. */
const LEAST_EFFECT = 0.1;

/** Why turning the base in azimuth is of no use at a latitude; null where it is. */
export function azimuthLack(latitudeDeg: number): string | null {
  const cosine = Math.cos((latitudeDeg * Math.PI) / 180);
  return cosine < LEAST_EFFECT
    ? `so near to the Earth's pole a turn in azimuth moves the axis by only ${cosine.toFixed(3)} of it`
    : null;
}

/** Turn of the base, clockwise as seen from above, for its end moved east by one millimetre, radians. */
export function turnPerMm(end: "north" | "south", leverMm: number): number {
  return (end === "north" ? 1 : -1) / leverMm;
}
