import { escapeFigureText } from "../words/escape.js";
import { count } from "../words/lists.js";
import { lightTheme, type Theme } from "../words/theme.js";
import { bareAxis, joined, layoutFrame, type Point, rounded, type Trace, traceOf } from "./drawing.js";
import type { Figure } from "./figure.js";

/** More circles than this do not fit beside the picture of the sky on one sheet. */
const MOST_SKETCHES = 12;
const COLUMNS = 4;
/** In radii of a circle: from one to the next across and down, and from its middle to its name. */
const ACROSS = 2.25;
const DOWN = 2.6;
const NAME_BELOW = 1.22;
const ROW_PX = 250;

/**
 * Empty fields to draw in: a circle for each object, with its name and time below.
 *
 * @param names - what stands below each circle; the first twelve are drawn
 * @param theme - the colours; light when not given
 */
export function sketchFields(names: readonly string[], theme: Theme = lightTheme): Figure {
  const shown = names.slice(0, MOST_SKETCHES);
  const rows = Math.max(1, Math.ceil(shown.length / COLUMNS));
  const middles = shown.map((_, k): Point => [ACROSS * (k % COLUMNS), -DOWN * Math.floor(k / COLUMNS)]);
  const circle = ([x, y]: Point): Point[] =>
    Array.from({ length: 49 }, (_, k) => [
      x + Math.cos((k * Math.PI) / 24),
      y + Math.sin((k * Math.PI) / 24),
    ]);
  const traces: Trace[] = [
    {
      ...traceOf.lines,
      ...joined(middles.map(circle)),
      line: { color: theme.colours.muted, width: 1.5 },
    },
    {
      type: "scatter",
      mode: "text",
      x: middles.map(([x]) => rounded(x)),
      y: middles.map(([, y]) => rounded(y - NAME_BELOW)),
      text: shown.map(escapeFigureText),
      textposition: "middle center",
      textfont: { size: theme.fontSizePx, color: theme.colours.text },
      hoverinfo: "skip",
    },
  ];
  const layout = layoutFrame(theme, "What was seen: draw it", ROW_PX * rows, {
    showlegend: false,
    xaxis: bareAxis([-1.1, ACROSS * (COLUMNS - 1) + 1.1]),
    yaxis: bareAxis([-DOWN * (rows - 1) - 1.45, 1.1], { scaleanchor: "x" }),
  });
  const summary = `Empty fields for ${count(shown.length, "object")}, to draw in what the eyepiece shows. Mark north and the way the stars drift: that is west.`;
  return { data: traces, layout, summary };
}
