/**
 * Whether the mount may point there: lowest altitude, hour angle, declination and the horizon's profile.
 */
import { DEGREE, HOUR } from "../angles.js";
import type { ObservedDirection } from "../sky/star.js";
import type { Limits } from "./mount.js";

/** Which limit is broken. */
type LimitName = "altitude" | "horizon" | "hour angle" | "declination";

/** One limit that a direction breaks. */
export interface BrokenLimit {
  readonly limit: LimitName;
  /** What the direction has there: degrees, for the hour angle hours. */
  readonly found: number;
  /** The nearest value that the limit allows, in the same unit. */
  readonly allowed: number;
  /** One clause in words, for instance `altitude 9.8° is below the limit of 15°`. */
  readonly text: string;
}

/**
 * The altitude of the horizon's profile at an azimuth: between the given points in a straight line, all round.
 *
 * @param horizon - pairs of azimuth and altitude, degrees, in order of azimuth; none is a free horizon at 0°
 * @param azimuthDeg - degrees, any
 * @returns degrees
 * @example
 * ```ts
 * horizonAltitude([[0, 20], [90, 12]], 45) // 16
 * ```
 */
export function horizonAltitude(horizon: Limits["horizon"], azimuthDeg: number): number {
  const count = horizon.length;
  if (count === 0) return 0;
  const azimuth = azimuthDeg - 360 * Math.floor(azimuthDeg / 360);
  let next = 0;
  while (next < count && horizon[next]![0] <= azimuth) next++;
  const before = horizon[(next + count - 1) % count]!;
  const after = horizon[next % count]!;
  const from = next === 0 ? before[0] - 360 : before[0];
  const to = next === count ? after[0] + 360 : after[0];
  return to === from ? before[1] : before[1] + ((azimuth - from) / (to - from)) * (after[1] - before[1]);
}

/** The lowest altitude at which the telescope may point at an azimuth: the limit or the profile, degrees. */
export function lowestAltitude(limits: Limits, azimuthDeg: number): number {
  return Math.max(limits.altitudeDeg, horizonAltitude(limits.horizon, azimuthDeg));
}

/**
 * Whether a direction is inside all limits; the quick form of {@link brokenLimits}.
 *
 * @param direction - observed, radians
 */
export function insideLimits(direction: ObservedDirection, limits: Limits): boolean {
  const [west, east] = [limits.hourAngleHours[1], limits.hourAngleHours[0]];
  return (
    direction.altitude >= lowestAltitude(limits, direction.azimuth / DEGREE) * DEGREE &&
    direction.hourAngle >= east * HOUR &&
    direction.hourAngle <= west * HOUR &&
    direction.declination >= limits.declinationDeg[0] * DEGREE &&
    direction.declination <= limits.declinationDeg[1] * DEGREE
  );
}

/**
 * Every limit that a direction breaks, in words.
 *
 * @param direction - observed, radians
 * @param limits - the mount's limits
 * @returns none when the mount may point there
 * @example
 * ```ts
 * brokenLimits(observe(findStar("Canopus"), timeMs, mount.site), mount.limits).map((broken) => broken.text)
 * ```
 */
export function brokenLimits(direction: ObservedDirection, limits: Limits): BrokenLimit[] {
  const broken: BrokenLimit[] = [];
  const altitude = direction.altitude / DEGREE;
  const azimuth = direction.azimuth / DEGREE;
  const profile = horizonAltitude(limits.horizon, azimuth);
  if (altitude < limits.altitudeDeg) {
    broken.push({
      limit: "altitude",
      found: altitude,
      allowed: limits.altitudeDeg,
      text: `altitude ${degreesText(altitude)} is below the limit of ${degreesText(limits.altitudeDeg)}`,
    });
  }
  if (limits.horizon.length > 0 && altitude < profile) {
    broken.push({
      limit: "horizon",
      found: altitude,
      allowed: profile,
      text: `altitude ${degreesText(altitude)} is below the horizon profile of ${degreesText(profile)} at azimuth ${degreesText(azimuth, 0)}`,
    });
  }
  const outside = (
    limit: LimitName,
    found: number,
    range: readonly [number, number],
    shown: typeof degreesText,
  ) => {
    if (found >= range[0] && found <= range[1]) return;
    const allowed = found < range[0] ? range[0] : range[1];
    broken.push({
      limit,
      found,
      allowed,
      text: `${limit} ${shown(found)} is outside ${shown(range[0])} to ${shown(range[1])}`,
    });
  };
  outside("hour angle", direction.hourAngle / HOUR, limits.hourAngleHours, hoursText);
  outside("declination", direction.declination / DEGREE, limits.declinationDeg, degreesText);
  return broken;
}

function degreesText(degrees: number, decimals = 1): string {
  return `${Number(degrees.toFixed(decimals))}°`.replace("-", "−");
}

function hoursText(hours: number): string {
  return `${Number(hours.toFixed(2))} h`.replace("-", "−");
}
