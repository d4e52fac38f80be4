import type { MountFit } from "../fit/fit-result.js";
import { count, listText } from "../words/lists.js";
import { fixed } from "../words/numbers.js";
import { lightTheme, type Theme } from "../words/theme.js";
import { DISH_RADIUS_PX, dishBackdrop, dishLayout, dishPoint, dishWords } from "./dish.js";
import { hoverText, outlined, placed, type Trace, traceOf } from "./drawing.js";
import type { Figure } from "./figure.js";
import { labelPlaces } from "./label-places.js";
import { pictured } from "./pictured.js";
import { sightingHover, standingGroups } from "./residual-sky.js";

/** A star that is worth sighting next. */
export interface NextStar {
  readonly label: string;
  /** Degrees, from north through east. */
  readonly azimuthDeg: number;
  /** Degrees. */
  readonly altitudeDeg: number;
  /** Why it is worth it, in a few words. */
  readonly reason?: string;
}

/** The mark of a star to sight next. */
const NEXT_PX = 17;
const QUARTERS = ["north-east", "south-east", "south-west", "north-west"] as const;

/**
 * Where the sightings lie on the sky, where the mount cannot go, and which stars would help most.
 *
 * @param whole - a fit
 * @param next - stars to sight next
 * @param theme - the colours; light when not given
 */
export function skyCoverage(
  whole: MountFit,
  next: readonly NextStar[] = [],
  theme: Theme = lightTheme,
): Figure {
  const { fit, said } = pictured(whole);
  const { colours } = theme;
  const traces: Trace[] = [...dishBackdrop(theme, fit.mount.site.latitude, fit.mount.limits)];
  for (const group of standingGroups(theme)) {
    const members = fit.residuals.filter((residual) => residual.standing === group.standing);
    if (members.length === 0) continue;
    const points = members.map((residual) => dishPoint(residual.azimuthDeg, residual.altitudeDeg));
    traces.push({
      ...traceOf.marks,
      name: group.name,
      ...placed(points),
      marker: outlined(group.symbol, group.sizePx + 3, group.colour, 1),
      hovertext: members.map((residual) => sightingHover(residual, fit)),
    });
  }
  if (next.length > 0) {
    const points = next.map((star) => dishPoint(star.azimuthDeg, star.altitudeDeg));
    const labels = next.map(({ label }, index) => ({ point: points[index]!, text: label }));
    const sizes = { unitPx: DISH_RADIUS_PX, fontPx: theme.fontSizePx, markerPx: NEXT_PX };
    traces.push({
      ...traceOf.marks,
      mode: "markers+text",
      name: "sight next",
      ...placed(points),
      text: labels.map(({ text }) => hoverText([text])),
      textposition: labelPlaces(labels, sizes, dishWords(fit.mount.site.latitude)),
      textfont: { size: theme.fontSizePx, color: colours.text },
      marker: { symbol: "star", size: NEXT_PX, color: colours.second },
      hovertext: next.map((star) =>
        hoverText([
          star.label,
          `altitude ${fixed(star.altitudeDeg, 0)}°, azimuth ${fixed(star.azimuthDeg, 0)}°`,
          ...(star.reason === undefined ? [] : [star.reason]),
        ]),
      ),
    });
  }
  const used = fit.residuals.filter((residual) => residual.standing === "used");
  const empty = QUARTERS.filter(
    (_, quarter) =>
      !used.some((residual) => Math.floor((((residual.azimuthDeg % 360) + 360) % 360) / 90) === quarter),
  );
  const gaps = empty.length === 0 ? "every quarter of the sky has some" : `none in the ${listText(empty)}`;
  const nextText = next.length === 0 ? "" : ` Sight next: ${listText(next.map((star) => star.label))}.`;
  const summary = `${count(used.length, "sighting")} in use, ${gaps}.${nextText} The shaded rim is outside the mount's limits. Seen from above: north up, east right.${said}`;
  return { data: traces, layout: dishLayout(theme, `Where the stars of ${fit.mount.name} lie`), summary };
}
