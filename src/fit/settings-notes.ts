/**
 * Which setting of the mount file, or which clock, would mend the night: as notes.
 */
import { DEGREE } from "../angles.js";
import type { AxisReadings, Mount } from "../mount/mount.js";
import type { ReducedNight } from "../night/reduce.js";
import type { ClockVerdict } from "./clock.js";
import type { Explanation } from "./explanation.js";
import type { Note } from "./fit-result.js";
import { type Outcome, termValue } from "./outcome.js";

function axisRemedy(axis: AxisReadings, path: string, factor: number): string {
  const parts: string[] = [];
  if (factor < 0) parts.push(`set ${path}.sense to ${-axis.sense}`);
  const steps = axis.perTurn / Math.abs(factor);
  if (Math.abs(factor) !== 1) parts.push(`set ${path}.perTurn to ${Number(steps.toPrecision(12))}`);
  return parts.join(" and ");
}

function axisFinding(name: string, axis: AxisReadings, factor: number): string {
  const parts: string[] = [];
  if (factor < 0) parts.push("counts the other way than the mount file says");
  if (Math.abs(factor) !== 1) {
    const steps = Number((axis.perTurn / Math.abs(factor)).toPrecision(12));
    parts.push(`has ${steps} steps a turn, not ${axis.perTurn}`);
  }
  return `the ${name} encoder ${parts.join(" and ")}`;
}

/** What an explanation says of the settings: finding and remedy. */
function settingsText(explanation: Explanation, mount: Mount): { finding: string; remedy: string } {
  const findings: string[] = [];
  const remedies: string[] = [];
  if (explanation.exchanged) {
    findings.push("the two columns of readings are exchanged");
    remedies.push("exchange the columns hourAngle and declination of the night file");
  }
  const { hourAngle, declination } = mount.readings;
  if (explanation.hourAngleFactor !== 1) {
    findings.push(axisFinding("hour-angle", hourAngle, explanation.hourAngleFactor));
    remedies.push(axisRemedy(hourAngle, "readings.hourAngle", explanation.hourAngleFactor));
  }
  if (explanation.declinationFactor !== 1) {
    findings.push(axisFinding("declination", declination, explanation.declinationFactor));
    remedies.push(axisRemedy(declination, "readings.declination", explanation.declinationFactor));
  }
  return { finding: findings.join(", and "), remedy: remedies.join("; ") };
}

const capital = (text: string): string => text.charAt(0).toUpperCase() + text.slice(1);

/** The note of a settings fault. */
export function settingsNote(outcome: Outcome, others: readonly Outcome[], night: ReducedNight): Note {
  const { finding, remedy } = settingsText(outcome.explanation, night.mount);
  const also = others
    .map((other) => settingsText(other.explanation, night.mount).remedy)
    .filter((text) => text !== "");
  return {
    code: outcome.explanation.exchanged ? "columns-exchanged" : "sense-reversed",
    row: null,
    message:
      `The readings fit only if ${finding}. With that mended ${outcome.problem.usedRows.length} sightings fit; ` +
      "the terms below are those of the mended readings.",
    remedy:
      `${capital(remedy)}, then fit again. No jack is to be turned before that.` +
      (also.length > 0 ? ` These sightings could also be mended so: ${also.join("; or ")}.` : ""),
  };
}

function hoursText(hours: number): string {
  const size = Math.abs(hours);
  return `${Number.isInteger(size) ? size : size.toFixed(1)} ${size === 1 ? "hour" : "hours"}`;
}

/** The note of a clock or longitude fault. */
export function clockNote(verdict: ClockVerdict, plain: Outcome, night: ReducedNight): Note {
  const zero = termValue(plain, night, "hourAngleZero") / DEGREE;
  const rows = verdict.belowHorizon.map((i) => night.sightings[i]!.row);
  const below =
    rows.length > 0
      ? ` At the times entered ${rows.length} of the stars sighted ${rows.length === 1 ? "was" : "were"} below the horizon.`
      : "";
  const zeroText = `The hour-angle zero comes out as ${zero.toFixed(2)}° (${(zero / 15).toFixed(3)} hours)`;
  if (verdict.fault === null) {
    return {
      code: "clock-zone",
      row: rows[0] ?? null,
      rows,
      message: `The times, the date or the longitude cannot be right.${below}`,
      remedy:
        "Check that every time carries its zone (Z only for UTC), the date, and the sign of site.longitude (east positive). No jack is to be turned before that.",
    };
  }
  const { fault } = verdict;
  const sure = verdict.standing === "wrong";
  const cause =
    fault.kind === "longitude"
      ? `twice the longitude, as with the wrong sign of site.longitude (east positive; the file says ${night.mount.site.longitude}°)`
      : `${hoursText(fault.hours)}, as when local time is entered as UTC: the times entered are ${hoursText(fault.hours)} too ${fault.hours > 0 ? "late" : "early"}`;
  const remedy =
    fault.kind === "longitude"
      ? `Set site.longitude to ${-night.mount.site.longitude} and fit again.`
      : `Write the times with their zone (for instance ${zoneExample(fault.hours)} instead of Z) and fit again.`;
  return {
    code: "clock-zone",
    row: null,
    message: `${zeroText}, and the declination zero is near nothing: that is ${cause}.${below}${
      sure ? " The terms below are those of the mended night." : ""
    }`,
    remedy: sure
      ? `${remedy} No jack is to be turned before that. If the zero truly stands so, fit with the clock trusted.`
      : `If that is not so, nothing is wrong. Otherwise: ${remedy}`,
  };
}

function zoneExample(hours: number): string {
  const size = Math.abs(hours);
  const text = (value: number): string => String(Math.floor(value)).padStart(2, "0");
  return `${hours >= 0 ? "+" : "-"}${text(size)}:${size % 1 === 0 ? "00" : "30"}`;
}
