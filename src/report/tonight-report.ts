import type { TonightStanding } from "../keep/tonight.js";
import { count } from "../words/lists.js";
import { noteText } from "../words/notes.js";
import { estimateText, fixed, signed } from "../words/numbers.js";
import { type Block, block, type Report } from "./report.js";

/**
 * Whether the mount still stands as a kept model says: a sentence first.
 *
 * @param keptAt - when the kept model's sightings were made; null where that is not known
 * @example
 * ```ts
 * reportText(tonightReport(standingTonight(kept, night), null))
 * ```
 */
export function tonightReport(tonight: TonightStanding, keptAt: string | null): Report {
  const { mount, standing, agreements, chiSquare, notes, terms } = tonight;
  const blocks: Block[] = [
    block.toned(sentence(tonight), standing === "contradicts-model" ? "caution" : "verdict"),
    ...notes.map((note) => block.caution(noteText(note))),
    block.sentence(trusted(tonight)),
    {
      kind: "table",
      caption:
        "Tonight's stars, one after the other: telescope minus star before each was used, arcminutes on the sky",
      head: ["", "Star", "West", "North", "Over expected", "Agrees"],
      align: ["right", "left", "right", "right", "right", "left"],
      rows: agreements.map((one) => {
        const setsZeros = one.ratio === 0 && one.west === 0 && one.north === 0;
        return setsZeros
          ? [String(one.row), one.star, "", "", "", "sets the zeros"]
          : [
              String(one.row),
              one.star,
              signed(one.west, 1),
              signed(one.north, 1),
              fixed(one.ratio, 1),
              one.agrees ? "yes" : "no",
            ];
      }),
    },
    {
      kind: "table",
      caption: "Tonight's encoder zeros",
      head: ["Axis", "Zero"],
      align: ["left", "right"],
      rows: (["hourAngleZero", "declinationZero"] as const).flatMap((name) => {
        const term = terms.filter((one) => one.name === name).at(-1);
        return term === undefined
          ? []
          : [[name === "hourAngleZero" ? "hour angle" : "declination", estimateText(term)]];
      }),
    },
  ];
  if (chiSquare.degreesOfFreedom > 0) {
    blocks.push(
      block.sentence(
        `Agreement: χ² ${fixed(chiSquare.value, 1)} of ${chiSquare.degreesOfFreedom} expected, probability ${chiSquare.probability < 0.0005 ? "below 0.001" : fixed(chiSquare.probability, 3)}.`,
      ),
    );
  }
  const of = keptAt === null ? "" : `, kept from ${keptAt.slice(0, 10)}`;
  return { title: `${mount.name} tonight, by its kept model${of}`, blocks };
}

function sentence({ standing, agreements }: TonightStanding): string {
  const stars = count(agreements.length, "star");
  if (standing === "as-kept")
    return `The mount stands as kept: ${stars} of tonight agree${agreements.length === 1 ? "s" : ""} with the model.`;
  if (standing === "contradicts-model")
    return "The mount does not stand as kept. Do not trust the kept model tonight.";
  return "Not known yet: the first star sets the zeros. Sight a second one, far from it.";
}

function trusted({ standing, evidence, agreements }: TonightStanding): string {
  if (standing === "contradicts-model") {
    return agreements.length < 6
      ? "Readings are given with the axis and the tube as uncertain as tonight's stars ask for. Nothing is promised."
      : "Readings are given by tonight's sightings alone. Nothing is promised.";
  }
  if (evidence.missing === 0) return "The readings may be trusted within what is said of them.";
  return `The zeros are set, and readings may be used. A misidentified star could not be seen among so few: nothing is promised before ${count(evidence.missing, "more star", "more stars")}.`;
}
