/** Numbers and directions as the advice words them. */
import { eastOrWest, highOrLow } from "../words/directions.js";
import { arcminText, fixed } from "../words/numbers.js";
import type { AxisPlace } from "./axis-motion.js";
import type { AltitudeMeans, AzimuthMeans, JackTurn } from "./turn-advice.js";

/** `14.2′`, without a sign; `2° 30.0′` when it is large. */
export function arcminutes(value: number): string {
  return arcminText(Math.abs(value));
}

/** `2.3 mm`, without a sign. */
export function millimetres(value: number): string {
  const size = Math.abs(value);
  return `${size < 10 ? size.toFixed(2) : size.toFixed(1)} mm`;
}

/** Turns of a thread as a hand counts them: `1 1/8`, `3/4`, `2`, or decimals where sixty-fourths do not serve. */
export function turnsFigure(turns: number): string {
  let of = 64;
  const counted = Math.round(turns * of);
  if (Math.abs(turns * of - counted) > 1e-6) return turns.toFixed(3).replace(/\.?0+$/, "");
  const whole = Math.floor(counted / of);
  let part = counted - whole * of;
  if (part === 0) return String(whole);
  while (part % 2 === 0) {
    part /= 2;
    of /= 2;
  }
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

export { eastOrWest, highOrLow };

/** `0.2′ too high and 0.4′ too far west`. */
export function placeText(place: AxisPlace): string {
  return `${arcminutes(place.altitude)} ${highOrLow(place.altitude)} and ${arcminutes(place.east)} ${eastOrWest(place.east)}`;
}

export const meansNames: Readonly<Record<AzimuthMeans | AltitudeMeans, string>> = {
  bolts: "the azimuth bolts",
  tilt: "tilting the base east–west with the jacks",
  lowerBearing: "the lower bearing",
  slide: "sliding the base",
  jacks: "the jacks",
};

/** First letter large. */
export function opening(text: string): string {
  return text.charAt(0).toUpperCase() + text.slice(1);
}
