/** The adjusters there are, in the order in which they are worked: tilt first, then azimuth, then the bearing. */
import type { Base } from "../../mount/mount.js";
import type { Adjuster, AxisName, TurnMade, Way } from "./adjuster.js";
import { azimuthBolts } from "./azimuth-bolts.js";
import { jacks } from "./jacks.js";
import { lowerBearing } from "./lower-bearing.js";
import { slide } from "./slide.js";

const makers = [jacks, azimuthBolts, slide, lowerBearing];

/** What moves the axis, in the order of preference: what is made for it first, what disturbs the level later, sliding last. */
export const means = {
  altitude: ["jacks", "lowerBearing"],
  east: ["bolts", "lowerBearing", "tilt", "slide"],
} as const;

/** What moves the axis in azimuth. */
export type AzimuthMeans = (typeof means.east)[number];
/** What moves the axis in altitude. */
export type AltitudeMeans = (typeof means.altitude)[number];

/**
 * The adjusters of a base.
 *
 * @param used - turns made since the mount file's travel was measured
 */
export function adjustersOf(
  base: Base,
  latitudeDeg: number,
  used: readonly TurnMade[] = [],
): readonly Adjuster[] {
  return makers.flatMap((make) => make({ base, latitudeDeg, used }) ?? []);
}

/** Every way of a base to move the axis; of one axis in the order of preference. */
export function waysOf(adjusters: readonly Adjuster[], axis?: AxisName): readonly Way[] {
  const all = adjusters.flatMap((adjuster) => adjuster.ways);
  if (axis === undefined) return all;
  const order: readonly string[] = means[axis];
  return all.filter((way) => way.axis === axis).sort((a, b) => order.indexOf(a.by) - order.indexOf(b.by));
}

/** The names of everything on the base that can be turned or moved. */
export function adjusterNames(base: Base): string[] {
  return adjustersOf(base, 45).flatMap((adjuster) => adjuster.names);
}
