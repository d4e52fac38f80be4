/** A hands-on sheet: where the axis points, from ten minutes of drift and a ruler. */
import { DEGREE } from "../../angles.js";
import { fixed } from "../../words/numbers.js";
import type { WholePage } from "../page-text.js";
import { cautionHtml, printedSheet, rulerSvg, stepsHtml } from "./sheet.js";

/** The sky turns by so much in a second of time, arcseconds: 360° in a sidereal day of 86 164.0905 s. */
const SKY_ARCSEC_PER_S = (360 * 3600) / 86164.0905;
const DRIFT_S = 600;
const TRAIL_S = 60;

/**
 * How many times as large as the drift the axis error is, for a star on the meridian: in a time t a star drifts by the error
 * times the angle by which the sky turns (small angles, no air).
 */
export const driftFactor = 1 / ((DRIFT_S * SKY_ARCSEC_PER_S * DEGREE) / 3600);

/** How long the trail of a resting telescope is after a minute, arcminutes, at a declination in degrees. */
export function trailArcmin(declinationDeg: number): number {
  return (TRAIL_S * SKY_ARCSEC_PER_S * Math.cos(declinationDeg * DEGREE)) / 60;
}

/** Figures of the invented Nowhere School, as they are measured in the example. */
const EXAMPLE = { declinationDeg: 9, trailMm: 45, driftMm: 2.5 } as const;

/**
 * The sheet.
 *
 * @param latitudeDeg - degrees, north positive: it says which way the axis is off
 */
export function driftRulerSheet(latitudeDeg: number): WholePage {
  // The upper end east of the pole: stars on the meridian drift away from that pole.
  const [pole, away] = latitudeDeg < 0 ? ["south", "north"] : ["north", "south"];
  const declinations = [0, 10, 20, 30];
  const scale = trailArcmin(EXAMPLE.declinationDeg) / EXAMPLE.trailMm;
  const drift = EXAMPLE.driftMm * scale;
  return printedSheet({
    title: "Ten minutes of drift with a ruler",
    summary: "A sheet for a class: where the polar axis points, from two pictures and a ruler.",
    paper: "A4 portrait",
    widthMm: 190,
    heightPx: 1400,
    body: `<p>If the axis points at the pole, a star stays where it is in the picture while the drive runs. If not, it drifts. A ruler on the screen shows how wrong the axis is.</p>
${cautionHtml("An adult runs the telescope. Keep hands, hair and cables away from rollers and gears while the drive turns. Mains in the dew kills: power only through a residual-current device. Never point near the Sun.")}
<h2>What to do</h2>
${stepsHtml([
  `Choose a star near the meridian (due ${latitudeDeg < 0 ? "north" : "south"}, or overhead) and within 30° of the celestial equator. Write down its name and declination.`,
  "Scale: stop the drive. Take one picture that is exposed for 60 seconds. The star draws a line. Measure it on the screen: that is A.",
  "Which way is north? The line runs east and west. Push the tube a little to the south: the star moves to the north side of the picture.",
  "Drift: start the drive and wait two minutes. Take a short picture. Hands off for ten minutes. Take another. Do not change the size on the screen.",
  "Measure how far the star has gone north or south, across the direction of the line: that is B. Leave out what it has gone east or west.",
])}
<div class="true-size" tabindex="0" role="region" aria-label="in true size">${rulerSvg()}</div>
<h2>Calculate</h2>
<div class="scroll" tabindex="0" role="region" aria-label="how long the line is"><table><thead><tr><th scope="col">Declination of the star, north or south</th>${declinations.map((one) => `<th scope="col">${one}°</th>`).join("")}</tr></thead>
<tbody><tr><th scope="row">The line A is so long on the sky, arcminutes</th>${declinations.map((one) => `<td>${fixed(trailArcmin(one), 1)}</td>`).join("")}</tr></tbody></table></div>
<div class="scroll" tabindex="0" role="region" aria-label="table"><table><thead><tr><th scope="col">What</th><th scope="col">Nowhere School (invented)</th><th scope="col">You</th></tr></thead><tbody>
<tr><th scope="row">The line A, mm</th><td>${EXAMPLE.trailMm}</td><td class="room"></td></tr>
<tr><th scope="row">Arcminutes a millimetre: the table's figure ÷ A</th><td>${fixed(trailArcmin(EXAMPLE.declinationDeg), 1)} ÷ ${EXAMPLE.trailMm} = ${fixed(scale, 2)}</td><td class="room"></td></tr>
<tr><th scope="row">The drift B, mm, and which way</th><td>${EXAMPLE.driftMm}, ${away}</td><td class="room"></td></tr>
<tr><th scope="row">The drift, arcminutes: B × arcminutes a millimetre</th><td>${EXAMPLE.driftMm} × ${fixed(scale, 2)} = ${fixed(drift, 2)}</td><td class="room"></td></tr>
<tr><th scope="row">The axis is off by ${fixed(driftFactor, 0)} times that, arcminutes</th><td>${fixed(drift * driftFactor, 0)}, too far east</td><td class="room"></td></tr>
</tbody></table></div>
<p><strong>Which way?</strong> The star drifted ${away}: the upper end of the axis points too far east. It drifted ${pole}: too far west.</p>
<h2>How good is it?</h2>
<ul><li>Half a millimetre on the ruler is how many arcminutes of the axis? ________</li>
<li>Do it twice. The answers differ by ________ arcminutes.</li>
<li>A star low in the east or west drifts because the axis is too high or too low. Why does the star on the meridian not show that?</li></ul>
<p>Nobody turns a jack after one drift. Take it to the adults: sightings must say the same.</p>`,
  });
}
