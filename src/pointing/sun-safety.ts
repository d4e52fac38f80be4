/**
 * Keeping the telescope away from the Sun. One look at the Sun through a telescope blinds, and a mirror in sunlight
 * sets fire: what comes nearer than 30° is refused, and by day everything is, unless it was asked for.
 */
import { Body, Observer, SearchRiseSet } from "astronomy-engine";
import { DEGREE } from "../angles.js";
import { InputError } from "../errors.js";
import { type HourAngleDirection, hourAngleVector } from "../sky/horizon-frame.js";
import { NO_AIR } from "../sky/observe.js";
import type { Site } from "../sky/site.js";
import { sunDirection } from "../sky/sun-and-moon.js";
import { formatTime } from "../sky/time.js";
import { separation, type Vector } from "../vectors.js";

/** Nearer to the Sun than this, nothing is sighted, found or swept. */
export const SUN_AVOIDANCE_DEG = 30;
/** The Sun's upper edge is seen in the horizon when its centre, without air, stands this low: 34′ refraction, 16′ radius. */
const SUNSET_ALTITUDE_DEG = -50 / 60;
/** Above this altitude of the Sun only the brightest stars show (the end of civil twilight). */
export const CIVIL_TWILIGHT_DEG = -6;

/** The caution that goes with whatever happens while the Sun is up. */
export const SUN_CAUTION =
  "Never look at the Sun, nor point the telescope or its finder at it: it blinds at once and sets fire. Keep the tube capped while the Sun is up.";

/** The Sun at a moment, without air, for many checks. */
export interface SunWatch {
  readonly timeMs: number;
  readonly direction: Vector;
  readonly altitudeDeg: number;
  readonly azimuthDeg: number;
  readonly up: boolean;
}

/**
 * The Sun at a time and site.
 *
 * @param timeMs - milliseconds of UTC since 1970
 */
export function sunWatch(timeMs: number, site: Site): SunWatch {
  const sun = sunDirection(timeMs, site, NO_AIR);
  const altitudeDeg = sun.altitude / DEGREE;
  return {
    timeMs,
    direction: hourAngleVector(sun),
    altitudeDeg,
    azimuthDeg: sun.azimuth / DEGREE,
    up: altitudeDeg > SUNSET_ALTITUDE_DEG,
  };
}

/** How far a direction is from the Sun, degrees. */
export function degreesFromSun(direction: HourAngleDirection, sun: SunWatch): number {
  return separation(hourAngleVector(direction), sun.direction) / DEGREE;
}

/** A movement is looked at every so many degrees: both axes go at their own pace, so the way is a band, not a line. */
const SWEEP_STEP_DEG = 5;

/**
 * The nearest that a movement of the axes can come to the Sun, whichever goes first or however fast: over the whole field
 * between the two hour angles and the two declinations.
 *
 * @param from - where the shafts stand, radians; a declination past ±90° is a tube turned over the pole
 * @param to - where they are to stand, reached by the straight turn from there, radians
 * @returns degrees
 */
export function sweepFromSun(from: HourAngleDirection, to: HourAngleDirection, sun: SunWatch): number {
  const stepsOf = (turn: number): number =>
    Math.max(1, Math.ceil(Math.abs(turn) / (SWEEP_STEP_DEG * DEGREE)));
  const hourAngleTurn = to.hourAngle - from.hourAngle;
  const declinationTurn = to.declination - from.declination;
  const hourAngleSteps = stepsOf(hourAngleTurn);
  const declinationSteps = stepsOf(declinationTurn);
  let nearest = 180;
  for (let h = 0; h <= hourAngleSteps; h++) {
    for (let d = 0; d <= declinationSteps; d++) {
      const place = {
        hourAngle: from.hourAngle + (h / hourAngleSteps) * hourAngleTurn,
        declination: from.declination + (d / declinationSteps) * declinationTurn,
      };
      nearest = Math.min(nearest, degreesFromSun(place, sun));
    }
  }
  return nearest;
}

/**
 * The next time that the Sun's upper edge sets, milliseconds of UTC; null where it does not within two days.
 */
export function nextSunset(timeMs: number, site: Site): number | null {
  const observer = new Observer(site.latitude, site.longitude, site.heightM);
  return SearchRiseSet(Body.Sun, observer, -1, new Date(timeMs), 2)?.date.getTime() ?? null;
}

/**
 * Refuses work at the telescope while the Sun is up.
 *
 * @param daylight - the builder asked for it nonetheless
 * @throws {@link InputError} `sun-up`, with the time of sunset
 */
export function refuseDaylight(timeMs: number, site: Site, daylight: boolean): void {
  if (daylight) return;
  const sun = sunWatch(timeMs, site);
  if (!sun.up) return;
  const sunset = nextSunset(timeMs, site);
  throw new InputError({
    code: "sun-up",
    found: `${formatTime(timeMs)}, the Sun at altitude ${sun.altitudeDeg.toFixed(1)}°`,
    allowed: `${sunset === null ? "a time when the Sun is down" : `a time after sunset at ${formatTime(1000 * Math.ceil(sunset / 1000))}`}, or ask for daylight (what comes within ${SUN_AVOIDANCE_DEG}° of the Sun stays refused)`,
    message: `The Sun is up then. ${SUN_CAUTION}`,
  });
}
