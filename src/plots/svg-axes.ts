/** The axes of a still picture. */

import type { Theme } from "../words/theme.js";
import type { Properties } from "./figure.js";
import { child, type Frame, number, numbers, px, readText, strings, text } from "./svg-parts.js";

export function axisParts(
  properties: Properties,
  which: "x" | "y",
  box: Frame,
  from: number,
  to: number,
  place: (value: number) => number,
  theme: Theme,
): string[] {
  if (properties.visible === false) return [];
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

export function ticksOf(
  properties: Properties,
  from: number,
  to: number,
): { value: number; label: string }[] {
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
