/**
 * An executed notebook as one HTML page that stands on its own: nothing is fetched, it reads on a telephone and prints.
 */
import { stripVTControlCharacters } from "node:util";
import MarkdownIt from "markdown-it";
import { nightPageStyle } from "../notebook/night-page.js";
import { escapeHtml } from "../words/escape.js";
import { lightTheme, type Theme } from "../words/theme.js";
import {
  type Cell,
  type CodeCell,
  isCode,
  type MimeData,
  type Notebook,
  type Output,
  type TextCell,
} from "./notebook-file.js";

/** How a page is made. */
export interface NotebookPageOptions {
  /** The page's title where the notebook has no heading. */
  readonly title?: string;
  /** Light when not given. */
  readonly theme?: Theme;
}

// Raw HTML in prose is shown as it was written, not obeyed; links with a script in them are not made. Both are
// markdown-it's own defences. What code cells print as HTML is obeyed: their author could run any code anyway.
const markdown = new MarkdownIt({ html: false, linkify: false, typographer: false });

/** Nothing may be loaded from anywhere nor sent there, whatever a cell printed. */
const POLICY =
  "default-src 'none'; script-src 'unsafe-inline'; style-src 'unsafe-inline'; img-src data: blob:; font-src data:; form-action 'none'; base-uri 'none'";

/**
 * A notebook as a page.
 *
 * @param notebook - the notebook with its outputs
 * @param options - title and theme
 * @returns a whole HTML document
 */
export function notebookPage(notebook: Notebook, options: NotebookPageOptions = {}): string {
  const theme = options.theme ?? lightTheme;
  const title = firstHeading(notebook) ?? options.title ?? "Notebook";
  return `<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta http-equiv="Content-Security-Policy" content="${POLICY}">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="color-scheme" content="${theme.name === "night" ? "dark" : "light"}">
<title>${escapeHtml(title)}</title>
<style>
${pageStyle(theme)}
</style>
${theme.name === "night" ? nightPageStyle() : ""}
</head>
<body>
<main>
${notebook.cells.map(cellHtml).join("\n")}
</main>
</body>
</html>
`;
}

function firstHeading(notebook: Notebook): string | undefined {
  for (const cell of notebook.cells) {
    if (cell.cell_type !== "markdown") continue;
    const tokens = markdown.parse(cell.source, {});
    const heading = tokens.findIndex((token) => token.type === "heading_open");
    const inline = heading < 0 ? undefined : tokens[heading + 1];
    const words = inline?.children
      ?.map((child) => child.content)
      .join("")
      .trim();
    if (words) return words;
  }
  return undefined;
}

function cellHtml(cell: Cell): string {
  if (isCode(cell)) return codeHtml(cell);
  if (cell.source.trim() === "") return "";
  if (cell.cell_type === "raw") return `<pre class="raw">${escapeHtml(cell.source)}</pre>`;
  return `<section class="prose">\n${proseHtml(cell)}</section>`;
}

function proseHtml(cell: TextCell): string {
  return markdown.render(cell.source, { cell });
}

const usualImage = markdown.renderer.rules.image!;
markdown.renderer.rules.image = (tokens, index, options, env, renderer) => {
  const token = tokens[index]!;
  const source = String(token.attrGet("src") ?? "");
  const attached = attachedPicture((env as { cell?: TextCell }).cell, source);
  // The page fetches nothing: a picture that stands elsewhere is named instead.
  if (attached === undefined && !source.startsWith("data:")) {
    return escapeHtml(`[picture: ${token.content || source}]`);
  }
  if (attached !== undefined) token.attrSet("src", attached);
  return usualImage(tokens, index, options, env, renderer);
};

function attachedPicture(cell: TextCell | undefined, source: string): string | undefined {
  if (!source.startsWith("attachment:")) return undefined;
  const name = decoded(source.slice("attachment:".length));
  const attachments = cell?.attachments ?? {};
  const data = Object.hasOwn(attachments, name) ? attachments[name]! : {};
  const mime = PICTURES.find((one) => typeof data[one] === "string");
  return mime === undefined ? undefined : `data:${mime};base64,${String(data[mime]).replace(/\s/g, "")}`;
}

/** A name as it was before it became part of an address; a "%" that stands for itself stays. */
function decoded(name: string): string {
  try {
    return decodeURIComponent(name);
  } catch {
    return name;
  }
}

const PICTURES = ["image/png", "image/jpeg", "image/gif", "image/webp"];

function codeHtml(cell: CodeCell): string {
  if (cell.source.trim() === "" && cell.outputs.length === 0) return "";
  const number = cell.execution_count === null ? "not run" : String(cell.execution_count);
  const code = `<details class="code" open><summary>Code <span>[${number}]</span></summary><pre tabindex="0"><code>${escapeHtml(cell.source.replace(/\n+$/, ""))}</code></pre></details>`;
  return `<section class="cell">\n${[code, ...cell.outputs.map(outputHtml)].join("\n")}\n</section>`;
}

function outputHtml(output: Output): string {
  switch (output.output_type) {
    case "stream":
      return `<pre class="output ${output.name === "stderr" ? "stderr" : "stdout"}" tabindex="0">${printed(output.text)}</pre>`;
    case "error": {
      const lines = output.traceback.length > 0 ? output.traceback : [`${output.ename}: ${output.evalue}`];
      return `<pre class="output error" tabindex="0"><strong>This cell failed.</strong>\n${printed(lines.join("\n"))}</pre>`;
    }
    default:
      return dataHtml(output.data);
  }
}

/** The richest of the forms that a page can show. */
function dataHtml(data: MimeData): string {
  const plain = textIn(data, "text/plain");
  const html = textIn(data, "text/html");
  if (html !== undefined) return `<div class="output">${html}</div>`;
  const alternative = escapeHtml(plain ?? "A picture without a description.");
  const svg = textIn(data, "image/svg+xml");
  // As a picture, not as part of the page: its scripts and ids stay its own.
  if (svg !== undefined)
    return pictureHtml("image/svg+xml", Buffer.from(svg).toString("base64"), alternative);
  for (const mime of PICTURES) {
    const picture = textIn(data, mime);
    if (picture !== undefined) return pictureHtml(mime, escapeHtml(picture.replace(/\s/g, "")), alternative);
  }
  const prose = textIn(data, "text/markdown");
  if (prose !== undefined) return `<div class="output prose">${markdown.render(prose)}</div>`;
  const text = plain ?? textIn(data, "text/latex");
  if (text !== undefined) return `<pre class="output stdout" tabindex="0">${printed(text)}</pre>`;
  const kinds = Object.keys(data).join(", ");
  return `<p class="output">[an output that a page cannot show: ${escapeHtml(kinds)}]</p>`;
}

function textIn(data: MimeData, mime: string): string | undefined {
  const value = Object.hasOwn(data, mime) ? data[mime] : undefined;
  return typeof value === "string" ? value : undefined;
}

function pictureHtml(mime: string, base64: string, alternative: string): string {
  return `<p class="output"><img src="data:${mime};base64,${base64}" alt="${alternative}"></p>`;
}

/** What was printed, without the colour codes that are meant for a terminal. */
function printed(text: string): string {
  return escapeHtml(stripVTControlCharacters(text).replace(/\n$/, ""));
}

/** Pictures are mostly dark on white or on nothing: turned round on white ground they are bright on black. */
const DARKENED_PICTURES = "html body main img{background:#fff!important;filter:grayscale(1) invert(1)}";

function pageStyle(theme: Theme): string {
  const { colours: c } = theme;
  const night = theme.name === "night";
  return `html{-webkit-text-size-adjust:100%}
html,body{margin:0;padding:0;background:${c.page};color:${c.text}}
body{font:17px/1.55 ${theme.fontFamily};overflow-wrap:break-word}
main{max-width:60rem;margin:0 auto;padding:1rem}
.prose{max-width:44rem}
h1,h2,h3,h4{line-height:1.2;margin:1.4em 0 .5em}
h1{font-size:1.8em;margin-top:.5em}h2{font-size:1.4em;border-bottom:1px solid ${c.grid};padding-bottom:.2em}h3{font-size:1.15em}
a{color:${c.first}}
:focus-visible{outline:2px solid ${c.second};outline-offset:2px}
blockquote{margin:1em 0;padding:.1em 1em;border-left:4px solid ${c.rule};color:${c.muted}}
hr{border:0;border-top:1px solid ${c.rule}}
.prose table{border-collapse:collapse;display:block;overflow-x:auto}
.prose th,.prose td{border-bottom:1px solid ${c.grid};padding:.3em .7em;text-align:left}
pre,code{font-family:"DejaVu Sans Mono",Menlo,Consolas,monospace;font-size:.92em}
pre{margin:.4em 0;overflow-x:auto;line-height:1.45}
.prose code{background:${c.stripe};padding:.05em .25em}
.prose pre{background:${c.stripe};padding:.6em .8em}.prose pre code{padding:0}
.cell{margin:1.2em 0}
.code{border-left:3px solid ${c.grid};padding-left:.8em;color:${c.muted}}
.code summary{cursor:pointer;font-size:.85em}
.output{margin:.6em 0;max-width:100%}
pre.output{padding:.2em 0 .2em .8em;white-space:pre-wrap}
.stderr{border-left:3px solid ${c.second}}
.error{border-left:5px solid ${c.cautionEdge};background:${c.cautionBack};padding:.6em .8em!important}
img{max-width:100%;height:auto}
${night ? DARKENED_PICTURES : ""}
@media (max-width:40rem){body{font-size:16px}main{padding:.6rem}h1{font-size:1.5em}}
@media print{main{max-width:none;padding:0}body{font-size:11pt}pre{white-space:pre-wrap}.code,.output,figure,tr{break-inside:avoid}h1,h2,h3{break-after:avoid}}`;
}
