/**
 * The sky as a dish seen from above, laid on the ground like a map: the zenith in the middle, the horizon its rim,
 * north up and east to the right, so that it lies the same way as the base seen from above. The distance from the middle is the
 * distance from the zenith, so that altitude rings are evenly spaced.
 */
import { DEGREE } from "../angles.js";
import { lowestAltitude } from "../mount/limits.js";
import type { Limits } from "../mount/mount.js";
import type { Theme } from "../words/theme.js";
import {
  bareAxis,
  circlePoints,
  joined,
  layoutFrame,
  outlined,
  type Point,
  placed,
  rounded,
  type Trace,
  traceOf,
} from "./drawing.js";
import type { Properties } from "./figure.js";
import type { KeptLabel } from "./label-places.js";

/** How far the picture reaches from the middle; the horizon is at 1. */
const DISH_REACH = 1.2;
const DISH_HEIGHT_PX = 620;
/** How many pixels the dish's radius has at least, the margins off. */
export const DISH_RADIUS_PX = 230;

/**
 * Where a direction lies on the dish.
 *
 * @param azimuthDeg - degrees, from north through east
 * @param altitudeDeg - degrees
 * @returns east and north of the middle, the horizon at 1
 */
export function dishPoint(azimuthDeg: number, altitudeDeg: number): Point {
  const radius = (90 - altitudeDeg) / 90;
  return [radius * Math.sin(azimuthDeg * DEGREE), radius * Math.cos(azimuthDeg * DEGREE)];
}

/** The inverse of {@link dishPoint}. */
export function fromDishPoint([x, y]: Point): { azimuthDeg: number; altitudeDeg: number } {
  const azimuth = Math.atan2(x, y) / DEGREE;
  return { azimuthDeg: azimuth < 0 ? azimuth + 360 : azimuth, altitudeDeg: 90 - 90 * Math.hypot(x, y) };
}

/** Where a star stands, both ways, degrees. */
export interface SkyPlace {
  readonly hourAngleDeg: number;
  readonly declinationDeg: number;
  readonly azimuthDeg: number;
  readonly altitudeDeg: number;
}

/**
 * An offset on the sky as an offset on the dish, true to its length everywhere.
 *
 * @param place - where the star stands
 * @param latitudeDeg - degrees, north positive
 * @param west - westward, any unit of angle
 * @param north - northward, the same unit
 * @returns eastward and northward on the dish in the same unit of angle
 */
export function dishOffset(place: SkyPlace, latitudeDeg: number, west: number, north: number): Point {
  const h = place.hourAngleDeg * DEGREE;
  const d = place.declinationDeg * DEGREE;
  const latitude = latitudeDeg * DEGREE;
  const azimuth = place.azimuthDeg * DEGREE;
  const altitude = place.altitudeDeg * DEGREE;
  // The offset in the hour-angle frame (design: X meridian and equator, Y east, Z pole), then in the horizon's.
  const x = -Math.sin(h) * west - Math.sin(d) * Math.cos(h) * north;
  const y = -Math.cos(h) * west + Math.sin(d) * Math.sin(h) * north;
  const z = Math.cos(d) * north;
  const onNorth = -Math.sin(latitude) * x + Math.cos(latitude) * z;
  const onEast = y;
  const onUp = Math.cos(latitude) * x + Math.sin(latitude) * z;
  const sideways = onEast * Math.cos(azimuth) - onNorth * Math.sin(azimuth);
  const upward =
    Math.cos(altitude) * onUp -
    Math.sin(altitude) * (onEast * Math.sin(azimuth) + onNorth * Math.cos(azimuth));
  // On the dish, up is towards the middle.
  return [
    -upward * Math.sin(azimuth) + sideways * Math.cos(azimuth),
    -upward * Math.cos(azimuth) - sideways * Math.sin(azimuth),
  ];
}

/** The words inside the rim: what the rings stand for, and the pole beside its cross. */
export function dishWords(latitudeDeg: number): KeptLabel[] {
  return [
    { point: dishPoint(20, 30), text: "30°", place: "middle center" },
    { point: dishPoint(20, 60), text: "60°", place: "middle center" },
    {
      point: dishPoint(latitudeDeg < 0 ? 180 : 0, Math.abs(latitudeDeg)),
      text: "pole",
      place: "middle right",
    },
  ];
}

/** The dish without stars: rim, rings, words of the compass, meridian, pole, and the part that the mount's limits bar. */
export function dishBackdrop(
  theme: Theme,
  latitudeDeg: number,
  limits: Limits | null,
  labelColour = theme.colours.muted,
): Trace[] {
  const { colours } = theme;
  const traces: Trace[] = [
    {
      ...traceOf.bareLines,
      ...joined([circlePoints([0, 0], 1)]),
      fill: "toself",
      fillcolor: limits === null ? colours.panel : colours.barred,
      line: { color: colours.rule, width: 2 },
    },
  ];
  if (limits !== null) {
    const edge = Array.from({ length: 181 }, (_, index) =>
      dishPoint(2 * index, Math.max(0, lowestAltitude(limits, 2 * index))),
    );
    traces.push({
      ...traceOf.bareLines,
      ...joined([edge]),
      fill: "toself",
      fillcolor: colours.panel,
      line: { color: colours.rule, width: 1, dash: "dot" },
    });
  }
  traces.push({
    ...traceOf.bareLines,
    ...joined([
      circlePoints([0, 0], 1 / 3, 48),
      circlePoints([0, 0], 2 / 3, 60),
      [
        [0, 1],
        [0, -1],
      ],
      [
        [-1, 0],
        [1, 0],
      ],
    ]),
    line: { color: colours.grid, width: 1 },
  });
  const words = dishWords(latitudeDeg);
  const [rings, pole] = [words.slice(0, -1), words.at(-1)!];
  traces.push(
    {
      ...traceOf.words,
      x: rings.map(({ point }) => rounded(point[0])),
      y: rings.map(({ point }) => rounded(point[1])),
      text: rings.map(({ text }) => text),
      textfont: { size: theme.fontSizePx - 1, color: labelColour },
    },
    {
      ...traceOf.words,
      x: [0, 1.07, 0, -1.07],
      y: [1.07, 0, -1.07, 0],
      text: ["N", "E", "S", "W"],
      textfont: { size: theme.fontSizePx + 4, color: colours.text },
    },
    {
      ...traceOf.words,
      mode: "markers+text",
      ...placed([[pole.point[0], pole.point[1]]]),
      text: [pole.text],
      textposition: pole.place,
      textfont: { size: theme.fontSizePx - 1, color: labelColour },
      marker: outlined("cross-thin", 14, labelColour, 2),
    },
  );
  return traces;
}

/** The layout of a dish. */
export function dishLayout(theme: Theme, title: string, more: Properties = {}): Properties {
  return layoutFrame(theme, title, DISH_HEIGHT_PX, {
    xaxis: bareAxis([-DISH_REACH, DISH_REACH], { constrain: "domain" }),
    yaxis: bareAxis([-DISH_REACH, DISH_REACH], { scaleanchor: "x", constrain: "domain" }),
    ...more,
  });
}
