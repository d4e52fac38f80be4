/** A hands-on sheet: north by a plumb line and two shadows of the same length. */
import type { WholePage } from "../page-text.js";
import { cautionHtml, drawing, mm, printedSheet, stepsHtml } from "./sheet.js";

const CIRCLE_MM = 31;
/** How far the two marks lie from the line between them, as drawn. */
const HALF_ANGLE = (50 * Math.PI) / 180;

/**
 * Equal shadows before and after noon: the line half-way between them runs north and south (common practice, no source).
 *
 * @param latitudeDeg - degrees, north positive; it says which way the noon shadow points
 */
export function plumbLineSheet(latitudeDeg: number): WholePage {
  const north = latitudeDeg >= 0;
  const far = Math.abs(latitudeDeg) > 23.5;
  const pole = north ? "north" : "south";
  return printedSheet({
    title: "North by a plumb line",
    summary: "A sheet for a class: true north from two shadows of the same length.",
    paper: "A4 portrait",
    widthMm: 190,
    heightPx: 1123,
    body: `${cautionHtml("Never look at the Sun, not even for a moment. Work with your back to it: only the shadow is needed. Keep every telescope and binocular covered.")}
<h2>You need</h2>
<p>A string with a weight, a stand to hang it from, a sheet of plywood with paper on it. A pencil, a pair of compasses, a spirit level.</p>
<h2>What to do</h2>
${stepsHtml([
  "Two hours before noon, lay the plywood level in the Sun. Check it with the spirit level, along and across. From now on it must not move.",
  "Hang the plumb line over it. Mark the point under the weight: that is the middle. Tie a knot in the string half a metre up.",
  "The knot has a shadow on the paper. Mark it, and write the time beside it.",
  "Draw the circle round the middle that goes through your mark.",
  "After noon the shadow grows again. Watch it: when the knot's shadow meets the circle, mark that point too.",
  "Find the point half-way between the two marks. Draw a line through it and the middle.",
])}
${shadowDrawing(north)}
<p><strong>Your line runs north and south.</strong> ${
      far
        ? `Here the shadow at noon points ${pole}, so the end with the marks is ${pole}.`
        : "Between the tropics the noon shadow may point either way: see in the evening which end the pole lies over."
    }</p>
<h2>How good is it?</h2>
<ul><li>The edge of the shadow is soft, because the Sun is half a degree wide. Mark the middle of the soft edge.</li>
<li>Do it again with the knot at another height. The two lines differ by: ________ degrees.</li>
<li>Hold a compass beside your line, far from iron. Its needle differs by: ________ degrees. Is that the same everywhere on Earth?</li></ul>
<p>Date: ______________ &nbsp; Names: ______________________________________________</p>`,
  });
}

function shadowDrawing(north: boolean): string {
  const way = north ? -1 : 1;
  const mark = (side: number): readonly [number, number] => [
    side * CIRCLE_MM * Math.sin(HALF_ANGLE),
    way * CIRCLE_MM * Math.cos(HALF_ANGLE),
  ];
  // Before noon the Sun is in the east, and the shadow falls west.
  const marks = [mark(-1), mark(1)] as const;
  const names = ["before noon", "after noon"];
  const shadows = marks.map(
    ([x, y], index) =>
      `<path d="M0 0L${mm(x)} ${mm(y)}" stroke-width="1"/><circle cx="${mm(x)}" cy="${mm(y)}" r="1.4" fill="#000"/><text x="${mm(1.9 * x)}" y="${mm(y + 1.5)}">${names[index]}</text>`,
  );
  const height = CIRCLE_MM + 14;
  return drawing(
    `-80 ${-height} 160 ${2 * height}`,
    "The middle, two shadows of the same length, and the line half-way between them",
    `<circle r="${CIRCLE_MM}" stroke-dasharray="2 1.5"/>${shadows.join("")}<path d="M${mm(marks[0][0])} ${mm(marks[0][1])}H${mm(marks[1][0])}" stroke-dasharray=".6 1"/><path d="M0 ${-CIRCLE_MM - 6}V${CIRCLE_MM + 6}" stroke-width=".9"/><circle r="1.8" fill="#fff"/><text x="14" y="${mm(-way * 6)}">the middle</text><text y="${-CIRCLE_MM - 8}">N</text><text y="${CIRCLE_MM + 12}">S</text><text x="-54" y="1.5">W</text><text x="54" y="1.5">E</text>`,
  );
}
