/**
 * What every figure shares: rounding, the frame of a layout, axes, arrows.
 */
import { escapeFigureText } from "../words/escape.js";
import type { Theme } from "../words/theme.js";
import type { Properties } from "./figure.js";

/** One trace of a figure. */
export type Trace = Properties;

/** A point in a figure's own coordinates. */
export type Point = readonly [number, number];

const LINES = { type: "scatter", mode: "lines", hoverinfo: "skip" } as const;

/** What each kind of trace has in common; a trace says the rest. The legend names bare lines and words nowhere. */
export const traceOf = {
  lines: LINES,
  bareLines: { ...LINES, showlegend: false },
  marks: { type: "scatter", mode: "markers", hoverinfo: "text" },
  words: { type: "scatter", mode: "text", hoverinfo: "skip", showlegend: false },
} as const;

/** Where the marks or words of a trace stand. */
export function placed(points: readonly Point[]): { readonly x: number[]; readonly y: number[] } {
  return { x: points.map(([x]) => rounded(x)), y: points.map(([, y]) => rounded(y)) };
}

/** A mark with a line round it in its own colour: what an open symbol is drawn with. */
export function outlined(symbol: string, size: number, color: string, width: number): Properties {
  return { symbol, size, color, line: { color, width } };
}

/** Coordinates keep this many significant digits: finer than any screen shows, and short in a notebook file. */
const SIGNIFICANT_DIGITS = 5;
/** A coordinate smaller than this is zero but for rounding. */
const NOTHING = 1e-9;

/** A number with few digits, so that figures stay small and comparable. */
export function rounded(value: number): number {
  const isNothing = !Number.isFinite(value) || Math.abs(value) < NOTHING;
  return isNothing ? 0 : Number(value.toPrecision(SIGNIFICANT_DIGITS));
}

/** The largest of 1, 1.5, 2, 3, 5, 7 times a power of ten that is not above the value. */
export function niceBelow(value: number): number {
  if (!(value > 0) || !Number.isFinite(value)) return 1;
  const power = 10 ** Math.floor(Math.log10(value) + 1e-12);
  const step = [7, 5, 3, 2, 1.5, 1].find((candidate) => candidate * power <= value * (1 + 1e-9)) ?? 1;
  return Number((step * power).toPrecision(3));
}

/** The smallest of 1, 2, 5 times a power of ten that is not below the value. */
export function niceAbove(value: number): number {
  if (!(value > 0) || !Number.isFinite(value)) return 1;
  const power = 10 ** Math.floor(Math.log10(value) + 1e-12);
  const step = [1, 2, 5, 10].find((candidate) => candidate * power >= value * (1 - 1e-9)) ?? 10;
  return Number((step * power).toPrecision(3));
}

/** A layout with the theme's colours and letters; the axes are added by the figure. */
export function layoutFrame(
  theme: Theme,
  title: string,
  heightPx: number,
  more: Properties = {},
): Properties {
  const { colours } = theme;
  return {
    title: { text: escapeFigureText(title), font: { size: theme.fontSizePx + 3, color: colours.text } },
    height: heightPx,
    paper_bgcolor: colours.page,
    plot_bgcolor: colours.panel,
    font: { family: theme.fontFamily, size: theme.fontSizePx, color: colours.text },
    hoverlabel: {
      bgcolor: colours.page,
      bordercolor: colours.rule,
      align: "left",
      font: { family: theme.fontFamily, size: theme.fontSizePx, color: colours.text },
    },
    modebar: { bgcolor: colours.page, color: colours.muted, activecolor: colours.text },
    hovermode: "closest",
    dragmode: false,
    margin: { l: 16, r: 16, t: 8, b: 16 },
    showlegend: true,
    // Plotly objects to a legend that is not shown.
    ...(more.showlegend === false ? {} : { legend: legendBelow(theme, -0.02) }),
    ...more,
  };
}

/** The layout of a chart with two axes: room for the scale at its left, and the legend so far below. */
export function chartLayout(
  theme: Theme,
  title: string,
  heightPx: number,
  legendY: number,
  more: Properties,
): Properties {
  const margin = { l: 64, r: 16, t: 12, b: 16 };
  return layoutFrame(theme, title, heightPx, { margin, legend: legendBelow(theme, legendY), ...more });
}

/** A legend in a row below the picture. */
export function legendBelow(theme: Theme, y: number): Properties {
  return {
    orientation: "h",
    x: 0.5,
    xanchor: "center",
    y,
    yanchor: "top",
    font: { size: theme.fontSizePx, color: theme.colours.text },
    bgcolor: theme.colours.page,
  };
}

/** An axis with a title that names its unit. */
export function axis(theme: Theme, title: string, more: Properties = {}): Properties {
  const { colours } = theme;
  const properties: Properties = {
    title: {
      text: escapeFigureText(title),
      font: { size: theme.fontSizePx, color: colours.text },
      standoff: 8,
    },
    tickfont: { size: theme.fontSizePx, color: colours.text },
    gridcolor: colours.grid,
    linecolor: colours.rule,
    tickcolor: colours.rule,
    zerolinecolor: colours.rule,
    showline: true,
    zeroline: true,
    ticks: "outside",
    automargin: true,
    ...more,
  };
  // Plotly objects to the colour of a line that is not drawn.
  return Object.fromEntries(
    Object.entries(properties).filter(
      ([key]) =>
        !(key === "zerolinecolor" && properties.zeroline === false) &&
        !(key === "gridcolor" && properties.showgrid === false),
    ),
  );
}

/** An axis that is not shown, for pictures that draw their own. */
export function bareAxis(range: readonly [number, number], more: Properties = {}): Properties {
  return { visible: false, range: [...range], fixedrange: true, ...more };
}

/** Ends joined with a gap between: one trace draws many lines. */
export function joined(lines: readonly (readonly Point[])[]): { x: (number | null)[]; y: (number | null)[] } {
  const x: (number | null)[] = [];
  const y: (number | null)[] = [];
  lines.forEach((line, index) => {
    if (index > 0) {
      x.push(null);
      y.push(null);
    }
    for (const [px, py] of line) {
      x.push(rounded(px));
      y.push(rounded(py));
    }
  });
  return { x, y };
}

/** How a solid arrow is cut, in the figure's own units. */
export interface ArrowCut {
  readonly shaft: number;
  readonly head: number;
}

/** The outline of a solid arrow; a short one is all head. */
export function arrowOutline(from: Point, to: Point, cut: ArrowCut): Point[] {
  const dx = to[0] - from[0];
  const dy = to[1] - from[1];
  const size = Math.hypot(dx, dy);
  if (size === 0) return [];
  const [ux, uy] = [dx / size, dy / size];
  const head = Math.min(cut.head, size);
  const wide = (0.45 * cut.head * head) / cut.head;
  const half = Math.min(cut.shaft / 2, wide / 2);
  const at = (along: number, aside: number): Point => [
    from[0] + ux * along - uy * aside,
    from[1] + uy * along + ux * aside,
  ];
  const neck = size - head;
  return [
    at(0, half),
    at(neck, half),
    at(neck, wide),
    to,
    at(neck, -wide),
    at(neck, -half),
    at(0, -half),
    at(0, half),
  ];
}

/** Many solid arrows as one trace. */
export function arrowsTrace(
  arrows: readonly (readonly [Point, Point])[],
  cut: ArrowCut,
  colour: string,
  more: Properties = {},
): Trace {
  const outlines = arrows
    .map(([from, to]) => arrowOutline(from, to, cut))
    .filter((outline) => outline.length > 0);
  return {
    ...traceOf.bareLines,
    ...joined(outlines),
    fill: "toself",
    fillcolor: colour,
    line: { color: colour, width: 1 },
    ...more,
  };
}

/** Lines of a hover text; each is escaped. */
export function hoverText(lines: readonly string[]): string {
  return lines.map(escapeFigureText).join("<br>");
}

/** An ellipse of a 2 × 2 covariance about a centre. */
export function ellipsePoints(
  centre: Point,
  varianceX: number,
  varianceY: number,
  covariance: number,
  chiSquare: number,
): Point[] {
  const middle = (varianceX + varianceY) / 2;
  const spread = Math.hypot((varianceX - varianceY) / 2, covariance);
  const long = Math.sqrt(Math.max(0, chiSquare * (middle + spread)));
  const short = Math.sqrt(Math.max(0, chiSquare * (middle - spread)));
  const turn = 0.5 * Math.atan2(2 * covariance, varianceX - varianceY);
  return circleAngles(48).map((angle) => {
    const a = long * Math.cos(angle);
    const b = short * Math.sin(angle);
    return [
      centre[0] + a * Math.cos(turn) - b * Math.sin(turn),
      centre[1] + a * Math.sin(turn) + b * Math.cos(turn),
    ];
  });
}

/** Angles once round, the last equal to the first. */
function circleAngles(steps: number): number[] {
  return Array.from({ length: steps + 1 }, (_, index) => (2 * Math.PI * index) / steps);
}

/** A circle's points. */
export function circlePoints(centre: Point, radius: number, steps = 72): Point[] {
  return circleAngles(steps).map((angle) => [
    centre[0] + radius * Math.sin(angle),
    centre[1] + radius * Math.cos(angle),
  ]);
}
