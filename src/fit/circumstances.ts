/** What stars, horizon and Sun say of the clock and the site, and what the zeros say: parts of every story's price. */
import { wrapHalfTurn } from "../angles.js";
import type { Mount } from "../mount/mount.js";
import type { ReducedNight } from "../night/reduce.js";
import { sunDirection } from "../sky/sun-and-moon.js";
import {
  BELOW_HORIZON_PRICE,
  priceOf,
  SUN_UP_PRICE,
  ZERO_SET_COUNTS,
  ZERO_SET_DIAL,
  ZERO_SPREADS,
} from "./beliefs.js";
import { SEEN_FROM } from "./horizon-notes.js";
import { type Outcome, termValue } from "./outcome.js";
import type { Story } from "./story.js";

/** Indices of used sightings of stars that nobody could have seen. */
export function starsBelowHorizon(night: ReducedNight, used: Uint8Array): number[] {
  const rows: number[] = [];
  for (let i = 0; i < night.count; i++) if (used[i] && night.altitude[i]! < SEEN_FROM) rows.push(i);
  return rows;
}

/** What horizon and Sun add to the price of a night. */
export function skyPrice(night: ReducedNight, story: Story): number {
  const middle = night.sightings[Math.floor(night.count / 2)];
  if (middle === undefined) return 0;
  const sunUp = sunDirection(middle.timeMs, night.mount.site).altitude > 0;
  return starsBelowHorizon(night, story.used).length * BELOW_HORIZON_PRICE + (sunUp ? SUN_UP_PRICE : 0);
}

/** How often a builder sets the zeros. */
const shareSet = (mount: Mount): number =>
  mount.readings.hourAngle.as === "counts" ? ZERO_SET_COUNTS : ZERO_SET_DIAL;

/** The density of a pair of zeros against an even one, when they were meant to be `shift` and 0. */
export function zeroDensity(mount: Mount, hourAngle: number, declination: number, shift = 0): number {
  const h = wrapHalfTurn(hourAngle - shift);
  const d = wrapHalfTurn(declination);
  const even = 1 / (4 * Math.PI * Math.PI);
  let set = 0;
  for (const spread of ZERO_SPREADS)
    set += Math.exp(-(h * h + d * d) / (2 * spread * spread)) / (2 * Math.PI * spread * spread);
  const share = shareSet(mount);
  return (share * set) / ZERO_SPREADS.length / even + (1 - share);
}

/** −2 ln of the odds of the zeros as they come out. A display of right ascension runs by its own clock. */
export function zeroPrice(outcome: Outcome): number {
  const { mount } = outcome.bench.night;
  if (mount.readings.hourAngle.as === "rightAscension") return 0;
  const fitted = (name: string): boolean => outcome.layout.columns.some((column) => column.name === name);
  if (!fitted("hourAngleZero") || !fitted("declinationZero")) return 0;
  return priceOf(
    zeroDensity(mount, termValue(outcome, "hourAngleZero"), termValue(outcome, "declinationZero")),
  );
}
