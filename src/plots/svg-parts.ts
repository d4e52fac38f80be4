/** What the still pictures are put together from: plotly's properties read with care, numbers and words written as SVG. */
import { escapeHtml } from "../words/escape.js";
import type { Json, Properties } from "./figure.js";

/** From a figure's coordinate to pixels. */
export type Place = (value: number) => number;

/** A rectangle in pixels. */
export interface Frame {
  readonly left: number;
  readonly right: number;
  readonly top: number;
  readonly bottom: number;
}

const entities: Readonly<Record<string, string>> = { "&lt;": "<", "&gt;": ">", "&amp;": "&" };

export function text(
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

/** Plotly's text without its markup. */
export function readText(value: Json | undefined): string {
  return readLines(value).join(" ");
}

export function readLines(value: Json | undefined): string[] {
  return value === undefined || value === null
    ? []
    : String(value)
        .split("<br>")
        .map((line) => line.replace(/&(lt|gt|amp);/g, (entity) => entities[entity]!));
}

/** A coordinate in pixels, to a tenth. */
export function px(value: number): string {
  return String(Math.round(value * 10) / 10);
}

export function child(properties: Properties, key: string): Properties {
  const value = properties[key];
  return value !== null && typeof value === "object" && !Array.isArray(value) ? (value as Properties) : {};
}

export function number(value: Json | undefined, otherwise: number): number {
  return typeof value === "number" ? value : otherwise;
}

export function numbers(value: Json | undefined, otherwise: readonly number[]): readonly number[] {
  return Array.isArray(value) ? (value as readonly number[]) : otherwise;
}

export function gapped(value: Json | undefined): readonly (number | null)[] {
  return Array.isArray(value) ? (value as readonly (number | null)[]) : [];
}

export function strings(value: Json | undefined): readonly string[] {
  return Array.isArray(value) ? (value as readonly string[]) : [];
}
