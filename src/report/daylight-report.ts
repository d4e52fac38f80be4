import type { Daylight } from "../daylight/daylight.js";
import { highOrLow } from "../words/directions.js";
import { arcminText, fixed } from "../words/numbers.js";
import { clockOf } from "./clock.js";
import { columnTable } from "./columns.js";
import { type Block, block, type Report } from "./report.js";
import { turnsReport } from "./turns-report.js";

/** What to set by daylight, before the first star: tilt, north by the shadow, north by the compass, and whether it serves. */
export function daylightReport(daylight: Daylight): Report {
  const { tilt, shadow, compass } = daylight;
  const blocks: Block[] = daylight.cautions.map(block.caution);
  const { turns } = tilt;
  if (turns?.recommended) {
    blocks.push(
      block.verdict(
        `First correct the tilt: the axis points ${arcminText(Math.abs(tilt.errorArcmin ?? 0), 0)} ${highOrLow(tilt.errorArcmin ?? 0)}. What to turn stands below.`,
      ),
      // What limits these turns stands above what it limits.
      ...turns.notes.map(block.note),
    );
  }
  blocks.push(
    ...daylight.firstStars.map((answer) =>
      block.verdict(turns?.recommended ? `Once the tilt is right: ${answer.text}` : answer.text),
    ),
  );
  if (daylight.firstStars.length === 0) {
    blocks.push(block.verdict("Neither a shadow nor a compass gives north here today; wait for the stars."));
  }

  blocks.push(
    block.heading("The axis's tilt"),
    block.sentence(
      `The ${tilt.upperEnd} end of the polar axis must be the upper one, and the axis must stand ${fixed(tilt.tiltDeg, 2)}° from level: the latitude. Lay the inclinometer along the axis, then turn it end for end and take the mean. Expect ± ${fixed(tilt.accuracyDeg, 2)}°.`,
    ),
  );
  if (tilt.errorArcmin !== null) blocks.push(...tiltBlocks(daylight, tilt.errorArcmin));

  blocks.push(block.heading("North by the shadow of a plumb line"));
  if (shadow.table.length === 0) {
    blocks.push(block.sentence("The Sun casts no usable shadow on this day."));
  } else {
    const clock = clockOf(daylight.timeZone, shadow.localNoon, true);
    const best = shadow.best === null ? undefined : shadow.table[shadow.best];
    const atNoon =
      shadow.noonShadow === null
        ? `The Sun crosses the meridian at ${clock.moment(shadow.localNoon)}, too high or too low for a shadow then.`
        : `At ${clock.moment(shadow.localNoon)} (local noon) the shadow points due ${shadow.noonShadow}.`;
    blocks.push(
      block.sentence(
        `Hang a plumb line over level ground, mark the middle of its shadow at a noted time, and lay off true north from the mark by the angle below. ${atNoon}${best === undefined ? "" : ` Most exact is ${clock.moment(best.time)}, to ± ${fixed(best.accuracyDeg, 2)}°.`}`,
      ),
      columnTable(
        `The shadow's direction on ${clock.date(shadow.localNoon)}, from true north through east. ${clock.sentence}`,
        [
          { head: "Time", align: "left", cell: ({ time }) => clock.timeFrom(time, shadow.localNoon) },
          clock.isLocal ? { head: "UTC", align: "left", cell: ({ time }) => clock.utc(time) } : null,
          {
            head: "Shadow points to",
            align: "right",
            cell: ({ shadowAzimuthDeg }) => `${fixed(shadowAzimuthDeg, 2)}°`,
          },
          {
            head: "Sun's altitude",
            align: "right",
            cell: ({ sunAltitudeDeg }) => `${fixed(sunAltitudeDeg, 1)}°`,
          },
          {
            head: "Turns a minute",
            align: "right",
            cell: ({ turnsDegAMinute }) => `${fixed(turnsDegAMinute, 2)}°`,
          },
          { head: "Expect ±", align: "right", cell: ({ accuracyDeg }) => `${fixed(accuracyDeg, 2)}°` },
        ],
        shadow.table,
      ),
    );
  }

  const side = compass.declinationDeg < 0 ? "west" : "east";
  blocks.push(
    block.heading("North by a compass"),
    block.sentence(
      compass.usable
        ? `The needle points ${fixed(Math.abs(compass.declinationDeg), 1)}° ${side} of true north (${compass.model}). True north is where the compass reads ${fixed(compass.bearingOfTrueNorthDeg, 1)}°; the axis's ${tilt.upperEnd} end lies where it reads ${fixed(compass.bearingOfUpperEndDeg, 1)}°. Expect ± ${fixed(compass.accuracyDeg, 1)}° where no steel is near.`
        : "A compass does not serve here.",
    ),
    ...compass.cautions.map(block.caution),
  );
  return { title: `By daylight, before the first star: ${daylight.mount}`, blocks };
}

function tiltBlocks(daylight: Daylight, errorArcmin: number): Block[] {
  const { turns } = daylight.tilt;
  const blocks: Block[] = [
    block.sentence(
      `Measured ${fixed(daylight.tilt.measuredDeg ?? Number.NaN, 2)}°: the axis stands ${arcminText(Math.abs(errorArcmin), 0)} ${highOrLow(errorArcmin)}.`,
    ),
  ];
  if (turns === null) {
    blocks.push(block.sentence("The mount file has no base, so no turns can be given."));
    return blocks;
  }
  blocks.push(...turnsReport(turns).blocks.filter((block) => block.kind !== "picture"));
  return blocks;
}
