import type { MountFit } from "../fit/fit-result.js";
import { arcminText, sizeText } from "../words/numbers.js";
import { lightTheme, type Theme } from "../words/theme.js";
import { markTraces, reachOf, targetLayout, targetTraces } from "./axis-pointing.js";
import { arrowsTrace, type Point } from "./drawing.js";
import type { Figure } from "./figure.js";

/**
 * Where the polar axis pointed before and where it points after, each with its 95 % ellipse.
 *
 * @param before - the earlier fit
 * @param after - the later fit
 * @param theme - the colours; light when not given
 */
export function beforeAfter(before: MountFit, after: MountFit, theme: Theme = lightTheme): Figure {
  const { colours } = theme;
  const reach = reachOf([before.pole, after.pole], []);
  const from: Point = [before.pole.east.value, before.pole.altitude.value];
  const to: Point = [after.pole.east.value, after.pole.altitude.value];
  const [rings, poleCross] = targetTraces(theme, reach);
  const traces = [
    rings!,
    ...markTraces(theme, before.pole, "before"),
    arrowsTrace([[from, to]], { shaft: 0.01 * reach, head: 0.055 * reach }, colours.muted),
    ...markTraces(theme, after.pole, "after", "second"),
    poleCross!,
  ];
  const summary = `Before, the axis was ${sizeText(before.pole.distance)} from the pole; after, ${sizeText(after.pole.distance)}. The residuals went from ${arcminText(before.skyRms.found)} to ${arcminText(after.skyRms.found)}.`;
  return {
    data: traces,
    layout: targetLayout(theme, `The polar axis of ${after.mount.name}, before and after`, reach),
    summary,
  };
}
