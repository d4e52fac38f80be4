/**
 * True north from the shadow of a plumb line: where the shadow falls through the day. The Sun itself is never looked at.
 */
import { Body, MakeTime, Observer, SearchHourAngle } from "astronomy-engine";
import { DEGREE, wrapTurn } from "../angles.js";
import { NO_AIR } from "../sky/observe.js";
import type { Site } from "../sky/site.js";
import { sunDirection } from "../sky/sun-and-moon.js";
import { DAY_MS, formatTime } from "../sky/time.js";

/** One moment of the shadow. */
export interface ShadowMoment {
  readonly time: string;
  readonly timeMs: number;
  /** Where the shadow points from the plumb line's foot, from true north through east, degrees. */
  readonly shadowAzimuthDeg: number;
  readonly sunAzimuthDeg: number;
  readonly sunAltitudeDeg: number;
  /** How long the shadow of a knot at the given height is on level ground, millimetres. */
  readonly shadowLengthMm: number;
  /** How fast the shadow turns, degrees a minute of time. */
  readonly turnsDegAMinute: number;
  /** How well the direction can be marked then, 1σ, degrees. */
  readonly accuracyDeg: number;
}

/** The shadow through a day. */
export interface ShadowDay {
  /** When the Sun crosses the meridian, ISO 8601: the shadow then lies exactly north–south. */
  readonly localNoon: string;
  readonly localNoonMs: number;
  readonly noonAltitudeDeg: number;
  /** Which way the shadow points at local noon; null where the Sun is too high or too low to cast one. */
  readonly noonShadow: "north" | "south" | null;
  readonly table: readonly ShadowMoment[];
  /** Index in `table` of the moment at which north is best marked; null where the Sun casts no usable shadow that day. */
  readonly best: number | null;
}

/** How the shadow is marked. */
export interface ShadowOptions {
  /** Height of the knot (or of the plumb line's hook) above the ground, millimetres; 1500. */
  readonly plumbHeightMm?: number;
  /** How well the middle of the shadow is marked, 1σ, millimetres; 1. */
  readonly markMm?: number;
  /** How well the time is known, 1σ, seconds; 2. */
  readonly clockS?: number;
  /** From line to line of the table, minutes; 15. */
  readonly stepMinutes?: number;
}

/** A lower Sun gives a shadow too faint and long, a higher one too short. */
const LOWEST_SUN_DEG = 5;
const HIGHEST_SUN_DEG = 75;
/** Nobody marks a shadow farther away than this, millimetres. */
const FARTHEST_MARK_MM = 2000;
/** The Sun's disc blurs the shadow by its width; the middle is judged to a tenth of it: common practice, no source. */
const SUN_WIDTH_DEG = 0.533;
const MIDDLE_OF_BLUR = 0.1;

const MINUTE_MS = 60_000;

/** Where a plumb line's shadow falls at a time. */
export function shadowAt(site: Site, timeMs: number, options: Required<ShadowOptions>): ShadowMoment {
  // Refraction lifts, it does not turn: the azimuth is the same with and without air.
  const sun = sunDirection(timeMs, site);
  const azimuthAt = (at: number): number => sunDirection(at, site, NO_AIR).azimuth;
  const before = azimuthAt(timeMs - MINUTE_MS);
  const turn = wrapTurn(azimuthAt(timeMs + MINUTE_MS) - before + Math.PI) - Math.PI;
  const turnsDegAMinute = turn / DEGREE / 2;
  const length = options.plumbHeightMm / Math.tan(Math.max(sun.altitude, 0.1 * DEGREE));
  const reach = Math.min(FARTHEST_MARK_MM, length);
  const blur = (MIDDLE_OF_BLUR * SUN_WIDTH_DEG) / Math.cos(sun.altitude);
  return {
    time: formatTime(timeMs),
    timeMs,
    shadowAzimuthDeg: wrapTurn(sun.azimuth + Math.PI) / DEGREE,
    sunAzimuthDeg: sun.azimuth / DEGREE,
    sunAltitudeDeg: sun.altitude / DEGREE,
    shadowLengthMm: length,
    turnsDegAMinute,
    accuracyDeg: Math.hypot(options.markMm / reach / DEGREE, blur, (turnsDegAMinute / 60) * options.clockS),
  };
}

/** When the Sun crosses the meridian nearest to a time, milliseconds of UTC. */
export function localNoon(site: Site, timeMs: number): number {
  const observer = new Observer(site.latitude, site.longitude, site.heightM);
  const start = MakeTime(new Date(timeMs - DAY_MS / 2));
  return SearchHourAngle(Body.Sun, observer, 0, start).time.date.getTime();
}

/**
 * The shadow of a plumb line through the day around a time: a table of its directions, local noon, the best moment.
 *
 * @param timeMs - any time of the day, milliseconds of UTC; the day is that of the nearest local noon
 * @example
 * ```ts
 * shadowDay(mount.site, parseTime("2026-03-14T10:00:00Z"), {}).localNoon
 * ```
 */
export function shadowDay(site: Site, timeMs: number, options: ShadowOptions): ShadowDay {
  const full = { plumbHeightMm: 1500, markMm: 1, clockS: 2, stepMinutes: 15, ...options };
  const noonMs = localNoon(site, timeMs);
  const step = full.stepMinutes * MINUTE_MS;
  const table: ShadowMoment[] = [];
  const half = DAY_MS / 2;
  for (let at = Math.ceil((noonMs - half) / step) * step; at < noonMs + half; at += step) {
    const altitudeDeg = sunDirection(at, site).altitude / DEGREE;
    if (altitudeDeg >= LOWEST_SUN_DEG && altitudeDeg <= HIGHEST_SUN_DEG) table.push(shadowAt(site, at, full));
  }
  const noon = shadowAt(site, Math.round(noonMs / 1000) * 1000, full);
  const castsAtNoon = noon.sunAltitudeDeg >= LOWEST_SUN_DEG && noon.sunAltitudeDeg <= HIGHEST_SUN_DEG;
  const best = table.reduce<number | null>(
    (least, moment, index) =>
      least === null || moment.accuracyDeg < table[least]!.accuracyDeg ? index : least,
    null,
  );
  return {
    localNoon: noon.time,
    localNoonMs: noon.timeMs,
    noonAltitudeDeg: noon.sunAltitudeDeg,
    noonShadow: !castsAtNoon ? null : Math.cos(noon.shadowAzimuthDeg * DEGREE) > 0 ? "north" : "south",
    table,
    best,
  };
}
