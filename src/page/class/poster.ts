/** The poster: the patterns of all errors side by side. */
import { type BuiltInTermName, termDescriptions, termNames } from "../../mount/terms.js";
import { figureSvg } from "../../plots/svg.js";
import { termPattern } from "../../plots/term-pattern.js";
import { capital } from "../../report/fit-report.js";
import { escapeHtml } from "../../words/escape.js";
import { fixed } from "../../words/numbers.js";
import { lightTheme } from "../../words/theme.js";
import type { WholePage } from "../page-text.js";
import { printedSheet } from "./sheet.js";

/** Pixels; small, so that the words in the patterns are large. */
const PATTERN_WIDTH_PX = 330;
const HEIGHT_PX = 1250;

/** The errors with a pattern on the sky: what comes with time, or with the way of approach, has none. */
export const posterTerms = termNames.filter(
  (name) => !/Backlash|MeridianStep|Creep|Rate$/.test(name),
) as readonly BuiltInTermName[];

/**
 * The poster, for A3 paper on its side.
 *
 * @param latitudeDeg - degrees, north positive: the patterns are those of that sky
 */
export function poster(latitudeDeg: number): WholePage {
  const tiles = posterTerms.map((name) => {
    const { label, positive } = termDescriptions[name];
    const picture = figureSvg(termPattern(name, { latitude: latitudeDeg }), lightTheme, {
      widthPx: PATTERN_WIDTH_PX,
      withTitle: false,
    });
    return `<section><h2>${escapeHtml(capital(label))}</h2><p>${escapeHtml(positive)}</p>${picture}</section>`;
  });
  const where = `${fixed(Math.abs(latitudeDeg), 0)}° ${latitudeDeg < 0 ? "south" : "north"}`;
  return printedSheet({
    title: "How a wrong telescope misses the stars",
    summary: `A poster of ${posterTerms.length} patterns for latitude ${where}, for A3 paper on its side.`,
    paper: "A3 landscape",
    widthMm: 400,
    heightPx: HEIGHT_PX,
    style: `.tiles{display:grid;grid-template-columns:repeat(5,1fr);gap:0 5mm}
section{break-inside:avoid}section h2{margin:0;font-size:11pt;min-height:2.7em;display:flex;align-items:end}section p{margin:0;font-size:9pt;min-height:2.8em}
section svg{margin:0 auto;max-height:62mm;width:100%}
@media screen and (max-width:1100px){.tiles{grid-template-columns:repeat(2,1fr)}}
@media screen and (max-width:600px){.tiles{grid-template-columns:1fr}}`,
    body: `<p>Every round picture is the whole sky at latitude ${where}: the zenith in the middle, the horizon round it, north up, east on the right. An arrow starts at a star. It ends where the telescope believes that it points. Each error draws its own pattern.</p>
<div class="tiles">${tiles.join("")}</div>
<p class="small">Each pattern is drawn for 10′ of its error (10′ a radian for a scale). The bar below a pattern shows how long its arrows are. Never point a telescope at or near the Sun.</p>`,
  });
}
