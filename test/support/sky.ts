/** Places in the sky that only tests ask for. */
import { type HourAngleDirection, hourAngleVector } from "../../src/sky/horizon-frame.js";
import { icrsFromObservedIn, NO_AIR, observe } from "../../src/sky/observe.js";
import type { Site } from "../../src/sky/site.js";
import { skyFrame } from "../../src/sky/sky-frame.js";
import type { IcrsPosition } from "../../src/sky/star.js";
import { sunDirection } from "../../src/sky/sun-and-moon.js";
import { separation } from "../../src/vectors.js";

/** The ICRS direction that is seen at an hour angle and declination, radians, at a moment. */
export function icrsFromObserved(direction: HourAngleDirection, timeMs: number, site: Site): IcrsPosition {
  return icrsFromObservedIn(skyFrame(timeMs, site), direction);
}

/** How far a star is from the Sun's centre, radians, without air. */
export function sunSeparation(star: IcrsPosition, timeMs: number, site: Site): number {
  return separation(
    hourAngleVector(observe(star, timeMs, site, NO_AIR)),
    hourAngleVector(sunDirection(timeMs, site, NO_AIR)),
  );
}
