/** A hands-on sheet: a split-ring mount of cardboard, to cut out in true size. */
import { DEGREE } from "../../angles.js";
import { fixed } from "../../words/numbers.js";
import type { WholePage } from "../page-text.js";
import { cautionHtml, drawing, mm, printedSheet, rulerSvg, stepsHtml } from "./sheet.js";

const OUTER_MM = 80;
const INNER_MM = 50;
/** Half the opening of the ring, degrees: the tube must pass. */
const HALF_OPENING_DEG = 35;
/** How long the axis is from the pivot to the middle of the ring, millimetres. */
const AXIS_MM = 160;

/** How far the two stands are apart, and how deep the notch is that the rim sits in, millimetres. */
const APART_MM = 60;
const NOTCH_MM = 4;
const ARM_MM = 20;
const FOOT_MM = 12;

/** A point of the stand's side view, millimetres: to the high end, and up. */
type Place = readonly [number, number];

/**
 * The side view of the stand. The rim sits in its notches, so the ring's middle stands above the slope; the arm at the low end
 * lifts the pivot as far, and the axis between them leans by the latitude.
 */
export function standShape(latitudeDeg: number): {
  readonly outline: readonly Place[];
  readonly pivot: Place;
  readonly notch: Place;
  readonly outerMm: number;
  readonly apartMm: number;
} {
  const lean = Math.abs(latitudeDeg) * DEGREE;
  const at = (along: number, above: number): Place => [
    along * Math.cos(lean) - above * Math.sin(lean),
    along * Math.sin(lean) + above * Math.cos(lean),
  ];
  const lift = Math.sqrt(OUTER_MM ** 2 - (APART_MM / 2) ** 2) - NOTCH_MM;
  const end = at(AXIS_MM + 8, 0);
  return {
    pivot: at(ARM_MM / 2, lift),
    notch: at(AXIS_MM, -NOTCH_MM),
    outerMm: OUTER_MM,
    apartMm: APART_MM,
    outline: [
      [0, -FOOT_MM],
      [0, 0],
      at(0, lift + 8),
      at(ARM_MM, lift + 8),
      at(ARM_MM, 0),
      at(AXIS_MM - 1.5, 0),
      at(AXIS_MM - 1.5, -NOTCH_MM),
      at(AXIS_MM + 1.5, -NOTCH_MM),
      at(AXIS_MM + 1.5, 0),
      end,
      [end[0], -FOOT_MM],
    ],
  };
}

/**
 * The sheet.
 *
 * @param latitudeDeg - degrees, north positive: the stand leans by it
 */
export function splitRingSheet(latitudeDeg: number): WholePage {
  const pole = latitudeDeg < 0 ? "south" : "north";
  const lean = fixed(Math.abs(latitudeDeg), 1);
  return printedSheet({
    title: "A split ring of cardboard",
    summary: `A sheet for a class: a split-ring mount to cut out, for latitude ${lean}° ${pole}.`,
    paper: "A4 portrait",
    widthMm: 190,
    heightPx: 2250,
    style: ".next{break-before:page}",
    body: `<p>The big telescope's mount has one idea: it turns about a line that points at the pole of the sky. Then one turn of one axis follows every star. Build it, and see.</p>
${cautionHtml("Cut on a board, away from your hand; a knife is for adults. There is no lens in this model, and still: never point it at the Sun.")}
<h2>Print in true size</h2>
<p>Print at 100 %, not “fit to page”. This ruler must then be 10 cm long:</p>
<div class="true-size" tabindex="0" role="region" aria-label="in true size">${rulerSvg()}</div>
<h2>Build</h2>
${stepsHtml([
  "Glue the next two pages on stiff cardboard. Cut out the ring, and the stand twice.",
  "Join the two stands side by side, 6 cm apart, with strips of cardboard. One strip joins the arms at the height of the dots.",
  "Glue a strip across the back of the ring, over its middle. Push a skewer through it there, square to the ring, and glue it: that is the axis.",
  "Push the low end of the skewer through the strip between the arms. Set the ring's rim into the two notches, so that it can turn.",
  "Put a second skewer across the front of the ring, through a roll of paper. The roll is the tube: it tips about this skewer.",
])}
<h2>Set it up</h2>
${stepsHtml([
  `Lay it level. Turn the high end to the ${pole}, along the line of the plumb-line sheet.`,
  `Check with a protractor and a plumb line: the skewer must lean ${lean}° from level, your latitude.`,
])}
<h2>Try it</h2>
${stepsHtml([
  "After dark, point the roll at a bright star, looking through it. Write down which mark of the ring is at the top.",
  "Wait half an hour. The star has gone. Now turn only the ring, by half a mark, westward. Is it in the roll again?",
  "Turn the whole stand a hand's breadth to the east. Find your star again, wait, and turn only the ring. Now it does not work: why?",
])}
<p>One mark is 15°: as far as the sky turns in one hour.</p>
<div class="next true-size" tabindex="0" role="region" aria-label="the ring"><h2>The ring, once</h2>${ringDrawing()}</div>
<div class="next true-size" tabindex="0" role="region" aria-label="the stand"><h2>The stand, twice</h2>${standDrawing(latitudeDeg)}</div>`,
  });
}

/** The ring with a mark for every hour; the opening is at the top. */
function ringDrawing(): string {
  const at = (radius: number, degrees: number): string =>
    `${mm(radius * Math.sin(degrees * DEGREE))} ${mm(-radius * Math.cos(degrees * DEGREE))}`;
  const end = 360 - HALF_OPENING_DEG;
  const outline = `M${at(OUTER_MM, HALF_OPENING_DEG)}A${OUTER_MM} ${OUTER_MM} 0 1 1 ${at(OUTER_MM, end)}L${at(INNER_MM, end)}A${INNER_MM} ${INNER_MM} 0 1 0 ${at(INNER_MM, HALF_OPENING_DEG)}Z`;
  const marks = ringHours().map(({ hour, degrees }) => {
    const [x, y] = at(OUTER_MM - 12, degrees).split(" ");
    return `<path d="M${at(OUTER_MM, degrees)}L${at(OUTER_MM - 7, degrees)}"/><text x="${x}" y="${mm(Number(y) + 1.5)}">${hour}</text>`;
  });
  return drawing(
    `${-OUTER_MM - 4} ${-OUTER_MM - 4} ${2 * OUTER_MM + 8} ${2 * OUTER_MM + 8}`,
    "The ring, with a mark for every hour of the sky's turning",
    `<path d="${outline}" stroke-width=".7"/>${marks.join("")}<circle r=".8" fill="#000"/><text y="7">middle</text>`,
  );
}

/** The hours that have a mark, and where it is: degrees clockwise from the middle of the opening. */
export function ringHours(): { readonly hour: number; readonly degrees: number }[] {
  return Array.from({ length: 24 }, (_, hour) => ({ hour, degrees: 15 * hour })).filter(
    ({ degrees }) => Math.min(degrees, 360 - degrees) > HALF_OPENING_DEG,
  );
}

function standDrawing(latitudeDeg: number): string {
  const { outline, pivot } = standShape(latitudeDeg);
  const [left, right] = [Math.min(...outline.map(([x]) => x)), Math.max(...outline.map(([x]) => x))];
  const [low, high] = [-FOOT_MM, Math.max(...outline.map(([, y]) => y))];
  const margin = 2;
  const view = [left - margin, -high - margin, right - left + 2 * margin, high - low + 2 * margin];
  return drawing(
    view.map(mm).join(" "),
    "The stand from the side: its slope leans by the latitude, with an arm for the pivot and a notch for the ring",
    `<path d="M${outline.map(([x, y]) => `${mm(x)} ${mm(-y)}`).join("L")}Z" stroke-width=".7"/><circle cx="${mm(pivot[0])}" cy="${mm(-pivot[1])}" r="1" fill="#000"/><text x="${mm(0.55 * right)}" y="${FOOT_MM - 4}">slope ${fixed(Math.abs(latitudeDeg), 1)}°</text>`,
  );
}
