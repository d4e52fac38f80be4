/** The sky as a disc: the zenith in the middle, the horizon as its rim. */
import { DEGREE } from "../../../angles.js";
import {
  type Direction,
  directionOf,
  EXAGGERATION,
  horizonVector,
  type Telescope,
} from "../../../plots/wrong-telescope.js";
import type { MysteryStar } from "../../../simulate/mystery.js";
import { add, type Vector } from "../../../vectors.js";

const RADIUS = 100;
const HEAD = 3;
const RINGS: readonly (readonly [number, number])[] = [
  [12, 20],
  [28, 16],
  [44, 14],
  [60, 10],
  [76, 6],
];
const SVG = "http://www.w3.org/2000/svg";

/** Makes a part of a drawing. */
export function draw<Tag extends keyof SVGElementTagNameMap>(
  tag: Tag,
  given: Readonly<Record<string, string | number>>,
  text = "",
): SVGElementTagNameMap[Tag] {
  const element = document.createElementNS(SVG, tag);
  for (const [name, value] of Object.entries(given)) element.setAttribute(name, String(value));
  element.textContent = text;
  return element;
}

/** Places all over the sky, in the horizon's frame. */
const places: readonly Vector[] = RINGS.flatMap(([altitude, count], ring) =>
  Array.from({ length: count }, (_, k): Vector => {
    const azimuth = ((k + (ring % 2) / 2) / count) * 2 * Math.PI;
    const level = Math.cos(altitude * DEGREE);
    return [level * Math.sin(azimuth), level * Math.cos(azimuth), Math.sin(altitude * DEGREE)];
  }),
);

/** The end of a way that begins at a place, so many times too far. */
function exaggerated(from: Vector, to: Vector): Vector {
  return add(from, add(to, from, -1), EXAGGERATION);
}

/** What the arrows come to. */
export interface Summary {
  /** Arcminutes on the sky. */
  readonly mean: number;
  readonly worst: number;
  /** Where the worst is, in the horizon's frame. */
  readonly worstAt: Vector;
}

/** The drawing of the sky. */
export class SkyDrawing {
  private readonly arrows = draw("path", { class: "arrows" });
  private readonly riddleArrows = draw("path", { class: "riddle-arrows" });
  private readonly numbers = draw("g", {});
  private readonly circles = draw("path", { class: "line" });
  private readonly signs = draw("g", {});
  private readonly pole = draw("text", {}, "+");
  private readonly set = draw("circle", { class: "set", r: 3.2 });
  private readonly looks = draw("path", { class: "looks" });
  private inside = true;
  /** Where arrows begin: all over the sky, or at a riddle's stars. */
  private tails: readonly Vector[] = places;

  constructor(svg: SVGSVGElement) {
    svg.append(
      draw("circle", { class: "rim", r: RADIUS }),
      draw("circle", { class: "line", r: (RADIUS * 2) / 3 }),
      draw("circle", { class: "line", r: RADIUS / 3 }),
      this.circles,
      this.signs,
      this.pole,
      this.riddleArrows,
      this.arrows,
      this.numbers,
      this.set,
      this.looks,
    );
  }

  /** From inside the dome east is on the left with north on top, as one sees it looking up; from outside on the right. */
  seenFromInside(inside: boolean): void {
    this.inside = inside;
    this.signs.replaceChildren(
      ...(["N", "E", "S", "W"] as const).map((sign, index) => {
        const [x, y] = this.spot([Math.sin((index * Math.PI) / 2), Math.cos((index * Math.PI) / 2), 0]);
        return draw("text", { x: 1.07 * x, y: 1.07 * y }, sign);
      }),
    );
  }

  private spot([east, north, up]: Vector): readonly [number, number] {
    const level = Math.hypot(east, north);
    const radius = (Math.atan2(level, up) / (Math.PI / 2)) * RADIUS;
    const scale = level === 0 ? 0 : radius / level;
    return [(this.inside ? -1 : 1) * scale * east, -scale * north];
  }

  private arrow(from: Vector, to: Vector): string {
    const [x, y] = this.spot(from);
    const [endX, endY] = this.spot(to);
    const length = Math.hypot(endX - x, endY - y);
    if (length < 0.3) return `M${x.toFixed(1)} ${y.toFixed(1)}h.01`;
    const head = Math.min(HEAD, length / 2);
    const [ux, uy] = [((endX - x) / length) * head, ((endY - y) / length) * head];
    const point = (px: number, py: number): string => `${px.toFixed(1)} ${py.toFixed(1)}`;
    return `M${point(x, y)}L${point(endX, endY)}M${point(endX - ux - 0.6 * uy, endY - uy + 0.6 * ux)}L${point(endX, endY)}L${point(endX - ux + 0.6 * uy, endY - uy - 0.6 * ux)}`;
  }

  /** Draws everything for a telescope that is turned somewhere. */
  show(telescope: Telescope, turned: Direction): Summary {
    const { latitude } = telescope;
    let path = "";
    let sum = 0;
    let worst = -1;
    let worstAt = this.tails[0]!;
    for (const place of this.tails) {
      const to = horizonVector(telescope.dialsAt(directionOf(place, latitude)), latitude);
      // Closer to the pole than its errors are large the telescope looks nowhere.
      if (!to.every(Number.isFinite)) continue;
      path += this.arrow(place, exaggerated(place, to));
      const off = Math.hypot(to[0] - place[0], to[1] - place[1], to[2] - place[2]);
      sum += off;
      if (off > worst) {
        worst = off;
        worstAt = place;
      }
    }
    this.arrows.setAttribute("d", path);
    this.circles.setAttribute("d", this.equator(latitude));
    const elevated = latitude >= 0 ? Math.PI / 2 : -Math.PI / 2;
    const [poleX, poleY] = this.spot(horizonVector({ hourAngle: 0, declination: elevated }, latitude));
    this.pole.setAttribute("x", String(poleX));
    this.pole.setAttribute("y", String(poleY));
    const dials = horizonVector(turned, latitude);
    const isUp = dials[2] > 0;
    for (const mark of [this.set, this.looks]) mark.style.display = isUp ? "" : "none";
    const [x, y] = this.spot(dials);
    this.set.setAttribute("cx", String(x));
    this.set.setAttribute("cy", String(y));
    const looked = horizonVector(telescope.looksAt(turned), latitude);
    this.looks.setAttribute("d", this.arrow(exaggerated(dials, looked), dials));
    const arcmin = (180 * 60) / Math.PI;
    return { mean: (sum / this.tails.length) * arcmin, worst: worst * arcmin, worstAt };
  }

  private equator(latitude: number): string {
    let path = "";
    let pen = "M";
    for (let h = -180; h <= 180; h += 3) {
      const place = horizonVector({ hourAngle: h * DEGREE, declination: 0 }, latitude);
      if (place[2] < 0) {
        pen = "M";
        continue;
      }
      const [x, y] = this.spot(place);
      path += `${pen}${x.toFixed(1)} ${y.toFixed(1)}`;
      pen = "L";
    }
    return path;
  }

  /** The riddle's stars: from where the star stood, as the telescope really looked, to where the dials said. */
  showRiddle(stars: readonly MysteryStar[], latitude: number): void {
    let path = "";
    const labels: SVGElement[] = [];
    const tails: Vector[] = [];
    for (const star of stars) {
      const there: Direction = {
        hourAngle: star.hourAngleDeg * DEGREE,
        declination: star.declinationDeg * DEGREE,
      };
      const dials: Direction = {
        hourAngle: there.hourAngle + (star.west / 60 / Math.cos(there.declination)) * DEGREE,
        declination: there.declination + (star.north / 60) * DEGREE,
      };
      const from = horizonVector(there, latitude);
      tails.push(from);
      path += this.arrow(from, exaggerated(from, horizonVector(dials, latitude)));
      const [x, y] = this.spot(from);
      labels.push(draw("text", { x: x + 4, y: y - 4, class: "number-text" }, String(star.row)));
    }
    this.riddleArrows.setAttribute("d", path);
    this.numbers.replaceChildren(...labels);
    this.tails = tails.length > 0 ? tails : places;
  }
}
