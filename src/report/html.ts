/**
 * A report as HTML: headings, sentences and tables that a screen reader can read, every text escaped.
 */
import { unbroken } from "../base/base-words.js";
import { escapeHtml } from "../words/escape.js";
import { lightTheme, type Theme } from "../words/theme.js";
import type { Block, Report, TableBlock } from "./report.js";

/** How a report is written as HTML. */
export interface HtmlOptions {
  /** The level of the report's own heading, 1 to 5; 3 when not given, for a notebook's output. */
  readonly headingLevel?: number;
  /** Whether its title is written (the default); not where the page says it already. */
  readonly withTitle?: boolean;
  /** Whether the style sheet goes with it (the default); a page with several reports brings it once itself. */
  readonly withStyle?: boolean;
  /** Pictures as HTML, for the places that the report keeps for them. */
  readonly pictures?: readonly string[];
}

/**
 * A report as an HTML section. Tables carry a caption and header cells with their scope.
 *
 * @param report - the report
 * @param theme - the colours; light when not given
 * @example
 * ```ts
 * reportHtml(fitReport(fit), nightTheme)
 * ```
 */
export function reportHtml(report: Report, theme: Theme = lightTheme, options: HtmlOptions = {}): string {
  const level = Math.min(5, Math.max(1, options.headingLevel ?? 3));
  const style = options.withStyle === false ? "" : `<style>${styleSheet(theme)}</style>`;
  const body = report.blocks
    .map((block) => blockHtml(block, level + (options.withTitle === false ? 0 : 1), options.pictures ?? []))
    .join("\n");
  return `<section class="${rootClass(theme)}">${style}
${options.withTitle === false ? "" : `<h${level}>${escapeHtml(report.title)}</h${level}>`}
${body}
</section>`;
}

/** The class of everything that a theme colours; the others keep the notebook's formula reader away from `$`. */
export function rootClass(theme: Theme): string {
  return `polewright polewright-${theme.name} tex2jax_ignore mathjax_ignore`;
}

function blockHtml(block: Block, level: number, pictures: readonly string[]): string {
  switch (block.kind) {
    case "heading":
      return `<h${level}>${escapeHtml(block.text)}</h${level}>`;
    case "sentence":
      return block.tone === "caution" || block.tone === "note"
        ? `<p class="polewright-${block.tone}" role="note"><strong>${block.tone === "note" ? "Note" : "Caution"}.</strong> ${words(block.text)}</p>`
        : `<p${block.tone === "verdict" ? ' class="polewright-verdict"' : ""}>${words(block.text)}</p>`;
    case "picture":
      return pictures[block.place] ?? "";
    case "behind":
      return `<details><summary>${escapeHtml(block.title)}</summary>
${block.blocks.map((inner) => blockHtml(inner, level, pictures)).join("\n")}
</details>`;
    case "list": {
      const tag = block.ordered ? "ol" : "ul";
      return `<${tag}>${block.items.map((item) => `<li>${words(item)}</li>`).join("")}</${tag}>`;
    }
    case "table":
      return tableHtml(block);
  }
}

/** Text whose numbers keep to their units at a line's end. */
function words(text: string): string {
  return escapeHtml(unbroken(text));
}

function tableHtml(table: TableBlock): string {
  const side = (column: number): string =>
    table.align[column] === "right" ? ' class="polewright-right"' : "";
  const head = table.head
    .map((cell, column) => `<th scope="col"${side(column)}>${escapeHtml(cell)}</th>`)
    .join("");
  const rows = table.rows.map((row, index) => {
    const cells = table.head.map((_, column) => {
      const text = escapeHtml(withMinus(row[column] ?? ""));
      return column === 0 ? `<th scope="row"${side(0)}>${text}</th>` : `<td${side(column)}>${text}</td>`;
    });
    return `<tr${table.struck?.includes(index) ? ' class="polewright-struck"' : ""}>${cells.join("")}</tr>`;
  });
  const caption = escapeHtml(table.caption);
  const across = besides(table);
  const style = across > 1 ? ` style="--besides:${across}"` : "";
  const whole = table.rows.length <= MOST_WHOLE ? " polewright-whole" : "";
  const wordy = table.rows.some(([first = ""]) => first.length > LONG_NAME) ? " polewright-wordy" : "";
  return `<div class="polewright-table${whole}${wordy}"${style} role="region" aria-label="${caption}" tabindex="0"><table><caption><span>${caption}</span></caption><thead><tr>${head}</tr></thead><tbody>
${rows.join("\n")}
</tbody></table></div>`;
}

/** So long a name of a row gets its room on a telephone before the table scrolls. */
const LONG_NAME = 20;
/** A table of more rows may go over to the next sheet of paper. */
const MOST_WHOLE = 16;

/** In how many pieces, one beside the other, a long narrow table stands on paper. */
function besides({ head, rows }: TableBlock): number {
  if (rows.length <= MOST_WHOLE) return 1;
  return head.length <= 4 ? 3 : head.length <= 6 ? 2 : 1;
}

/** A reading as a dial shows it, with the sign that every other number has. */
function withMinus(cell: string): string {
  return cell.replace(/^-(?=\d)/, "−");
}

/**
 * The style sheet of a theme, scoped to the theme's class; on paper every theme is black on white.
 *
 * @param theme - the colours on the screen
 */
export function styleSheet(theme: Theme): string {
  const root = `.polewright-${theme.name}`;
  const colours =
    theme.name === lightTheme.name
      ? themeRules(theme, root)
      : `@media screen{${themeRules(theme, root)}}\n@media print{${themeRules(lightTheme, root)}}`;
  return `${colours}\n${UNFOLDED}\n${ON_PAPER}`;
}

/**
 * The classic Notebook and Notebook 7 fold a long output into a low box: a caution must not be hidden there. On a telephone
 * the classic Notebook leaves beside it the room that its prompt has on a wide screen.
 */
export const UNFOLDED = `.output_scroll:has(.polewright){height:auto!important;overflow:visible!important;box-shadow:none!important}
.jp-mod-outputsScrolled .jp-Cell-outputArea:has(.polewright){max-height:none!important;overflow:visible!important}
@media (max-width:540px){.output_subarea:has(.polewright,.polewright-frame){max-width:100%!important}}`;

/**
 * A heading stays with what it heads, the pictures are the still ones, and long narrow tables stand in pieces side by side.
 * Cautions are never folded up; reasons stay on the screen.
 */
const ON_PAPER = `@media print{.polewright{font-size:9pt!important;line-height:1.25!important;max-width:none!important}
.polewright :is(h1,h2,h3,h4,h5,h6,.polewright-title,caption){break-after:avoid}
.polewright :is(figure,tr,li,p){break-inside:avoid}
.polewright :is(p,li){orphans:3;widows:3;margin-top:.2em!important;margin-bottom:.2em!important}
.polewright details::details-content{content-visibility:visible;display:block}
.polewright-table{overflow:visible!important;container-type:normal!important;columns:var(--besides,auto);column-gap:1.5em}
.polewright-whole{break-inside:avoid}
.polewright-table[style]::before{content:attr(aria-label);display:block;column-span:all;font-size:8.5pt}
.polewright-table[style] caption{display:none}
.polewright-figures{columns:2;column-gap:1.5em}
.polewright details:not(:has(.polewright-caution)){display:none}
.polewright details{columns:2;column-gap:1.5em;font-size:8.5pt}
.polewright summary{column-span:all}
.polewright :is(.polewright-caution,.polewright-note,.polewright-verdict){padding:.15em .6em!important}
.polewright table{font-size:8.5pt!important;max-width:100%}
.polewright :is(caption,.polewright-summary){font-size:8.5pt!important}
.polewright caption span{max-width:none!important}
.polewright :is(th,td){padding:.1em .35em!important}
.polewright .polewright-right{white-space:normal!important}
.polewright-drawing>:not(.polewright-still){display:none!important}
.polewright-drawing .polewright-still{display:block!important}
.polewright-still img{max-width:9cm!important;max-height:6.5cm;object-fit:contain}}`;

/** A theme's rules. Colours are marked important, since notebooks colour the rows of tables themselves. */
function themeRules(theme: Theme, root: string): string {
  const c = theme.colours;
  const rules: readonly (readonly [string, string])[] = [
    [
      "",
      `background:${c.page}!important;color:${c.text}!important;font:${theme.fontSizePx + 1}px/1.5 ${theme.fontFamily};padding:.4em .8em;max-width:60em;overflow-wrap:break-word`,
    ],
    [
      " :is(h1,h2,h3,h4,h5,h6)",
      `color:${c.text}!important;font-family:inherit;line-height:1.25;margin:1.1em 0 .4em;font-weight:700`,
    ],
    [" :is(h1,h2,h3)", "font-size:1.25em"],
    [" :is(h4,h5,h6)", "font-size:1.08em"],
    [" :is(p,ul,ol)", `color:${c.text}!important;margin:.5em 0;font-size:1em`],
    [" li", "margin:.25em 0"],
    [
      " .polewright-verdict",
      `background:${c.verdictBack}!important;border-left:5px solid ${c.first};padding:.6em .8em;font-size:1.08em;font-weight:600`,
    ],
    [
      " .polewright-caution",
      `background:${c.cautionBack}!important;border-left:5px solid ${c.cautionEdge};padding:.4em .8em`,
    ],
    [" .polewright-note", `border-left:5px solid ${c.rule};padding:.4em .8em`],
    [" summary", `color:${c.text}!important;cursor:pointer;font-weight:700;padding:.5em 0`],
    [" .polewright-table", "overflow-x:auto;max-width:100%;container-type:inline-size"],
    [
      " table",
      `border-collapse:collapse;border:0;margin:.5em 0;font-size:${theme.fontSizePx}px;color:${c.text}!important;background:${c.page}!important`,
    ],
    [
      " caption",
      `caption-side:top;text-align:left;color:${c.muted}!important;padding:.2em 0;font-size:${theme.fontSizePx}px`,
    ],
    // As wide as what is seen of the table, and staying there while the table scrolls.
    [" caption span", "display:inline-block;position:sticky;left:0;max-width:100cqi"],
    [
      " :is(th,td)",
      `text-align:left!important;vertical-align:top;padding:.25em .6em;border:0;border-bottom:1px solid ${c.grid};color:${c.text}!important;background:${c.page}!important;max-width:none;white-space:normal`,
    ],
    [" thead th", `border-bottom:2px solid ${c.rule};vertical-align:bottom`],
    [" tbody th", "font-weight:600"],
    [" tbody tr", `background:${c.page}!important`],
    [" tbody tr:nth-child(even) :is(th,td)", `background:${c.stripe}!important`],
    [" .polewright-right", "text-align:right!important;font-variant-numeric:tabular-nums;white-space:nowrap"],
    [" thead .polewright-right", "white-space:normal"],
    [" .polewright-struck", "text-decoration:line-through"],
    [" figure", "margin:1em 0"],
    // A figure shown by itself is the root: with a browser's own margins it is too narrow on a telephone.
    [":is(figure)", "margin:1em 0"],
    [" .polewright-title", `color:${c.text}!important;font-weight:700;font-size:1.1em;margin:.2em 0`],
    [" .polewright-summary", `color:${c.muted}!important;font-size:${theme.fontSizePx}px;margin:.2em 0`],
    [
      " .polewright-move",
      `display:block;margin:.3em auto;padding:.35em .9em;font:inherit;cursor:pointer;border-radius:4px;color:${c.text}!important;background:${c.page}!important;border:1px solid ${c.text}!important`,
    ],
    [" .polewright-move:focus-visible", `outline:3px solid ${c.first};outline-offset:2px`],
    [" .polewright-still img", "display:block;width:100%;max-width:680px;height:auto;margin:0 auto"],
  ];
  // On a telephone the tables draw in before they scroll.
  const narrow = `@media (max-width:560px){${root} :is(th,td){padding:.25em .3em}${root} :is(table,caption){font-size:14px}${root} .polewright-wordy tbody th{min-width:9em}${root}{padding:.4em .3em}}`;
  return [...rules.map(([selector, body]) => `${root}${selector}{${body}}`), narrow].join("\n");
}
