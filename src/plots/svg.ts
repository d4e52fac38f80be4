/**
 * A figure as a still picture: the part of plotly's language that the figures of this project use, drawn as SVG. It stands
 * in where scripts do not run, and serves pages and print.
 */
import { escapeHtml } from "../words/escape.js";
import { lightTheme, type Theme } from "../words/theme.js";
import type { Figure, Properties } from "./figure.js";
import { axisParts } from "./svg-axes.js";
import { bars, scatter, symbolSvg } from "./svg-marks.js";
import { child, type Frame, number, numbers, px, readText, text } from "./svg-parts.js";
import { colourBar, heatmap } from "./svg-shades.js";
import { textKey } from "./text-key.js";
import { themed } from "./themed.js";

/** How a still picture is drawn. */
export interface SvgOptions {
  /** Pixels; 680 when not given. */
  readonly widthPx?: number;
  /** Whether the title stands in the picture too; on when not given. */
  readonly withTitle?: boolean;
}

const DEFAULT_WIDTH_PX = 680;
const LEGEND_ROW_PX = 26;
const LETTER_WIDTH = 0.56;
const TITLE_LINE = 1.35;

/**
 * A figure as an SVG element.
 *
 * @param figure - a figure
 * @param theme - the colours; light when not given
 * @param options - width, and whether the title is drawn
 * @returns an `<svg>` element that scales with its surroundings, with a title and a description for screen readers
 */
export function figureSvg(figure: Figure, theme: Theme = lightTheme, options: SvgOptions = {}): string {
  const shown = themed(figure, theme);
  const width = options.widthPx ?? DEFAULT_WIDTH_PX;
  const layout = shown.layout;
  const titleText = readText(child(layout, "title").text);
  const size = theme.fontSizePx;
  const title = options.withTitle === false ? [] : wrapTitle(titleText, width - 20, size + 3);
  const titleHeight = title.length * (size + 3) * TITLE_LINE + (title.length > 0 ? 8 : 0);
  const legend = legendRows(shown, width, size);
  const bar = shown.data.find((trace) => trace.type === "heatmap" && trace.showscale === true);
  const legendHeight = legend.length * LEGEND_ROW_PX + (bar === undefined ? 0 : 64);
  const height = Math.round(Math.min(number(layout.height, 500), 1.08 * width + legendHeight) + titleHeight);
  const bare = child(layout, "xaxis").visible === false && child(layout, "yaxis").visible === false;
  const xHidden = child(layout, "xaxis").visible === false;
  const yHidden = child(layout, "yaxis").visible === false;
  const frame = {
    left: yHidden ? 12 : 78,
    right: width - 14,
    top: titleHeight + 10,
    bottom: height - legendHeight - (xHidden ? 6 : 58),
  };
  const parts: string[] = [];
  title.forEach((line, index) => {
    parts.push(
      text(
        line,
        width / 2,
        (size + 3) * (1 + index * TITLE_LINE) + 2,
        size + 3,
        theme.colours.text,
        "middle",
        "font-weight='700'",
      ),
    );
  });
  for (const suffix of ["", "2"]) {
    if (suffix !== "" && layout[`xaxis${suffix}`] === undefined) continue;
    parts.push(...panel(shown, suffix, frame, theme, bare, textKey(figure.summary + titleText + width)));
  }
  legend.forEach((row, index) => {
    parts.push(...row.map((item) => item.draw(height - (legend.length - index) * LEGEND_ROW_PX + 16)));
  });
  if (bar !== undefined) {
    parts.push(colourBar(bar, width, height - 58, theme));
  }
  const label = escapeHtml(titleText);
  return `<svg xmlns='http://www.w3.org/2000/svg' viewBox='0 0 ${width} ${height}' width='${width}' role='img' aria-label='${label}' font-family="${escapeHtml(theme.fontFamily)}"><title>${label}</title><desc>${escapeHtml(figure.summary)}</desc><rect width='${width}' height='${height}' fill='${theme.colours.page}'/>${parts.join("")}</svg>`;
}

/** One pair of axes and what is drawn on it. */
function panel(
  figure: Figure,
  suffix: string,
  outer: Frame,
  theme: Theme,
  bare: boolean,
  key: string,
): string[] {
  const xAxis = child(figure.layout, `xaxis${suffix}`);
  const yAxis = child(figure.layout, `yaxis${suffix}`);
  const [lowDomain, highDomain] = numbers(yAxis.domain, [0, 1]);
  const whole = outer.bottom - outer.top;
  let box: Frame = {
    left: outer.left,
    right: outer.right,
    top: outer.bottom - whole * highDomain!,
    bottom: outer.bottom - whole * lowDomain!,
  };
  const [x0, x1] = numbers(xAxis.range, [0, 1]) as [number, number];
  const [y0, y1] = numbers(yAxis.range, [0, 1]) as [number, number];
  if (yAxis.scaleanchor === "x") {
    const scale = Math.min((box.right - box.left) / (x1 - x0), (box.bottom - box.top) / (y1 - y0));
    const halfWide = (scale * (x1 - x0)) / 2;
    const halfTall = (scale * (y1 - y0)) / 2;
    const middleX = (box.left + box.right) / 2;
    const middleY = (box.top + box.bottom) / 2;
    box = {
      left: middleX - halfWide,
      right: middleX + halfWide,
      top: middleY - halfTall,
      bottom: middleY + halfTall,
    };
  }
  const toX = (value: number): number => box.left + ((value - x0) / (x1 - x0)) * (box.right - box.left);
  const toY = (value: number): number => box.bottom - ((value - y0) / (y1 - y0)) * (box.bottom - box.top);
  const parts: string[] = [];
  const clip = `clip${suffix}-${key}`;
  if (!bare) {
    parts.push(
      `<rect x='${px(box.left)}' y='${px(box.top)}' width='${px(box.right - box.left)}' height='${px(box.bottom - box.top)}' fill='${theme.colours.panel}'/>`,
    );
  }
  parts.push(
    ...axisParts(xAxis, "x", box, x0, x1, toX, theme),
    ...axisParts(yAxis, "y", box, y0, y1, toY, theme),
  );
  parts.push(
    `<clipPath id='${clip}'><rect x='${px(box.left)}' y='${px(box.top)}' width='${px(box.right - box.left)}' height='${px(box.bottom - box.top)}'/></clipPath><g clip-path='url(#${clip})'>`,
  );
  for (const trace of figure.data) {
    if ((trace.xaxis ?? "x") !== `x${suffix}`) continue;
    if (trace.type === "heatmap") {
      parts.push(heatmap(trace, toX, toY));
    } else if (trace.type === "bar") {
      parts.push(bars(trace, toX, toY));
    } else {
      parts.push(scatter(trace, toX, toY, theme));
    }
  }
  parts.push("</g>");
  return parts;
}

interface LegendItem {
  readonly draw: (y: number) => string;
}

function legendRows(figure: Figure, width: number, size: number): LegendItem[][] {
  if (figure.layout.showlegend === false) return [];
  const entries = figure.data
    .filter(
      (trace) => trace.showlegend !== false && typeof trace.name === "string" && trace.type !== "heatmap",
    )
    .map((trace) => ({
      trace,
      name: readText(trace.name),
      wide: 40 + readText(trace.name).length * size * LETTER_WIDTH,
    }));
  const rows: (typeof entries)[] = [];
  let used = Number.POSITIVE_INFINITY;
  for (const entry of entries) {
    if (used + entry.wide > width - 20) {
      rows.push([]);
      used = 0;
    }
    rows[rows.length - 1]!.push(entry);
    used += entry.wide;
  }
  return rows.map((row) => {
    let x = (width - row.reduce((sum, entry) => sum + entry.wide, 0)) / 2;
    return row.map((entry) => {
      const at = x;
      x += entry.wide;
      return {
        draw: (y) =>
          legendKey(entry.trace, at + 12, y - 5) +
          text(entry.name, at + 26, y, size, fontColour(figure), "start"),
      };
    });
  });
}

function fontColour(figure: Figure): string {
  return String(child(figure.layout, "font").color ?? "#000");
}

function legendKey(trace: Properties, x: number, y: number): string {
  const mode = String(trace.mode ?? "");
  if (trace.type === "bar") {
    return `<rect x='${px(x - 9)}' y='${px(y - 6)}' width='18' height='12' fill='${String(child(trace, "marker").color)}'/>`;
  }
  if (mode.includes("markers")) {
    const marker = child(trace, "marker");
    return symbolSvg(String(marker.symbol ?? "circle"), x, y, Math.min(13, number(marker.size, 8)), marker);
  }
  if (trace.fill === "toself") {
    return `<rect x='${px(x - 9)}' y='${px(y - 6)}' width='18' height='12' fill='${String(trace.fillcolor)}' stroke='${String(child(trace, "line").color)}'/>`;
  }
  return `<path d='M${px(x - 9)} ${px(y)}H${px(x + 9)}' stroke='${String(child(trace, "line").color)}' stroke-width='2'/>`;
}

function wrapTitle(title: string, width: number, size: number): string[] {
  const most = Math.max(10, Math.floor(width / (size * LETTER_WIDTH * 1.05)));
  const lines: string[] = [];
  for (const word of title.split(" ")) {
    const last = lines[lines.length - 1];
    if (last !== undefined && last.length + 1 + word.length <= most) {
      lines[lines.length - 1] = `${last} ${word}`;
    } else {
      lines.push(word);
    }
  }
  return title === "" ? [] : lines;
}
