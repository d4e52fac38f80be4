import type { TurnAdvice } from "../base/turn-advice.js";
import type { MountFit, PoleError } from "../fit/fit-result.js";
import { eastOrWest, highOrLow } from "../words/directions.js";
import { arcminText, sizeText } from "../words/numbers.js";
import { lightTheme, type Theme } from "../words/theme.js";
import {
  arrowsTrace,
  axis,
  chartLayout,
  circlePoints,
  ellipsePoints,
  hoverText,
  joined,
  niceAbove,
  outlined,
  type Point,
  placed,
  rounded,
  type Trace,
  traceOf,
} from "./drawing.js";
import type { Figure } from "./figure.js";

const HEIGHT_PX = 620;
/** χ² of two degrees of freedom that holds 95 %: the ellipse within which the axis points, 19 times in 20. */
const CHI_SQUARE_95_OF_TWO = 5.991;

/**
 * Where the polar axis points, as on a target with the pole in the middle: now, with its 95 % ellipse, and after the
 * turns where these are given. Up is too high, right is too far east.
 *
 * @param fit - a fit
 * @param advice - the turns, for the place that they should lead to
 * @param theme - the colours; light when not given
 */
export function axisPointing(fit: MountFit, advice?: TurnAdvice | null, theme: Theme = lightTheme): Figure {
  const { pole } = fit;
  if (!isKnown(pole)) {
    return {
      data: targetTraces(theme, 60),
      layout: targetLayout(theme, `Where the polar axis of ${fit.mount.name} points`, 60),
      summary:
        "Too few sightings: the stars do not say yet where the axis points. Sight stars far apart in hour angle and declination.",
    };
  }
  const now: Point = [pole.east.value, pole.altitude.value];
  const after: Point | null = advice?.recommended ? [advice.after.east, advice.after.altitude] : null;
  const [rings, poleCross] = targetTraces(theme, reachOf([pole], after === null ? [] : [after]));
  const traces = [rings!, ...markTraces(theme, pole, "now")];
  if (after !== null) {
    const reach = reachOf([pole], [after]);
    const sure = advice!.afterUncertainty;
    const ellipse = ellipsePoints(after, sure.east ** 2, sure.altitude ** 2, 0, CHI_SQUARE_95_OF_TWO);
    traces.push({
      ...traceOf.lines,
      name: "after, 19 times in 20 inside",
      ...joined([ellipse]),
      fill: "toself",
      fillcolor: theme.colours.secondSoft,
      line: { color: theme.colours.second, width: 2, dash: "dot" },
    });
    traces.push(
      arrowsTrace([[now, after]], { shaft: 0.012 * reach, head: 0.06 * reach }, theme.colours.second),
      {
        ...traceOf.marks,
        name: "after the turns",
        ...placed([after]),
        marker: { symbol: "diamond", size: 14, color: theme.colours.second },
        hovertext: [
          hoverText([
            "after the turns, as predicted",
            `${arcminText(Math.abs(after[1]))} ${highOrLow(after[1])}`,
            `${arcminText(Math.abs(after[0]))} ${eastOrWest(after[0])}`,
          ]),
        ],
      },
    );
  }
  traces.push(poleCross!);
  const layout = targetLayout(
    theme,
    `Where the polar axis of ${fit.mount.name} points`,
    reachOf([pole], after === null ? [] : [after]),
  );
  const afterText =
    after === null
      ? ""
      : ` After the turns it should point ${arcminText(Math.abs(after[1]))} ${highOrLow(after[1])} and ${arcminText(Math.abs(after[0]))} ${eastOrWest(after[0])}.`;
  const summary = `The axis points ${sizeText(pole.altitude)} ${highOrLow(pole.altitude.value)} and ${sizeText(pole.east)} ${eastOrWest(pole.east.value)}; the ellipse holds it 19 times in 20.${afterText}`;
  return { data: traces, layout, summary };
}

/** A direction less sure than this says nothing, arcminutes: 20°. */
const UNKNOWN_ARCMIN = 1200;

function isKnown({ altitude, east, at }: PoleError): boolean {
  return at !== null && Math.max(altitude.uncertainty, east.uncertainty) < UNKNOWN_ARCMIN;
}

const symbols = { first: "circle", second: "diamond" } as const;

/** The mark and ellipse of an axis direction, in the look of the first that the target shows or of the second. */
export function markTraces(
  theme: Theme,
  pole: PoleError,
  name: string,
  look: keyof typeof symbols = "first",
): Trace[] {
  const { altitude, east, covariance } = pole;
  const colour = theme.colours[look];
  const ellipse = ellipsePoints(
    [east.value, altitude.value],
    east.uncertainty ** 2,
    altitude.uncertainty ** 2,
    covariance,
    CHI_SQUARE_95_OF_TWO,
  );
  return [
    {
      ...traceOf.lines,
      name: `${name}, 19 times in 20 inside`,
      ...joined([ellipse]),
      fill: "toself",
      fillcolor: theme.colours[`${look}Soft`],
      line: { color: colour, width: 2 },
    },
    {
      ...traceOf.marks,
      name,
      ...placed([[east.value, altitude.value]]),
      marker: { symbol: symbols[look], size: 11, color: colour },
      hovertext: [
        hoverText([
          name,
          `${sizeText(altitude)} ${highOrLow(altitude.value)}`,
          `${sizeText(east)} ${eastOrWest(east.value)}`,
        ]),
      ],
    },
  ];
}

/** How far the target reaches from the pole, arcminutes. */
export function reachOf(poles: readonly PoleError[], points: readonly Point[]): number {
  const sizes = [
    ...poles.flatMap(({ altitude, east }) => [
      Math.abs(altitude.value) + 2.6 * altitude.uncertainty,
      Math.abs(east.value) + 2.6 * east.uncertainty,
    ]),
    ...points.flatMap(([x, y]) => [Math.abs(x), Math.abs(y)]),
  ];
  return 1.12 * Math.max(1, ...sizes.filter(Number.isFinite));
}

/** The target: the pole and rings round it, labelled in arcminutes. */
export function targetTraces(theme: Theme, reach: number): Trace[] {
  const { colours } = theme;
  const step = niceAbove(reach / 4);
  const radii = Array.from({ length: Math.floor(reach / step) }, (_, index) => (index + 1) * step);
  return [
    {
      ...traceOf.bareLines,
      ...joined(radii.map((radius) => circlePoints([0, 0], radius, 60))),
      line: { color: colours.grid, width: 1 },
    },
    {
      type: "scatter",
      mode: "markers",
      name: "celestial pole",
      x: [0],
      y: [0],
      marker: outlined("cross-thin", 22, colours.text, 3),
      hoverinfo: "skip",
    },
  ];
}

/** The layout of a target with equal scales. */
export function targetLayout(theme: Theme, title: string, reach: number): Figure["layout"] {
  const range = [-rounded(reach), rounded(reach)];
  const dtick = niceAbove(reach / 3);
  return chartLayout(theme, title, HEIGHT_PX, -0.16, {
    xaxis: axis(theme, "← west\u2003east error, ′\u2003east →", { range, dtick, constrain: "domain" }),
    yaxis: axis(theme, "← low\u2003altitude error, ′\u2003high →", {
      range,
      dtick,
      scaleanchor: "x",
      constrain: "domain",
    }),
  });
}
