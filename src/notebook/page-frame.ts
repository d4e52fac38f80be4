/** A whole page inside a notebook. */
import type { WholePage } from "../page/page-text.js";
import { UNFOLDED } from "../report/html.js";
import { escapeHtml } from "../words/escape.js";
import type { Theme } from "../words/theme.js";

/** White paper turned to black on the screen; the sheet over a notebook at night leaves the ink red. */
const LIKE_A_NEGATIVE = "<style>@media screen{html{background:#000}body{filter:invert(1)}}</style>";

/**
 * A page in a frame of its own, so that neither its style nor its script meets the notebook's.
 *
 * @param page - the page
 * @param theme - at night what was made for paper stands in red on black on the screen
 */
export function pageFrame(page: WholePage, theme: Theme): string {
  const html =
    page.onPaper && theme.name === "night"
      ? page.html.replace("</head>", `${LIKE_A_NEGATIVE}</head>`)
      : page.html;
  // The page's own text stays as it is; only what would end the attribute is written otherwise.
  const source = html.replace(/&/g, "&amp;").replace(/"/g, "&quot;");
  return `<style>${UNFOLDED}</style><iframe class="polewright-frame" title="${escapeHtml(page.title)}" srcdoc="${source}" style="width:100%;height:${page.heightPx}px;border:0;background:#000" allow="clipboard-write"></iframe>`;
}

/** Whether a thing is a whole page. */
export function isWholePage(thing: unknown): thing is WholePage {
  return (
    thing !== null &&
    typeof thing === "object" &&
    ["title", "html", "summary", "heightPx"].every((key) => key in thing)
  );
}
