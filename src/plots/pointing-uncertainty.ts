import { arcminText, fixed } from "../words/numbers.js";
import { lightTheme, type Theme } from "../words/theme.js";
import { contourPieces } from "./contour.js";
import { dishBackdrop, dishLayout, fromDishPoint } from "./dish.js";
import { circlePoints, joined, legendBelow, niceAbove, rounded, type Trace, traceOf } from "./drawing.js";
import type { Figure } from "./figure.js";

/** How well the telescope finds things over the sky. */
export interface PointingMap {
  readonly mountName: string;
  /** Degrees, north positive. */
  readonly latitudeDeg: number;
  /** Ascending, degrees, from 0 to below 360. */
  readonly azimuthsDeg: readonly number[];
  /** Ascending, degrees. */
  readonly altitudesDeg: readonly number[];
  /** 1σ on the sky, arcminutes, for each altitude and in it for each azimuth. */
  readonly arcmin: readonly (readonly number[])[];
  /** Half the shorter side of the camera's field, arcminutes; null without a camera. */
  readonly halfFieldArcmin: number | null;
  /** 19 of 20 pointings fall inside this, arcminutes, for each altitude and in it for each azimuth. */
  readonly within95Arcmin?: readonly (readonly number[])[];
}

const GRID_STEPS = 48;
/** So far below the map's lowest altitude the shades run on, under the rim that covers their edge, degrees. */
const RAGGED_DEG = 4;
const RIM_RADIUS = 1.055;
/** Below the scale of shades. */
const LEGEND_BELOW_BAR = -0.2;

/**
 * How far from the middle of the picture a star may come, over the sky, as shades with a scale.
 *
 * @param map - the uncertainty on a grid of altitude and azimuth
 * @param theme - the colours; light when not given
 */
export function pointingUncertainty(map: PointingMap, theme: Theme = lightTheme): Figure {
  const { colours } = theme;
  const steps = Array.from({ length: GRID_STEPS }, (_, index) =>
    rounded((-1 + (2 * (index + 0.5)) / GRID_STEPS) * RIM_RADIUS),
  );
  const all = map.arcmin.flat().filter(Number.isFinite);
  const largest = Math.max(0, ...all);
  const smallest = all.length === 0 ? 0 : Math.min(...all);
  const top = largest > 0 ? largest : 1;
  const lowest = map.altitudesDeg[0] ?? 0;
  const overDish = (values: PointingMap["arcmin"]): (number | null)[][] =>
    steps.map((y) =>
      steps.map((x) => {
        const { azimuthDeg, altitudeDeg } = fromDishPoint([x, y]);
        return altitudeDeg < Math.max(-RAGGED_DEG, lowest - RAGGED_DEG)
          ? null
          : rounded2(valueAt({ ...map, arcmin: values }, azimuthDeg, altitudeDeg));
      }),
    );
  const z = overDish(map.arcmin);
  const half = map.halfFieldArcmin;
  const edge =
    half === null ? [] : contourPieces(steps, steps, overDish(map.within95Arcmin ?? map.arcmin), half);
  // Plotly draws shades under all lines, so the dish itself stays open, and a rim hides the shades' ragged edge.
  const backdrop = dishBackdrop(theme, map.latitudeDeg, null, theme.colours.text).map(
    ({ fill: _, fillcolor: __, ...open }): Trace => open,
  );
  const innerRadius = Math.min(1, (90 - Math.max(0, lowest)) / 90);
  const rim: Trace = {
    ...traceOf.bareLines,
    ...joined([[...circlePoints([0, 0], RIM_RADIUS), ...circlePoints([0, 0], innerRadius).reverse()]]),
    fill: "toself",
    fillcolor: colours.panel,
    line: { color: colours.panel, width: 0 },
  };
  const traces: Trace[] = [
    {
      type: "heatmap",
      x: steps,
      y: steps,
      z,
      zmin: 0,
      zmax: rounded(top),
      colorscale: theme.scale.map(([position, colour]) => [position, colour]),
      hoverinfo: "z",
      zsmooth: false,
      showscale: true,
      colorbar: {
        title: {
          text: "1σ on the sky, ′",
          side: "top",
          font: { size: theme.fontSizePx, color: colours.text },
        },
        orientation: "h",
        y: -0.02,
        yanchor: "top",
        thickness: 16,
        len: 0.8,
        dtick: niceAbove(top / 5),
        tickfont: { size: theme.fontSizePx, color: colours.text },
        outlinecolor: colours.rule,
        outlinewidth: 1,
        bgcolor: colours.page,
      },
    },
    ...(edge.length === 0
      ? []
      : [
          {
            ...traceOf.lines,
            name: `as far as half the field, ${arcminText(half!)}, 19 times in 20`,
            ...joined(edge),
            line: { color: colours.second, width: 3 },
          } satisfies Trace,
        ]),
    rim,
    ...backdrop,
  ];
  const verdict =
    half === null
      ? ""
      : edge.length === 0 && largest <= half
        ? ` That is inside half the camera's field (${arcminText(half)}) everywhere: what you look for will be in the picture.`
        : ` Half the camera's field is ${arcminText(half)}: beyond the thick line, towards the upper end of the scale, a star may fall outside the picture.`;
  const summary = `How far the telescope may point beside what it is sent to, 1σ: from ${fixed(smallest, 1)}′ to ${fixed(largest, 1)}′.${verdict} Seen from above: north up, east right.`;
  return {
    data: traces,
    layout: dishLayout(
      theme,
      `How well ${map.mountName} finds things`,
      edge.length === 0 ? { showlegend: false } : { legend: { ...legendBelow(theme, LEGEND_BELOW_BAR) } },
    ),
    summary,
  };
}

function rounded2(value: number | null): number | null {
  return value === null || !Number.isFinite(value) ? null : Number(value.toPrecision(3));
}

/** Between the grid's four neighbours in straight lines, round the circle in azimuth. */
function valueAt(map: PointingMap, azimuthDeg: number, altitudeDeg: number): number | null {
  const { azimuthsDeg, altitudesDeg, arcmin } = map;
  if (azimuthsDeg.length === 0 || altitudesDeg.length === 0) return null;
  const low = Math.max(0, lastNotAbove(altitudesDeg, altitudeDeg));
  const high = Math.min(altitudesDeg.length - 1, low + 1);
  const left = (lastNotAbove(azimuthsDeg, azimuthDeg) + azimuthsDeg.length) % azimuthsDeg.length;
  const right = (left + 1) % azimuthsDeg.length;
  const wide = (azimuthsDeg[right]! - azimuthsDeg[left]! + 360) % 360 || 360;
  const across = ((((azimuthDeg - azimuthsDeg[left]!) % 360) + 360) % 360) / wide;
  const tall = altitudesDeg[high]! - altitudesDeg[low]!;
  const up = tall === 0 ? 0 : Math.max(0, Math.min(1, (altitudeDeg - altitudesDeg[low]!) / tall));
  const at = (row: number): number => arcmin[row]![left]! * (1 - across) + arcmin[row]![right]! * across;
  return at(low) * (1 - up) + at(high) * up;
}

function lastNotAbove(ascending: readonly number[], value: number): number {
  let index = -1;
  while (index + 1 < ascending.length && ascending[index + 1]! <= value) {
    index++;
  }
  return index;
}
