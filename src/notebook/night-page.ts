/**
 * The page round the tables and figures at night. Everything is made dark, and a red sheet laid over the window lets only
 * the red of each pixel through (multiplied by pure red, green and blue are zero): pictures, icons and menus included.
 */
import { nightTheme } from "../words/theme.js";

/**
 * What a notebook marks by its background alone: the chosen one of the completions or of a menu, and selected code, here in
 * JupyterLab (editor: CodeMirror 6) and in the classic Notebook (CodeMirror 5). On plain black none of them would be seen.
 * The classic Notebook's completions are a list box; the browser lets no page change the colour behind its chosen line.
 */
const CHOSEN =
  ":is(.jp-Completer-item.jp-mod-active,.lm-Menu-item.lm-mod-active,.cm-selectionBackground,.CodeMirror-selected,[aria-selected=true]),:is(.jp-Completer-item.jp-mod-active,.lm-Menu-item.lm-mod-active) *";

/** The style that makes a whole page red on black; on paper it does nothing. */
export function nightPageStyle(): string {
  const { page, text, rule, first, firstSoft } = nightTheme.colours;
  return `<style data-polewright-night>
@media screen{
html,body,body *:not(svg):not(svg *){background-color:${page}!important;background-image:none!important;color:${text}!important;border-color:${rule}!important;box-shadow:none!important;text-shadow:none!important}
${CHOSEN}{background-color:${firstSoft}!important}
option:checked{background-image:linear-gradient(${firstSoft},${firstSoft})!important}
::selection{background-color:${firstSoft}!important;color:${text}!important}
:is(.cm-content,.CodeMirror-code),:is(.cm-content,.CodeMirror-code) *,.out_prompt_overlay{background-color:transparent!important}
:is(.cm-cursor,.CodeMirror-cursor){border-left-color:${first}!important}
.jp-Cell.jp-mod-active .jp-Collapser-child{background-color:${rule}!important}
html{color-scheme:dark;scrollbar-color:${rule} ${page}}
html::after{content:"";position:fixed;inset:0;background:#f00;mix-blend-mode:multiply;pointer-events:none;z-index:2147483647}
}
</style>`;
}

/**
 * The night for a notebook's page: the style, and a script that keeps it in the page's head. An output is wiped when its cell
 * runs again; the page must stay dark meanwhile.
 */
export function nightDress(): string {
  return `${nightPageStyle()}<script>(function(tries){(function keep(){
var name="style[data-polewright-night]",style=document.querySelector(name);
if(!style){if(tries-->0){setTimeout(keep,50);}return;}
if(!document.head.querySelector(name)){document.head.appendChild(style.cloneNode(true));}
})();})(40)</script>`;
}

/** What takes the night from a page again. */
export function dayPageScript(): string {
  return `<script>document.querySelectorAll("style[data-polewright-night]").forEach(function(style){style.remove();})</script>`;
}
