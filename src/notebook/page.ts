import { plotlySource } from "../files/plotly-source.js";
import type { Figure } from "../plots/figure.js";
import { reportHtml, rootClass, styleSheet } from "../report/html.js";
import type { Report } from "../report/report.js";
import { escapeHtml } from "../words/escape.js";
import { lightTheme, type Theme } from "../words/theme.js";
import { figureHtml, plotlyHtml } from "./figure-html.js";
import { nightPageStyle } from "./night-page.js";

/** What stands on a page. */
export interface PageContent {
  readonly title: string;
  readonly reports: readonly Report[];
  readonly figures: readonly Figure[];
  /** Light when not given. */
  readonly theme?: Theme;
  /** Whether the figures come to life (the default); without, the page holds their still pictures and is small. */
  readonly live?: boolean;
}

/**
 * A page that stands on its own: reports with their cautions, then the figures, the drawing library once. It reads on a
 * telephone, prints, and needs no network.
 *
 * @param content - what stands on it
 * @returns a whole HTML document
 * @example
 * ```ts
 * htmlPage({ title: "First light", reports: [fitReport(fit)], figures: [plots.residualSky(fit)] }).startsWith("<!doctype html>") // true
 * ```
 */
export function htmlPage(content: PageContent): string {
  const theme = content.theme ?? lightTheme;
  const live = content.live !== false && content.figures.length > 0;
  const { colours } = theme;
  const figures = content.figures.map((figure) => {
    const html = figureHtml(figure, theme, { withStyle: false });
    return live ? html : html.replace(/<script>[\s\S]*?<\/script>/g, "");
  });
  // A report that keeps places for pictures takes them from the first on; the others follow the reports.
  const placed = new Set(
    content.reports.flatMap(({ blocks }) =>
      blocks.flatMap((block) => (block.kind === "picture" ? [block.place] : [])),
    ),
  );
  const night = theme.name === "night" ? nightPageStyle() : "";
  return `<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="color-scheme" content="${theme.name === "night" ? "dark" : "light"}">
<title>${escapeHtml(content.title)}</title>
<style>
html,body{margin:0;padding:0}
@media screen{html,body{background:${colours.page};color:${colours.text}}}
main{max-width:60rem;margin:0 auto;padding:.5rem}
${styleSheet(theme)}
.polewright-page>h1{font-size:1.6em}
@page{margin:12mm}
@media print{main{max-width:none}}
</style>
${night}
</head>
<body>
<main class="${rootClass(theme)} polewright-page">
<h1>${escapeHtml(content.title)}</h1>
${content.reports.map((report) => reportHtml(report, theme, { headingLevel: 2, withTitle: report.title !== content.title, withStyle: false, pictures: figures })).join("\n")}
<div class="polewright-figures">${figures.filter((_, index) => !placed.has(index)).join("\n")}</div>
</main>
${live ? plotlyHtml(plotlySource()) : ""}
</body>
</html>
`;
}
