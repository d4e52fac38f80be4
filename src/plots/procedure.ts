import type { Procedure, ProcedureResult } from "../procedures/procedure.js";
import { lightTheme, type Theme } from "../words/theme.js";
import { axis, chartLayout, joined, rounded, type Trace } from "./drawing.js";
import type { Figure } from "./figure.js";

/** The picture of what a procedure found; none where it has none. */
export function procedureFigures(
  procedure: Procedure,
  result: ProcedureResult | null,
  theme: Theme = lightTheme,
): Figure[] {
  const picture = result?.picture ?? null;
  if (picture === null) return [];
  const colours = [theme.colours.first, theme.colours.second, theme.colours.third];
  const symbols = ["circle", "diamond", "square"] as const;
  const traces = picture.lines.map(
    (line, k): Trace => ({
      type: "scatter",
      mode: line.joined ? "lines" : "markers",
      name: line.name,
      ...joined([line.points]),
      ...(line.joined
        ? { line: { color: colours[k % 3]!, width: 3, ...(k === 0 ? {} : { dash: "dash" }) } }
        : { marker: { symbol: symbols[k % 3]!, size: 10, color: colours[k % 3]! } }),
      hoverinfo: "skip",
    }),
  );
  const range = (values: readonly number[]): [number, number] => {
    const [low, high] = [Math.min(...values), Math.max(...values)];
    const pad = 0.08 * Math.max(high - low, 1);
    return [rounded(low - pad), rounded(high + pad)];
  };
  const points = picture.lines.flatMap((line) => line.points);
  const layout = chartLayout(theme, procedure.title, 420, -0.22, {
    xaxis: axis(theme, picture.x, {
      range: range(points.map(([x]) => x)),
      zeroline: false,
      ...(picture.toScale ? { constrain: "domain" } : {}),
    }),
    yaxis: axis(theme, picture.y, {
      range: range(points.map(([, y]) => y)),
      zeroline: false,
      ...(picture.toScale ? { scaleanchor: "x", constrain: "domain" } : {}),
    }),
  });
  return [{ data: traces, layout, summary: picture.summary }];
}
