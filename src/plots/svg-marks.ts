/** Lines, marks, words and bars of a still picture. */
import type { Theme } from "../words/theme.js";
import type { Json, Properties } from "./figure.js";
import { child, gapped, number, numbers, type Place, px, readLines, text } from "./svg-parts.js";

type Dash = "solid" | "dot" | "dash";

export function scatter(trace: Properties, toX: Place, toY: Place, theme: Theme): string {
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
    if (x === null || y === null || y === undefined) return;
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
export function symbolSvg(symbol: string, cx: number, cy: number, size: number, marker: Properties): string {
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

export function bars(trace: Properties, toX: Place, toY: Place): string {
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

function dashes(dash: Dash | undefined): string {
  return dash === "dot" ? " stroke-dasharray='2 4'" : dash === "dash" ? " stroke-dasharray='8 5'" : "";
}
