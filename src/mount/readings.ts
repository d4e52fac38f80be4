/**
 * What an axis shows and the angle it stands for, both ways.
 *
 * A reading is a number in the axis's own unit: counts of an encoder, degrees or hours of a dial, or the right
 * ascension in hours that a display shows. Its angle is sense · reading · 2π / perTurn; for a right ascension
 * the hour angle is the local apparent sidereal time less the reading. Zeros belong to the fit, not here.
 */
import { HOUR, TURN, wrapTurn } from "../angles.js";
import { InputError, PolewrightError, shown } from "../errors.js";
import type { AxisReadings, ReadingKind } from "./mount.js";

/** What a right ascension needs besides the reading. */
export interface ReadingContext {
  /** Local apparent sidereal time, radians. */
  readonly siderealTime: number;
}

/** Readings in a full turn for the kinds that have no choice of it. */
export const dialTurn: Readonly<Record<Exclude<ReadingKind, "counts">, number>> = {
  degrees: 360,
  hours: 24,
  rightAscension: 24,
};

/** More than any counter counts, and still exact in a double. */
const LARGEST_COUNT = 1e12;
/** Longer than any reading is written. */
const LONGEST_READING = 40;

/** What may be written for a reading of an axis, for messages. */
function readingAllowed(axis: AxisReadings): string {
  switch (axis.as) {
    case "counts":
      return Number.isInteger(axis.smallest)
        ? "whole counts, for instance -1234"
        : "counts, for instance -1234.5";
    case "degrees":
      return "degrees from -360 to 360, as -12.582, -12:34:56 or -12°34′56″";
    case "hours":
      return "hours from -24 to 24, as 3.25, 3:15:00 or 3h15m00s";
    case "rightAscension":
      return "a right ascension from 0 to below 24 hours, as 3.25, 3:15:00 or 3h15m00s";
  }
}

/**
 * Reads what was written down for an axis.
 *
 * @param text - counts, a decimal number, or a sexagesimal one such as `-12:34:56.7`, `12h34m56s`, `12°34′`;
 *   the sign of −0°30′ is kept, and the typographic minus is a minus
 * @param axis - how the axis is read
 * @returns the reading in the axis's own unit
 * @throws InputError `unreadable-reading`, `counts-not-whole`, `wrong-unit` or `reading-out-of-range`
 * @example
 * ```ts
 * readingFromText("-0:30", { as: "degrees", perTurn: 360, sense: 1, smallest: 0.25 }) // -0.5
 * ```
 */
export function readingFromText(text: string, axis: AxisReadings): number {
  const trimmed = text.trim();
  if (trimmed.length > LONGEST_READING)
    refuse("unreadable-reading", text, axis, "This is too long for a reading.");
  const written = trimmed.replace(/[−‐‑‒–]/g, "-");
  if (/^[+-]?\d{1,3}([., ]\d{3})*,\d+$/.test(written) || /^[+-]?\d+,\d+$/.test(written)) {
    refuse(
      "unreadable-reading",
      text,
      axis,
      "A comma stands in the number; write a point, and no thousands marks.",
    );
  }
  if (/^[+-]?[\d.]+e[+-]?\d+$/i.test(written)) {
    refuse(
      "unreadable-reading",
      text,
      axis,
      "The number is shortened with an exponent, which loses its last figures.",
    );
  }
  return readingFromNumber(
    axis.as === "counts" ? countsFromText(written, text, axis) : dialFromText(written, text, axis),
    axis,
  );
}

/**
 * Checks a reading that is a number already.
 *
 * @param reading - the reading in the axis's own unit
 * @param axis - how the axis is read
 * @returns the same reading; a right ascension of −0 is 0
 * @throws InputError `unreadable-reading` (not finite), `counts-not-whole` or `reading-out-of-range`
 */
export function readingFromNumber(reading: number, axis: AxisReadings): number {
  if (!Number.isFinite(reading))
    refuse("unreadable-reading", String(reading), axis, "The reading is not a number.");
  if (axis.as === "counts") {
    if (Math.abs(reading) > LARGEST_COUNT) {
      refuse("reading-out-of-range", String(reading), axis, "No counter counts so far.");
    }
    if (Number.isInteger(axis.smallest) && !Number.isInteger(reading)) {
      refuse(
        "counts-not-whole",
        String(reading),
        axis,
        'Counts are whole numbers. For readings between counts give "smallest" below 1 in the mount file.',
      );
    }
  } else if (axis.as === "rightAscension" ? reading < 0 || reading >= 24 : Math.abs(reading) > axis.perTurn) {
    refuse("reading-out-of-range", String(reading), axis, "The dial does not go so far.");
  }
  return reading + 0;
}

/**
 * The angle that a reading stands for, before any zero is taken off.
 *
 * @param reading - in the axis's own unit
 * @param axis - how the axis is read
 * @param context - needed for a right ascension only
 * @returns the angle, radians, not wrapped
 * @throws PolewrightError `sidereal-time-needed` for a right ascension without a context
 * @example
 * ```ts
 * readingAngle(-4096, { as: "counts", perTurn: 16384, sense: -1, smallest: 1 }) // π / 2
 * ```
 */
export function readingAngle(reading: number, axis: AxisReadings, context?: ReadingContext): number {
  if (axis.as === "rightAscension") return axis.sense * (siderealTime(context) - reading * HOUR);
  return (axis.sense * reading * TURN) / axis.perTurn;
}

/**
 * The reading that stands for an angle: the inverse of {@link readingAngle}, not rounded to a step.
 *
 * @param angle - radians; a right ascension is wrapped to 0 to 24 hours
 * @param axis - how the axis is read
 * @param context - needed for a right ascension only
 * @returns the reading in the axis's own unit
 * @throws PolewrightError `sidereal-time-needed` for a right ascension without a context
 * @example
 * ```ts
 * readingFromAngle(Math.PI / 2, { as: "counts", perTurn: 16384, sense: -1, smallest: 1 }) // -4096
 * ```
 */
export function readingFromAngle(angle: number, axis: AxisReadings, context?: ReadingContext): number {
  if (axis.as === "rightAscension") return wrapTurn(siderealTime(context) - axis.sense * angle) / HOUR;
  return (axis.sense * angle * axis.perTurn) / TURN + 0;
}

/**
 * A reading as a builder sets it: whole counts, or a dial's degrees or hours with minutes and seconds.
 *
 * @param reading - in the axis's own unit; null, a missing one, is a dash
 * @param axis - how the axis is read
 * @returns text that {@link readingFromText} reads back, to half a step of counts or a twentieth of a dial's division
 * @example
 * ```ts
 * formatReading(-0.5, { as: "degrees", perTurn: 360, sense: 1, smallest: 0.25 }) // "-0:30"
 * ```
 */
export function formatReading(reading: number | null, axis: AxisReadings): string {
  if (reading === null) return "–";
  if (axis.as === "counts") {
    const steps = Math.round(reading / axis.smallest) * axis.smallest;
    return String(Number(steps.toFixed(decimalsFor(axis.smallest))) + 0);
  }
  const shownStep = axis.smallest / 10;
  // A display of tenths or hundredths is set by decimals.
  if (axis.as !== "rightAscension" && isDecimal(axis.smallest)) {
    return (Math.round(reading / shownStep) * shownStep + 0).toFixed(decimalsFor(shownStep));
  }
  // Minutes serve a coarse dial, seconds with as many decimals as a tenth of a division asks for a fine one.
  const inMinutes = shownStep >= 1 / 60;
  const decimals = inMinutes ? 0 : decimalsFor(shownStep * 3600);
  const unitsInOne = inMinutes ? 60 : 3600 * 10 ** decimals;
  let units = Math.round(Math.abs(reading) * unitsInOne);
  if (axis.as === "rightAscension") units %= 24 * unitsInOne;
  const sign = reading < 0 && units > 0 ? "-" : "";
  const whole = Math.floor(units / unitsInOne);
  const rest = units - whole * unitsInOne;
  if (inMinutes) return `${sign}${whole}:${String(rest).padStart(2, "0")}`;
  const minutes = Math.floor(rest / (unitsInOne / 60));
  const seconds = (rest - (minutes * unitsInOne) / 60) / 10 ** decimals;
  const secondsText = seconds.toFixed(decimals).padStart(decimals === 0 ? 2 : decimals + 3, "0");
  return `${sign}${whole}:${String(minutes).padStart(2, "0")}:${secondsText}`;
}

/** Whether a step is a tenth, a hundredth and so on. */
function isDecimal(step: number): boolean {
  return step < 1 && Math.abs(Math.log10(step) - Math.round(Math.log10(step))) < 1e-9;
}

/** Decimals that show a step: none for 1 and above, at most six. */
function decimalsFor(step: number): number {
  return Math.min(6, Math.max(0, Math.ceil(-Math.log10(step) - 1e-9)));
}

function siderealTime(context: ReadingContext | undefined): number {
  if (context === undefined) {
    throw new PolewrightError(
      "sidereal-time-needed",
      "A right ascension becomes an hour angle only with the sidereal time.",
    );
  }
  return context.siderealTime;
}

function countsFromText(written: string, text: string, axis: AxisReadings): number {
  if (!/^[+-]?(\d+\.?\d*|\.\d+)$/.test(written)) {
    refuse(
      /[:°hdm′'"]/.test(written) ? "wrong-unit" : "unreadable-reading",
      text,
      axis,
      /[:°hdm′'"]/.test(written)
        ? "The mount file says that this axis is read in counts."
        : "This is not a number.",
    );
  }
  return Number(written);
}

const DECIMAL = /^([+-]?)(\d+\.?\d*|\.\d+)\s*([°dh]?)$/i;
const COLONS = /^([+-]?)(\d+)\s*[: ]\s*(\d{1,2})(?:\s*[: ]\s*(\d{1,2}(?:\.\d*)?))?$/;
const COLON_DECIMAL = /^([+-]?)(\d+)\s*[: ]\s*(\d{1,2}\.\d*)$/;
const LETTERS =
  /^([+-]?)(\d+)\s*([°dh])\s*(\d{1,2}(?:\.\d*)?)\s*[m'′]?\s*(?:(\d{1,2}(?:\.\d*)?)\s*(?:s|"|″|''|′′)?)?$/i;

function dialFromText(written: string, text: string, axis: AxisReadings): number {
  let sign: string;
  let whole: string;
  let minutes: string | undefined;
  let seconds: string | undefined;
  let unit = "";
  const decimal = DECIMAL.exec(written);
  const colons = COLONS.exec(written) ?? COLON_DECIMAL.exec(written);
  const letters = LETTERS.exec(written);
  if (decimal) [, sign, whole, unit] = decimal as unknown as [string, string, string, string];
  else if (colons)
    [, sign, whole, minutes, seconds] = colons as unknown as [string, string, string, string, string?];
  else if (letters) {
    [, sign, whole, unit, minutes, seconds] = letters as unknown as [
      string,
      string,
      string,
      string,
      string,
      string?,
    ];
  } else refuse("unreadable-reading", text, axis, "This is not a reading of a dial.");
  const isHours = unit.toLowerCase() === "h";
  if (unit !== "" && isHours !== (axis.as !== "degrees")) {
    refuse(
      "wrong-unit",
      text,
      axis,
      `The mount file says that this axis is read in ${axis.as === "degrees" ? "degrees" : "hours"}.`,
    );
  }
  if (Number(minutes ?? 0) >= 60 || Number(seconds ?? 0) >= 60) {
    refuse("unreadable-reading", text, axis, "Minutes and seconds stay below 60.");
  }
  if (minutes?.includes(".") && seconds !== undefined) {
    refuse("unreadable-reading", text, axis, "Only the last part may have decimals.");
  }
  const size = Number(whole) + Number(minutes ?? 0) / 60 + Number(seconds ?? 0) / 3600;
  return sign === "-" ? -size : size;
}

function refuse(code: string, found: string, axis: AxisReadings, message: string): never {
  throw new InputError({ code, found: shown(found), allowed: readingAllowed(axis), message });
}
