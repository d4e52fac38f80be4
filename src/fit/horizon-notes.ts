/**
 * Stars that were sighted but, as the files have it, stood below the horizon: the site, a time or a name is wrong.
 */
import { DEGREE } from "../angles.js";
import { type ReducedNight, reduceNight } from "../night/reduce.js";
import type { Note } from "./fit-result.js";

/** Lower than this no star is seen, even with refraction and a sea horizon. */
export const SEEN_FROM = -1 * DEGREE;
/** From so many, and this part of the night, it is no slip of single rows. */
const LEAST_ROWS = 2;
const LEAST_PART = 0.15;

const isBelow = (night: ReducedNight, i: number): boolean =>
  night.sightings[i]!.use && night.altitude[i]! < SEEN_FROM;

/**
 * Notes on sightings of stars below the horizon, whether the fit uses them or not.
 *
 * @returns a note for each; where they are many, one for all of them, and `sound` false: no jack may be turned for a
 *   site or clock that cannot be
 */
export function horizonNotes(night: ReducedNight): {
  readonly notes: readonly Note[];
  readonly sound: boolean;
} {
  const below: number[] = [];
  let inUse = 0;
  for (let i = 0; i < night.count; i++) {
    if (night.sightings[i]!.use) inUse++;
    if (isBelow(night, i)) below.push(i);
  }
  if (below.length < Math.max(LEAST_ROWS, LEAST_PART * inUse)) {
    return {
      sound: true,
      notes: below.map((i) => {
        const { row, star } = night.sightings[i]!;
        const depth = (-night.altitude[i]! / DEGREE).toFixed(1);
        return {
          code: "below-horizon",
          row,
          message: `Row ${row} (${star}) was ${depth}° below the horizon at its time, so it cannot have been sighted then.`,
          remedy: "Look at its star and its time with the zone.",
        };
      }),
    };
  }
  const rows = below.map((i) => night.sightings[i]!.row);
  const { latitude } = night.mount.site;
  const remedy = isMendedByLatitude(night)
    ? `Set site.latitude to ${-latitude} (north positive) if the site is ${latitude > 0 ? "south" : "north"} of the equator: then all of them were up. Else check`
    : "Check site.latitude (north positive),";
  return {
    sound: false,
    notes: [
      {
        code: "below-horizon",
        row: rows[0]!,
        rows,
        message: `${rows.length} of the ${inUse} stars sighted were below the horizon at their times, as the files have it: the site or the clock cannot be right.`,
        remedy: `${remedy} site.longitude (east positive), the date, and the zone of every time; then fit again. No jack is to be turned before that.`,
      },
    ],
  };
}

/** Whether every star sighted stands above the horizon of the same latitude on the other side of the equator. */
function isMendedByLatitude({ mount, sightings }: ReducedNight): boolean {
  const site = { ...mount.site, latitude: -mount.site.latitude };
  const other = reduceNight({ mount: { ...mount, site }, sightings });
  return other.sightings.every((_, i) => !isBelow(other, i));
}
