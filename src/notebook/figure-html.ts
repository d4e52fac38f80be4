/**
 * A figure as HTML for a notebook or a page: a still picture that a script, where scripts run, replaces by the live one.
 *
 * The drawing library is 1.5 MB, so it stands in a document once, in a place of its own, and each figure waits for it
 * there: whether its script runs before the library's or after it, and wherever in the document the two stand. It is kept
 * under a name of this project's own, away from a `define` of RequireJS and from another plotly on the same page.
 */
import type { Figure } from "../plots/figure.js";
import { figureSvg } from "../plots/svg.js";
import { textKey } from "../plots/text-key.js";
import { themed } from "../plots/themed.js";
import { rootClass, styleSheet } from "../report/html.js";
import { escapeHtml, scriptJson, scriptSource } from "../words/escape.js";
import { lightTheme, type Theme } from "../words/theme.js";

/** How a figure is written as HTML. */
export interface FigureHtmlOptions {
  /** Whether the style sheet goes with it (the default). */
  readonly withStyle?: boolean;
}

/** The figure's own part of the page: waits for an element and the library, draws, keeps to the element's width. */
const drawScript = `function(key,figure,config){
var tries=400,tall=figure.layout.height,axis=figure.layout.yaxis||{};
function size(place){
var wide=place.offsetWidth||700;
return {width:wide,height:axis.scaleanchor?Math.min(tall,wide+(axis.visible===false?90:130)):tall};
}
function data(wide){
return figure.data.map(function(trace){return wide<520&&trace.meta?Object.assign({},trace,trace.meta.narrow):trace;});
}
function draw(plotly,place){
place.setAttribute("data-drawn","");
var live=document.createElement("div"),now=size(place);
place.appendChild(live);
plotly.newPlot(live,data(now.width),Object.assign({},figure.layout,now),config).then(function(){
var still=place.querySelector(".polewright-still");
if(still){still.style.display="none";}
if(figure.motion){move(plotly,place,live,figure.motion);}
if(window.ResizeObserver){new ResizeObserver(function(){
var next=size(place);
if(place.offsetWidth>0&&next.width!==now.width){now=next;plotly.react(live,data(next.width),Object.assign({},figure.layout,next),config);}
}).observe(place);}
}).catch(function(){live.remove();});
}
function move(plotly,place,live,motion){
var button=document.createElement("button"),timer=null;
button.type="button";
button.className="polewright-move";
button.textContent=motion.button;
button.onclick=function(){
var at=0;
clearInterval(timer);
timer=setInterval(function(){
var now=motion.places[at++];
if(!now||!live.isConnected){clearInterval(timer);return;}
plotly.restyle(live,{x:[now.x],y:[now.y]},[motion.trace]);
},40);
};
place.appendChild(button);
}
function go(){
var plotly=window.polewrightPlotly;
var places=document.querySelectorAll('[data-polewright="'+key+'"]');
if(plotly&&places.length>0){
places.forEach(function(place){if(!place.hasAttribute("data-drawn")){draw(plotly,place);}});
}else if(tries-->0){setTimeout(go,150);}
}
document.addEventListener("polewright-plotly",go);
go();
}`.replace(/\n/g, "");

/**
 * A figure with its title, its still picture and the script that brings it to life.
 *
 * @param figure - a figure
 * @param theme - the colours; light when not given
 * @returns HTML that draws itself once {@link plotlyHtml} stands in the same document
 */
export function figureHtml(
  figure: Figure,
  theme: Theme = lightTheme,
  options: FigureHtmlOptions = {},
): string {
  const shown = themed(figure, theme);
  const { title, ...layout } = shown.layout;
  const titleText = titleOf(title);
  const { motion } = shown;
  const live = { data: shown.data, layout, ...(motion === undefined ? {} : { motion }) };
  const json = scriptJson(live);
  const key = textKey(json);
  const config = {
    displaylogo: false,
    responsive: false,
    displayModeBar: theme.name === "night" ? false : "hover",
    modeBarButtonsToRemove: ["select2d", "lasso2d", "autoScale2d", "sendDataToCloud", "editInChartStudio"],
    doubleClick: "reset",
    showTips: false,
  };
  // On paper always day ink. It stands in a style, so that nothing bright is left where styles are taken away.
  const paper =
    theme.name === lightTheme.name
      ? ""
      : `@media print{[data-polewright="${key}"] img{content:url("${pictureAddress(figureSvg(figure, lightTheme, { withTitle: false }))}")}}`;
  const sheets = `${options.withStyle === false ? "" : styleSheet(theme)}${paper}`;
  const style = sheets === "" ? "" : `<style>${sheets}</style>`;
  return `<figure class="${rootClass(theme)}">${style}<p class="polewright-title">${escapeHtml(titleText)}</p>
<div class="polewright-drawing" data-polewright="${key}"><div class="polewright-still"><img alt="${escapeHtml(titleText)}" src="${pictureAddress(figureSvg(figure, theme, { withTitle: false }))}"></div></div>
<figcaption class="polewright-summary">${escapeHtml(figure.summary)}</figcaption>
<script>(${drawScript})("${key}",${json},${scriptJson(config)})</script></figure>`;
}

/**
 * The drawing library as HTML, to stand once in a document.
 *
 * @param source - the library's source
 */
export function plotlyHtml(source: string): string {
  return `<div data-polewright-library hidden></div><script>(function(){
if(!window.polewrightPlotly){
var had="Plotly" in window,before=window.Plotly,module={exports:{}};
(function(module,exports,define,require){${scriptSource(source)}
}).call(window,module,module.exports);
window.polewrightPlotly=module.exports;
if(had){window.Plotly=before;}else{delete window.Plotly;}
}
document.dispatchEvent(new Event("polewright-plotly"));
})()</script>`;
}

/**
 * An SVG as the address of a picture. Notebooks that are not trusted yet strip SVG elements and leave their words behind;
 * a picture they keep, or its title.
 */
function pictureAddress(svg: string): string {
  const encoded = svg.replace(/[%#<>"&\n\r\t]/g, (character) => encodeURIComponent(character));
  return `data:image/svg+xml;charset=utf-8,${encoded}`;
}

/** A figure's title as plain text. */
export function titleOf(title: Figure["layout"][string] | undefined): string {
  const text =
    title !== null && typeof title === "object" && !Array.isArray(title)
      ? (title as { readonly text?: unknown }).text
      : title;
  return typeof text === "string"
    ? text.replace(/&lt;/g, "<").replace(/&gt;/g, ">").replace(/&amp;/g, "&")
    : "";
}
