/** Numbers and directions as the advice words them. */
import { eastOrWest, highOrLow } from "../words/directions.js";
import { arcminText, fixed } from "../words/numbers.js";
import type { AxisPlace } from "./axis-motion.js";
import type { JackTurn } from "./turn-advice.js";

/** `14.2′`, without a sign; `2° 30.0′` when it is large. */
export function arcminutes(value: number): string {
  return arcminText(Math.abs(value));
}

/** `2.3 mm`, without a sign. */
export function millimetres(value: number): string {
  const size = Math.abs(value);
  return `${size < 10 ? size.toFixed(2) : size.toFixed(1)} mm`;
}

/** Parts of a turn that a hand counts: halves to sixty-fourths, and the thirds, fifths, sixths, tenths and twelfths of a dial. */
const parts = [1, 2, 4, 8, 16, 32, 64, 3, 6, 12, 24, 5, 10, 20, 100];
/** Turns of a thread as a hand counts them: `1 1/8`, `3/4`, `7/12`, `2`; decimals where no such part serves. */
export function turnsFigure(turns: number): string {
  const of = parts.find((part) => Math.abs(turns * part - Math.round(turns * part)) < 1e-6);
  if (of === undefined) return turns.toFixed(3).replace(/\.?0+$/, "");
  const counted = Math.round(turns * of);
  const whole = Math.floor(counted / of);
  const part = counted - whole * of;
  if (part === 0) return String(whole);
  return whole === 0 ? `${part}/${of}` : `${whole} ${part}/${of}`;
}

/** `1 1/8 turns`, `1/4 turn`. */
export function turnsOf(turns: number): string {
  return `${turnsFigure(turns)} ${turns > 1 ? "turns" : "turn"}`;
}

/** `1 1/8 turns clockwise (up 2.31 mm)`. */
export function jackDeed(jack: JackTurn): string {
  const way = jack.riseMm < 0 ? "down" : "up";
  return `${turnsOf(jack.turns)} ${jack.direction} (${way} ${fixed(Math.abs(jack.riseMm), 2)} mm)`;
}

/** Text whose lines must not break inside `6 1/4 turns`, `2.31 mm` or `± 0.4′`: with spaces that do not break. */
export function unbroken(text: string): string {
  return text.replace(/(?<=\d) (?=\d+\/\d+\b|turns?\b|mm\b)|(?<=±) (?=\d)/g, "\u00a0");
}

export { eastOrWest, highOrLow };

/** `0.2′ too high and 0.4′ too far west`. */
export function placeText(place: AxisPlace): string {
  return `${arcminutes(place.altitude)} ${highOrLow(place.altitude)} and ${arcminutes(place.east)} ${eastOrWest(place.east)}`;
}

/** `1 star`, `3 stars`. */
export function count(number: number, one: string): string {
  return `${number} ${one}${number === 1 ? "" : "s"}`;
}
