import { DEGREE } from "../angles.js";
import { secondsText } from "../exposure/good-enough.js";
import type { Stack } from "../exposure/stack.js";
import type { ImageField } from "../pointing/field.js";
import { fixed } from "../words/numbers.js";
import { lightTheme, type Theme } from "../words/theme.js";
import {
  axis,
  chartLayout,
  circlePoints,
  joined,
  type Point,
  rounded,
  type Trace,
  traceOf,
} from "./drawing.js";
import type { Figure } from "./figure.js";

const HEIGHT_PX = 560;

/**
 * How the picture of a stack walks and turns over the sky: its edge at the beginning and at the end, and its middle's way.
 *
 * @param stack - from {@link exposureStack}
 * @param field - the same field
 * @param theme - the colours; light when not given
 */
export function stackOfPictures(stack: Stack, field: ImageField, theme: Theme = lightTheme): Figure {
  const { colours } = theme;
  const half: Point = [30 * field.widthDeg, 30 * field.heightDeg];
  // Seen on the sky: where the field goes west in the picture, the picture goes east among the stars. East is to the left.
  const middles = stack.path.map(({ west, north }): Point => [-west / 60, -north / 60]);
  const edgeAt = (step: number): Point[] => {
    const turn = -stack.path[step]!.rotationDeg * DEGREE;
    const [x, y] = middles[step]!;
    return fieldEdge(field, half).map(([west, north]): Point => {
      // From north through east, east to the left: against the clock.
      const [cosine, sine] = [Math.cos(turn), Math.sin(turn)];
      return [x + west * cosine - north * sine, y + west * sine + north * cosine];
    });
  };
  const line = (name: string, points: readonly Point[], colour: string, dash = "solid"): Trace => ({
    ...traceOf.lines,
    name,
    ...joined([points]),
    line: { color: colour, width: 3, dash },
  });
  const traces: Trace[] = [
    line("the first picture", edgeAt(0), colours.first),
    line("the last picture", edgeAt(stack.path.length - 1), colours.second, "dash"),
    line("the way of its middle", middles, colours.third),
  ];
  const drawn = [...edgeAt(0), ...edgeAt(stack.path.length - 1)];
  const reach = 1.1 * Math.max(...drawn.flat().map(Math.abs));
  const range = [-rounded(reach), rounded(reach)];
  const title = `${stack.label}: a stack over ${secondsText(stack.totalS)}`;
  const layout = chartLayout(theme, title, HEIGHT_PX, -0.18, {
    xaxis: axis(theme, "← east   arcminutes   west →", { range, constrain: "domain", zeroline: false }),
    yaxis: axis(theme, "← south   arcminutes   north →", {
      range,
      scaleanchor: "x",
      constrain: "domain",
      zeroline: false,
    }),
  });
  const { west, north } = stack.walk;
  const summary = `The picture on the sky at the beginning and at the end of the stack: it walks ${fixed(Math.hypot(west, north) / 60, 1)}′ and turns by ${fixed(Math.abs(stack.rotationDeg), 2)}°. ${fixed(100 * stack.common, 0)} % of it is in every exposure. North up, east left, as on the sky.`;
  return { data: traces, layout, summary };
}

/** The edge about the middle, arcminutes west and north. */
export function fieldEdge(field: ImageField, [x, y]: Point): Point[] {
  if (field.kind === "camera")
    return [
      [-x, -y],
      [x, -y],
      [x, y],
      [-x, y],
      [-x, -y],
    ];
  return circlePoints([0, 0], x);
}
