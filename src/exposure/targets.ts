/**
 * Targets of an exposure by name: where they are seen at a time, the Sun kept off.
 */
import { ARCSECOND, DEGREE } from "../angles.js";
import { type Fault, InputError } from "../errors.js";
import { type Target, targetsNamed } from "../find/target.js";
import { type OwnMotion, SIDEREAL_RATE, skyAxesAt } from "../pointing/field-track.js";
import {
  degreesFromSun,
  refuseDaylight,
  SUN_AVOIDANCE_DEG,
  SUN_CAUTION,
  sunWatch,
} from "../pointing/sun-safety.js";
import { hourAngleVector } from "../sky/horizon-frame.js";
import type { Site } from "../sky/site.js";
import { skyFrame } from "../sky/sky-frame.js";
import { formatTime } from "../sky/time.js";
import { add, dot, type Vector } from "../vectors.js";
import type { ExposureTarget } from "./exposure.js";

/** A target for an exposure and when it is begun. */
interface TimedTarget extends ExposureTarget {
  readonly time: string;
}

/** The targets that may be exposed on, and why not the others. */
export interface TimedTargets {
  readonly targets: readonly TimedTarget[];
  readonly faults: readonly Fault[];
}

export interface ExposureTargetOptions {
  /** Allowed while the Sun is up (never within 30° of it); false. */
  readonly daylight?: boolean;
}

/**
 * Where targets are seen when an exposure begins.
 *
 * @param names - stars, clusters, nebulae, galaxies, planets, the Moon, or coordinates: see {@link targetNamed}
 * @param timeMs - milliseconds of UTC since 1970
 * @param site - where the telescope stands
 * @throws {@link InputError} `sun-up`, or every fault where no target can be used: `unknown-object`, `sun-refused`,
 *   `near-sun`, `target-below-horizon`
 * @example
 * ```ts
 * exposureTargets(["M 42"], parseTime("2026-03-14T20:00:00Z"), mount.site).targets[0]?.hourAngleDeg;
 * ```
 */
export function exposureTargets(
  names: readonly string[],
  timeMs: number,
  site: Site,
  options: ExposureTargetOptions = {},
): TimedTargets {
  const named = targetsNamed(names);
  refuseDaylight(timeMs, site, options.daylight ?? false);
  const frame = skyFrame(timeMs, site);
  const sun = sunWatch(timeMs, site);
  const faults: Fault[] = [...named.faults];
  const time = formatTime(timeMs);
  const targets = named.targets.flatMap((target): TimedTarget[] => {
    const seen = target.observe(frame);
    const fault = { found: `${target.label}, ${time}` };
    if (seen.altitude <= 0) {
      faults.push({
        ...fault,
        code: "target-below-horizon",
        allowed: "a target above the horizon at that time",
        message: `${target.label} is below the horizon then (altitude ${(seen.altitude / DEGREE).toFixed(1)}°).`,
      });
      return [];
    }
    if (sun.up && degreesFromSun(seen, sun) < SUN_AVOIDANCE_DEG) {
      faults.push({
        ...fault,
        code: "near-sun",
        allowed: `${SUN_AVOIDANCE_DEG}° and more from the Sun`,
        message: `${target.label} stands within ${SUN_AVOIDANCE_DEG}° of the Sun. ${SUN_CAUTION}`,
      });
      return [];
    }
    const place = {
      label: target.label,
      hourAngleDeg: seen.hourAngle / DEGREE,
      declinationDeg: seen.declination / DEGREE,
      time,
    };
    return target.kind === "Moon" || target.kind === "planet"
      ? [{ ...place, ownMotion: ownMotion(target, timeMs, site) }]
      : [place];
  });
  if (targets.length === 0 && faults.length > 0) throw new InputError(faults);
  return { targets, faults };
}

/** Over so long a time a motion among the stars is measured, either way, seconds. */
const MOTION_SECONDS = 30;

/** How a target moves among the stars, seen from the site. */
function ownMotion(target: Target, timeMs: number, site: Site): OwnMotion {
  const airless = { ...site, pressureHPa: 0 };
  const placeAt = (seconds: number): Vector => {
    const seen = target.observe(skyFrame(timeMs + 1000 * seconds, airless));
    // What the sky turns meanwhile is taken off.
    return hourAngleVector({ ...seen, hourAngle: seen.hourAngle - SIDEREAL_RATE * seconds });
  };
  const [before, here, after] = [placeAt(-MOTION_SECONDS), placeAt(0), placeAt(MOTION_SECONDS)];
  const { east, north } = skyAxesAt(here);
  const moved = add(after, before, -1);
  const arcsecondsAMinute = (way: Vector): number =>
    (dot(moved, way) / ARCSECOND) * (60 / (2 * MOTION_SECONDS));
  return { west: -arcsecondsAMinute(east), north: arcsecondsAMinute(north) };
}
