/** A small drawing of the mount that leans, droops and twists as the errors say, so many times too large. */
import { ARCMINUTE } from "../../../angles.js";
import type { Vector } from "../../../vectors.js";
import { draw } from "./sky-drawing.js";
import { type Direction, EXAGGERATION, horizonVector, type Telescope } from "./telescope.js";

const AXIS = 55;
const TUBE_AHEAD = 52;
const TUBE_BEHIND = 30;
const CROSS = 26;
/** Seen from the west and a little from above: east is away, north on the left. */
const TILT = 0.28;
const TURN = 0.45;

function screen([east, north, up]: Vector): readonly [number, number] {
  const right = -north * Math.cos(TURN) + east * Math.sin(TURN);
  const away = north * Math.sin(TURN) + east * Math.cos(TURN);
  return [right, -(up * Math.cos(TILT) + away * Math.sin(TILT))];
}

const along = (a: Vector, v: Vector, k: number): Vector => [
  a[0] + k * v[0],
  a[1] + k * v[1],
  a[2] + k * v[2],
];
const unit = (v: Vector): Vector => along([0, 0, 0], v, 1 / Math.hypot(...v));
const point = (v: Vector): string => {
  const [x, y] = screen(v);
  return `${x.toFixed(1)} ${y.toFixed(1)}`;
};

/** The drawing of the mount. */
export class MountDrawing {
  private readonly parts = {
    shouldAxis: draw("path", { class: "should" }),
    shouldTube: draw("path", { class: "should" }),
    axis: draw("path", { class: "axis" }),
    cross: draw("path", { class: "axis" }),
    tube: draw("path", { class: "tube" }),
  };

  constructor(svg: SVGSVGElement) {
    svg.append(
      draw("path", { class: "ground", d: "M-90 68H90M-34 68L-16 40H16L34 68" }),
      ...Object.values(this.parts),
    );
    for (const sign of ["N", "S"]) svg.append(draw("text", { x: sign === "N" ? -92 : 92, y: 60 }, sign));
  }

  /** Draws the mount with the tube turned somewhere. */
  show(telescope: Telescope, large: Telescope, turned: Direction): void {
    const { latitude, errors } = telescope;
    const size = (name: Parameters<typeof errors.get>[0]): number =>
      EXAGGERATION * (errors.get(name) ?? 0) * ARCMINUTE;
    const elevated = latitude >= 0 ? 1 : -1;
    const ideal: Vector = [0, elevated * Math.cos(latitude), Math.abs(Math.sin(latitude))];
    // The elevated end goes up, and east.
    const upward: Vector = [0, -elevated * Math.abs(Math.sin(latitude)), Math.cos(latitude)];
    const pole = unit(along(along(ideal, upward, size("polarAltitude")), [1, 0, 0], size("polarEast")));
    const foot: Vector = [0, 0, -36];
    const top = along(foot, pole, AXIS);
    const idealTop = along(foot, ideal, AXIS);
    // The east end of the declination axis stands a quarter turn east of where the tube looks.
    const eastEnd = horizonVector({ hourAngle: turned.hourAngle - Math.PI / 2, declination: 0 }, latitude);
    const north: Vector = along([0, 0, 0], pole, elevated);
    const across = unit(along(eastEnd, north, -size("squareness")));
    const wanted = horizonVector(turned, latitude);
    const real = this.lookOf(large, turned, wanted);
    // The tube is straight where it is held and droops toward its ends.
    const held = unit(along(real, [0, 0, 1], size("tubeSag") * Math.hypot(real[0], real[1])));
    const { shouldAxis, shouldTube, axis, cross, tube } = this.parts;
    const line = (from: Vector, to: Vector): string => `M${point(from)}L${point(to)}`;
    shouldAxis.setAttribute("d", line(along(foot, ideal, -15), along(idealTop, ideal, 25)));
    shouldTube.setAttribute(
      "d",
      line(along(idealTop, wanted, -TUBE_BEHIND), along(idealTop, wanted, TUBE_AHEAD + 18)),
    );
    axis.setAttribute("d", line(along(foot, pole, -15), top));
    const sag = 14 * size("trunnionSag");
    const low: Vector = [top[0], top[1], top[2] - sag];
    cross.setAttribute(
      "d",
      `M${point(along(top, across, -CROSS))}Q${point(low)} ${point(along(top, across, CROSS))}`,
    );
    const middle: Vector = [top[0], top[1], top[2] - sag / 2];
    tube.setAttribute(
      "d",
      `M${point(along(middle, held, -TUBE_BEHIND))}L${point(middle)}Q${point(along(middle, held, TUBE_AHEAD / 2))} ${point(along(middle, real, TUBE_AHEAD))}`,
    );
  }

  private lookOf(large: Telescope, turned: Direction, wanted: Vector): Vector {
    const looked = horizonVector(large.looksAt(turned), large.latitude);
    return looked.every(Number.isFinite) ? looked : wanted;
  }
}
