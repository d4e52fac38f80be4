/** How a mount changes over months, in words. */
import type { Months, TermMonths } from "../months/months.js";
import { count } from "../words/lists.js";
import { noteText } from "../words/notes.js";
import { decimalsFor, estimateText, fixed, signed } from "../words/numbers.js";
import { type Block, block, type Report } from "./report.js";

/**
 * How the terms change over kept nights.
 *
 * @param months - from {@link months}
 */
export function monthsReport(months: Months): Report {
  const blocks: Block[] = [];
  const grave = months.notes.filter(({ code }) => code === "scatters" || code === "recent-change");
  for (const note of grave) blocks.push(block.caution(noteText(note)));
  blocks.push(block.verdict(verdictText(months)));
  blocks.push(
    block.sentence(
      `From ${count(months.nights.length, "night")}, ${months.nights[0]!.slice(0, 10)} to ${months.nights.at(-1)!.slice(0, 10)}. Look again in ${count(months.lookAgainWeeks, "week")}: until then pointing should not lose more than ${fixed(months.limitArcmin, 1)}′.`,
    ),
  );
  // What is not told stands in a note, by name.
  const steady = months.terms.filter((term) => term.verdict === "steady");
  const changed = months.terms.filter((term) => term.verdict === "drifts" || term.verdict === "jumped");
  if (changed.length > 0)
    blocks.push({
      kind: "table",
      caption: "What changed over the months",
      head: ["Term", "Now", "A month", "Robust", "A kelvin", ""],
      align: ["left", "right", "right", "right", "right", "left"],
      rows: changed.map((term) => [
        term.label,
        estimateText(term.now, term.unit),
        rateText(term.perMonth, term.uncertainty, term.unit),
        term.robustPerMonth === null ? "" : signed(term.robustPerMonth, decimalsFor(term.uncertainty)),
        term.perKelvin === null ? "" : rateText(term.perKelvin, term.perKelvinUncertainty!, term.unit),
        stateText(term),
      ]),
    });
  if (steady.length > 0) {
    const values = steady.map((term) => `${term.label} ${estimateText(term.now, term.unit)}`);
    blocks.push(block.sentence(`Steady: ${values.join("; ")}.`));
  }
  const going = months.terms.filter((term) => term.verdict === "drifts");
  if (going.length > 0) {
    blocks.push({
      kind: "table",
      caption: "What the trends do in a month",
      head: ["Term", "Pointing lost, over the sky", "Drift of a tracked star, at worst"],
      align: ["left", "right", "right"],
      rows: going.map((term) => [
        term.label,
        `${fixed(term.pointingPerMonth, 1)}′`,
        `${fixed(term.trackingPerMonth, 2)}″ a minute`,
      ]),
    });
  }
  for (const note of months.notes.filter((one) => !grave.includes(one)))
    blocks.push(block.sentence(noteText(note)));
  return { title: `${months.mountName} over the months`, blocks };
}

function rateText(value: number, uncertainty: number, unit: "arcmin" | "arcmin/rad"): string {
  const decimals = decimalsFor(uncertainty);
  return `${signed(value, decimals)} ± ${fixed(uncertainty, decimals)}′${unit === "arcmin" ? "" : "/rad"}`;
}

function stateText(term: TermMonths): string {
  if (term.verdict !== "jumped") return term.verdict;
  return `jumped by ${signed(term.changedBy!.value, 1)}′ before ${term.changedAt!.slice(0, 10)}`;
}

function verdictText(months: Months): string {
  const of = (verdict: TermMonths["verdict"]) => months.terms.filter((term) => term.verdict === verdict);
  const sentences: string[] = [];
  for (const term of of("jumped"))
    sentences.push(
      `The ${term.label} jumped by ${signed(term.changedBy!.value, 1)}′ before ${term.changedAt!.slice(0, 10)}.`,
    );
  for (const term of of("drifts"))
    sentences.push(
      `The ${term.label} drifts by ${signed(term.perMonth, decimalsFor(term.uncertainty))}′ a month.`,
    );
  const matters = months.terms.find((term) => term.name === months.mattersForPointing);
  const tracks = months.terms.find((term) => term.name === months.mattersForTracking);
  if (matters !== undefined && tracks !== undefined) {
    sentences.push(
      matters === tracks
        ? `It matters most for pointing and tracking: ${matters.label}.`
        : `For pointing the ${matters.label} matters most, for tracking the ${tracks.label}.`,
    );
  }
  if (sentences.length === 0)
    sentences.push(
      of("steady").length === 0
        ? "These nights show for no term whether it changes."
        : "No term that these nights measure has changed.",
    );
  return sentences.join(" ");
}
