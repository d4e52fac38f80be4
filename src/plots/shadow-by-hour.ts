import { DEGREE } from "../angles.js";
import type { ShadowMoment } from "../daylight/shadow.js";
import { fixed } from "../words/numbers.js";
import { lightTheme, type Theme } from "../words/theme.js";
import {
  axis,
  chartLayout,
  hoverText,
  joined,
  outlined,
  type Point,
  rounded,
  type Trace,
  traceOf,
} from "./drawing.js";
import type { Figure } from "./figure.js";

const HEIGHT_PX = 560;
/** A tip carries its time when it lies so far from the last one that does, as a part of the picture's width. */
const APART = 0.2;
/** Shadows longer than this many times the shortest would make the rest too small to read. */
const LONGEST = 3;

/**
 * The shadow of a plumb line through the day, seen from above: where its tip falls, with the times. North is up.
 *
 * @param whole - the shadow by the hour; the long shadows near sunrise and sunset are left out
 * @param clock - how a moment is written, for instance `09:30`
 * @param theme - the colours; light when not given
 */
export function shadowByHour(
  whole: readonly ShadowMoment[],
  clock: (time: string) => string,
  theme: Theme = lightTheme,
): Figure {
  const { colours } = theme;
  const shortest = Math.min(...whole.map(({ shadowLengthMm }) => shadowLengthMm));
  const table = whole.filter(({ shadowLengthMm }) => shadowLengthMm <= LONGEST * shortest);
  const tips = table.map(
    ({ shadowAzimuthDeg, shadowLengthMm }): Point => [
      rounded(shadowLengthMm * Math.sin(shadowAzimuthDeg * DEGREE)),
      rounded(shadowLengthMm * Math.cos(shadowAzimuthDeg * DEGREE)),
    ],
  );
  const reach = rounded(1.25 * Math.max(100, ...tips.flatMap(([x, y]) => [Math.abs(x), Math.abs(y)])));
  const named = apartBy(tips, 2 * reach * APART);
  const traces: Trace[] = [
    {
      ...traceOf.lines,
      name: "shadow of the line",
      ...joined(tips.map((tip): Point[] => [[0, 0], tip])),
      line: { color: colours.grid, width: 2 },
    },
    {
      ...traceOf.marks,
      mode: "lines+markers+text",
      name: "tip of the shadow",
      x: tips.map(([x]) => x),
      y: tips.map(([, y]) => y),
      text: table.map(({ time }, index) => (named.has(index) ? hoverText([clock(time)]) : "")),
      textposition: tips.map(([, y]) => (y < 0 ? "bottom center" : "top center")),
      textfont: { size: theme.fontSizePx, color: colours.text },
      line: { color: colours.first, width: 2 },
      marker: { symbol: "circle", size: 8, color: colours.first },
      hovertext: table.map(({ time, shadowAzimuthDeg, shadowLengthMm }) =>
        hoverText([
          clock(time),
          `azimuth ${fixed(shadowAzimuthDeg, 1)}°`,
          `${fixed(shadowLengthMm, 0)} mm long`,
        ]),
      ),
    },
    {
      type: "scatter",
      mode: "markers",
      name: "the line",
      x: [0],
      y: [0],
      marker: outlined("cross-thin", 20, colours.text, 3),
      hoverinfo: "skip",
    },
  ];
  const range = [-reach, reach];
  const layout = chartLayout(theme, "The shadow of the plumb line, by the hour", HEIGHT_PX, -0.18, {
    xaxis: axis(theme, "← west\u2003mm\u2003east →", { range, constrain: "domain" }),
    yaxis: axis(theme, "← south\u2003mm\u2003north →", { range, scaleanchor: "x", constrain: "domain" }),
  });
  const summary =
    table.length === 0
      ? "The Sun is never high enough on this day to cast a useful shadow."
      : "Seen from above, true north up. Mark the tip at a known time; the drawing shows which way the shadow points then. Never look at the Sun.";
  return { data: traces, layout, summary };
}

/** Which points lie so far from the named one before, and from the last, that their words do not touch; the ends first. */
function apartBy(points: readonly Point[], distance: number): ReadonlySet<number> {
  const far = (a: Point, b: Point): boolean => Math.hypot(a[0] - b[0], a[1] - b[1]) >= distance;
  const named = points.length > 0 ? [0] : [];
  const last = points.at(-1);
  points.forEach((point, index) => {
    if (far(point, points[named.at(-1)!]!) && (index === points.length - 1 || far(point, last!)))
      named.push(index);
  });
  return new Set(named);
}
