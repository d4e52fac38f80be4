/** Errors that sit in what turns or reads an axis: the ring, an encoder's disc, the roller that drives it. */
import { type BuiltInTermName, termDescriptions } from "../mount/terms.js";
import { circlePoints, type Point } from "./drawing.js";

/** Lines of a drawing that are drawn alike; up positive. */
export interface Stroke {
  readonly lines: readonly (readonly Point[])[];
  readonly as: "should" | "wrong" | "rest" | "ground";
  /** What the legend calls it; nothing where it is left out of it. */
  readonly name?: string;
  readonly width?: number;
}

/** How large things are drawn; the picture is about 200 wide. */
const RADIUS = 50;
const SHIFT = 10;
const SQUEEZE = 0.12;
const [WHEEL, ROLLER, WRONG_ROLLER] = [42, 20, 13];
const TOP = 80;
const HOURS = 24;
const SHOULD = { as: "should", name: "as it should be" } as const;
const SEEN = "Seen along the axis, much too large. Dashed: as it should be.";

/**
 * The wheel that an error sits in, as it should be and as it is.
 *
 * @returns null for an error that sits in none
 */
export function wheelPart(name: BuiltInTermName): {
  readonly strokes: readonly Stroke[];
  readonly words: readonly (readonly [Point, string])[];
  readonly top: number;
  readonly said: string;
} | null {
  const axis = name.startsWith("hourAngle") ? "hour-angle" : "declination";
  const { positive } = termDescriptions[name];
  if (name === "ringSag") {
    return {
      strokes: [
        { lines: [circlePoints([0, 0], RADIUS)], ...SHOULD },
        { lines: [squeezed(RADIUS), cross([0, 0])], as: "wrong", name: "ring or frame" },
        { lines: [circlePoints([-36, -50], 12), circlePoints([36, -50], 12)], as: "rest", name: "rollers" },
      ],
      words: [],
      top: TOP,
      said: `In the ring or the frame: ${positive}. It gives under its load, or it is not round. ${SEEN}`,
    };
  }
  if (/Eccentric(Sin|Cos)$/.test(name)) {
    const off: Point = name.endsWith("Sin") ? [0, SHIFT] : [SHIFT, 0];
    return {
      strokes: [
        { lines: [circlePoints([0, 0], RADIUS)], ...SHOULD },
        { lines: [circlePoints(off, RADIUS), ...marks(off)], as: "wrong", name: "disc", width: 3 },
        { lines: [cross([0, 0])], as: "rest", name: "axis" },
        {
          lines: [
            [
              [-6, 74],
              [0, 64],
              [6, 74],
            ],
          ],
          as: "rest",
        },
      ],
      words: [[[34, 70], "read here"]],
      top: TOP,
      said: `In the ${axis} encoder or circle: its disc is not centred on the axis. Positive: ${positive}. ${SEEN}`,
    };
  }
  if (name.endsWith("Scale")) {
    const middle = -RADIUS / 2;
    const roller = (radius: number): Point[] => circlePoints([middle + WHEEL + radius, 0], radius);
    return {
      strokes: [
        { lines: [roller(ROLLER)], ...SHOULD },
        {
          lines: [circlePoints([middle, 0], WHEEL), cross([middle, 0])],
          as: "rest",
          name: "wheel on the axis",
        },
        { lines: [roller(WRONG_ROLLER)], as: "wrong", name: "roller or gear of the encoder" },
      ],
      words: [],
      top: TOP,
      said: `In the roller or gear that turns the ${axis} encoder: ${positive}. It is smaller than the mount file says, or it slips. ${SEEN}`,
    };
  }
  return null;
}

/** A ring that its load makes wide and low; it rests where it did. */
function squeezed(radius: number): Point[] {
  return circlePoints([0, 0], radius).map(
    ([x, y]): Point => [x * (1 + SQUEEZE), y * (1 - SQUEEZE) - radius * SQUEEZE],
  );
}

/** The marks of a divided disc. */
function marks([x, y]: Point): Point[][] {
  return Array.from({ length: HOURS }, (_, hour) => {
    const angle = (2 * Math.PI * hour) / HOURS;
    const at = (radius: number): Point => [x + radius * Math.sin(angle), y + radius * Math.cos(angle)];
    return [at(RADIUS * (hour % 6 === 0 ? 0.8 : 0.9)), at(RADIUS)];
  });
}

function cross([x, y]: Point): Point[] {
  return [
    [x - 5, y],
    [x + 5, y],
    [x, y],
    [x, y + 5],
    [x, y - 5],
  ];
}
