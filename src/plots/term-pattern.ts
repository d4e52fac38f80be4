import { DEGREE } from "../angles.js";
import { mountModel, normalStance } from "../mount/model.js";
import { type BuiltInTermName, termDescriptions, termNames } from "../mount/terms.js";
import { fixed } from "../words/numbers.js";
import { lightTheme, type Theme } from "../words/theme.js";
import { dishBackdrop, dishLayout, dishOffset, dishPoint, type SkyPlace } from "./dish.js";
import { arrowsTrace, hoverText, niceBelow, type Point, placed, type Trace, traceOf } from "./drawing.js";
import type { Figure } from "./figure.js";
import { scaleArrow } from "./residual-sky.js";

/** The size of the term that is drawn: arcminutes (or arcminutes a radian). */
const DRAWN_ARCMIN = 10;
/** The longest arrow, as a part of the dish's radius. */
const LONGEST_ARROW = 0.16;
const ARROW_CUT = { shaft: 0.012, head: 0.05 };
const ALTITUDES_DEG = [10, 25, 40, 55, 70, 82];

/** What a term does to the readings at one place, on the sky. */
export interface TermEffect extends SkyPlace {
  /** Reading minus star, westward on the sky, per unit of the term. */
  readonly west: number;
  /** Reading minus star, northward, per unit of the term. */
  readonly north: number;
}

/**
 * What a term does to the readings over the whole sky above 10°: reading minus true, as an offset on the sky.
 *
 * @param name - a built-in term
 * @param latitudeDeg - degrees, north positive
 * @returns one entry for each place of a grid over the sky
 */
export function termEffects(name: BuiltInTermName, latitudeDeg: number): TermEffect[] {
  const latitude = latitudeDeg * DEGREE;
  const model = mountModel(latitude);
  const index = termNames.indexOf(name);
  const none = new Float64Array(model.size);
  const out = new Float64Array(2);
  const partials = new Float64Array(2 * model.size);
  // What grows through the night is drawn as it is at the end beside the beginning. A backlash shows only with a direction
  // of approach: as if every star was come to westward and northward.
  const stance = name.endsWith("Backlash")
    ? { ...normalStance, hourAngleApproach: 1, declinationApproach: 1 }
    : { ...normalStance, progress: 1 };
  return skyGrid(latitude).map((place) => {
    const hourAngle = place.hourAngleDeg * DEGREE;
    const declination = place.declinationDeg * DEGREE;
    model.forward(none, hourAngle, declination, stance, out, partials);
    return {
      ...place,
      west: partials[index]! * Math.cos(declination),
      north: partials[model.size + index]!,
    };
  });
}

function skyGrid(latitude: number): SkyPlace[] {
  return ALTITUDES_DEG.flatMap((altitudeDeg) => {
    const steps = Math.max(4, Math.round(20 * Math.cos(altitudeDeg * DEGREE)));
    return Array.from({ length: steps }, (_, step): SkyPlace => {
      const azimuthDeg = (360 * (step + 0.5)) / steps;
      const [altitude, azimuth] = [altitudeDeg * DEGREE, azimuthDeg * DEGREE];
      const north = Math.cos(altitude) * Math.cos(azimuth);
      const east = Math.cos(altitude) * Math.sin(azimuth);
      const up = Math.sin(altitude);
      const x = -Math.sin(latitude) * north + Math.cos(latitude) * up;
      const z = Math.cos(latitude) * north + Math.sin(latitude) * up;
      return {
        azimuthDeg,
        altitudeDeg,
        hourAngleDeg: Math.atan2(-east, x) / DEGREE,
        declinationDeg: Math.atan2(z, Math.hypot(x, east)) / DEGREE,
      };
    });
  });
}

/**
 * The pattern of one term over the sky: arrows from a star, where the telescope really looks, to where the readings say, for
 * ten arcminutes of the term. Held beside {@link residualSky}, it tells which term is at work.
 *
 * @param name - a built-in term
 * @param site - the latitude, degrees
 * @param theme - the colours; light when not given
 */
export function termPattern(
  name: BuiltInTermName,
  site: { readonly latitude: number },
  theme: Theme = lightTheme,
): Figure {
  const { colours } = theme;
  const effects = termEffects(name, site.latitude);
  const largest = Math.max(1e-9, ...effects.map(({ west, north }) => Math.hypot(west, north)));
  const onDish = LONGEST_ARROW / largest;
  const arrows = effects.map((effect): readonly [Point, Point] => {
    const from = dishPoint(effect.azimuthDeg, effect.altitudeDeg);
    const [dx, dy] = dishOffset(effect, site.latitude, effect.west, effect.north);
    return [from, [from[0] + dx * onDish, from[1] + dy * onDish]];
  });
  const points = arrows.map(([from]) => from);
  const unit = termDescriptions[name].unit === "arcmin" ? "′" : "′/rad";
  const traces: Trace[] = [
    ...dishBackdrop(theme, site.latitude, null),
    arrowsTrace(
      arrows.filter(([from, to]) => Math.hypot(to[0] - from[0], to[1] - from[1]) > 0.004),
      ARROW_CUT,
      colours.first,
    ),
    {
      ...traceOf.marks,
      name: "star",
      ...placed(points),
      marker: { symbol: "circle", size: 5, color: colours.text },
      hovertext: effects.map((effect) =>
        hoverText([
          `altitude ${fixed(effect.altitudeDeg, 0)}°, azimuth ${fixed(effect.azimuthDeg, 0)}°`,
          `reading minus star for 10${unit}: west ${fixed(DRAWN_ARCMIN * effect.west, 1)}′, north ${fixed(DRAWN_ARCMIN * effect.north, 1)}′`,
        ]),
      ),
      showlegend: false,
    },
  ];
  const scale = niceBelow((0.3 / onDish) * DRAWN_ARCMIN);
  traces.push(...scaleArrow(scale, onDish / DRAWN_ARCMIN, theme));
  const { label, positive } = termDescriptions[name];
  const summary = `For +10${unit} of ${label} (${positive}). Each arrow runs from a star, where the telescope really looks, to where its readings say. The longest is ${fixed(DRAWN_ARCMIN * largest, 1)}′; the scale below shows how long ${scale}′ is. At latitude ${fixed(Math.abs(site.latitude), 1)}° ${site.latitude < 0 ? "south" : "north"}. Seen from above: north up, east right.`;
  return {
    data: traces,
    layout: dishLayout(theme, `The pattern of ${label}`, { showlegend: false }),
    summary,
  };
}
