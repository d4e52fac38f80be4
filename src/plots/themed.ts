import { lightTheme, type Theme } from "../words/theme.js";
import type { Figure, Json } from "./figure.js";

/**
 * A figure in another theme: every colour of the light theme gives way to the one of the same purpose. A figure that
 * was made in another theme stays as it is.
 *
 * @param figure - a figure made in the light theme
 * @param theme - the theme to show it in
 */
export function themed(figure: Figure, theme: Theme): Figure {
  if (theme.name === lightTheme.name) return figure;
  const colours = new Map<string, string>();
  for (const purpose of Object.keys(lightTheme.colours) as (keyof Theme["colours"])[]) {
    colours.set(lightTheme.colours[purpose], theme.colours[purpose]);
  }
  lightTheme.scale.forEach(([, colour], index) => {
    colours.set(colour, theme.scale[index]?.[1] ?? theme.colours.first);
  });
  const recoloured = (value: Json): Json => {
    if (typeof value === "string") return colours.get(value) ?? value;
    if (value === null || typeof value !== "object") return value;
    return Array.isArray(value)
      ? value.map((item: Json) => recoloured(item))
      : Object.fromEntries(Object.entries(value).map(([key, item]) => [key, recoloured(item as Json)]));
  };
  return {
    ...figure,
    data: figure.data.map((trace) => recoloured(trace) as Figure["data"][number]),
    layout: recoloured(figure.layout) as Figure["layout"],
  };
}
