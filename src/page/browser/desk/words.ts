/** The desk's figures in words. */
import type { FoundNow } from "../../../find/find.js";
import type { Stand } from "../../../find/tonight-list.js";
import type { AxisReadings, Mount } from "../../../mount/mount.js";
import { formatReading } from "../../../mount/readings.js";
import { arcminText, fixed, signed, withinText } from "../../../words/numbers.js";
import type { DeskClock } from "./clock.js";

const COMPASS = ["north", "north-east", "east", "south-east", "south", "south-west", "west", "north-west"];

/** `52° up in the north-west`. */
export function placeText(altitudeDeg: number, azimuthDeg: number): string {
  if (altitudeDeg > 80) return `${fixed(altitudeDeg, 0)}° up, nearly overhead`;
  return `${fixed(altitudeDeg, 0)}° up in the ${COMPASS[Math.round(azimuthDeg / 45) % 8]}`;
}

const UNITS: Readonly<Record<AxisReadings["as"], string>> = {
  counts: "counts",
  degrees: "degrees",
  hours: "hours",
  rightAscension: "right ascension",
};

/** What an axis is called over its reading: `Hour angle, counts`. */
export function axisLabel(name: string, axis: AxisReadings): string {
  return `${name}, ${UNITS[axis.as]}`;
}

/** How far an axis has to go, in its own unit and with a sign. */
export function wayReading(change: number, axis: AxisReadings): string {
  const plain: AxisReadings = axis.as === "rightAscension" ? { ...axis, as: "hours" } : axis;
  const text = formatReading(Math.abs(change), plain);
  return /[1-9]/.test(text) ? `${change < 0 ? "−" : "+"}${text}` : text;
}

/** `19 times in 20 within 0.8′: it will stand in the camera’s field.` */
export function withinLine(found: FoundNow, promises: boolean): string {
  if (found.predicted === null) return "";
  if (found.within95Arcmin === null) return "The zeros are not known yet: set them by one star.";
  const within = withinText(found.within95Arcmin);
  if (!promises) return `How far off it may be is not sure yet; by what is known, ${within}.`;
  if (found.field === null) return `19 times in 20 within ${within}.`;
  const half = arcminText(found.field.halfFieldArcmin);
  return found.field.inField
    ? `19 times in 20 within ${within}: it will stand in the camera’s field (half of it is ${half}).`
    : `19 times in 20 within ${within}: it may stand outside the camera’s field (half of it is ${half}), so look around.`;
}

/** How long it stays: `In the limits until 23:41, for 2 h 12 min.` */
export function stayLine(stand: Stand, nowMs: number, clock: DeskClock): string {
  if (stand.when === "now") {
    return stand.untilMs === null
      ? "In the limits all night."
      : `In the limits until ${clock.minute(stand.untilMs)}, for ${spanText(stand.untilMs - nowMs)}.`;
  }
  if (stand.fromMs === null) return `No readings in the next 12 hours. ${stand.why}`;
  return `Readings from ${clock.minute(stand.fromMs)}, in ${spanText(stand.fromMs - nowMs)}.`;
}

/** `2 h 12 min`. */
export function spanText(ms: number): string {
  const minutes = Math.max(0, Math.round(ms / 60_000));
  return minutes < 60 ? `${minutes} min` : `${Math.floor(minutes / 60)} h ${minutes % 60} min`;
}

/** `galaxy, magnitude 3.4`. */
export function kindText(description: string, magnitude: number | null): string {
  return [description, magnitude === null ? "" : `magnitude ${fixed(magnitude, 1)}`]
    .filter((text) => text !== "")
    .join(", ");
}

/** How a set of zeros moved, in the mount's own unit: `+9` and so on. */
export function zeroText(arcmin: number, axis: AxisReadings): string {
  const sense = axis.as === "rightAscension" ? -axis.sense : axis.sense;
  return `${wayReading((sense * arcmin * axis.perTurn) / 21_600, axis)} (${signed(arcmin, 1)}′)`;
}

/** Whether a mount's tube must be said to be turned over. */
export function sideMatters(mount: Mount): boolean {
  return mount.kind === "german";
}
