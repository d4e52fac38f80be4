/** The shades of a still picture, and the scale that reads them. */
import type { Theme } from "../words/theme.js";
import type { Json, Properties } from "./figure.js";
import { ticksOf } from "./svg-axes.js";
import { child, gapped, number, numbers, type Place, px, readText, text } from "./svg-parts.js";

const SHADES = 24;

/** A heatmap in a few shades; neighbours of one shade are drawn as one, and each shade as one path. */
export function heatmap(trace: Properties, toX: Place, toY: Place): string {
  const xs = numbers(trace.x, []);
  const ys = numbers(trace.y, []);
  const rows = Array.isArray(trace.z) ? (trace.z as readonly Json[]) : [];
  const [low, high] = [number(trace.zmin, 0), number(trace.zmax, 1)];
  const halfX = Math.abs((xs[1] ?? 1) - (xs[0] ?? 0)) / 2;
  const halfY = Math.abs((ys[1] ?? 1) - (ys[0] ?? 0)) / 2;
  const paths = new Map<number, string>();
  rows.forEach((row, j) => {
    const shades = gapped(row).map((value) =>
      value === null
        ? -1
        : Math.min(SHADES - 1, Math.max(0, Math.floor(((value - low) / (high - low)) * SHADES))),
    );
    const top = Math.round(toY(ys[j]! + halfY));
    const bottom = Math.round(toY(ys[j]! - halfY));
    for (let start = 0; start < shades.length; ) {
      let end = start;
      while (end + 1 < shades.length && shades[end + 1] === shades[start]) {
        end++;
      }
      const shade = shades[start]!;
      if (shade >= 0) {
        const [from, to] = [Math.round(toX(xs[start]! - halfX)), Math.round(toX(xs[end]! + halfX))];
        paths.set(shade, `${paths.get(shade) ?? ""}M${from} ${top}H${to}V${bottom}H${from}`);
      }
      start = end + 1;
    }
  });
  const scale = colourScale(trace);
  return [...paths]
    .map(([shade, path]) => `<path d='${path}' fill='${colourAt(scale, (shade + 0.5) / SHADES)}'/>`)
    .join("");
}

function colourScale(trace: Properties): readonly (readonly [number, string])[] {
  return (Array.isArray(trace.colorscale) ? trace.colorscale : []) as unknown as readonly (readonly [
    number,
    string,
  ])[];
}

/** The colour at a position of a scale, between its neighbours in straight lines. */
function colourAt(scale: readonly (readonly [number, string])[], position: number): string {
  const next = Math.max(
    1,
    scale.findIndex(([at]) => at >= position),
  );
  const [from, to] = [scale[next - 1], scale[next]];
  if (from === undefined || to === undefined) return scale[0]?.[1] ?? "none";
  const part = (position - from[0]) / (to[0] - from[0]);
  const channel = (start: number): string => {
    const [a, b] = [from[1], to[1]].map((colour) => Number.parseInt(colour.slice(start, start + 2), 16));
    return Math.round(a! + part * (b! - a!))
      .toString(16)
      .padStart(2, "0");
  };
  return `#${channel(1)}${channel(3)}${channel(5)}`;
}

export function colourBar(trace: Properties, width: number, top: number, theme: Theme): string {
  const scale = colourScale(trace);
  const bar = child(trace, "colorbar");
  const [left, long] = [width * 0.15, width * 0.7];
  const parts = Array.from({ length: SHADES }, (_, index) => {
    const from = left + (long * index) / SHADES;
    return `<rect x='${px(from)}' y='${px(top + 20)}' width='${px(long / SHADES + 0.5)}' height='14' fill='${colourAt(scale, (index + 0.5) / SHADES)}'/>`;
  });
  const [low, high] = [number(trace.zmin, 0), number(trace.zmax, 1)];
  const size = theme.fontSizePx;
  parts.push(
    text(readText(child(bar, "title").text), width / 2, top + 14, size, theme.colours.text, "middle"),
  );
  for (const { value, label } of ticksOf(bar, low, high)) {
    parts.push(
      text(
        label,
        left + (long * (value - low)) / (high - low),
        top + 36 + size,
        size,
        theme.colours.text,
        "middle",
      ),
    );
  }
  return parts.join("");
}
