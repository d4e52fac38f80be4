/** A small drawing of the mount that leans, droops and twists as the errors say, so many times too large. */
import { groundLines, type MountLines, mountLines } from "../../../plots/mount-lines.js";
import type { Direction, Telescope } from "../../../plots/wrong-telescope.js";
import { draw } from "./sky-drawing.js";

const path = (line: readonly (readonly [number, number])[]): string =>
  `M${line.map(([x, y]) => `${x.toFixed(1)} ${y.toFixed(1)}`).join("L")}`;

/** The drawing of the mount. */
export class MountDrawing {
  private readonly parts: Readonly<Record<keyof MountLines, SVGElement>> = {
    shouldAxis: draw("path", { class: "should" }),
    shouldTube: draw("path", { class: "should" }),
    axis: draw("path", { class: "axis" }),
    cross: draw("path", { class: "axis" }),
    tube: draw("path", { class: "tube" }),
  };

  constructor(svg: SVGSVGElement) {
    svg.append(
      draw("path", { class: "ground", d: groundLines.map(path).join("") }),
      ...Object.values(this.parts),
    );
    for (const sign of ["N", "S"]) svg.append(draw("text", { x: sign === "N" ? -92 : 92, y: 60 }, sign));
  }

  /** Draws the mount with the tube turned somewhere. */
  show(telescope: Telescope, turned: Direction): void {
    const lines = mountLines(telescope, turned);
    for (const name of Object.keys(lines) as (keyof MountLines)[])
      this.parts[name].setAttribute("d", path(lines[name]));
  }
}
