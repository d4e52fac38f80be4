import { readFileSync } from "node:fs";
import { createRequire } from "node:module";

let source: string | null = null;

/**
 * The source of the drawing library's bundle for flat charts, 1.5 MB, read from the installed package when first asked
 * for.
 *
 * @returns JavaScript
 * @throws Error when the package `plotly.js-cartesian-dist-min` is not installed
 */
export function plotlySource(): string {
  source ??= readFileSync(createRequire(import.meta.url).resolve("plotly.js-cartesian-dist-min"), "utf8");
  return source;
}
