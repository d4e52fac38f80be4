import type { Limits } from "../mount/mount.js";
import { count } from "../words/lists.js";
import { fixed } from "../words/numbers.js";
import { lightTheme, type Theme } from "../words/theme.js";
import { DISH_RADIUS_PX, dishBackdrop, dishLayout, dishPoint, dishWords } from "./dish.js";
import { hoverText, placed, type Trace, traceOf } from "./drawing.js";
import type { Figure } from "./figure.js";
import { namesOrNumbers } from "./label-places.js";

/** An object at its place on the sky. */
export interface SkyTarget {
  readonly name: string;
  readonly altitudeDeg: number;
  readonly azimuthDeg: number;
  /** What else a hover says, for instance the time. */
  readonly says: string;
  /** Whether the telescope may point there. */
  readonly reached: boolean;
}

const MARKER_PX = 10;
/** More names than this cover each other. */
const MOST_NAMED = 12;

/** The name without what stands in brackets behind it. */
const shortName = ({ name }: SkyTarget): string => name.split(" (")[0]!;

/**
 * Where objects stand over the sky, and whether the telescope reaches them.
 *
 * @param targets - those above the horizon are drawn, with their names where they are few
 * @param mount - its name, latitude and limits
 * @param theme - the colours; light when not given
 */
export function targetsSky(
  targets: readonly SkyTarget[],
  mount: { readonly name: string; readonly latitudeDeg: number; readonly limits: Limits | null },
  theme: Theme = lightTheme,
): Figure {
  const { colours } = theme;
  const up = targets.filter(({ altitudeDeg }) => altitudeDeg > 0);
  const traces: Trace[] = [...dishBackdrop(theme, mount.latitudeDeg, mount.limits)];
  const named = up.length <= MOST_NAMED ? up : [];
  const labels = named.map((target) => ({
    point: dishPoint(target.azimuthDeg, target.altitudeDeg),
    text: shortName(target),
  }));
  const sizes = { unitPx: DISH_RADIUS_PX, fontPx: theme.fontSizePx, markerPx: MARKER_PX };
  const { wordsOf, numbered } = namesOrNumbers(labels, sizes, dishWords(mount.latitudeDeg));
  const groups = [
    { reached: true, name: "within reach", symbol: "circle", colour: colours.first },
    { reached: false, name: "outside the limits", symbol: "x", colour: colours.second },
  ];
  for (const group of groups) {
    const members = up.filter(({ reached }) => reached === group.reached);
    if (members.length === 0) continue;
    const points = members.map((target) => dishPoint(target.azimuthDeg, target.altitudeDeg));
    traces.push({
      ...traceOf.marks,
      mode: "markers+text",
      name: group.name,
      ...placed(points),
      ...wordsOf(members.map((target) => named.indexOf(target))),
      textfont: { size: theme.fontSizePx, color: colours.text },
      marker: { symbol: group.symbol, size: MARKER_PX, color: group.colour },
      hovertext: members.map((target) =>
        hoverText([
          target.name,
          target.says,
          `altitude ${fixed(target.altitudeDeg, 0)}°, azimuth ${fixed(target.azimuthDeg, 0)}°`,
        ]),
      ),
    });
  }
  const key = numbered
    ? ` ${named.map((target, index) => `${index + 1} ${shortName(target)}`).join(", ")}.`
    : "";
  const down = targets.length - up.length;
  const summary =
    up.length === 0
      ? "Nothing of what was asked for stands above the horizon."
      : `${count(up.length, "object")} above the horizon${down === 0 ? "" : `, ${down} below it`}.${named.length > 0 ? key : " They are too many to name here: the table names them."} Seen from above: north up, east right, the zenith in the middle.`;
  return { data: traces, layout: dishLayout(theme, `Where to look with ${mount.name}`), summary };
}
