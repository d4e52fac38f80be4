/**
 * Sidereal time: the right ascension on the meridian.
 */
import { DEGREE, wrapTurn } from "../angles.js";
import {
  daysSinceJ2000,
  equationOfEquinoxes,
  greenwichMeanSiderealTime,
  terrestrialTimeOffset,
} from "./earth.js";
import type { Site } from "./site.js";

/** What sidereal time needs of a site. */
export type SiderealSite = Pick<Site, "longitude" | "dut1S">;

/**
 * Local mean sidereal time, IAU 2006, radians, [0, 2π).
 *
 * @param timeMs - milliseconds of UTC since 1970
 */
export function meanSiderealTime(timeMs: number, site: SiderealSite): number {
  const days = daysSinceJ2000(timeMs);
  const mean = greenwichMeanSiderealTime(days + site.dut1S / 86_400, days + terrestrialTimeOffset(days));
  return wrapTurn(mean + site.longitude * DEGREE);
}

/**
 * Local apparent sidereal time, radians, [0, 2π): the right ascension (true equinox of date) that stands on the
 * meridian.
 *
 * @param timeMs - milliseconds of UTC since 1970
 * @example
 * ```ts
 * // Meeus, Astronomical Algorithms, example 12.a: 13h10m46.1351s
 * const time = parseTime("1987-04-10T00:00:00Z");
 * (siderealTime(time, { longitude: 0, dut1S: 0 }) * 12) / Math.PI; // 13.17948
 * ```
 */
export function siderealTime(timeMs: number, site: SiderealSite): number {
  return wrapTurn(meanSiderealTime(timeMs, site) + equationOfEquinoxes(daysSinceJ2000(timeMs)));
}
