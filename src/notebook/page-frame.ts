/** A whole page inside a notebook. */
import type { WholePage } from "../page/page-text.js";
import { escapeHtml } from "../words/escape.js";

/**
 * A page in a frame of its own, so that neither its style nor its script meets the notebook's.
 *
 * @param page - the page
 */
export function pageFrame(page: WholePage): string {
  // The page's own text stays as it is; only what would end the attribute is written otherwise.
  const source = page.html.replace(/&/g, "&amp;").replace(/"/g, "&quot;");
  return `<iframe title="${escapeHtml(page.title)}" srcdoc="${source}" style="width:100%;height:${page.heightPx}px;border:0;background:#000" allow="clipboard-write"></iframe>`;
}

/** Whether a thing is a whole page. */
export function isWholePage(thing: unknown): thing is WholePage {
  return (
    thing !== null &&
    typeof thing === "object" &&
    ["title", "html", "summary", "heightPx"].every((key) => key in thing)
  );
}
