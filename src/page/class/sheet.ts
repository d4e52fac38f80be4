/** What the pages to print for a class share: their dress, and how a page is put together. */
import { escapeHtml } from "../../words/escape.js";
import type { WholePage } from "../page-text.js";

const style = `*{box-sizing:border-box}
body{margin:0 auto;padding:5mm;background:#fff;color:#000;font:11pt/1.35 system-ui,"Liberation Sans",Arial,sans-serif;overflow-wrap:break-word}
h1{font-size:18pt;margin:0 0 2mm}h2{font-size:13pt;margin:4mm 0 1mm;break-after:avoid}
p{margin:1.5mm 0}li{margin:1mm 0}ol,ul{margin:1.5mm 0;padding-left:7mm}
.caution{border:1.5pt solid #000;padding:2mm 3mm;font-weight:600}
.small{font-size:9pt}
svg{max-width:100%;height:auto;display:block;margin:2mm auto}
.true-size svg{max-width:none}.true-size{overflow-x:auto;break-inside:avoid}
table{border-collapse:collapse;width:100%;margin:2mm 0;break-inside:avoid}th,td{border:1px solid #000;padding:1.2mm 1.6mm;text-align:left}td.room{height:7mm;min-width:32mm}
.scroll{overflow-x:auto}
@media print{body{padding:0;max-width:none;font-size:10.5pt}}`;

/** The parts of a page to print. */
export interface Sheet {
  readonly title: string;
  /** One sentence: what it is. */
  readonly summary: string;
  /** HTML of the page below its title. */
  readonly body: string;
  /** The paper: `A4 portrait`, `A3 landscape`. */
  readonly paper: string;
  /** As wide as the page is on a screen, millimetres. */
  readonly widthMm: number;
  readonly heightPx: number;
  /** Rules of its own. */
  readonly style?: string;
}

/** A page to print, in black on white. */
export function printedSheet(sheet: Sheet): WholePage {
  return {
    title: sheet.title,
    summary: sheet.summary,
    heightPx: sheet.heightPx,
    onPaper: true,
    html: `<!doctype html>
<html lang="en"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width, initial-scale=1"><meta name="color-scheme" content="light">
<title>${escapeHtml(sheet.title)}</title><style>@page{size:${sheet.paper};margin:10mm}body{max-width:${sheet.widthMm}mm}
${style}
${sheet.style ?? ""}</style></head>
<body><main><h1>${escapeHtml(sheet.title)}</h1>
${sheet.body}
</main></body></html>
`,
  };
}

/** Numbered steps. */
export function stepsHtml(steps: readonly string[]): string {
  return `<ol>${steps.map((step) => `<li>${escapeHtml(step)}</li>`).join("")}</ol>`;
}

/** A caution in a frame. */
export function cautionHtml(text: string): string {
  return `<p class="caution">${escapeHtml(text)}</p>`;
}

/** A ruler of ten centimetres, by which a printed page is checked. */
export function rulerSvg(): string {
  const marks = Array.from({ length: 101 }, (_, mm) => {
    const length = mm % 10 === 0 ? 7 : mm % 5 === 0 ? 5 : 3;
    const label = mm % 10 === 0 ? `<text x="${mm}" y="11">${mm / 10}</text>` : "";
    return `<path d="M${mm} 0V${length}"/>${label}`;
  }).join("");
  return drawing("-3 -1 108 14", "A ruler of ten centimetres", `<path d="M0 0H100"/>${marks}`);
}

/** A drawing in true size: one unit is a millimetre. */
export function drawing(viewBox: string, title: string, parts: string): string {
  const [, , width, height] = viewBox.split(" ");
  return `<svg xmlns="http://www.w3.org/2000/svg" viewBox="${viewBox}" width="${width}mm" height="${height}mm" role="img" aria-label="${escapeHtml(title)}"><g fill="none" stroke="#000" stroke-width=".35" font-size="4" font-family="inherit"><style>text{fill:#000;stroke:none;text-anchor:middle}</style>${parts}</g></svg>`;
}

/** A millimetre with two digits at most. */
export function mm(value: number): string {
  return String(Math.round(value * 100) / 100 + 0);
}
