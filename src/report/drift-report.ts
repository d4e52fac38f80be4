/** The polar axis from drifts, in words. */

import type { DriftComparison, DriftDifference } from "../drift/compare.js";
import type { DriftParts, DriftResidual, DriftResult } from "../drift/drift.js";
import { eastOrWest, highOrLow } from "../words/directions.js";
import { count } from "../words/lists.js";
import { noteText } from "../words/notes.js";
import { estimateText, fixed, signed, sizeText } from "../words/numbers.js";
import { upperEnd } from "./fit-report.js";
import { type Block, block, type Report } from "./report.js";

/** What goes with every look at drifts. */
export const driftCautions: readonly string[] = [
  "Before a jack or bolt is touched, read the cautions that come with the turns: tube parked, axes locked, drive power off, nothing and nobody under the frame.",
  "By night only: never look or sweep within 30 degrees of the Sun.",
];

/**
 * The polar axis from drifts: what they say, whether they agree with the sightings, each drift taken apart.
 *
 * @param result - from {@link solveDrift}
 * @param comparison - from {@link compareDrift}; null where there is no fit to hold them against
 * @param mountName - for the title
 * @example
 * ```ts
 * reportText(driftReport(solveDrift(drifts, mount), null, mount.name));
 * ```
 */
export function driftReport(
  result: DriftResult,
  comparison: DriftComparison | null,
  mountName: string,
): Report {
  const blocks: Block[] = [block.verdict(verdict(result))];
  if (comparison !== null) blocks.push(...comparisonBlocks(comparison));
  if (result.notes.length > 0) {
    blocks.push(
      block.heading("What to look at"),
      block.list(
        result.notes.map((note) => {
          const row = note.row === null ? "" : `Drift ${note.row}: `;
          return `${row}${noteText(note)}`;
        }),
      ),
    );
  }
  blocks.push(sureness(result), driftTable(result));
  if (result.residuals.some((residual) => residual.west !== null)) blocks.push(westTable(result));
  if (result.driveRate !== null) {
    const { value, uncertainty } = result.driveRate;
    blocks.push(
      block.sentence(
        `The drive runs ${fixed(Math.abs(value), 2)}″ ± ${fixed(uncertainty, 2)}″ a minute too ${value < 0 ? "slow" : "fast"} on the equator, as far as the drifts westward show.`,
      ),
    );
  }
  blocks.push(
    block.sentence(
      "Drifts northward depend very little on the drive, which is taken to turn at the sidereal rate. The errors are those from the true pole: the air's part is taken off.",
    ),
    ...driftCautions.map(block.caution),
  );
  return { title: `Where the polar axis of ${mountName} points, by drift`, blocks };
}

function verdict(result: DriftResult): string {
  const end = upperEnd(result.latitudeDeg);
  const { pole, best } = result;
  if (result.tells === "both errors") {
    return `By ${count(result.drifts, "drift")}, ${end} points ${sizeText(pole.altitude)} ${highOrLow(pole.altitude.value)} and ${sizeText(pole.east)} ${eastOrWest(pole.east.value)}, ${sizeText(pole.distance)} from the pole.`;
  }
  if (result.tells === "nothing") {
    return `By ${count(result.drifts, "drift")}, next to nothing is known of the axis yet.`;
  }
  const mostlyEast = Math.abs(best.east) > Math.abs(best.altitude);
  const [part, other] = mostlyEast ? [best.east, best.altitude] : [best.altitude, best.east];
  const alone = { value: best.value / part, uncertainty: best.uncertainty / Math.abs(part) };
  const way = mostlyEast ? eastOrWest(alone.value) : highOrLow(alone.value);
  const perTen = Math.abs((10 * other) / part);
  const leak = perTen < 0.05 ? "" : ` (each 10′ of error there change it by ${fixed(perTen, 1)}′)`;
  const known = `${end} points ${sizeText(alone)} ${way}, if it is right in ${mostlyEast ? "altitude" : "azimuth"}${leak}, which is not known yet`;
  return `By ${count(result.drifts, "drift")}, ${known}.`;
}

function comparisonBlocks(comparison: DriftComparison): Block[] {
  const by = `${fixed(comparison.sigmas, 1)} σ`;
  const text = !comparison.agrees
    ? `The drifts disagree with the sightings' fit by ${by} (by chance once in ${onceIn(comparison.chiSquare.probability)}). One of them is wrong: look for a base that moved in between, a wrong sign or star among the drifts, a slipped encoder among the sightings. Turn nothing until it is found.`
    : comparison.telling
      ? `The drifts agree with the sightings' fit: they differ by ${by}.`
      : `The drifts do not contradict the sightings' fit (${by}), but they are not sharp enough to confirm it.`;
  const row = (name: string, one: DriftDifference): string[] => [
    name,
    estimateText(one.drift),
    estimateText(one.sightings),
    estimateText(one),
    `${fixed(one.sigmas, 1)} σ`,
  ];
  return [
    block.toned(text, comparison.agrees ? "verdict" : "caution"),
    {
      kind: "table",
      caption: "Drifts against sightings; too high and too far east positive",
      head: ["Error of the axis", "By drifts", "By sightings", "Difference", "In σ"],
      align: ["left", "right", "right", "right", "right"],
      rows: [row("altitude", comparison.altitude), row("east", comparison.east)],
    },
  ];
}

function onceIn(probability: number): string {
  const times = 1 / Math.max(probability, 1e-12);
  return times >= 1e6 ? "more than a million times" : `${Number(times.toPrecision(2))} times`;
}

function sureness(result: DriftResult): Block {
  const { fromDriftsAlone, pole, best, worst } = result;
  const from = result.sagsFrom === "fit" ? "the sightings' fit" : "the tolerances of the mount file";
  if (result.tells !== "both errors") {
    return block.sentence(
      `How sure: one combination of the two errors is known to ± ${fixed(best.uncertainty, 1)}′, what sags may have done included (known from ${from}), the other to ± ${fixed(worst.uncertainty, 0)}′ only.`,
    );
  }
  return block.sentence(
    `How sure: ± ${fixed(fromDriftsAlone.altitude, 1)}′ in altitude and ± ${fixed(fromDriftsAlone.east, 1)}′ east from the drifts' own errors; with what sags may have done (known from ${from}) ± ${fixed(pole.altitude.uncertainty, 1)}′ and ± ${fixed(pole.east.uncertainty, 1)}′.`,
  );
}

const partsHead = ["Drift", "Hour angle", "Minutes", "Seen", "Air", "Sags", "Axis", "Left over"];

function partsCells(residual: DriftResidual, parts: DriftParts): string[] {
  const hours = residual.place.hourAngleDeg / 15;
  return [
    `${residual.row} ${residual.label}`,
    `${fixed(Math.abs(hours), 1)} h ${hours < 0 ? "E" : "W"}`,
    fixed(residual.minutes, 1),
    `${signed(parts.seen, 1)} ± ${fixed(parts.expected, 1)}`,
    signed(parts.refraction, 1),
    signed(parts.sags, 1),
    signed(parts.axis, 1),
    signed(parts.residual, 1),
  ];
}

function driftTable(result: DriftResult): Block {
  return {
    kind: "table",
    caption: "Drifts northward taken apart, arcseconds",
    head: partsHead,
    align: ["left", "right", "right", "right", "right", "right", "right", "right"],
    rows: result.residuals.flatMap((residual) =>
      residual.north === null ? [] : [partsCells(residual, residual.north)],
    ),
  };
}

function westTable(result: DriftResult): Block {
  return {
    kind: "table",
    caption: "Drifts westward taken apart, arcseconds",
    head: [...partsHead.slice(0, 7), "Drive", "Left over"],
    align: ["left", "right", "right", "right", "right", "right", "right", "right", "right"],
    rows: result.residuals.flatMap((residual) => {
      if (residual.west === null) return [];
      const cells = partsCells(residual, residual.west);
      return [[...cells.slice(0, 7), signed(residual.west.driveRate, 1), cells[7]!]];
    }),
  };
}
