/**
 * Targets of an exposure by name: where they are seen at a time, the Sun kept off.
 */
import { DEGREE } from "../angles.js";
import { type Fault, InputError } from "../errors.js";
import { targetsNamed } from "../find/target.js";
import {
  degreesFromSun,
  refuseDaylight,
  SUN_AVOIDANCE_DEG,
  SUN_CAUTION,
  sunWatch,
} from "../pointing/sun-safety.js";
import type { Site } from "../sky/site.js";
import { skyFrame } from "../sky/sky-frame.js";
import { formatTime } from "../sky/time.js";
import type { ExposureTarget } from "./exposure.js";

/** A target for an exposure and when it is begun. */
export interface TimedTarget extends ExposureTarget {
  readonly time: string;
}

export interface ExposureTargetOptions {
  /** Allowed while the Sun is up (never within 30° of it); false. */
  readonly daylight?: boolean;
}

/**
 * Where targets are seen when an exposure begins.
 *
 * @param names - stars, clusters, nebulae, galaxies, planets, the Moon, or coordinates: see {@link targetNamed}. The stars are
 *   followed: what moves among them (planets, the Moon) moves in the picture besides
 * @param timeMs - milliseconds of UTC since 1970
 * @param site - where the telescope stands
 * @throws {@link InputError} with every fault: `unknown-object`, `sun-refused`, `sun-up`, `near-sun`, `target-below-horizon`
 * @example
 * ```ts
 * exposureTargets(["M 42"], parseTime("2026-03-14T20:00:00Z"), mount.site)[0]?.hourAngleDeg;
 * ```
 */
export function exposureTargets(
  names: readonly string[],
  timeMs: number,
  site: Site,
  options: ExposureTargetOptions = {},
): TimedTarget[] {
  const targets = targetsNamed(names);
  refuseDaylight(timeMs, site, options.daylight ?? false);
  const frame = skyFrame(timeMs, site);
  const sun = sunWatch(timeMs, site);
  const faults: Fault[] = [];
  const time = formatTime(timeMs);
  const timed = targets.map((target, index): TimedTarget => {
    const seen = target.observe(frame);
    const fault = { path: `target ${index + 1}`, found: `${target.label}, ${time}` };
    if (seen.altitude <= 0) {
      faults.push({
        ...fault,
        code: "target-below-horizon",
        allowed: "a target above the horizon at that time",
        message: `${target.label} is below the horizon then (altitude ${(seen.altitude / DEGREE).toFixed(1)}°).`,
      });
    } else if (sun.up && degreesFromSun(seen, sun) < SUN_AVOIDANCE_DEG) {
      faults.push({
        ...fault,
        code: "near-sun",
        allowed: `${SUN_AVOIDANCE_DEG}° and more from the Sun`,
        message: `${target.label} stands within ${SUN_AVOIDANCE_DEG}° of the Sun. ${SUN_CAUTION}`,
      });
    }
    return {
      label: target.label,
      hourAngleDeg: seen.hourAngle / DEGREE,
      declinationDeg: seen.declination / DEGREE,
      time,
    };
  });
  if (faults.length > 0) throw new InputError(faults);
  return timed;
}
