/** What an open night and an entered sighting say of themselves: a table of sightings, and the star to sight next. */
import type { MountFit } from "../fit/fit-result.js";
import { fitMount } from "../fit/mount-fit.js";
import { formatReading } from "../mount/readings.js";
import type { Night } from "../night/night.js";
import type { Sighting } from "../night/sighting.js";
import { type NextStar, nextStar } from "../plan/next.js";
import { type Block, block, type Report, type TableBlock } from "../report/report.js";
import { whereInWords } from "../words/directions.js";
import { arcminText, fixed } from "../words/numbers.js";

/** From so many sightings on a fit says how well each fits. */
const ENOUGH_TO_FIT = 4;

/** The fit of a night as far as it goes; null with too few sightings. */
export function fitSoFar(night: Night): MountFit | null {
  const used = night.sightings.filter((sighting) => sighting.use).length;
  return used >= ENOUGH_TO_FIT ? fitMount(night) : null;
}

/** The star to sight next, by what is known so far. */
function nextSoFar(night: Night, fit: MountFit | null, nowMs: number): NextStar | null {
  return nextStar(night, fit?.sound ? fit : null, nowMs);
}

/**
 * The night as it stands: every sighting, how well it fits, and what became of it.
 *
 * @param night - with its folder
 * @param warnings - what the files' reader warned of; it stands above the rest
 */
export function nightReport(night: Night & { readonly folder: string }, warnings: readonly string[]): Report {
  const { sightings, mount } = night;
  const used = sightings.filter((sighting) => sighting.use).length;
  const blocks: Block[] = [];
  if (warnings.length > 0) blocks.push(block.list(warnings));
  blocks.push(
    block.verdict(
      sightings.length === 0
        ? "No sightings yet."
        : `${sightings.length} sightings, ${used} in use, from ${sightings[0]!.time} to ${sightings.at(-1)!.time}.`,
    ),
    block.sentence(
      `Latitude ${mount.site.latitude}°, longitude ${mount.site.longitude}° (east positive), ${mount.site.heightM} m; kept in ${night.folder}.`,
    ),
  );
  if (sightings.length > 0) {
    blocks.push(sightingTable("The sightings", night, sightings, fitSoFar(night)));
  }
  return { title: mount.name, blocks };
}

/**
 * The answer to entered sightings: what was written, the rows, and the star to sight next in words.
 *
 * @param night - the night with them
 * @param answers - one for each
 */
export function answersReport(
  night: Night,
  answers: readonly { readonly row: number; readonly standing: string; readonly text: string }[],
): Report {
  const fit = fitSoFar(night);
  const doubtful = answers.some(({ standing }) => standing === "doubtful");
  const rows = night.sightings.filter(({ row }) => answers.some((answer) => answer.row === row));
  const blocks: Block[] = answers.map(({ text, standing }) =>
    block.toned(
      text,
      standing === "doubtful" ? "caution" : doubtful || answers.length > 1 ? "plain" : "verdict",
    ),
  );
  if (rows.length > 0) blocks.push(sightingTable("What was entered", night, rows, fit));
  const last = rows.at(-1);
  if (last !== undefined) blocks.push(block.sentence(nextText(night, fit, last.timeMs)));
  return { title: answers.length === 1 ? "One sighting" : `${answers.length} sightings`, blocks };
}

function nextText(night: Night, fit: MountFit | null, nowMs: number): string {
  const next = nextSoFar(night, fit, nowMs);
  if (next === null) return "Next: no star is up within the limits. Wait a little.";
  const { hourAngleText, declinationText } = next.predicted;
  return `Next: ${next.star}, magnitude ${fixed(next.vMag, 1)}, ${whereInWords(next.altitudeDeg, next.azimuthDeg)}. Set the axes to ${hourAngleText} and ${declinationText}.`;
}

function sightingTable(
  caption: string,
  { mount: { readings } }: Night,
  sightings: readonly Sighting[],
  fit: MountFit | null,
): TableBlock {
  const residuals = new Map(fit?.residuals.map((residual) => [residual.row, residual]));
  return {
    kind: "table",
    caption,
    head: ["Row", "Star", "Time", "Hour angle", "Declination", "Fits to", "Standing"],
    align: ["right", "left", "left", "right", "right", "right", "left"],
    rows: sightings.map((sighting) => {
      const residual = residuals.get(sighting.row);
      return [
        String(sighting.row),
        sighting.star,
        sighting.time,
        formatReading(sighting.hourAngle, readings.hourAngle),
        formatReading(sighting.declination, readings.declination),
        residual === undefined || !sighting.use ? "" : arcminText(residual.distance),
        sighting.withdrawn ? "withdrawn" : !sighting.use ? "not used" : (residual?.standing ?? "in use"),
      ];
    }),
    struck: sightings.flatMap((sighting, index) => (sighting.withdrawn ? [index] : [])),
  };
}
