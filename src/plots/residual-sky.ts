import type { MountFit, Residual } from "../fit/fit-result.js";
import { count, listText } from "../words/lists.js";
import { arcminText, fixed, signed } from "../words/numbers.js";
import { lightTheme, type Theme } from "../words/theme.js";
import { dishBackdrop, dishLayout, dishOffset, dishPoint } from "./dish.js";
import {
  arrowsTrace,
  circlePoints,
  hoverText,
  joined,
  niceBelow,
  outlined,
  type Point,
  placed,
  type Trace,
  traceOf,
} from "./drawing.js";
import type { Figure } from "./figure.js";
import { pictured } from "./pictured.js";

const ARCMIN_TO_ZENITH = 90 * 60;
/** The longest arrow of a star in use, as a part of the dish's radius. */
const LONGEST_ARROW = 0.24;
/** So many of the worst stars in use are named. */
const NAMED = 3;
/** On a night of more stars the rings of the expected error would cover the sky. */
const MOST_RINGS = 60;
const RING_STEPS = 16;
/** A longer arrow, of a star set aside, is cut here. */
const CUT_ARROW = 0.34;
/** The arrow of the scale is at most so long. */
const SCALE_ARROW = 0.3;
const ARROW_CUT = { shaft: 0.012, head: 0.05 };

/** How the arrows are drawn. */
export interface ResidualSkyOptions {
  /** Arcminutes that the arrow of the scale stands for, so that nights compare; as the night needs it when not given. */
  readonly scaleArcmin?: number;
}

/**
 * Where the telescope points beside each star, as arrows over the sky: a pattern in them is an error that the model does
 * not hold yet.
 *
 * @param whole - a fit
 * @param theme - the colours; light when not given
 * @param options - a scale that stays the same from night to night
 */
export function residualSky(
  whole: MountFit,
  theme: Theme = lightTheme,
  options: ResidualSkyOptions = {},
): Figure {
  const { fit, said } = pictured(whole);
  const { latitude } = fit.mount.site;
  const used = fit.residuals.filter((residual) => residual.standing === "used");
  const largest = Math.max(0, ...used.map((residual) => residual.distance));
  const asNeeded = niceBelow((LONGEST_ARROW * ARCMIN_TO_ZENITH) / Math.max(largest, 0.05));
  const scaleArcmin = options.scaleArcmin ?? niceBelow((SCALE_ARROW * ARCMIN_TO_ZENITH) / asNeeded);
  const onDish = options.scaleArcmin ? SCALE_ARROW / options.scaleArcmin : asNeeded / ARCMIN_TO_ZENITH;
  const traces: Trace[] = [...dishBackdrop(theme, latitude, fit.mount.limits)];
  const groups = standingGroups(theme);
  if (used.length <= MOST_RINGS) traces.push(...expectedRings(used, onDish, theme));
  const worst = [...used].sort((a, b) => b.distance - a.distance).slice(0, NAMED);
  for (const group of groups) {
    const members = fit.residuals.filter((residual) => residual.standing === group.standing);
    if (members.length === 0) continue;
    const arrows = members.map((residual) => arrowOf(residual, latitude, onDish));
    traces.push(arrowsTrace(arrows, ARROW_CUT, group.colour));
    traces.push(starsTrace(members, arrows, fit, theme, group, worst));
  }
  traces.push(...scaleArrow(scaleArcmin, onDish, theme));
  const aside = fit.residuals.length - used.length;
  const title = `Where ${fit.mount.name} points beside each star`;
  const worstText = worst.map(({ star, distance }) => `${star} ${arcminText(distance)}`);
  const summary =
    used.length === 0
      ? `Too few sightings: none is in use. ${aside === 0 ? "Sight a star and look again." : `${count(aside, "star")} not in use.`}`
      : `${count(used.length, "star")} in use, ${aside} not. An arrow runs from a star, where the telescope really looks, to where its corrected readings say; the scale below shows its length. The circles show the error to be expected. Worst in use: ${listText(worstText)}. Seen from above: north up, east right, the zenith in the middle.${said}`;
  return { data: traces, layout: dishLayout(theme, title), summary };
}

/** How stars are marked by their standing: by shape as well as by colour. */
export interface StandingGroup {
  readonly standing: Residual["standing"];
  readonly name: string;
  readonly colour: string;
  readonly symbol: string;
  readonly sizePx: number;
}

export function standingGroups(theme: Theme): readonly StandingGroup[] {
  const { colours } = theme;
  return [
    { standing: "used", name: "used", colour: colours.first, symbol: "circle", sizePx: 9 },
    { standing: "set aside", name: "set aside", colour: colours.aside, symbol: "x", sizePx: 13 },
    { standing: "not used", name: "not used", colour: colours.muted, symbol: "diamond-open", sizePx: 12 },
  ];
}

/** What a hover says of a sighting: star, row, readings, residual. */
export function sightingHover(residual: Residual, fit: MountFit): string {
  const { hourAngle, declination } = fit.mount.readings;
  return hoverText([
    `${residual.star}, row ${residual.row}, ${residual.standing}`,
    `readings: ${residual.readingHourAngle ?? "–"} ${unitText(hourAngle.as)}, ${residual.readingDeclination ?? "–"} ${unitText(declination.as)}`,
    `telescope minus star: west ${signed(residual.west, 1)}′, north ${signed(residual.north, 1)}′`,
    `expected ± ${fixed(residual.expectedWest, 1)}′, ± ${fixed(residual.expectedNorth, 1)}′`,
    `altitude ${fixed(residual.altitudeDeg, 0)}°, azimuth ${fixed(residual.azimuthDeg, 0)}°`,
    ...(residual.likelyStar === null ? [] : [`the readings fit ${residual.likelyStar}`]),
  ]);
}

function unitText(as: string): string {
  return as === "degrees" ? "°" : as === "counts" ? "counts" : as === "hours" ? "h" : "h of right ascension";
}

function arrowOf(residual: Residual, latitude: number, onDish: number): readonly [Point, Point] {
  const from = dishPoint(residual.azimuthDeg, residual.altitudeDeg);
  const [dx, dy] = dishOffset(residual, latitude, residual.west, residual.north);
  const size = Math.hypot(dx, dy) * onDish;
  const cut = size > CUT_ARROW ? CUT_ARROW / size : 1;
  return [from, [from[0] + dx * onDish * cut, from[1] + dy * onDish * cut]];
}

function starsTrace(
  members: readonly Residual[],
  arrows: readonly (readonly [Point, Point])[],
  fit: MountFit,
  theme: Theme,
  group: StandingGroup,
  worst: readonly Residual[],
): Trace {
  const points = arrows.map(([from]) => from);
  const named = (residual: Residual): boolean => group.standing !== "used" || worst.includes(residual);
  const labelled = members.some(named);
  return {
    ...traceOf.marks,
    mode: labelled ? "markers+text" : "markers",
    name: group.name,
    ...placed(points),
    marker: outlined(group.symbol, group.sizePx, group.colour, 1),
    hovertext: members.map((residual) => sightingHover(residual, fit)),
    ...(labelled
      ? {
          text: members.map((residual) =>
            named(residual)
              ? hoverText([
                  group.standing === "used" ? residual.star : `row ${residual.row}: ${residual.star}`,
                ])
              : "",
          ),
          // Beside the star, away from its arrow.
          textposition: arrows.map(([from, to]) => (to[0] > from[0] ? "middle left" : "middle right")),
          textfont: { size: theme.fontSizePx - 1, color: theme.colours.text },
        }
      : {}),
  };
}

/** A circle round each star with the error to be expected of it: 1σ each way, the mean of both. */
function expectedRings(used: readonly Residual[], onDish: number, theme: Theme): Trace[] {
  if (used.length === 0) return [];
  const rings = used.map(({ azimuthDeg, altitudeDeg, expectedWest, expectedNorth }) =>
    circlePoints(
      dishPoint(azimuthDeg, altitudeDeg),
      Math.min(CUT_ARROW, onDish * Math.hypot(expectedWest, expectedNorth) * Math.SQRT1_2),
      RING_STEPS,
    ),
  );
  return [
    {
      ...traceOf.lines,
      name: "expected error",
      ...joined(rings),
      line: { color: theme.colours.rule, width: 1 },
    },
  ];
}

/** The arrow that reads the others. */
export function scaleArrow(arcmin: number, onDish: number, theme: Theme): Trace[] {
  const { colours } = theme;
  const from: Point = [-1.17, -1.12];
  const to: Point = [from[0] + arcmin * onDish, from[1]];
  return [
    arrowsTrace([[from, to]], ARROW_CUT, colours.text),
    {
      ...traceOf.words,
      x: [from[0]],
      y: [from[1] + 0.07],
      text: [`${arcmin}′ on the sky`],
      textposition: "middle right",
      textfont: { size: theme.fontSizePx, color: colours.text },
    },
  ];
}
