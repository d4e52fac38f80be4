/** The desk page as notebooks and the command line make it. */
import { pageTemplate } from "../files/page-template.js";
import type { MountFit } from "../fit/fit-result.js";
import { type DeskQuestion, deskData } from "../page/desk-data.js";
import { filledPage, type WholePage } from "../page/page-text.js";
import type { MountStanding } from "../pointing/known-mount.js";
import { currentTheme } from "./theme.js";

/** How high the desk stands in a notebook, pixels. */
const HEIGHT_PX = 1100;

/**
 * The page for the operator at the desk: tonight's objects, the readings that the axes must show, moving with the sky,
 * how far they still have to go, zeros set by one star. One HTML file that needs no network; `show` puts it into a notebook.
 *
 * @param standing - how the mount stands: a fit or a kept model
 * @returns the page; its `html` is the whole document
 * @throws InputError `night-not-sound` for a fit whose readings contradict each other
 * @example
 * ```ts
 * desk(fitMount(openNight("data/first-light"))).title // "Desk of Ridge School 40 cm"
 * ```
 */
export function desk(standing: MountFit | MountStanding): WholePage {
  const fit = "residuals" in standing ? standing : null;
  return deskPage({ mount: standing.mount, fit, kept: fit === null ? standing : null, madeMs: Date.now() });
}

/** The desk page of what is known of a mount. */
export function deskPage(question: DeskQuestion): WholePage {
  const title = `Desk of ${question.mount.name}`;
  const theme = currentTheme().name === "night" ? "night" : "day";
  return {
    title,
    html: filledPage(pageTemplate("desk"), title, deskData(question), theme),
    summary: `${title}: a page with tonight's objects and their readings.`,
    heightPx: HEIGHT_PX,
  };
}
