/**
 * The jack sheet: one page to print and take to the base. The base from above first, four cautions to tick, the steps to
 * tick, the look at the level half-way, and room for what was really turned.
 */
import { turnsOf as turnsPhrase, unbroken } from "../base/base-words.js";
import { briefCautions } from "../base/cautions.js";
import type { TurnAdvice, TurnStep } from "../base/turn-advice.js";
import { groupSteps, type StepGroup } from "../base/turn-steps.js";
import type { Mount } from "../mount/mount.js";
import { baseFromAbove } from "../plots/base-from-above.js";
import { figureSvg } from "../plots/svg.js";
import { verdictOfTurns } from "../report/turns-report.js";
import { escapeHtml } from "../words/escape.js";
import { arcminText, fixed } from "../words/numbers.js";
import type { WholePage } from "./page-text.js";

/** As high as a sheet of A4 on a screen, pixels. */
const SHEET_HEIGHT_PX = 1123;
/** From so many items on the steps stand in two columns, so that the sheet stays one page. */
const TWO_COLUMNS = 9;

const style = `
@page{margin:11mm}
*{box-sizing:border-box}
body{margin:0 auto;padding:4mm;max-width:190mm;background:#fff;color:#000;font:10.5pt/1.35 system-ui,"Liberation Sans",Arial,sans-serif;overflow-wrap:break-word}
h1{font-size:15pt;margin:0 0 1mm}h2{font-size:11.5pt;margin:3mm 0 1mm;border-bottom:1px solid #000}
p{margin:1mm 0}.verdict{font-weight:700}
.top{display:grid;grid-template-columns:88mm 1fr;gap:4mm;align-items:start}
.top svg{width:100%;height:auto;display:block}
ul,ol{margin:1mm 0;padding-left:6mm}ul.tick{list-style:none;padding-left:0}
li{margin:.8mm 0;break-inside:avoid}
.two{columns:2;column-gap:7mm}
.box{appearance:none;-webkit-appearance:none;display:inline-block;width:3.6mm;height:3.6mm;border:1.2px solid #000;margin:0 1mm 0 0;vertical-align:-.5mm;background:#fff}
.box:checked{background:linear-gradient(45deg,transparent 44%,#000 44%,#000 56%,transparent 56%),linear-gradient(-45deg,transparent 44%,#000 44%,#000 56%,transparent 56%)}
.level{border:1px solid #000;padding:.6mm 1.5mm;list-style-position:inside}
table{border-collapse:collapse;width:100%;margin:1mm 0;font-size:9.5pt}th,td{border:1px solid #000;padding:.8mm 1.4mm;text-align:left;vertical-align:top}td.room{min-width:24mm;height:6.2mm}
.scroll{overflow-x:auto}
@media (max-width:600px){.top{display:block}.two{columns:1}body{padding:3mm;font-size:12pt}.box{width:6mm;height:6mm}}
@media print{body{padding:0;max-width:none;font-size:9.5pt}.top{grid-template-columns:78mm 1fr}}`;

/**
 * The sheet of an advice.
 *
 * @param advice - the turns
 * @param mount - the mount with its base
 * @returns a page that stands on its own, for A4 or letter paper and for a telephone
 */
export function jackSheet(advice: TurnAdvice, mount: Mount): WholePage {
  const title = `Jack sheet: ${mount.name}`;
  const groups = groupSteps(advice.steps);
  const body = advice.recommended
    ? `<div class="top"><div>${figureSvg(baseFromAbove(mount, advice))}</div><div>
<p class="verdict">${escapeHtml(unbroken(verdictOfTurns(advice)))}</p>
${advice.notes.map((note) => `<p><strong>Note.</strong> ${escapeHtml(note)}</p>`).join("")}
<h2>Tick before a hand goes near the base</h2>
<ul class="tick">${briefCautions.map((caution) => `<li>${boxes(1)}${escapeHtml(caution)}</li>`).join("")}</ul>
<p>Then the axis should be ${arcminText(Math.hypot(advice.after.altitude, advice.after.east))} from the pole. The hour-angle readings will shift by ${arcminText(advice.hourAngleZeroShift, 1, true)}: nothing is wrong.</p>
</div></div>
<h2>The steps, in this order</h2>
<ol${groups.length >= TWO_COLUMNS ? ' class="two"' : ""}>${groups.map(stepItem).join("")}</ol>
<h2>What was really turned</h2>
${turnedTable(advice)}`
    : `<p class="verdict">${escapeHtml(verdictOfTurns(advice))}</p>`;
  return {
    title,
    summary: `${title}. ${verdictOfTurns(advice)}`,
    heightPx: SHEET_HEIGHT_PX,
    onPaper: true,
    html: `<!doctype html>
<html lang="en"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width, initial-scale=1"><meta name="color-scheme" content="light">
<title>${escapeHtml(title)}</title><style>${style}</style></head>
<body><h1>${escapeHtml(title)}</h1>
${body}
</body></html>
`,
  };
}

function boxes(count: number): string {
  return Array.from({ length: count }, () => '<input type="checkbox" class="box" aria-label="done">').join(
    "",
  );
}

/** A group of steps: said once, with a row of boxes for its repeats. */
function stepItem({ times, steps }: StepGroup): string {
  const isLevel = steps.length === 1 && steps[0]!.adjuster === "level";
  const texts = steps.map((step) => escapeHtml(unbroken(shortStep(step)))).join("<br>");
  const often = times === 1 ? "" : ` <strong>${times} times:</strong>`;
  const row = times === 1 ? boxes(1) : "";
  const rows = times === 1 ? "" : `<br>${boxes(times)}`;
  return `<li${isLevel ? ' class="level"' : ""}>${row}${often} ${texts}${rows}</li>`;
}

/** `north-east jack 1/4 turn clockwise (up 0.50 mm)`; a look at the level as it stands. */
function shortStep(step: TurnStep): string {
  if (step.adjuster === "level") {
    if (step.level === undefined || Math.hypot(step.level.northUpArcmin, step.level.eastUpArcmin) === 0)
      return step.text;
    const { northUpMmPerM: north, eastUpMmPerM: east } = step.level;
    return `Level: ${north < 0 ? "south" : "north"} side up ${fixed(Math.abs(north), 2)} mm/m, ${east < 0 ? "west" : "east"} side up ${fixed(Math.abs(east), 2)} mm/m (to a fifth, else stop)`;
  }
  if (step.direction !== "clockwise" && step.direction !== "anticlockwise") return step.text;
  return `${step.adjuster} jack ${turnsPhrase(step.turns)} ${step.direction} (${fixed(step.mm, 2)} mm)`;
}

function turnedTable(advice: TurnAdvice): string {
  const rows = advice.moves.map(({ adjuster, direction, mm, turns }) => {
    const asked = turns === null ? `${fixed(mm, 2)} mm ${direction}` : `${turnsPhrase(turns)} ${direction}`;
    return `<tr><th scope="row">${escapeHtml(adjuster)}</th><td>${escapeHtml(asked)}</td><td class="room"></td><td class="room"></td></tr>`;
  });
  return `<div class="scroll"><table><thead><tr><th scope="col">Adjuster</th><th scope="col">Asked</th><th scope="col">Really turned</th><th scope="col">Note (stiff, easy, star moved)</th></tr></thead><tbody>${rows.join("")}
<tr><th scope="row">Level after</th><td>mm per metre, from before</td><td class="room">north side up:</td><td class="room">east side up:</td></tr></tbody></table></div>
<p>Date, time, who: ______________________________ &nbsp; Into turned.csv: what was really turned.</p>`;
}
