import { DEGREE } from "../angles.js";
import { type BuiltInTermName, termDescriptions } from "../mount/terms.js";
import { lightTheme, type Theme } from "../words/theme.js";
import { bareAxis, figure, joined, layoutFrame, legendBelow, type Point, type Trace } from "./drawing.js";
import type { Figure } from "./figure.js";
import { groundLines, type MountLines, mountLines, mountReach } from "./mount-lines.js";
import { EXAGGERATION, Telescope } from "./wrong-telescope.js";

const HEIGHT_PX = 420;
/** The error that is drawn, arcminutes. */
const DRAWN_ARCMIN = 60;
/** Where the tube is turned to, so that every error shows: west of the meridian, a little beyond the equator. */
const HOUR_ANGLE = 35 * DEGREE;
const DECLINATION = 15 * DEGREE;
/** The drawing keeps so far from the edge. */
const MARGIN = 10;

/** The part that is wrong, for the errors that can be seen on a mount. */
const parts: Readonly<Partial<Record<BuiltInTermName, keyof MountLines>>> = {
  polarAltitude: "axis",
  polarEast: "axis",
  cone: "tube",
  squareness: "cross",
  tubeSag: "tube",
  trunnionSag: "cross",
};
const partNames = { axis: "polar axis", cross: "declination axis", tube: "tube" } as const;

/**
 * The part of the telescope that an error sits in, much too large: the mount as it should be, dashed, and as it is.
 *
 * @param name - a built-in term
 * @param site - the latitude, degrees
 * @param theme - the colours; light when not given
 * @returns null for an error that cannot be seen on a mount: in an encoder, or in how readings are taken
 */
export function mountPart(
  name: BuiltInTermName,
  site: { readonly latitude: number },
  theme: Theme = lightTheme,
): Figure | null {
  const wrong = parts[name];
  if (wrong === undefined) return null;
  const { colours } = theme;
  const latitude = site.latitude * DEGREE;
  const telescope = new Telescope(latitude, new Map([[name, DRAWN_ARCMIN]]));
  const south = site.latitude < 0 ? 1 : -1;
  const lines = mountLines(telescope, { hourAngle: HOUR_ANGLE, declination: south * DECLINATION });
  const top = Math.max(...(Object.values(lines) as Point[][]).flat().map(([, y]) => -y));
  const line = (points: readonly (readonly Point[])[], more: Trace): Trace => ({
    type: "scatter",
    mode: "lines",
    ...joined(points.map((piece) => piece.map(([x, y]): Point => [x, -y]))),
    hoverinfo: "skip",
    showlegend: false,
    ...more,
  });
  const traces: Trace[] = [
    line(groundLines, { line: { color: colours.muted, width: 2 } }),
    line([lines.shouldAxis, lines.shouldTube], {
      name: "as it should be",
      line: { color: colours.muted, width: 2, dash: "dash" },
      showlegend: true,
    }),
    ...(["axis", "cross", "tube"] as const).map((part) =>
      line([lines[part]], {
        name: partNames[part],
        line: {
          color: part === wrong ? colours.second : colours.body,
          width: part === "tube" ? 9 : 5,
        },
        showlegend: part === wrong,
      }),
    ),
    {
      type: "scatter",
      mode: "text",
      x: [-92, 92],
      y: [-60, -60],
      text: ["N", "S"],
      textfont: { size: theme.fontSizePx + 2, color: colours.text },
      hoverinfo: "skip",
      showlegend: false,
    },
  ];
  const { label, positive } = termDescriptions[name];
  const layout = layoutFrame(theme, `Where ${label} sits`, HEIGHT_PX, {
    margin: { l: 8, r: 8, t: 8, b: 16 },
    legend: legendBelow(theme, -0.02),
    xaxis: bareAxis([-mountReach.right, mountReach.right]),
    yaxis: bareAxis([-mountReach.down, Math.round(top + MARGIN)], { scaleanchor: "x" }),
  });
  return figure(
    traces,
    layout,
    `In the ${partNames[wrong as keyof typeof partNames]}: ${positive}. Seen from the west and a little from above. Dashed: as it should be. Drawn is one degree, ${EXAGGERATION} times too large.`,
  );
}
