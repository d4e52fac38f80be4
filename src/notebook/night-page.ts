/**
 * The page round the tables and figures at night. Everything is made dark, and a red sheet laid over the window lets only
 * the red of each pixel through (multiplied by pure red, green and blue are zero): pictures, icons and menus included.
 */
import { nightTheme } from "../report/theme.js";

/** The style that makes a whole page red on black. */
export function nightPageStyle(): string {
  const { page, text, rule } = nightTheme.colours;
  return `<style data-polewright-night>
html,body,body *:not(svg):not(svg *){background-color:${page}!important;background-image:none!important;color:${text}!important;border-color:${rule}!important;box-shadow:none!important;text-shadow:none!important}
html{color-scheme:dark;scrollbar-color:${rule} ${page}}
html::after{content:"";position:fixed;inset:0;background:#f00;mix-blend-mode:multiply;pointer-events:none;z-index:2147483647}
@media print{html::after{display:none}}
</style>`;
}

/** What takes the night from a page again. */
export function dayPageScript(): string {
  return `<script>document.querySelectorAll("style[data-polewright-night]").forEach(function(style){style.remove();})</script>`;
}
