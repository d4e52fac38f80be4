/** A procedure in words: what was found, what to do, what to write down. */
import type { Procedure, ProcedureResult } from "../procedures/procedure.js";
import { decimalsFor, fixed } from "../words/numbers.js";
import { type Block, block, type Report } from "./report.js";

/**
 * A procedure's guide, and what follows from what was written down.
 *
 * @param result - null where nothing was written down yet
 */
export function procedureReport(procedure: Procedure, result: ProcedureResult | null): Report {
  const blocks: Block[] = procedure.cautions.map(block.caution);
  if (result !== null) {
    blocks.push(block.verdict(result.sentence));
    if (result.found.length > 0) {
      blocks.push({
        kind: "table",
        caption: "Found",
        head: ["What", "Value", "±", "Unit"],
        align: ["left", "right", "right", "left"],
        rows: result.found.map((one) => {
          const decimals = one.uncertainty > 0 ? decimalsFor(one.uncertainty) : 0;
          return [one.name, fixed(one.value, decimals), fixed(one.uncertainty, decimals), one.unit];
        }),
      });
    }
    if (result.next.length > 0) blocks.push(block.list(result.next));
  }
  blocks.push(
    block.heading("What to do"),
    { kind: "list", ordered: true, items: procedure.steps },
    {
      kind: "table",
      caption: "What to write down",
      head: ["Name", "What it is", "Usual"],
      align: ["left", "left", "right"],
      rows: Object.entries(procedure.write).map(([name, one]) => [
        name,
        one.meaning + (one.several ? " (several, with commas)" : ""),
        one.usual === null ? "needed" : String(one.usual),
      ]),
    },
  );
  return { title: procedure.title, blocks };
}

/** All procedures. */
export function proceduresReport(procedures: readonly Procedure[]): Report {
  return {
    title: "Procedures at the mount",
    blocks: [
      {
        kind: "table",
        caption: "polewright procedure NAME shows what to do; with NAME=NUMBER after it, what follows",
        head: ["Name", "What it shows"],
        align: ["left", "left"],
        rows: procedures.map((one) => [one.name, one.title]),
      },
    ],
  };
}
