import { DEGREE } from "../angles.js";
import { type BuiltInTermName, termDescriptions } from "../mount/terms.js";
import { lightTheme, type Theme } from "../words/theme.js";
import { bareAxis, joined, layoutFrame, legendBelow, type Point, type Trace, traceOf } from "./drawing.js";
import type { Figure } from "./figure.js";
import { groundLines, type MountLines, mountLines, mountReach } from "./mount-lines.js";
import { type Stroke, wheelPart } from "./wheel-part.js";
import { EXAGGERATION, Telescope } from "./wrong-telescope.js";

const HEIGHT_PX = 420;
/** The error that is drawn, arcminutes. */
const DRAWN_ARCMIN = 60;
/** Where the tube is turned to, so that every error shows: west of the meridian, a little beyond the equator. */
const HOUR_ANGLE = 35 * DEGREE;
const DECLINATION = 15 * DEGREE;
/** The drawing keeps so far from the edge. */
const MARGIN = 10;

/** The part that is wrong, for the errors that can be seen on the whole mount, and the error that is drawn of it. */
const parts: Readonly<
  Partial<Record<BuiltInTermName, readonly [part: "axis" | "cross" | "tube", drawn: BuiltInTermName]>>
> = {
  polarAltitude: ["axis", "polarAltitude"],
  polarEast: ["axis", "polarEast"],
  polarAltitudeRate: ["axis", "polarAltitude"],
  polarEastRate: ["axis", "polarEast"],
  cone: ["tube", "cone"],
  squareness: ["cross", "squareness"],
  tubeSag: ["tube", "tubeSag"],
  trunnionSag: ["cross", "trunnionSag"],
};
const partNames = { axis: "polar axis", cross: "declination axis", tube: "tube" } as const;

/** A drawing of a part: its lines, and what is said below it. */
interface PartDrawing {
  readonly strokes: readonly Stroke[];
  /** Words in it, each at its place. */
  readonly words: readonly (readonly [Point, string])[];
  readonly top: number;
  readonly said: string;
}

/**
 * The part of the telescope that an error sits in, much too large: as it should be, dashed, and as it is.
 *
 * @param name - a built-in term
 * @param site - the latitude, degrees
 * @param theme - the colours; light when not given
 * @returns null for an error that sits in no part, or only in how readings are taken
 */
export function mountPart(
  name: BuiltInTermName,
  site: { readonly latitude: number },
  theme: Theme = lightTheme,
): Figure | null {
  const drawing = wholeMount(name, site.latitude) ?? wheelPart(name);
  if (drawing === null) return null;
  const { colours } = theme;
  const looks = {
    should: { color: colours.muted, width: 2, dash: "dash" },
    wrong: { color: colours.second, width: 5 },
    rest: { color: colours.body, width: 5 },
    ground: { color: colours.muted, width: 2 },
  };
  const traces: Trace[] = drawing.strokes.map(({ lines, as, name: called, width }) => ({
    ...traceOf.lines,
    ...joined(lines),
    line: { ...looks[as], ...(width === undefined ? {} : { width }) },
    ...(called === undefined ? { showlegend: false } : { name: called, showlegend: true }),
  }));
  traces.push({
    ...traceOf.words,
    x: drawing.words.map(([[x]]) => x),
    y: drawing.words.map(([[, y]]) => y),
    text: drawing.words.map(([, word]) => word),
    textfont: { size: theme.fontSizePx + 2, color: colours.text },
  });
  const layout = layoutFrame(theme, `Where ${termDescriptions[name].label} sits`, HEIGHT_PX, {
    margin: { l: 8, r: 8, t: 8, b: 16 },
    legend: legendBelow(theme, -0.02),
    xaxis: bareAxis([-mountReach.right, mountReach.right]),
    yaxis: bareAxis([-mountReach.down, drawing.top], { scaleanchor: "x" }),
  });
  return { data: traces, layout, summary: drawing.said };
}

/** The whole mount from the west. */
function wholeMount(name: BuiltInTermName, latitudeDeg: number): PartDrawing | null {
  const [wrong, drawn] = parts[name] ?? [];
  if (wrong === undefined || drawn === undefined) return null;
  const telescope = new Telescope(latitudeDeg * DEGREE, new Map([[drawn, DRAWN_ARCMIN]]));
  const south = latitudeDeg < 0 ? 1 : -1;
  const lines = mountLines(telescope, { hourAngle: HOUR_ANGLE, declination: south * DECLINATION });
  const up = (line: readonly Point[]): Point[] => line.map(([x, y]): Point => [x, -y]);
  const top = Math.max(...(Object.values(lines) as MountLines[keyof MountLines][]).flat().map(([, y]) => -y));
  return {
    strokes: [
      { lines: groundLines.map(up), as: "ground" },
      { lines: [lines.shouldAxis, lines.shouldTube].map(up), as: "should", name: "as it should be" },
      ...(["axis", "cross", "tube"] as const).map(
        (part): Stroke => ({
          lines: [up(lines[part])],
          as: part === wrong ? "wrong" : "rest",
          ...(part === wrong ? { name: partNames[part] } : {}),
          width: part === "tube" ? 9 : 5,
        }),
      ),
    ],
    words: [
      [[-92, -60], "N"],
      [[92, -60], "S"],
    ],
    top: Math.round(top + MARGIN),
    said: `In the ${partNames[wrong]}: ${termDescriptions[name].positive}. Seen from the west and a little from above. Dashed: as it should be. Drawn is one degree, ${EXAGGERATION} times too large.`,
  };
}
