/**
 * The way from where the axes stand to a target, by the turns of the shafts.
 */
import { DEGREE, HOUR } from "../angles.js";
import { DECLINATION_ZERO, HOUR_ANGLE_ZERO } from "../mount/model.js";
import type { AxisReadings } from "../mount/mount.js";
import { readingAngle, readingFromAngle } from "../mount/readings.js";
import { unfoldedDeclination } from "../night/reduce.js";
import type { Side } from "../night/sighting.js";
import type { HourAngleDirection } from "../sky/horizon-frame.js";
import { type KnownMount, stanceOf } from "./known-mount.js";
import { shaftsWithinReach } from "./shafts.js";
import { SUN_AVOIDANCE_DEG, type SunWatch, sweepFromSun } from "./sun-safety.js";

/** What both axes read now, in the mount file's units. */
export interface PresentReadings {
  readonly hourAngle: number;
  readonly declination: number;
  /** Where the tube is; a counter of declination tells it by itself, a dial does not: normal when not given. */
  readonly side?: Side;
}

/** How far to move each axis from where it stands. */
export interface AxisMove {
  /** Degrees of the hour-angle axis, positive the way the sky turns. */
  readonly hourAngleDeg: number;
  /** Degrees of the declination axis, positive the way that leads north with the tube on its normal side. */
  readonly declinationDeg: number;
  /** The same in the mount file's units, as a counter counts. */
  readonly hourAngleReading: number;
  readonly declinationReading: number;
  /** In words: `12.3° west, 4.0° south`; `95.0° over the pole` where the tube is turned over. */
  readonly text: string;
  /** Set where the way may come within 30° of the Sun while it is up. */
  readonly caution: string | null;
}

/**
 * The way to a direction.
 *
 * @param direction - observed hour angle and declination of the target, radians
 * @param side - the side on which it is looked at
 * @param siderealTime - local apparent, radians
 * @param present - what the axes read now
 */
export function moveTo(
  known: KnownMount,
  direction: HourAngleDirection,
  side: Side,
  siderealTime: number,
  present: PresentReadings,
  sun: SunWatch,
): AxisMove {
  const { mount, model, coefficients } = known;
  const { readings } = mount;
  const there = new Float64Array(2);
  model.forward(coefficients, direction.hourAngle, direction.declination, stanceOf(side), there);
  const read = readingAngle(present.declination, readings.declination);
  const from = shaftsAt(known, [
    readingAngle(present.hourAngle, readings.hourAngle, { siderealTime }),
    unfoldedDeclination(read, present.side ?? "normal", mount),
  ]);
  const to = shaftsAt(known, [there[0]!, there[1]!]);
  const hourAngle = to.hourAngle - from.hourAngle;
  const declination = to.declination - from.declination;
  const nearest = sun.up ? sweepFromSun(from, to, sun) : 180;
  const asReading = (angle: number, axis: AxisReadings): number =>
    axis.as === "rightAscension" ? (-axis.sense * angle) / HOUR : readingFromAngle(angle, axis);
  return {
    hourAngleDeg: hourAngle / DEGREE,
    declinationDeg: declination / DEGREE,
    hourAngleReading: asReading(hourAngle, readings.hourAngle),
    declinationReading: asReading(declination, readings.declination),
    text: `${wayText(hourAngle / DEGREE, "west", "east")}, ${declinationText(from.declination, to.declination)}`,
    caution:
      nearest < SUN_AVOIDANCE_DEG
        ? `On this way the telescope may come within ${nearest.toFixed(0)}° of the Sun. Leave the cap on until it has arrived, or go round the other way.`
        : null,
  };
}

/** Both shafts' own angles, zeros off. */
function shaftsAt(
  { mount, coefficients }: KnownMount,
  [hourAngle, declination]: readonly [number, number],
): HourAngleDirection {
  return shaftsWithinReach(
    mount,
    hourAngle - coefficients[HOUR_ANGLE_ZERO]!,
    declination - coefficients[DECLINATION_ZERO]!,
  );
}

function declinationText(from: number, to: number): string {
  const isOver = (angle: number): boolean => Math.abs(angle) > Math.PI / 2;
  const degrees = (to - from) / DEGREE;
  if (isOver(from) !== isOver(to)) return `${Math.abs(degrees).toFixed(1)}° over the pole`;
  return wayText(isOver(to) ? -degrees : degrees, "north", "south");
}

function wayText(degrees: number, positive: string, negative: string): string {
  const size = Math.abs(degrees).toFixed(1);
  return Number(size) === 0 ? `0° ${positive}` : `${size}° ${degrees < 0 ? negative : positive}`;
}
