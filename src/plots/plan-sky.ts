import type { Limits } from "../mount/mount.js";
import type { Plan } from "../plan/plan.js";
import { count } from "../words/lists.js";
import { fixed } from "../words/numbers.js";
import { lightTheme, type Theme } from "../words/theme.js";
import { DISH_RADIUS_PX, dishBackdrop, dishLayout, dishPoint, dishWords } from "./dish.js";
import { hoverText, placed, type Trace, traceOf } from "./drawing.js";
import type { Figure } from "./figure.js";
import { namesOrNumbers } from "./label-places.js";

const MARKER_PX = 9;

/**
 * An evening's plan over the sky: the stars in their order, joined by the way from one to the next.
 *
 * @param plan - from {@link planStars}
 * @param latitudeDeg - of the mount's site
 * @param limits - the mount's limits, drawn as the barred part of the sky
 * @param theme - the colours; light when not given
 */
export function planSky(
  plan: Plan,
  latitudeDeg: number,
  limits: Limits | null,
  theme: Theme = lightTheme,
): Figure {
  const { colours } = theme;
  const points = plan.stars.map((star) => dishPoint(star.azimuthDeg, star.altitudeDeg));
  const labels = plan.stars.map((star, index) => ({
    point: points[index]!,
    text: `${star.place} ${star.star}`,
  }));
  const sizes = { unitPx: DISH_RADIUS_PX, fontPx: theme.fontSizePx, markerPx: MARKER_PX };
  const traces: Trace[] = [
    ...dishBackdrop(theme, latitudeDeg, limits),
    {
      ...traceOf.marks,
      mode: "lines+markers+text",
      name: "planned stars",
      ...placed(points),
      ...namesOrNumbers(labels, sizes, dishWords(latitudeDeg)).wordsOf(labels.map((_, index) => index)),
      textfont: { size: theme.fontSizePx, color: colours.text },
      line: { color: colours.muted, width: 1, dash: "dot" },
      marker: { symbol: "circle", size: MARKER_PX, color: colours.first },
      hovertext: plan.stars.map((star) =>
        hoverText([
          `${star.place}. ${star.star}, ${star.time}`,
          `readings ${star.predicted.hourAngleText}, ${star.predicted.declinationText}`,
          `altitude ${fixed(star.altitudeDeg, 0)}°, azimuth ${fixed(star.azimuthDeg, 0)}°`,
        ]),
      ),
      showlegend: false,
    },
  ];
  const summary = `${count(plan.stars.length, "star")} in order: ${plan.stars.map((star) => star.star).join(", ")}. Seen from above: north up, east right, the zenith in the middle.`;
  return { data: traces, layout: dishLayout(theme, `Stars to sight with ${plan.mount}`), summary };
}
