/**
 * What is asked for, by name or by coordinates: stars, clusters, nebulae, galaxies, planets, the Moon; never the Sun.
 */
import {
  Body,
  Equator,
  EquatorFromVector,
  GeoVector,
  Illumination,
  KM_PER_AU,
  MakeTime,
  Observer,
} from "astronomy-engine";
import { ARCMINUTE, DEGREE, HOUR } from "../angles.js";
import { type Fault, InputError, shown } from "../errors.js";
import { SUN_CAUTION } from "../pointing/sun-safety.js";
import { type DeepSkyObject, findTarget, tryFindDeepSky } from "../sky/deep-sky.js";
import { daysSinceJ2000 } from "../sky/earth.js";
import { tryFindStar } from "../sky/find-star.js";
import { hourAngleVector } from "../sky/horizon-frame.js";
import { liftedDirection, observeIn } from "../sky/observe.js";
import type { SkyFrame } from "../sky/sky-frame.js";
import type { IcrsPosition, ObservedDirection, Star } from "../sky/star.js";
import { faintestMagnitude, isVariable } from "../sky/variable-stars.js";

/** What kind of thing a target is. */
export type TargetKind = "star" | "deep sky" | "planet" | "Moon" | "coordinates";

/** A target that can be observed at any moment. */
export interface Target {
  readonly label: string;
  readonly kind: TargetKind;
  /** What it is in a word or two, for instance `galaxy`; empty for coordinates. */
  readonly description: string;
  /** Visual magnitude at a time; null where none is known. */
  magnitude(timeMs: number): number | null;
  /** The longer and the shorter diameter, arcminutes; null where it is a point or none is given. */
  sizeArcmin(timeMs: number): readonly [number, number] | null;
  /** Among the stars: ICRS, degrees. */
  position(timeMs: number): IcrsPosition;
  observe(frame: SkyFrame): ObservedDirection;
}

/** Equatorial radii, kilometres: IAU Working Group on Cartographic Coordinates and Rotational Elements 2015. */
const RADIUS_KM: Readonly<Partial<Record<Body, number>>> = {
  [Body.Moon]: 1737.4,
  [Body.Mercury]: 2440.5,
  [Body.Venus]: 6051.8,
  [Body.Mars]: 3396.2,
  [Body.Jupiter]: 71_492,
  [Body.Saturn]: 60_268,
  [Body.Uranus]: 25_559,
  [Body.Neptune]: 24_764,
};

const planets: readonly Body[] = [
  Body.Mercury,
  Body.Venus,
  Body.Mars,
  Body.Jupiter,
  Body.Saturn,
  Body.Uranus,
  Body.Neptune,
];

const SUN_NAMES = /^\s*(the\s+)?(sun|sol)\s*$/i;

/**
 * The target of a name or of coordinates.
 *
 * @param text - a star, a cluster, nebula or galaxy, a planet, `Moon`, or coordinates ICRS J2000.0: `05h35m17s -05d23m`,
 *   `5:35:17 -5:23` (hours and degrees) or `83.82 -5.39` (degrees)
 * @throws {@link InputError} `sun-refused` for the Sun, `unknown-object` for a name that is not known,
 *   `coordinates-out-of-range`
 * @example
 * ```ts
 * targetNamed("M 42").label // "M 42 (Orion Nebula)"
 * ```
 */
export function targetNamed(text: string): Target {
  if (SUN_NAMES.test(text)) {
    throw new InputError({
      code: "sun-refused",
      found: shown(text),
      allowed: "anything else in the sky; for north by daylight use the shadow of a plumb line",
      message: `The Sun is never found. ${SUN_CAUTION}`,
    });
  }
  const name = text.trim().toLowerCase();
  const planet = planets.find((body) => body.toLowerCase() === name);
  if (planet !== undefined) return bodyTarget(planet, "planet", planet, "planet");
  if (/^(the\s+)?moon$/.test(name)) return bodyTarget(Body.Moon, "Moon", "Moon", "Moon");
  const coordinates = coordinatesFromText(text);
  if (coordinates !== null) return placeTarget(coordinates);
  const star = tryFindStar(text);
  if (star !== undefined) return starTarget(star);
  const object = tryFindDeepSky(text) ?? findTarget(text);
  return "messier" in object ? deepSkyTarget(object) : starTarget(object);
}

/** The targets of a list, and what of it names none. */
export interface NamedTargets {
  readonly targets: readonly Target[];
  /** One fault for each name that is not known, its place in `path`. */
  readonly faults: readonly Fault[];
}

/**
 * The targets of several names. One name that is not known does not refuse the others.
 *
 * @throws {@link InputError} with every fault where no name is known
 */
export function targetsNamed(texts: readonly string[]): NamedTargets {
  const faults: Fault[] = [];
  const targets = texts.flatMap((text, index) => {
    try {
      return [targetNamed(text)];
    } catch (problem) {
      if (!(problem instanceof InputError)) throw problem;
      faults.push(...problem.faults.map((fault) => ({ ...fault, path: `target ${index + 1}` })));
      return [];
    }
  });
  if (targets.length === 0 && faults.length > 0) throw new InputError(faults);
  return { targets, faults };
}

export function starTarget(star: Star): Target {
  return {
    label: star.label,
    kind: "star",
    description: starDescription(star),
    magnitude: () => star.vMag,
    sizeArcmin: () => null,
    position: () => star,
    observe: (frame) => observeIn(frame, star),
  };
}

function starDescription(star: Star): string {
  const designation = star.name !== "" && star.bayer !== "" ? `, ${star.bayer}` : "";
  const range = `, variable from ${star.vMag.toFixed(1)} to ${faintestMagnitude(star).toFixed(1)}`;
  return `star${designation}${isVariable(star) ? range : ""}`;
}

export function deepSkyTarget(object: DeepSkyObject): Target {
  return {
    label: object.label,
    kind: "deep sky",
    description: object.kind,
    magnitude: () => object.vMag,
    sizeArcmin: () =>
      object.longArcmin === null ? null : [object.longArcmin, object.shortArcmin ?? object.longArcmin],
    position: () => object,
    observe: (frame) => observeIn(frame, object),
  };
}

function placeTarget(place: IcrsPosition): Target {
  const label = `${place.raDeg.toFixed(3)}° ${place.decDeg < 0 ? "−" : "+"}${Math.abs(place.decDeg).toFixed(3)}°`;
  return {
    label,
    kind: "coordinates",
    description: "",
    magnitude: () => null,
    sizeArcmin: () => null,
    position: () => place,
    observe: (frame) => observeIn(frame, place),
  };
}

function bodyTarget(body: Body, kind: TargetKind, label: string, description: string): Target {
  return {
    label,
    kind,
    description,
    magnitude: (timeMs) => Illumination(body, new Date(timeMs)).mag,
    sizeArcmin: (timeMs) => {
      const diameter =
        (2 * RADIUS_KM[body]!) / (GeoVector(body, new Date(timeMs), true).Length() * KM_PER_AU);
      return [diameter / ARCMINUTE, diameter / ARCMINUTE];
    },
    position: (timeMs) => {
      const seen = EquatorFromVector(GeoVector(body, new Date(timeMs), true));
      return { raDeg: 15 * seen.ra, decDeg: seen.dec };
    },
    observe: (frame) => {
      const { site } = frame;
      const observer = new Observer(site.latitude, site.longitude, site.heightM);
      const seen = Equator(body, MakeTime(daysSinceJ2000(frame.timeMs)), observer, true, true);
      const [x, y, z] = hourAngleVector({
        hourAngle: frame.siderealTime - seen.ra * HOUR,
        declination: seen.dec * DEGREE,
      });
      return liftedDirection(x, y, z, frame, frame.refraction);
    },
  };
}

const NUMBER = String.raw`\d+(?:\.\d*)?`;
const SIGN = "[+-]?";
const SEXAGESIMAL = String.raw`(${SIGN})(\d{1,3})\s*[hd°:]\s*(?:(${NUMBER})\s*(?:[m'′:]\s*(?:(${NUMBER})\s*(?:s|"|″)?)?)?)?`;
const BOTH_SEXAGESIMAL = new RegExp(`^${SEXAGESIMAL}[\\s,]+${SEXAGESIMAL}$`, "i");
const BOTH_DEGREES = new RegExp(
  `^(${SIGN}${NUMBER})\\s*(?:°|d|deg)?[\\s,]+(${SIGN}${NUMBER})\\s*(?:°|d|deg)?$`,
  "i",
);

/**
 * ICRS coordinates from text, or null where it is none.
 *
 * @param text - `05h35m17s -05d23m`, `5:35:17 -5:23` (a right ascension in hours) or `83.82 -5.39` (both degrees)
 * @throws {@link InputError} `coordinates-out-of-range`
 */
export function coordinatesFromText(text: string): IcrsPosition | null {
  const plain = text.trim().replace(/[−‐‑‒–]/g, "-");
  const degrees = BOTH_DEGREES.exec(plain);
  if (degrees !== null) return checked(Number(degrees[1]), Number(degrees[2]), text);
  const parts = BOTH_SEXAGESIMAL.exec(plain);
  if (parts === null) return null;
  const value = (at: number): number => {
    const minutes = Number(parts[at + 2] ?? 0);
    const seconds = Number(parts[at + 3] ?? 0);
    if (minutes >= 60 || seconds >= 60) refuse(text, "Minutes and seconds stay below 60.");
    const size = Number(parts[at + 1]) + minutes / 60 + seconds / 3600;
    return parts[at] === "-" ? -size : size;
  };
  const inDegrees = /^[+-]?\d{1,3}\s*[d°]/i.test(plain);
  const first = value(1);
  return checked(inDegrees ? first : 15 * first, value(5), text);
}

function checked(raDeg: number, decDeg: number, text: string): IcrsPosition {
  if (!(raDeg >= 0 && raDeg < 360) || !(Math.abs(decDeg) <= 90))
    refuse(text, "There is no such place in the sky.");
  return { raDeg, decDeg };
}

function refuse(text: string, message: string): never {
  throw new InputError({
    code: "coordinates-out-of-range",
    found: shown(text),
    allowed:
      "right ascension from 0 to below 24 h (or 360°) and declination from −90° to 90°, for instance 05h35m17s -05d23m or 83.82 -5.39 (degrees)",
    message,
  });
}
