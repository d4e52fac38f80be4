/**
 * The columns that say when and where on the sky: a time, and a star or its coordinates.
 */
import { tryFindStar, unknownStarFault } from "../sky/find-star.js";
import type { IcrsPosition, Star } from "../sky/star.js";
import { readTime } from "../sky/time.js";
import { type Column, numberColumn } from "./column.js";
import type { RowCells } from "./table.js";

/**
 * A time, in milliseconds of UTC since 1970; NaN where it is blank.
 *
 * @param zoneOf - the zone of times that have none; null where none is known
 */
export function timeColumn<Context>(
  about: Pick<Column, "meaning" | "needed">,
  zoneOf: (context: Context) => string | null = () => null,
): Column<number, Context> {
  return {
    ...about,
    allowed:
      "ISO 8601 with date, time and zone, for instance 2026-03-14T19:22:10Z; without zone the site's timeZone, where the mount file names it",
    example: "2026-03-14T19:22:10Z",
    blank: Number.NaN,
    read(text, context) {
      const time = readTime(text, zoneOf(context));
      return typeof time === "number" ? time : () => time;
    },
    write: (value) => {
      if (!(value instanceof Date)) return null;
      return Number.isNaN(value.getTime()) ? "an invalid Date" : value.toISOString().replace(".000Z", "Z");
    },
  };
}

/** A night of a hundred thousand rows names the same stars again and again. */
const known = new Map<string, Star | null>();
const MOST_KNOWN = 2000;

function lookUp(text: string): Star | null {
  let star = known.get(text);
  if (star === undefined) {
    if (known.size >= MOST_KNOWN) known.clear();
    star = tryFindStar(text.slice(0, 200)) ?? null;
    known.set(text, star);
  }
  return star;
}

/** A star, or its ICRS coordinates. */
export const placeColumns = {
  star: {
    meaning: "the star that was centred",
    allowed: "an IAU name, a Bayer designation or a HIP number; or raDeg and decDeg",
    example: "Canopus",
    blank: null,
    read: (text) => lookUp(text) ?? (() => unknownStarFault(text)),
  } as Column<Star | null>,
  raDeg: numberColumn(
    {
      meaning: "right ascension instead of a star, ICRS, J2000.0",
      unit: "degrees",
      allowed: "decimal degrees from 0 to below 360",
      example: "95.988",
    },
    (value) => value >= 0 && value < 360,
  ),
  decDeg: numberColumn(
    {
      meaning: "declination instead of a star, ICRS, J2000.0",
      unit: "degrees",
      allowed: "decimal degrees from -90 to 90",
      example: "-52.696",
    },
    (value) => Math.abs(value) <= 90,
  ),
} as const;

/**
 * The place that a row's star or coordinates give; a fault where there are both, one coordinate alone, or nothing.
 *
 * @returns the star, null where coordinates are given, and the place, null where there was a fault
 */
export function placeOf(cells: RowCells<typeof placeColumns>): {
  readonly star: Star | null;
  readonly position: IcrsPosition | null;
} {
  const { star, raDeg, decDeg } = cells.values;
  const hasRa = cells.has("raDeg");
  const hasDec = cells.has("decDeg");
  if (cells.has("star") && (hasRa || hasDec)) {
    cells.fault(
      "star",
      "star-and-coordinates",
      "The row has both a star and coordinates, and only one of them can count.",
      "a star, or raDeg and decDeg; put another name into note",
    );
  } else if (hasRa !== hasDec) {
    cells.missing(
      hasRa ? "decDeg" : "raDeg",
      "One of the two coordinates is missing.",
      "raDeg and decDeg together, decimal degrees, ICRS J2000.0",
    );
  } else if (!hasRa && !cells.has("star")) {
    cells.missing("star", "There is neither a star nor coordinates.", placeColumns.star.allowed);
  }
  return {
    star,
    position: star ?? (raDeg === null || decDeg === null ? null : { raDeg, decDeg }),
  };
}

/** Coordinates as a label. */
export function coordinatesText({ raDeg, decDeg }: IcrsPosition): string {
  return `RA ${raDeg.toFixed(4)}° Dec ${decDeg < 0 ? "−" : "+"}${Math.abs(decDeg).toFixed(4)}°`;
}
