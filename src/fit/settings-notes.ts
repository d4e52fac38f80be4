/**
 * Which setting of the mount file, or which clock, would mend the night: as notes.
 */
import { DEGREE, wrapHalfTurn } from "../angles.js";
import type { AxisReadings, Mount } from "../mount/mount.js";
import type { ReducedNight } from "../night/reduce.js";
import { type ClockFault, type ClockVerdict, zeroOf } from "./clock.js";
import type { Explanation } from "./explanation.js";
import type { Note } from "./fit-result.js";
import { fixed } from "./note-words.js";
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

/** A zero this near to what a fault makes of nothing, both axes together, shows how large the fault is, … */
const ZERO_SHOWS = 2 * DEGREE;
/** … and within this, three times a careless setting, that there is one. */
const ZERO_HINTS = 4.5 * DEGREE;

/** The note of a clock or longitude fault. */
export function clockNote(verdict: ClockVerdict, plain: Outcome, night: ReducedNight): Note {
  const rows = verdict.belowHorizon.map((i) => night.sightings[i]!.row);
  const below =
    rows.length > 0
      ? ` At the times entered ${rows.length} of the stars sighted ${rows.length === 1 ? "was" : "were"} below the horizon.`
      : "";
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
  const hourZero = termValue(plain, night, "hourAngleZero");
  const declinationZero = termValue(plain, night, "declinationZero");
  const off = Math.hypot(wrapHalfTurn(hourZero - zeroOf(fault, night.mount)), wrapHalfTurn(declinationZero));
  const about = off < ZERO_SHOWS ? "" : "about ";
  const zone = writtenZone(night);
  const zero = hourZero / DEGREE;
  // Further off the zeros stand anywhere, and only stars, horizon and Sun tell how far the times are off.
  const found =
    off < ZERO_HINTS
      ? `The hour-angle zero comes out as ${fixed(zero, 1)}° (${fixed(zero / 15, 2)} hours), and the declination zero is near nothing: that is ${about}${causeText(fault, zone, about, night)}.`
      : `Stars, horizon and Sun agree best if ${doubtText(fault, night)}.`;
  const remedy = clockRemedy(fault, zone, about, night);
  // The rival's zero lies elsewhere: how far off the times would be is not known as well.
  const also =
    verdict.rival === null
      ? ""
      : ` It may as well be that ${doubtText(verdict.rival, night)}: look which. If it is that: ${clockRemedy(verdict.rival, zone, "about ", night)}`;
  return {
    code: "clock-zone",
    row: null,
    message: `${found}${below}${sure ? " The terms below are those of the mended night." : ""}`,
    remedy: sure
      ? `${remedy}${also} No jack is to be turned before that. If the zero truly stands so, fit with the clock trusted.`
      : `If that is not so, nothing is wrong. Otherwise: ${remedy}${also}`,
  };
}

function clockRemedy(fault: ClockFault, zone: number | null, about: string, night: ReducedNight): string {
  return fault.kind === "longitude"
    ? `Set site.longitude to ${-night.mount.site.longitude} and fit again.`
    : timeRemedy(fault.hours, zone, about);
}

function lateOrEarly(hours: number): string {
  return `${hoursText(hours)} too ${hours > 0 ? "late" : "early"}`;
}

/** The wrong sign of the longitude, in brackets as the file has it. */
function longitudeText(night: ReducedNight): string {
  const { longitude } = night.mount.site;
  return `(east positive; the file says ${longitude < 0 ? "−" : ""}${Math.abs(longitude)}°)`;
}

function causeText(fault: ClockFault, zone: number | null, about: string, night: ReducedNight): string {
  if (fault.kind === "longitude") {
    return `twice the longitude, as with the wrong sign of site.longitude ${longitudeText(night)}`;
  }
  const as =
    zone === 0 ? "local time is entered as UTC" : "times are entered with another zone than the clock's";
  return `${hoursText(fault.hours)}, as when ${as}: the times entered are ${about}${lateOrEarly(fault.hours)}`;
}

function doubtText(fault: ClockFault, night: ReducedNight): string {
  return fault.kind === "longitude"
    ? `site.longitude has the other sign ${longitudeText(night)}`
    : `the times entered are about ${lateOrEarly(fault.hours)}`;
}

/** The zones in use (IANA Time Zone Database), hours from UTC. */
const WEST_MOST_ZONE = -12;
const EAST_MOST_ZONE = 14;

function timeRemedy(hours: number, zone: number | null, about: string): string {
  // The clock's figures stay; entered minus true is what the zone lacks.
  const meant = zone === null ? Number.NaN : zone + hours;
  if (zone !== null && meant >= WEST_MOST_ZONE && meant <= EAST_MOST_ZONE) {
    return `Write the times with their zone (${about || "for instance "}${zoneText(meant)} instead of ${zoneText(zone)}) and fit again.`;
  }
  return `Write every time ${about}${hoursText(hours)} ${hours > 0 ? "earlier" : "later"}, or with its true zone, and fit again.`;
}

const ZONE = /(?:Z|([+\-−])(\d{2}):?(\d{2})?)\s*$/i;

/** The zone that the times carry as written, hours; null where they carry several. */
function writtenZone(night: ReducedNight): number | null {
  let zone: number | null = null;
  for (const { time } of night.sightings) {
    const match = ZONE.exec(time);
    if (match === null) return null;
    const size = Number(match[2] ?? 0) + Number(match[3] ?? 0) / 60;
    const hours = match[1] === undefined || match[1] === "+" || size === 0 ? size : -size;
    if (zone !== null && hours !== zone) return null;
    zone = hours;
  }
  return zone;
}

/** A zone as it is written in the night file. */
function zoneText(hours: number): string {
  const minutes = Math.round(Math.abs(hours) * 60);
  if (minutes === 0) return "Z";
  const two = (value: number): string => String(value).padStart(2, "0");
  return `${hours > 0 ? "+" : "-"}${two(Math.floor(minutes / 60))}:${two(minutes % 60)}`;
}
