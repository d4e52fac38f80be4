/**
 * A figure as a still picture: the part of plotly's language that the figures of this project use, drawn as SVG. It stands
 * in where scripts do not run, and serves pages and print.
 */
import { escapeHtml } from "../report/escape.js";
import { lightTheme, type Theme } from "../report/theme.js";
import type { Figure, Json } from "./figure.js";
import { themed } from "./themed.js";

/** How a still picture is drawn. */
export interface SvgOptions {
  /** Pixels; 680 when not given. */
  readonly widthPx?: number;
  /** Whether the title stands in the picture too; on when not given. */
  readonly withTitle?: boolean;
}

type Properties = { readonly [key: string]: Json };
type Dash = "solid" | "dot" | "dash";

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
    if (suffix !== "" && layout[`xaxis${suffix}`] === undefined) {
      continue;
    }
    parts.push(...panel(shown, suffix, frame, theme, bare));
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

interface Frame {
  readonly left: number;
  readonly right: number;
  readonly top: number;
  readonly bottom: number;
}

/** One pair of axes and what is drawn on it. */
function panel(figure: Figure, suffix: string, outer: Frame, theme: Theme, bare: boolean): string[] {
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
  const clip = `clip${suffix === "" ? "1" : suffix}${Math.round(box.left)}x${Math.round(box.top)}x${Math.round(box.bottom)}`;
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
    if ((trace.xaxis ?? "x") !== `x${suffix}`) {
      continue;
    }
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

function axisParts(
  properties: Properties,
  which: "x" | "y",
  box: Frame,
  from: number,
  to: number,
  place: (value: number) => number,
  theme: Theme,
): string[] {
  if (properties.visible === false) {
    return [];
  }
  const { colours } = theme;
  const size = theme.fontSizePx;
  const parts: string[] = [];
  const grid: string[] = [];
  for (const { value, label } of ticksOf(properties, from, to)) {
    const at = px(place(value));
    if (properties.showgrid !== false) {
      grid.push(
        which === "x" ? `M${at} ${px(box.top)}V${px(box.bottom)}` : `M${px(box.left)} ${at}H${px(box.right)}`,
      );
    }
    parts.push(
      which === "x"
        ? text(label, Number(at), box.bottom + size + 5, size, colours.text, "middle")
        : text(label, box.left - 8, Number(at) + size * 0.36, size, colours.text, "end"),
    );
  }
  const title = readText(child(properties, "title").text);
  const middle = which === "x" ? (box.left + box.right) / 2 : (box.top + box.bottom) / 2;
  const edge =
    which === "x"
      ? `M${px(box.left)} ${px(box.bottom)}H${px(box.right)}`
      : `M${px(box.left)} ${px(box.top)}V${px(box.bottom)}`;
  const zero = properties.zeroline !== false && from < 0 && to > 0 ? zeroPath(which, box, place(0)) : "";
  return [
    `<path d='${grid.join("")}' fill='none' stroke='${colours.grid}'/>`,
    `<path d='${edge}${zero}' fill='none' stroke='${colours.rule}'/>`,
    ...parts,
    which === "x"
      ? text(title, middle, box.bottom + 2 * size + 14, size, colours.text, "middle")
      : text(
          title,
          0,
          0,
          size,
          colours.text,
          "middle",
          `transform='translate(${px(box.left - 56)} ${px(middle)}) rotate(-90)'`,
        ),
  ];
}

function zeroPath(which: "x" | "y", box: Frame, at: number): string {
  return which === "x"
    ? `M${px(at)} ${px(box.top)}V${px(box.bottom)}`
    : `M${px(box.left)} ${px(at)}H${px(box.right)}`;
}

function ticksOf(properties: Properties, from: number, to: number): { value: number; label: string }[] {
  if (Array.isArray(properties.tickvals)) {
    const labels = strings(properties.ticktext);
    return numbers(properties.tickvals, []).map((value, index) => ({
      value,
      label: readText(labels[index]),
    }));
  }
  const step = number(properties.dtick, niceStep((to - from) / 6));
  const first = Math.ceil(from / step - 1e-9);
  const last = Math.floor(to / step + 1e-9);
  return Array.from({ length: Math.max(0, last - first + 1) }, (_, index) => {
    const value = Number(((first + index) * step).toPrecision(10));
    return { value, label: String(value).replace("-", "−") };
  });
}

function niceStep(rough: number): number {
  const power = 10 ** Math.floor(Math.log10(rough));
  return ([1, 2, 5, 10].find((step) => step * power >= rough) ?? 10) * power;
}

type Place = (value: number) => number;

function scatter(trace: Properties, toX: Place, toY: Place, theme: Theme): string {
  const xs = gapped(trace.x);
  const ys = gapped(trace.y);
  const mode = String(trace.mode ?? "markers");
  const line = child(trace, "line");
  const parts: string[] = [];
  if (mode.includes("lines")) {
    let path = "";
    let pen = "M";
    xs.forEach((x, index) => {
      const y = ys[index];
      if (x === null || y === null || y === undefined) {
        pen = "M";
        return;
      }
      path += `${pen}${px(toX(x))} ${px(toY(y))}`;
      pen = "L";
    });
    const fill = trace.fill === "toself" ? String(trace.fillcolor ?? "none") : "none";
    parts.push(
      `<path d='${path}' fill='${fill}' stroke='${String(line.color ?? theme.colours.text)}' stroke-width='${number(line.width, 1)}' stroke-linejoin='round'${dashes(line.dash as Dash | undefined)}/>`,
    );
  }
  const error = child(trace, "error_y");
  const errorSizes = numbers(error.array, []);
  const marker = child(trace, "marker");
  const labels = trace.text;
  const positions = trace.textposition;
  const font = child(trace, "textfont");
  xs.forEach((x, index) => {
    const y = ys[index];
    if (x === null || y === null || y === undefined) {
      return;
    }
    const [cx, cy] = [toX(x), toY(y)];
    const size = errorSizes[index];
    if (size !== undefined) {
      parts.push(
        `<path d='M${px(cx)} ${px(toY(y - size))}V${px(toY(y + size))}' stroke='${String(error.color)}' stroke-width='2'/>`,
      );
    }
    if (mode.includes("markers")) {
      parts.push(symbolSvg(String(marker.symbol ?? "circle"), cx, cy, number(marker.size, 8), marker));
    }
    if (mode.includes("text")) {
      const label = Array.isArray(labels) ? labels[index] : labels;
      const position = String((Array.isArray(positions) ? positions[index] : positions) ?? "middle center");
      parts.push(
        placedText(
          label as Json,
          cx,
          cy,
          position,
          mode.includes("markers") ? number(marker.size, 8) : 0,
          font,
          theme,
        ),
      );
    }
  });
  return parts.join("");
}

function placedText(
  label: Json | undefined,
  x: number,
  y: number,
  position: string,
  markerPx: number,
  font: Properties,
  theme: Theme,
): string {
  const size = number(font.size, theme.fontSizePx);
  const colour = String(font.color ?? theme.colours.text);
  const lines = readLines(label);
  const gap = markerPx / 2 + 3;
  const across = position.includes("left") ? -gap : position.includes("right") ? gap : 0;
  const anchor = position.includes("left") ? "end" : position.includes("right") ? "start" : "middle";
  const tall = lines.length * size * 1.25;
  const top = position.startsWith("top")
    ? y - gap - tall
    : position.startsWith("bottom")
      ? y + gap
      : y - tall / 2;
  return lines
    .map((line, index) => text(line, x + across, top + size * (0.95 + 1.25 * index), size, colour, anchor))
    .join("");
}

/** The marks that the figures use, drawn by hand. */
function symbolSvg(symbol: string, cx: number, cy: number, size: number, marker: Properties): string {
  const line = child(marker, "line");
  const colour = String(marker.color ?? "#000");
  const open = symbol.endsWith("-open");
  const r = size / 2;
  const stroke = Math.max(open ? 2 : 0, number(line.width, 0));
  const paint = open
    ? `fill='none' stroke='${colour}' stroke-width='${stroke}'`
    : `fill='${colour}'${stroke > 0 ? ` stroke='${String(line.color ?? colour)}' stroke-width='${stroke}'` : ""}`;
  const polygon = (points: readonly (readonly [number, number])[]): string =>
    `<path d='M${points.map(([x, y]) => `${px(cx + r * x)} ${px(cy + r * y)}`).join("L")}Z' ${paint}/>`;
  switch (symbol.replace("-open", "")) {
    case "square":
      return polygon([
        [-0.9, -0.9],
        [0.9, -0.9],
        [0.9, 0.9],
        [-0.9, 0.9],
      ]);
    case "diamond":
      return polygon([
        [0, -1.3],
        [1.3, 0],
        [0, 1.3],
        [-1.3, 0],
      ]);
    case "triangle-up":
      return polygon([
        [0, -1.1],
        [1.1, 0.8],
        [-1.1, 0.8],
      ]);
    case "triangle-down":
      return polygon([
        [0, 1.1],
        [1.1, -0.8],
        [-1.1, -0.8],
      ]);
    case "star":
      return polygon(
        Array.from({ length: 10 }, (_, index) => {
          const reach = index % 2 === 0 ? 1.35 : 0.55;
          return [reach * Math.sin((Math.PI * index) / 5), -reach * Math.cos((Math.PI * index) / 5)] as const;
        }),
      );
    case "x":
      return `<path d='M${px(cx - r)} ${px(cy - r)}L${px(cx + r)} ${px(cy + r)}M${px(cx - r)} ${px(cy + r)}L${px(cx + r)} ${px(cy - r)}' stroke='${colour}' stroke-width='${px(size / 3.5)}'/>`;
    case "cross-thin":
      return `<path d='M${px(cx - r)} ${px(cy)}H${px(cx + r)}M${px(cx)} ${px(cy - r)}V${px(cy + r)}' stroke='${String(line.color ?? colour)}' stroke-width='${Math.max(1, stroke)}'/>`;
    default:
      return `<circle cx='${px(cx)}' cy='${px(cy)}' r='${px(r)}' ${paint}/>`;
  }
}

function bars(trace: Properties, toX: Place, toY: Place): string {
  const lengths = numbers(trace.x, []);
  const rows = numbers(trace.y, []);
  const half = number(trace.width, 0.8) / 2;
  const colour = String(child(trace, "marker").color);
  return lengths
    .map((length, index) => {
      const [from, to] = [toX(Math.min(0, length)), toX(Math.max(0, length))];
      const [top, bottom] = [toY(rows[index]! + half), toY(rows[index]! - half)];
      return `<rect x='${px(from)}' y='${px(top)}' width='${px(to - from)}' height='${px(bottom - top)}' fill='${colour}'/>`;
    })
    .join("");
}

const SHADES = 24;

/** A heatmap in a few shades; neighbours of one shade are drawn as one, and each shade as one path. */
function heatmap(trace: Properties, toX: Place, toY: Place): string {
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
  if (from === undefined || to === undefined) {
    return scale[0]?.[1] ?? "none";
  }
  const part = (position - from[0]) / (to[0] - from[0]);
  const channel = (start: number): string => {
    const [a, b] = [from[1], to[1]].map((colour) => Number.parseInt(colour.slice(start, start + 2), 16));
    return Math.round(a! + part * (b! - a!))
      .toString(16)
      .padStart(2, "0");
  };
  return `#${channel(1)}${channel(3)}${channel(5)}`;
}

function colourBar(trace: Properties, width: number, top: number, theme: Theme): string {
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

interface LegendItem {
  readonly draw: (y: number) => string;
}

function legendRows(figure: Figure, width: number, size: number): LegendItem[][] {
  if (figure.layout.showlegend === false) {
    return [];
  }
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

function dashes(dash: Dash | undefined): string {
  return dash === "dot" ? " stroke-dasharray='2 4'" : dash === "dash" ? " stroke-dasharray='8 5'" : "";
}

function text(
  content: string,
  x: number,
  y: number,
  size: number,
  colour: string,
  anchor: "start" | "middle" | "end",
  more = "",
): string {
  return content === ""
    ? ""
    : `<text x='${px(x)}' y='${px(y)}' font-size='${size}' fill='${colour}'${anchor === "start" ? "" : ` text-anchor='${anchor}'`}${more === "" ? "" : ` ${more}`}>${escapeHtml(content)}</text>`;
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

const entities: Readonly<Record<string, string>> = { "&lt;": "<", "&gt;": ">", "&amp;": "&" };

/** Plotly's text without its markup. */
function readText(value: Json | undefined): string {
  return readLines(value).join(" ");
}

function readLines(value: Json | undefined): string[] {
  return value === undefined || value === null
    ? []
    : String(value)
        .split("<br>")
        .map((line) => line.replace(/&(lt|gt|amp);/g, (entity) => entities[entity]!));
}

/** A coordinate in pixels, to a tenth. */
function px(value: number): string {
  return String(Math.round(value * 10) / 10);
}

function child(properties: Properties, key: string): Properties {
  const value = properties[key];
  return value !== null && typeof value === "object" && !Array.isArray(value) ? (value as Properties) : {};
}

function number(value: Json | undefined, otherwise: number): number {
  return typeof value === "number" ? value : otherwise;
}

function numbers(value: Json | undefined, otherwise: readonly number[]): readonly number[] {
  return Array.isArray(value) ? (value as readonly number[]) : otherwise;
}

function gapped(value: Json | undefined): readonly (number | null)[] {
  return Array.isArray(value) ? (value as readonly (number | null)[]) : [];
}

function strings(value: Json | undefined): readonly string[] {
  return Array.isArray(value) ? (value as readonly string[]) : [];
}
