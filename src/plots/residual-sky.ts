import type { MountFit, Residual } from "../fit/fit-result.js";
import { count } from "../words/lists.js";
import { arcminText, fixed, signed } from "../words/numbers.js";
import { lightTheme, type Theme } from "../words/theme.js";
import { dishBackdrop, dishLayout, dishOffset, dishPoint } from "./dish.js";
import { arrowsTrace, figure, hoverText, niceBelow, type Point, rounded, type Trace } from "./drawing.js";
import type { Figure } from "./figure.js";
import { pictured } from "./pictured.js";

const ARCMIN_TO_ZENITH = 90 * 60;
/** The longest arrow of a star in use, as a part of the dish's radius. */
const LONGEST_ARROW = 0.24;
/** A longer arrow, of a star set aside, is cut here. */
const CUT_ARROW = 0.34;
const ARROW_CUT = { shaft: 0.012, head: 0.05 };

/**
 * Where the telescope points beside each star, as arrows over the sky: a pattern in them is an error that the model does
 * not hold yet.
 *
 * @param whole - a fit
 * @param theme - the colours; light when not given
 */
export function residualSky(whole: MountFit, theme: Theme = lightTheme): Figure {
  const { fit, said } = pictured(whole);
  const { latitude } = fit.mount.site;
  const used = fit.residuals.filter((residual) => residual.standing === "used");
  const largest = Math.max(0, ...used.map((residual) => residual.distance));
  const factor = niceBelow((LONGEST_ARROW * ARCMIN_TO_ZENITH) / Math.max(largest, 0.05));
  const onDish = factor / ARCMIN_TO_ZENITH;
  const traces: Trace[] = [...dishBackdrop(theme, latitude, fit.mount.limits)];
  const groups = standingGroups(theme);
  for (const group of groups) {
    const members = fit.residuals.filter((residual) => residual.standing === group.standing);
    if (members.length === 0) {
      continue;
    }
    const arrows = members.map((residual) => arrowOf(residual, latitude, onDish));
    traces.push(arrowsTrace(arrows, ARROW_CUT, group.colour));
    traces.push(starsTrace(members, arrows, fit, theme, group));
  }
  const scaleArcmin = niceBelow((0.3 * ARCMIN_TO_ZENITH) / factor);
  traces.push(...scaleArrow(scaleArcmin, onDish, theme));
  const aside = fit.residuals.length - used.length;
  const title = `Where ${fit.mount.name} points beside each star`;
  const summary = `${count(used.length, "star")} in use, ${aside} not; arrows from star to telescope, ${fixed(factor, factor < 1 ? 2 : 0)} times as long as on the sky; the largest in use is ${arcminText(largest)}. Seen from above: north up, east right, the zenith in the middle.${said}`;
  return figure(traces, dishLayout(theme, title), summary);
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
): Trace {
  const points = arrows.map(([from]) => from);
  const labelled = group.standing !== "used";
  return {
    type: "scatter",
    mode: labelled ? "markers+text" : "markers",
    name: group.name,
    x: points.map(([x]) => rounded(x)),
    y: points.map(([, y]) => rounded(y)),
    marker: {
      symbol: group.symbol,
      size: group.sizePx,
      color: group.colour,
      line: { color: group.colour, width: 1 },
    },
    hovertext: members.map((residual) => sightingHover(residual, fit)),
    hoverinfo: "text",
    ...(labelled
      ? {
          text: members.map((residual) => hoverText([`row ${residual.row}: ${residual.star}`])),
          // Beside the star, away from its arrow.
          textposition: arrows.map(([from, to]) => (to[0] > from[0] ? "middle left" : "middle right")),
          textfont: { size: theme.fontSizePx - 1, color: theme.colours.text },
        }
      : {}),
  };
}

function scaleArrow(arcmin: number, onDish: number, theme: Theme): Trace[] {
  const { colours } = theme;
  const from: Point = [-1.17, -1.12];
  const to: Point = [from[0] + arcmin * onDish, from[1]];
  return [
    arrowsTrace([[from, to]], ARROW_CUT, colours.text),
    {
      type: "scatter",
      mode: "text",
      x: [from[0]],
      y: [from[1] + 0.07],
      text: [`${arcmin}′ on the sky`],
      textposition: "middle right",
      textfont: { size: theme.fontSizePx, color: colours.text },
      hoverinfo: "skip",
      showlegend: false,
    },
  ];
}
