/**
 * A page that stands on its own, from its template: data and title put in so that no text of theirs can run.
 */
import { escapeHtml, scriptJson } from "../words/escape.js";

/** A whole page that `show` puts into a notebook in a frame of its own. */
export interface WholePage {
  readonly title: string;
  /** The HTML document. */
  readonly html: string;
  /** What it is, in words, where no HTML is shown. */
  readonly summary: string;
  /** How high it is shown in a notebook, pixels. */
  readonly heightPx: number;
  /** Made for paper: black on white, whatever the theme. */
  readonly onPaper?: boolean;
}

/** The colours that a page has at first. */
export type PageTheme = "day" | "night";

/** What the build made for pages, by the file's name: `desk.html`. */
export type PageParts = (name: PagePart) => string;
export type PagePart = "desk.html" | "wrong-telescope.html";

/**
 * Fills a page's template.
 *
 * @param template - the built page, with `<title>…</title>` and an empty script of type application/json
 * @param title - the page's title
 * @param data - what the page's script reads
 * @param theme - day or night at first; the reader's own choice is kept in his browser
 */
export function filledPage(template: string, title: string, data: unknown, theme: PageTheme): string {
  const json = scriptJson(data);
  return template
    .replace(/<title>[^<]*<\/title>/, () => `<title>${escapeHtml(title)}</title>`)
    .replace('data-theme="day"', () => `data-theme="${theme}"`)
    .replace(
      /(<script type="application\/json"[^>]*>)null(<\/script>)/,
      (_, open, close) => open + json + close,
    );
}
