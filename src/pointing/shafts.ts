/**
 * The turns of a mount's two shafts: only they tell which way a tube goes that is turned over the pole, and how far.
 */
import { DEGREE, HOUR, TURN } from "../angles.js";
import type { Mount } from "../mount/mount.js";
import type { Side } from "../night/sighting.js";
import type { HourAngleDirection } from "../sky/horizon-frame.js";

/**
 * Both shafts' own angles, radians; the declination runs on past the pole where the tube is turned over. Counters and dials
 * may have gone round: of all the same angles the one nearest to the middle of where that shaft goes. A German mount keeps its
 * counterweight below, six hours west of the meridian by the shaft, and turns the tube over the elevated pole; other
 * mounts go by the meridian.
 *
 * @param hourAngle - the shaft's, whole turns off or not
 * @param declination - the same
 */
export function shaftsWithinReach(mount: Mount, hourAngle: number, declination: number): HourAngleDirection {
  const isGerman = mount.kind === "german";
  const pole = mount.site.latitude >= 0 ? Math.PI / 2 : -Math.PI / 2;
  return {
    hourAngle: nearestTo(isGerman ? 6 * HOUR : 0, hourAngle),
    declination: nearestTo(isGerman ? pole : 0, declination),
  };
}

/** The shafts of a mount without errors that looks at a direction. */
export function shaftsTowards(mount: Mount, direction: HourAngleDirection, side: Side): HourAngleDirection {
  const { hourAngle, declination } = direction;
  if (side === "normal") return shaftsWithinReach(mount, hourAngle, declination);
  return shaftsWithinReach(mount, hourAngle + Math.PI, Math.PI - declination);
}

/** How far the shafts turn from one place to another: both, one after the other, as by hand, degrees. */
export function shaftWayDegrees(from: HourAngleDirection, to: HourAngleDirection): number {
  return (Math.abs(to.hourAngle - from.hourAngle) + Math.abs(to.declination - from.declination)) / DEGREE;
}

function nearestTo(middle: number, angle: number): number {
  return angle - TURN * Math.round((angle - middle) / TURN);
}
