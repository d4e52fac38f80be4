import type { Comparison, TermChange } from "../keep/compare.js";
import { isOfCause } from "../mount/terms.js";
import { listText } from "../words/lists.js";
import { arcminText, estimateText, fixed } from "../words/numbers.js";
import { type Block, block, type Report } from "./report.js";

/**
 * What has changed between two nights.
 *
 * @param comparison - from {@link compareModels}
 * @param names - what to call the two, for instance their files or dates
 */
export function compareReport(
  comparison: Comparison,
  names: { readonly older: string; readonly newer: string },
): Report {
  const { together } = comparison;
  const [first, ...rest] = comparison.summary;
  const shown = comparison.terms.filter(
    ({ name, verdict }) => !isOfCause(name) || verdict === "changed" || verdict === "perhaps changed",
  );
  const blocks: Block[] = [
    block.verdict(first ?? ""),
    ...rest.map(block.sentence),
    {
      kind: "table",
      caption: `${names.older} against ${names.newer}`,
      head: ["Term", "Then", "Now", "Change", "Seen from", ""],
      align: ["left", "right", "right", "right", "right", "left"],
      rows: shown.map((term) => [
        term.label,
        estimateText(term.older, term.unit),
        estimateText(term.newer, term.unit),
        changeText(term),
        term.verdict === "starts anew"
          ? ""
          : term.couldSee === null
            ? "never"
            : `${arcminText(term.couldSee, term.couldSee < 10 ? 1 : 0)}${term.unit === "arcmin" ? "" : "/rad"}`,
        // As the sentence above says it; the verdict's own words would take four lines.
        term.verdict === "could not have been seen" ? "not measured" : term.verdict,
      ]),
    },
    block.sentence(
      `All terms together decide: χ² ${fixed(together.chiSquare.value, 1)} of ${together.chiSquare.degreesOfFreedom}, which chance alone would reach in ${chanceText(together.chiSquare.probability)} of cases. “Seen from” is the smallest change that would have stood out. Chance alone would move the axis this far in ${chanceText(comparison.pole.probability)} of cases. Errors of the encoders, play and steps are allowed for; they are listed where they changed.`,
    ),
  ];
  const only = [
    ...comparison.onlyOlder.map((name) => `${name} (then only)`),
    ...comparison.onlyNewer.map((name) => `${name} (now only)`),
  ];
  if (only.length > 0) {
    blocks.push(block.sentence(`Not compared: ${listText(only)}.`));
  }
  return { title: `What has changed on ${comparison.mount}`, blocks };
}

function changeText(term: TermChange): string {
  if (term.verdict === "starts anew") return "";
  const per = term.unit === "arcmin" ? "" : "/rad";
  return `${arcminText(term.difference.value, 1, true)}${per} ± ${arcminText(term.difference.uncertainty, 1)}${per}`;
}

function chanceText(probability: number): string {
  if (probability < 0.001) return "less than 0.1 %";
  return `${fixed(100 * probability, probability < 0.1 ? 1 : 0)} %`;
}
