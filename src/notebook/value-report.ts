/** The reports of plain values: a star, a mount, a term, the pole, and lists of them. */
import type { PoleError, TermEstimate } from "../fit/fit-result.js";
import type { Mount } from "../mount/mount.js";
import type { Report, TableBlock } from "../report/report.js";
import type { Star } from "../sky/star.js";
import { eastOrWest, highOrLow, wayText } from "../words/directions.js";
import { estimateText, fixed, sizeText } from "../words/numbers.js";

/** How one kind of value is told from others, and how its rows are written. */
interface Kind<T> {
  readonly title: string;
  readonly keys: readonly (keyof T & string)[];
  readonly head: readonly string[];
  readonly align: TableBlock["align"];
  readonly row: (value: T) => readonly string[];
}

const stars: Kind<Star> = {
  title: "Stars",
  keys: ["hip", "label", "vMag", "raDeg", "decDeg"],
  head: ["Star", "Designation", "Hipparcos", "Magnitude", "Right ascension, °", "Declination, °"],
  align: ["left", "left", "right", "right", "right", "right"],
  row: (star) => [
    star.label,
    star.bayer || star.flamsteed,
    String(star.hip),
    fixed(star.vMag, 2),
    fixed(star.raDeg, 4),
    fixed(star.decDeg, 4),
  ],
};

const terms: Kind<TermEstimate> = {
  title: "Terms",
  keys: ["name", "label", "value", "uncertainty", "standing", "unit"],
  head: ["Term", "Value", "Which way", "Standing", "Probability"],
  align: ["left", "right", "left", "left", "right"],
  row: (term) => [
    term.set === null ? term.label : `${term.label} (${term.set})`,
    estimateText(term, term.unit),
    wayText(term.name, term.value),
    term.standing,
    term.probability === null || term.probability === undefined
      ? ""
      : `${fixed(100 * term.probability, 0)} %`,
  ],
};

const poles: Kind<PoleError> = {
  title: "Where the polar axis points",
  keys: ["altitude", "east", "azimuth", "distance", "covariance"],
  head: ["Altitude", "Way", "East–west on the sky", "Way", "From the pole", "At"],
  align: ["right", "left", "right", "left", "right", "left"],
  row: ({ altitude, east, distance, at }) => [
    sizeText(altitude),
    highOrLow(altitude.value),
    sizeText(east),
    eastOrWest(east.value),
    sizeText(distance),
    at ?? "",
  ],
};

const mounts: Kind<Mount> = {
  title: "Mounts",
  keys: ["name", "site", "kind", "readings", "base", "tolerances"],
  head: ["Mount", "Kind", "Latitude", "Longitude", "Base", "Camera"],
  align: ["left", "left", "right", "right", "left", "left"],
  row: ({ name, kind, site, base, camera }) => [
    name,
    kind,
    `${site.latitude}°`,
    `${site.longitude}° (east positive)`,
    base === null ? "none" : base.jacks.map((jack) => jack.name).join(", "),
    camera === null ? "none" : `${camera.focalLengthMm} mm`,
  ],
};

const KINDS: readonly Kind<never>[] = [stars, terms, poles, mounts];

/**
 * The report of a plain value, or of a list of values of one kind.
 *
 * @returns null for what is none of them
 */
export function valueReport(thing: unknown): Report | null {
  const values = Array.isArray(thing) ? (thing as readonly unknown[]) : [thing];
  const kind = KINDS.find((one) => values.length > 0 && values.every((value) => isOf(value, one)));
  if (kind === undefined) return null;
  const rows = values.map((value) => kind.row(value as never));
  const title = Array.isArray(thing) || kind === poles ? kind.title : rows[0]![0]!;
  const table: TableBlock = { kind: "table", caption: kind.title, head: kind.head, align: kind.align, rows };
  return { title, blocks: [table] };
}

function isOf(value: unknown, kind: Kind<never>): boolean {
  return value !== null && typeof value === "object" && kind.keys.every((key) => key in value);
}
