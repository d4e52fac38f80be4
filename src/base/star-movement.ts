/** What was turned, from how a star moved in the field while the telescope stood clamped (or followed the sky). */

import { Matrix, pseudoInverse } from "#matrices";
import { ARCMINUTE } from "../angles.js";
import type { Mount } from "../mount/mount.js";
import { hourAngleVector } from "../sky/horizon-frame.js";
import { observe } from "../sky/observe.js";
import type { Star } from "../sky/star.js";
import type { Amount } from "./adjusters/adjuster.js";
import { adjustersOf } from "./adjusters/adjusters.js";
import { ALL_JACKS } from "./adjusters/jacks.js";
import { carriedBy } from "./axis-motion.js";
import { inField } from "./under-star.js";

/** How a star moved in the field: west and north positive, arcminutes on the sky. */
export interface StarMovement {
  readonly star: Star;
  readonly timeMs: number;
  readonly west: number;
  readonly north: number;
}

/** So small a motion that its effect is its slope. */
const SMALL = ARCMINUTE;

/**
 * How much of each of its ways an adjuster must have gone for a star to move so (least squares).
 *
 * @param mount - the mount with its base
 * @param adjuster - its name in the file of turns; `jacks` for all of them together
 */
export function starMoved(mount: Mount, adjuster: string, moved: StarMovement): Amount[] {
  if (mount.base === null) return [];
  const { latitude } = mount.site;
  const star = hourAngleVector(observe(moved.star, moved.timeMs, mount.site));
  const ways = adjustersOf(mount.base, latitude)
    .flatMap((one) => one.ways)
    .filter((way) => way.lack === null && (way.byJacks ? adjuster === ALL_JACKS : way.adjuster === adjuster));
  if (ways.length === 0) return [];
  const slopes = ways.map((way) =>
    inField(carriedBy({ altitude: 0, east: 0 }, way.motion(SMALL), latitude).forth(star), star),
  );
  const toAmounts = pseudoInverse(
    new Matrix([slopes.map(({ west }) => west / SMALL), slopes.map(({ north }) => north / SMALL)]),
  );
  const amounts = toAmounts.mmul(Matrix.columnVector([moved.west, moved.north])).to1DArray();
  return ways.map(({ axis, by }, index) => ({ axis, by, amount: amounts[index]! }));
}
