/**
 * Showing results: in a notebook as HTML with live figures, elsewhere as text. The display is handed in; this library
 * never asks a notebook's kernel for it.
 */

import { ownReport } from "../answers/printable.js";
import type { TurnAdvice } from "../base/turn-advice.js";
import { faultTexts, InputError } from "../errors.js";
import { plotlySource } from "../files/plotly-source.js";
import type { MountFit } from "../fit/fit-result.js";
import type { Figure } from "../plots/figure.js";
import { fitReport } from "../report/fit-report.js";
import { reportHtml, rootClass, styleSheet } from "../report/html.js";
import { block, type Report } from "../report/report.js";
import { reportText } from "../report/text.js";
import { turnsReport } from "../report/turns-report.js";
import { escapeHtml, plainText } from "../words/escape.js";
import type { Theme } from "../words/theme.js";
import { figureHtml, plotlyHtml, titleOf } from "./figure-html.js";
import { dayPageScript, nightDress } from "./night-page.js";
import { isWholePage, pageFrame } from "./page-frame.js";
import { isRecords, tableReport } from "./table.js";
import { chooseTheme, currentTheme } from "./theme.js";
import { valueReport } from "./value-report.js";

/** One output in several forms, by MIME type. */
export type MimeBundle = Readonly<Record<string, string>>;

/** Takes an output and shows it. */
export type ShowBundle = (bundle: MimeBundle) => void;

/** A kernel's own display object, as tslab has it. */
export interface HtmlDisplay {
  /** Shows HTML. */
  html(text: string): void;
  /** Shows plain text. */
  text?(text: string): void;
}

/** Which cell is running, and in which run of the kernel's counting. */
interface RunningCell {
  /** What tells one cell from another: its id, or its code. */
  readonly cell: string;
  readonly run: number;
}

const DISPLAY = Symbol.for("polewright.display");
const CELL = Symbol.for("polewright.cell");
const RESULT = Symbol.for("polewright.result");

let given: ShowBundle | null = null;
let libraryCell: RunningCell | "somewhere" | null = null;

/**
 * Hands in the display to show results with. In this project's own kernel that is not needed.
 *
 * @param display - a function that takes a MIME bundle, or tslab's `display`; null to go back to the kernel's
 * @example
 * ```ts
 * import * as tslab from "tslab";
 * setDisplay(tslab.display);
 * ```
 */
export function setDisplay(display: ShowBundle | HtmlDisplay | null): void {
  libraryCell = null;
  if (display === null || typeof display === "function") {
    given = display;
    return;
  }
  given = (bundle) => {
    const html = bundle["text/html"];
    if (html !== undefined) {
      display.html(html);
    } else {
      const text = bundle["text/plain"] ?? "";
      if (display.text === undefined) {
        display.html(`<pre>${escapeHtml(text)}</pre>`);
      } else {
        display.text(text);
      }
    }
  };
}

/**
 * Shows results, one after another: a fit, turns, a report, a figure, a table of records, text, or whatever reports
 * itself. Without a notebook it prints their text.
 *
 * @param things - what to show
 * @example
 * ```ts
 * show(fit);
 * show(plots.residualSky(fit));
 * ```
 */
export function show(...things: readonly unknown[]): void {
  for (const thing of things) {
    showOne(thing);
  }
}

/**
 * Chooses the theme for everything shown from here on; in a notebook `night` also darkens the page itself.
 *
 * @param theme - `light` or `night`; POLEWRIGHT_THEME sets it from outside
 * @throws InputError `unknown-theme`
 * @example
 * ```ts
 * useTheme("night");
 * ```
 */
export function useTheme(theme: Theme["name"]): void {
  chooseTheme(theme);
  const display = findDisplay();
  if (display !== null) {
    const night = currentTheme().name === "night";
    display({
      "text/html": night ? nightDress() : dayPageScript(),
      "text/plain": night ? "The page is red on black from here on." : "The page is light again.",
    });
  }
}

/**
 * Puts the drawing library into the notebook here. `show` does so by itself with the first figure; call this in the
 * notebook's first cell if that one will be run again and again.
 *
 * @example
 * ```ts
 * loadPlots();
 * ```
 */
export function loadPlots(): void {
  const display = findDisplay();
  if (display !== null) {
    putLibrary(display);
  }
}

function showOne(thing: unknown): void {
  const theme = currentTheme();
  const display = findDisplay();
  if (display === null) {
    console.log(textOf(thing));
    return;
  }
  display(bundleOf(thing, display, theme));
}

/** A thing in all its forms; the drawing library that it needs is shown before it. */
function bundleOf(thing: unknown, display: ShowBundle, theme: Theme): MimeBundle {
  if (isFigure(thing) && libraryIsWanted()) putLibrary(display);
  // Each output brings the night with it: a reload, or a cell that runs again, must not make the page white.
  const dress = theme.name === "night" ? nightDress() : "";
  return { "text/html": `${dress}${htmlOf(thing, theme)}`, "text/plain": textOf(thing) };
}

function htmlOf(thing: unknown, theme: Theme): string {
  if (isFigure(thing)) return figureHtml(thing, theme);
  if (isWholePage(thing)) return pageFrame(thing, theme);
  const report = reportOf(thing);
  return typeof report === "string"
    ? `<div class="${rootClass(theme)}"><style>${styleSheet(theme)}</style><p style="white-space:pre-wrap">${escapeHtml(report)}</p></div>`
    : reportHtml(report, theme);
}

/** The forms of a cell's last value; null for what is not this library's, which the kernel prints as Node does. */
function resultOf(thing: unknown): MimeBundle | null {
  const display = findDisplay();
  const ours =
    isFigure(thing) ||
    isReport(thing) ||
    isFit(thing) ||
    isAdvice(thing) ||
    isWholePage(thing) ||
    ownReport(thing) !== null ||
    valueReport(thing) !== null ||
    isListOfOurs(thing);
  return ours && display !== null ? bundleOf(thing, display, currentTheme()) : null;
}

// In this project's own kernel, which offers its display before anything is imported.
if (DISPLAY in globalThis) {
  Object.assign(globalThis, { [RESULT]: resultOf });
  // Before the first result: a first cell that shows nothing must not leave the page white.
  if (currentTheme().name === "night") useTheme("night");
}

function findDisplay(): ShowBundle | null {
  if (given !== null) return given;
  const offered = (globalThis as { [DISPLAY]?: unknown })[DISPLAY];
  return typeof offered === "function" ? (offered as ShowBundle) : null;
}

function runningCell(): RunningCell | null {
  const tell = (globalThis as { [CELL]?: unknown })[CELL];
  return typeof tell === "function" ? ((tell() as RunningCell | null | undefined) ?? null) : null;
}

/**
 * The library is wanted with the first figure, and again when the cell that holds it is run once more, for then its
 * output, and the library in it, is wiped.
 */
function libraryIsWanted(): boolean {
  if (libraryCell === null) return true;
  const now = runningCell();
  return (
    now !== null &&
    libraryCell !== "somewhere" &&
    now.cell === libraryCell.cell &&
    now.run !== libraryCell.run
  );
}

function putLibrary(display: ShowBundle): void {
  display({
    "text/html": plotlyHtml(plotlySource()),
    "text/plain": "The drawing library of this notebook's figures.",
  });
  libraryCell = runningCell() ?? "somewhere";
}

/** What a thing says of itself as text. */
export function textOf(thing: unknown): string {
  if (isFigure(thing)) return `${plainText(titleOf(thing.layout.title))}\n${plainText(thing.summary)}`;
  if (isWholePage(thing)) return thing.summary;
  const report = reportOf(thing);
  return typeof report === "string" ? report : reportText(report).trimEnd();
}

/** The report of whatever can be shown; plain text for the rest. */
function reportOf(thing: unknown): Report | string {
  const own = ownReport(thing);
  if (own !== null) return own;
  if (typeof thing === "string") return thing;
  if (isReport(thing)) return thing;
  if (isFit(thing)) return fitReport(thing);
  if (isAdvice(thing)) return turnsReport(thing);
  if (thing instanceof InputError) {
    return {
      title: "This cannot be used as it is",
      blocks: [block.list(faultTexts(thing.faults))],
    };
  }
  if (thing instanceof Error) return thing.message;
  const plain = valueReport(thing);
  if (plain !== null) return plain;
  if (isListOfOurs(thing)) return oneAfterAnother(thing);
  if (isRecords(thing)) return tableReport("", thing);
  return typeof thing === "object" && thing !== null ? (JSON.stringify(thing, null, 2) ?? "") : String(thing);
}

/** Whether a thing is a list of results that report themselves. */
function isListOfOurs(thing: unknown): thing is readonly unknown[] {
  return (
    Array.isArray(thing) &&
    thing.length > 0 &&
    thing.every((one) => ownReport(one) !== null || isFit(one) || isAdvice(one) || isReport(one))
  );
}

/** Several reports as one: each under its title. */
function oneAfterAnother(things: readonly unknown[]): Report {
  const blocks = things.flatMap((thing): Report["blocks"] => {
    const report = reportOf(thing);
    return typeof report === "string"
      ? [block.sentence(report)]
      : [block.heading(report.title), ...report.blocks];
  });
  return { title: `${things.length} results`, blocks };
}

function has(thing: unknown, ...keys: readonly string[]): boolean {
  return thing !== null && typeof thing === "object" && keys.every((key) => key in thing);
}

function isFigure(thing: unknown): thing is Figure {
  return has(thing, "data", "layout", "summary") && Array.isArray((thing as Figure).data);
}

function isReport(thing: unknown): thing is Report {
  return has(thing, "title", "blocks") && Array.isArray((thing as Report).blocks);
}

function isFit(thing: unknown): thing is MountFit {
  return has(thing, "mount", "terms", "pole", "residuals", "skyRms");
}

function isAdvice(thing: unknown): thing is TurnAdvice {
  return has(thing, "recommended", "jacks", "steps", "after", "cautions");
}
