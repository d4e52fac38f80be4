import { DEGREE } from "../angles.js";
import { meanOf } from "./measurements.js";
import type { Procedure } from "./procedure.js";

/** True north from a thick cord's shadow, as an offset in millimetres at the end of a base line; and the axis brought onto it. */
export const plumbNorth: Procedure = {
  name: "north",
  title: "North by a plumb line, in millimetres on a base line",
  steps: [
    "Hang a thick cord (5 to 10 mm) with a weight in a bucket of water, in sunlight, over level ground. Stand with your back to the Sun.",
    "Mark the foot of the cord. At the minute that `polewright daylight` gives, mark both edges of the shadow at the base line's end: left and right, millimetres on a ruler laid square to the shadow, seen from the foot, right positive.",
    "Write down where the shadow points then, by that table: azimuth.",
    "From the middle of the shadow lay off the offset given here: foot and point are the true meridian. Stretch a cord along it.",
    "Drop a plumb line from each end of the polar axis and measure how far east of the cord each stands: upperMm and lowerMm. Turn or slide the base until both stand alike.",
  ],
  write: {
    azimuth: {
      meaning: "where the shadow points, degrees from north through east",
      usual: null,
      from: -180,
      to: 360,
    },
    baseMm: { meaning: "length of the base line, millimetres", usual: 3000, from: 100, to: 50_000 },
    left: {
      meaning: "the shadow's left edge on the ruler, millimetres",
      usual: 0,
      several: true,
      from: -5000,
      to: 5000,
    },
    right: { meaning: "its right edge", usual: 0, several: true, from: -5000, to: 5000 },
    markMm: { meaning: "how well an edge is marked, millimetres (1σ)", usual: 2, from: 0.01, to: 500 },
    upperMm: {
      meaning: "how far east of the meridian the axis's upper end stands, millimetres",
      usual: 0,
      from: -5000,
      to: 5000,
    },
    lowerMm: { meaning: "how far east the lower end stands", usual: 0, from: -5000, to: 5000 },
    axisMm: {
      meaning: "from plumb line to plumb line along the meridian, millimetres; 0: not measured",
      usual: 0,
      from: 0,
      to: 50_000,
    },
  },
  cautions: [
    "Never look at the Sun, not even past the cord. Work with your back to it.",
    "Before the base is turned: tube parked, axes locked, drive power off, nothing and nobody under the frame, two people.",
  ],
  work(written, mount) {
    const value = (name: string): number => written[name]![0]!;
    const base = value("baseMm");
    const left = meanOf(written.left!, 0);
    const right = meanOf(written.right!, 0);
    const middle = (left.value + right.value) / 2;
    // From the shadow to the nearer end of the meridian, clockwise positive: to the right seen from the foot.
    const turn = ((((-value("azimuth") + 90) % 180) + 180) % 180) - 90;
    const end = Math.cos((value("azimuth") + turn) * DEGREE) > 0 ? "north" : "south";
    const offset = middle + base * Math.tan(turn * DEGREE);
    const uncertainty = Math.max(
      value("markMm") / Math.SQRT2,
      Math.hypot(left.uncertainty, right.uncertainty) / 2,
    );
    const north = { value: offset, uncertainty };
    const angle = uncertainty / base / DEGREE;
    const found = [{ name: `the meridian's ${end} end on the ruler, right positive`, unit: "mm", ...north }];
    const next = [`That gives the meridian to ${(60 * angle).toFixed(1)}′ (1σ).`];
    const axis = value("axisMm");
    if (axis > 0) {
      const error = (value("upperMm") - value("lowerMm")) / axis / DEGREE;
      const plumb = (Math.SQRT2 * 1) / axis / DEGREE;
      found.push({
        name: "the axis's azimuth error, upper end too far east positive",
        unit: "degrees",
        value: error,
        uncertainty: Math.hypot(angle, plumb),
      });
      const way = value("upperMm") > value("lowerMm") ? "west" : "east";
      const upper = mount.site.latitude >= 0 ? "north" : "south";
      next.push(
        `Move the ${upper} end of the base ${Math.abs(value("upperMm") - value("lowerMm")).toFixed(0)} mm ${way}, measured at the plumb line; then measure again.`,
      );
    }
    const steep = Math.abs(turn) > 45;
    return {
      sentence: `The meridian's ${end} end lies ${Math.abs(offset).toFixed(0)} ± ${uncertainty.toFixed(0)} mm to the ${offset >= 0 ? "right" : "left"} of the ruler's zero, at ${(base / 1000).toFixed(1)} m from the foot${steep ? "; nearer to noon the offset is smaller and surer" : ""}.`,
      found,
      next,
      picture: {
        x: "← left   mm   right →",
        y: "from the cord's foot, mm",
        lines: [
          {
            name: "the shadow's middle",
            joined: true,
            points: [
              [0, 0],
              [middle, base],
            ],
          },
          {
            name: "the meridian",
            joined: true,
            points: [
              [0, 0],
              [offset, base],
            ],
          },
        ],
        summary: `Seen from above, the cord's foot at the bottom: the shadow, and the meridian towards the ${end}.`,
      },
    };
  },
};
