import { faultText } from "../errors.js";
import type { Finding, Found, Refusal } from "../find/find.js";
import { arcminText, fixed, signed, withinText } from "../words/numbers.js";
import { type Clock, clockOf } from "./clock.js";
import { guidanceBlocks } from "./guidance-blocks.js";
import { block, type Report } from "./report.js";

/**
 * Where to set the axes for the targets asked for.
 *
 * @example
 * ```ts
 * reportText(findReport(findTargets(fit, timeMs, ["M 42", "Jupiter"])))
 * ```
 */
export function findReport(finding: Finding): Report {
  const clock = clockOf(finding.timeZone, finding.time);
  const blocks = finding.unknown.map((fault) => block.caution(faultText(fault)));
  blocks.push(...guidanceBlocks(finding.notes));
  blocks.push({
    kind: "table",
    caption: `Readings at ${clock.moment(finding.time)}`,
    head: [
      "Target",
      "Hour angle reads",
      "Declination reads",
      "Within",
      "Altitude",
      "Azimuth",
      "Rises",
      "Sets",
    ],
    align: ["left", "right", "right", "right", "right", "right", "left", "left"],
    rows: finding.found.map((found) => [
      found.side === "beyond" ? `${found.target} (beyond)` : found.target,
      found.predicted?.hourAngleText ?? "—",
      found.predicted?.declinationText ?? "—",
      found.predicted === null ? "—" : withinText(found.predicted.uncertaintyArcmin),
      `${fixed(found.altitudeDeg, 1)}°`,
      `${fixed(found.azimuthDeg, 1)}°`,
      timeText(clock, found.rises, finding.time, found.up ? "is up" : "not today"),
      timeText(clock, found.sets, finding.time, found.up ? "never" : ""),
    ]),
  });
  const remarks = finding.found.flatMap((found) => remarksOf(found, finding, clock));
  if (remarks.length > 0) {
    blocks.push(block.heading("To each"), block.list(remarks));
  }
  for (const found of finding.found) {
    if (found.refused?.code === "near-sun") {
      blocks.push(block.caution(`${found.target}: ${found.refused.message}`));
    }
    if (found.move?.caution) {
      blocks.push(block.caution(`${found.target}: ${found.move.caution}`));
    }
  }
  blocks.push(
    block.sentence(
      `${clock.sentence} Rising and setting are over the horizon's profile. “Within” is one standard uncertainty on the sky.`,
    ),
  );
  return { title: `Finding with ${finding.mount}`, blocks };
}

/** The time of day, with the date where it is another one. */
function timeText(clock: Clock, iso: string | null, now: string, none: string): string {
  return iso === null ? none : clock.timeFrom(iso, now);
}

function readyText({ readyAt }: Refusal, time: string, clock: Clock): string {
  return readyAt === null
    ? "within a day it does not come where it may be looked at"
    : `it may be looked at from ${clock.timeFrom(readyAt, time)}`;
}

function remarksOf(found: Found, { time, promises }: Finding, clock: Clock): string[] {
  const remarks: string[] = [];
  if (found.refused !== null && found.refused.code !== "near-sun") remarks.push(found.refused.message);
  if (found.refused !== null) remarks.push(readyText(found.refused, time, clock));
  if (found.move !== null) {
    const { hourAngleReading, declinationReading } = found.move;
    remarks.push(
      `from here ${found.move.text} (readings ${signed(hourAngleReading, Math.abs(hourAngleReading) < 100 ? 2 : 0)} and ${signed(declinationReading, Math.abs(declinationReading) < 100 ? 2 : 0)})`,
    );
  }
  if (found.within95Arcmin !== null) {
    const within = `19 times in 20 it stands within ${arcminText(found.within95Arcmin)}`;
    const half = found.field === null ? "" : arcminText(found.field.halfFieldArcmin);
    if (!promises) remarks.push(`how far off it may be is not yet sure; by what is known ${within}`);
    else if (found.field !== null) {
      remarks.push(
        found.field.inField
          ? `it will stand in the camera's field (half of it is ${half})`
          : `it may stand outside the camera's field (half of it is ${half}): ${within}, so look around`,
      );
    }
  }
  if (found.moonDeg !== null && found.moonDeg < 15) remarks.push(`${fixed(found.moonDeg, 0)}° from the Moon`);
  return remarks.length === 0
    ? []
    : [`${found.target}: ${remarks.join("; ")}.`.replace(/\.\.$/, ".").replace(/\.;/g, ";")];
}
