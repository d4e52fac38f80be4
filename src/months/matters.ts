/**
 * How much a term matters where the telescope can point: for pointing, and for a star that is tracked.
 */
import { ARCSECOND } from "../angles.js";
import type { Mount } from "../mount/mount.js";
import type { TermName } from "../mount/terms.js";
import { skyPoints } from "../pointing/field-sky.js";
import { standOfMount, trackingMount } from "../pointing/field-stand.js";
import { directionFromDegrees, trackTarget } from "../pointing/field-track.js";
import { skyPartials, stanceOf, unsightedMount } from "../pointing/known-mount.js";

/** What an arcminute of a term does. */
export interface TermMatter {
  /** Root mean square over the sky of how far a star is missed, arcminutes. */
  readonly pointing: number;
  /** The worst drift of a tracked star by it, arcseconds a minute. */
  readonly tracking: number;
}

const STEP_DEG = 20;
const TRACKED_S = 60;

/** What an arcminute (an arcminute a radian) of each term does, over what the telescope can reach. */
export function termsMatter(names: readonly TermName[], mount: Mount): TermMatter[] {
  const known = unsightedMount(mount);
  const places = skyPoints(mount.site.latitude, mount.limits, STEP_DEG);
  const count = known.names.length;
  const rows = new Float64Array(2 * count);
  const scratch = new Float64Array(2 + 2 * known.model.size);
  const still = { ...mount.site, pressureHPa: 0 };
  return names.map((name): TermMatter => {
    const index = known.names.indexOf(name);
    let square = 0;
    for (const place of index < 0 ? [] : places) {
      const direction = directionFromDegrees(place.hourAngleDeg, place.declinationDeg);
      skyPartials(known, direction, stanceOf("normal"), rows, scratch);
      square += rows[index]! ** 2 + rows[count + index]! ** 2;
    }
    const stand = { ...standOfMount(mount, { [name]: 1 }), site: still };
    const tracking = trackingMount(stand);
    const worst = places.reduce((most, place) => {
      const track = trackTarget(tracking, directionFromDegrees(place.hourAngleDeg, place.declinationDeg));
      const end = track.placesAt(TRACKED_S)[0]!;
      return Math.max(most, Math.hypot(end.east, end.north) / ARCSECOND);
    }, 0);
    return {
      pointing: places.length === 0 || index < 0 ? 1 : Math.sqrt(square / places.length),
      tracking: worst,
    };
  });
}
