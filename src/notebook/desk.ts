/** The desk page as notebooks make it. */
import { pagePart } from "../files/page-template.js";
import type { MountFit } from "../fit/fit-result.js";
import { deskPage } from "../page/desk-data.js";
import type { PageTheme, WholePage } from "../page/page-text.js";
import type { MountStanding } from "../pointing/known-mount.js";
import { currentTheme } from "./theme.js";

/**
 * The page for the operator at the desk: tonight's objects, the readings that the axes must show, moving with the sky,
 * how far they still have to go, zeros set by one star. One HTML file that needs no network; `show` puts it into a notebook.
 *
 * @param standing - how the mount stands: a fit or a kept model
 * @returns the page; its `html` is the whole document
 * @throws InputError `night-not-sound` for a fit that cannot be trusted as it stands
 * @example
 * ```ts
 * desk(fitMount(openNight("data/first-light"))).title // "Desk of Nowhere School 40 cm"
 * ```
 */
export function desk(standing: MountFit | MountStanding): WholePage {
  const fit = "residuals" in standing ? standing : null;
  return deskPage(
    { mount: standing.mount, fit, kept: fit === null ? standing : null },
    pagePart,
    pageTheme(),
  );
}

/** The colours that a page has at first, by the theme in force. */
export function pageTheme(): PageTheme {
  return currentTheme().name === "night" ? "night" : "day";
}
