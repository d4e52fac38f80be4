/** The lines of a small mount that leans, droops and twists as its errors say, so many times too large. */
import { ARCMINUTE } from "../angles.js";
import type { BuiltInTermName } from "../mount/terms.js";
import { add, unit, type Vector } from "../vectors.js";
import type { Point } from "./drawing.js";
import { type Direction, EXAGGERATION, horizonVector, Telescope } from "./wrong-telescope.js";

const AXIS = 55;
const TUBE_AHEAD = 52;
const TUBE_BEHIND = 30;
const CROSS = 26;
/** Seen from the west and a little from above: east is away, north on the left. */
const TILT = 0.28;
const TURN = 0.45;
/** Pieces of a bent line. */
const PIECES = 10;

/** What the mount is drawn of; right and down positive. */
export interface MountLines {
  readonly shouldAxis: readonly Point[];
  readonly shouldTube: readonly Point[];
  readonly axis: readonly Point[];
  readonly cross: readonly Point[];
  readonly tube: readonly Point[];
}

/** How wide and high the drawing is about its middle. */
export const mountReach = { right: 100, down: 80 } as const;
/** The ground and the pier. */
export const groundLines: readonly (readonly Point[])[] = [
  [
    [-90, 68],
    [90, 68],
  ],
  [
    [-34, 68],
    [-16, 40],
    [16, 40],
    [34, 68],
  ],
];

/**
 * The mount with its tube turned somewhere.
 *
 * @param telescope - its place and its errors
 * @param turned - what the dials say
 */
export function mountLines(telescope: Telescope, turned: Direction): MountLines {
  const { latitude, errors } = telescope;
  const large = new Telescope(latitude, errors, EXAGGERATION);
  const size = (name: BuiltInTermName): number => EXAGGERATION * (errors.get(name) ?? 0) * ARCMINUTE;
  const elevated = latitude >= 0 ? 1 : -1;
  const ideal: Vector = [0, elevated * Math.cos(latitude), Math.abs(Math.sin(latitude))];
  // The elevated end goes up, and east.
  const upward: Vector = [0, -elevated * Math.abs(Math.sin(latitude)), Math.cos(latitude)];
  const pole = unit(add(add(ideal, upward, size("polarAltitude")), [1, 0, 0], size("polarEast")));
  const foot: Vector = [0, 0, -36];
  const top = add(foot, pole, AXIS);
  const idealTop = add(foot, ideal, AXIS);
  // The east end of the declination axis stands a quarter turn east of where the tube looks.
  const eastEnd = horizonVector({ hourAngle: turned.hourAngle - Math.PI / 2, declination: 0 }, latitude);
  const across = unit(add(eastEnd, pole, -elevated * size("squareness")));
  const wanted = horizonVector(turned, latitude);
  const looked = horizonVector(large.looksAt(turned), latitude);
  const real = looked.every(Number.isFinite) ? looked : wanted;
  // The tube is straight where it is held and droops toward its ends.
  const held = unit(add(real, [0, 0, 1], size("tubeSag") * Math.hypot(real[0], real[1])));
  const sag = 14 * size("trunnionSag");
  const middle: Vector = [top[0], top[1], top[2] - sag / 2];
  return {
    shouldAxis: [add(foot, ideal, -15), add(idealTop, ideal, 25)].map(screen),
    shouldTube: [add(idealTop, wanted, -TUBE_BEHIND), add(idealTop, wanted, TUBE_AHEAD + 18)].map(screen),
    axis: [add(foot, pole, -15), top].map(screen),
    cross: bent(add(top, across, -CROSS), [top[0], top[1], top[2] - sag], add(top, across, CROSS)),
    tube: [
      screen(add(middle, held, -TUBE_BEHIND)),
      ...bent(middle, add(middle, held, TUBE_AHEAD / 2), add(middle, real, TUBE_AHEAD)),
    ],
  };
}

function screen([east, north, up]: Vector): Point {
  const right = -north * Math.cos(TURN) + east * Math.sin(TURN);
  const away = north * Math.sin(TURN) + east * Math.cos(TURN);
  return [right, -(up * Math.cos(TILT) + away * Math.sin(TILT))];
}

/** A line from one place to another, bent towards a third. */
function bent(from: Vector, towards: Vector, to: Vector): Point[] {
  const [a, b, c] = [screen(from), screen(towards), screen(to)];
  return Array.from({ length: PIECES + 1 }, (_, piece): Point => {
    const t = piece / PIECES;
    const at = (k: 0 | 1): number => (1 - t) ** 2 * a[k] + 2 * t * (1 - t) * b[k] + t ** 2 * c[k];
    return [at(0), at(1)];
  });
}
