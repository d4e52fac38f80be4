import type { Exposure } from "../exposure/exposure.js";
import { secondsText, unitText } from "../exposure/good-enough.js";
import type { ExposureSky, SkyExposure } from "../exposure/sky.js";
import type { Limits } from "../mount/mount.js";
import type { ImageField } from "../pointing/field.js";
import { count } from "../words/lists.js";
import { fixed } from "../words/numbers.js";
import { lightTheme, type Theme } from "../words/theme.js";
import { dishBackdrop, dishLayout, dishPoint } from "./dish.js";
import {
  axis,
  chartLayout,
  hoverText,
  joined,
  niceBelow,
  outlined,
  type Point,
  placed,
  rounded,
  type Trace,
  traceOf,
} from "./drawing.js";
import type { Figure } from "./figure.js";
import { fieldEdge } from "./stack.js";

/** Lengths that people set on a shutter, seconds. */
const SHUTTER_S = [1, 2, 5, 10, 15, 20, 30, 45, 60, 90, 120, 180, 300, 600, 1200, 1800, 3600, 7200];
const MOST_CLASSES = 5;
/** Told apart by shape as well as by colour; from the shortest that is long enough. */
const LONG_ENOUGH = ["square", "circle", "circle-open", "diamond-open", "square-open"] as const;
const MARK_PX = 12;

/**
 * How long one may expose over the sky: a mark for each place, by its shape and shade.
 *
 * @param sky - from {@link exposureSky}
 * @param limits - the mount's limits, drawn as the barred part of the sky; null for none
 * @param mountName - for the title
 * @param theme - the colours; light when not given
 */
export function exposureLengths(
  sky: ExposureSky,
  limits: Limits | null,
  mountName: string,
  theme: Theme = lightTheme,
): Figure {
  const failing = sky.places.filter((place) => place.longestS < sky.exposureS).length;
  const traces: Trace[] = [...dishBackdrop(theme, sky.latitudeDeg, limits)];
  const allShort = failing > 0 && failing === sky.places.length;
  // What is too short is one class of its own.
  const edges = classEdges(sky).filter((edge) => allShort || edge >= sky.exposureS);
  const short = allShort ? edges.length + 1 : edges.filter((edge) => edge <= sky.exposureS).length;
  for (let k = 0; k <= edges.length; k++) {
    const low = k === 0 ? 0 : edges[k - 1]!;
    const high = k === edges.length ? Number.POSITIVE_INFINITY : edges[k]!;
    const members = sky.places.filter((place) => place.longestS >= low && place.longestS < high);
    if (members.length === 0) continue;
    // What is too short for the exposure asked about stands out; the longest is the palest.
    const tooShort = k < short;
    const pale = (k - short) / Math.max(1, edges.length - short);
    const shade = theme.scale.length - 1 - Math.round((theme.scale.length - 2) * pale);
    const colour = tooShort ? theme.colours.second : theme.scale[shade]![1];
    const symbol = tooShort ? "x" : LONG_ENOUGH[Math.min(LONG_ENOUGH.length - 1, k - short)]!;
    traces.push(classTrace(members, className(low, high), colour, symbol, sky));
  }
  const shortest = Math.min(...sky.places.map((place) => place.longestS));
  const longest = Math.max(...sky.places.map((place) => place.longestS));
  const how = sky.guided ? "guided" : "unguided";
  const summary =
    sky.places.length === 0
      ? "The telescope reaches no place of the sky within its limits."
      : `How long a star stays within ${Number(sky.smearLimit.toFixed(2))} ${unitText(sky.unit)}, ${how}: from ${secondsText(shortest)} to ${secondsText(longest)}, on half of the sky ${secondsText(sky.medianLongestS)} and more. ${failing === 0 ? "No place is" : `${count(failing, "place")} of ${sky.places.length} (crosses) ${failing === 1 ? "is" : "are"}`} too short for ${secondsText(sky.exposureS)}. Seen from above: north up, east right, the zenith in the middle.`;
  return { data: traces, layout: dishLayout(theme, `How long ${mountName} may expose`), summary };
}

/** Edges between the classes: shutter lengths spread over the places. */
function classEdges(sky: ExposureSky): number[] {
  const lengths = sky.places.map((place) => place.longestS).sort((a, b) => a - b);
  if (lengths.length === 0) return [];
  const within = (edge: number): boolean => edge > lengths[0]! && edge <= lengths.at(-1)!;
  const inner = SHUTTER_S.filter(within);
  // The exposure asked about parts what is long enough from what is not.
  const edges = new Set(within(sky.exposureS) ? [sky.exposureS] : []);
  if (inner.length < MOST_CLASSES) return [...new Set([...inner, ...edges])].sort((a, b) => a - b);
  for (let k = 1; k < MOST_CLASSES; k++) {
    const at = lengths[Math.floor((lengths.length * k) / MOST_CLASSES)]!;
    edges.add(
      inner.reduce((best, edge) => (Math.abs(edge - at) < Math.abs(best - at) ? edge : best), inner[0]!),
    );
  }
  return [...edges].sort((a, b) => a - b);
}

function className(low: number, high: number): string {
  if (low === 0) return `under ${secondsText(high)}`;
  return Number.isFinite(high)
    ? `${secondsText(low)} to ${secondsText(high)}`
    : `${secondsText(low)} and more`;
}

function classTrace(
  members: readonly SkyExposure[],
  name: string,
  colour: string,
  symbol: string,
  sky: ExposureSky,
): Trace {
  const points = members.map((place) => dishPoint(place.azimuthDeg, place.altitudeDeg));
  return {
    ...traceOf.marks,
    name,
    ...placed(points),
    marker: outlined(symbol, MARK_PX, colour, 2),
    hovertext: members.map((place) =>
      hoverText([
        `up to ${secondsText(place.longestS)}`,
        `in ${secondsText(sky.exposureS)} smeared by ${fixed(place.smear, 1)} ${unitText(sky.unit)}`,
        `altitude ${fixed(place.altitudeDeg, 0)}°, azimuth ${fixed(place.azimuthDeg, 0)}°`,
      ]),
    ),
  };
}

const TRAILS_HEIGHT_PX = 560;
/** The longest trail is drawn as this part of the picture's width. */
const LONGEST_TRAIL = 0.14;

/**
 * How stars run in the picture during an exposure, magnified: the target in the middle and stars at the rim.
 *
 * @param exposure - from {@link exposure}
 * @param field - the same field
 * @param theme - the colours; light when not given
 */
export function exposureTrails(exposure: Exposure, field: ImageField, theme: Theme = lightTheme): Figure {
  const { colours } = theme;
  const unit = unitText(exposure.unit);
  const perDegree = 3600 / (field.pixelArcsec ?? 1);
  const half: Point = [(field.widthDeg / 2) * perDegree, (field.heightDeg / 2) * perDegree];
  const longest = Math.max(
    ...exposure.trails.flatMap((trail) => trail.east.map((e, k) => Math.hypot(e, trail.north[k]!))),
  );
  const times = niceBelow((LONGEST_TRAIL * 2 * half[0]) / Math.max(longest, 1e-9));
  // East is to the left, as on the sky with north up.
  const paths = exposure.trails.map((trail) =>
    trail.east.map(
      (east, k): Point => [-(trail.startEast + times * east), trail.startNorth + times * trail.north[k]!],
    ),
  );
  const traces: Trace[] = [
    {
      ...traceOf.bareLines,
      name: "edge of the picture",
      ...joined([fieldEdge(field, half)]),
      line: { color: colours.rule, width: 2 },
    },
    {
      ...traceOf.lines,
      name: `trails, ${fixed(times, times < 1 ? 2 : 0)} times as long`,
      ...joined(paths),
      line: { color: colours.first, width: 4 },
    },
    {
      ...traceOf.marks,
      name: "where each star begins",
      x: paths.map((path) => rounded(path[0]![0])),
      y: paths.map((path) => rounded(path[0]![1])),
      marker: { symbol: "circle", size: 9, color: colours.second },
      hovertext: exposure.trails.map((trail, k) =>
        hoverText([
          k === 0 ? exposure.target.label : "a star at the rim",
          `runs ${fixed(Math.hypot(trail.east.at(-1)!, trail.north.at(-1)!), 1)} ${unit} in ${secondsText(exposure.exposureS)}`,
        ]),
      ),
    },
  ];
  const reach = 1.25 * Math.max(half[0], half[1]);
  const title = `${exposure.target.label}: how stars run in ${secondsText(exposure.exposureS)}`;
  const layout = chartLayout(theme, title, TRAILS_HEIGHT_PX, -0.18, {
    xaxis: axis(theme, `← east   ${unit}   west →`, {
      range: [-rounded(reach), rounded(reach)],
      constrain: "domain",
      zeroline: false,
    }),
    yaxis: axis(theme, `← south   ${unit}   north →`, {
      range: [-rounded(reach), rounded(reach)],
      scaleanchor: "x",
      constrain: "domain",
      zeroline: false,
    }),
  });
  const how = exposure.guided ? "guided on the target" : "unguided";
  const summary = `${count(exposure.trails.length, "star")} in the picture, ${how}: the longest trail is ${fixed(exposure.smear.rim, 1)} ${unit}, drawn ${fixed(times, times < 1 ? 2 : 0)} times as long; the picture turns by ${fixed(exposure.fieldRotationArcmin, 2)}′. North up, east left, as on the sky.`;
  return { data: traces, layout, summary };
}
