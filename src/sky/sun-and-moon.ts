/**
 * The Sun and the Moon: where they are seen, and how far something is from the Sun.
 */
import { Body, Equator, MakeTime, Observer } from "astronomy-engine";
import { DEGREE, HOUR } from "../angles.js";
import { daysSinceJ2000 } from "./earth.js";
import { hourAngleVector } from "./horizon-frame.js";
import { liftedDirection } from "./observe.js";
import { refractionConstants } from "./refraction.js";
import { siderealTime } from "./sidereal-time.js";
import type { Air, Site } from "./site.js";
import type { ObservedDirection } from "./star.js";

function bodyDirection(body: Body, timeMs: number, site: Site, air: Air): ObservedDirection {
  const observer = new Observer(site.latitude, site.longitude, site.heightM);
  const seen = Equator(body, MakeTime(daysSinceJ2000(timeMs)), observer, true, true);
  const direction = hourAngleVector({
    hourAngle: siderealTime(timeMs, site) - seen.ra * HOUR,
    declination: seen.dec * DEGREE,
  });
  const latitude = site.latitude * DEGREE;
  const vertical = { sinLatitude: Math.sin(latitude), cosLatitude: Math.cos(latitude) };
  return liftedDirection(...direction, vertical, refractionConstants(air));
}

/**
 * Where the Sun's centre is seen, from the site itself, refraction included.
 *
 * @param timeMs - milliseconds of UTC since 1970
 * @param air - the site's own where not given; pressure 0 for none
 * @throws {@link InputError} `air-out-of-range`
 */
export function sunDirection(timeMs: number, site: Site, air: Air = site): ObservedDirection {
  return bodyDirection(Body.Sun, timeMs, site, air);
}

/**
 * Where the Moon's centre is seen, from the site itself (its parallax reaches 1°), refraction included. Good to a few arcseconds.
 *
 * @param timeMs - milliseconds of UTC since 1970
 * @param air - the site's own where not given; pressure 0 for none
 * @throws {@link InputError} `air-out-of-range`
 */
export function moonDirection(timeMs: number, site: Site, air: Air = site): ObservedDirection {
  return bodyDirection(Body.Moon, timeMs, site, air);
}
