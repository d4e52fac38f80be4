/**
 * Refraction: how far the air lifts a star, along its vertical circle; the azimuth stays.
 *
 * High in the sky refraction is A tan z + B tan³ z, with A and B from pressure, temperature and humidity (Stone 1996,
 * Publications of the Astronomical Society of the Pacific 108, 1051; Green 1985, Spherical Astronomy, 4.4). That series
 * runs away at the horizon, so it is carried here as a continued fraction in T = tan(altitude),
 *
 *     R = A / (T + b / (T + k₁b / (T + k₂b / (T + k₃√b)))),   b = −B/A,
 *
 * which has the same first two terms and stays finite. The three constants were fitted to a ray traced through a
 * layered atmosphere (Auer and Standish 2000, Astronomical Journal 119, 2472) at six pressures and temperatures:
 * above 3° it follows the trace to 1.5″, at the horizon to 30″, where a real night departs by minutes of arc.
 *
 * The fraction is used down to the horizon. Below, where nothing is sighted, refraction fades with the cosine of the
 * altitude to nothing at the nadir, so that both ways stay defined, continuous and inverse to each other.
 */
import { type Fault, InputError } from "../errors.js";
import type { Air } from "./site.js";

/** What refraction needs of the air: the constants of A tan z + B tan³ z, radians. */
export interface RefractionConstants {
  readonly a: number;
  readonly b: number;
}

/** What else changes refraction a little; a builder seldom knows it. */
export interface AirDetail {
  /** Relative humidity, 0 to 1; 0.5 when not given (from dry to wet: 0.3″ at 45° on a warm night). */
  readonly relativeHumidity?: number;
  /** Wavelength, micrometres; 0.55 when not given (yellow-green). */
  readonly wavelengthUm?: number;
}

const PRESSURE_HPA: readonly [number, number] = [0, 1200];
const TEMPERATURE_C: readonly [number, number] = [-90, 70];

/** Fitted to test/reference/refraction-ray-trace.csv. */
const K1 = 1.458;
const K2 = 3.008;
const K3 = 2.401;

const NONE: RefractionConstants = { a: 0, b: 0 };

/** The faults of an air that does not occur at a telescope; none where it is sound. */
export function airFaults(air: Air): Fault[] {
  const faults: Fault[] = [];
  const check = (path: string, value: number, [least, most]: readonly [number, number], unit: string) => {
    if (value >= least && value <= most) return;
    faults.push({
      code: "air-out-of-range",
      path,
      found: String(value),
      allowed: `${least} to ${most} ${unit}`,
      message: "The air's figure is outside what occurs at a telescope.",
    });
  };
  check("pressureHPa", air.pressureHPa, PRESSURE_HPA, "hectopascals (0: no air)");
  check("temperatureC", air.temperatureC, TEMPERATURE_C, "degrees Celsius");
  return faults;
}

/**
 * The constants A and B of refraction, as a star at zenith distance z (observed) is lifted by A tan z + B tan³ z.
 * Method of ERFA's `refco` for light: Stone 1996 and Green 1985 for the refractivity of moist air, the scale height tuned to ray
 * traces.
 *
 * @returns radians; both 0 without air
 * @throws {@link InputError} `air-out-of-range`
 * @example
 * ```ts
 * const { a } = refractionConstants({ pressureHPa: 1010, temperatureC: 10 });
 * (a * 180 * 3600) / Math.PI; // 58.0 (arcseconds at 45°, nearly)
 * ```
 */
export function refractionConstants(air: Air, detail: AirDetail = {}): RefractionConstants {
  const faults = airFaults(air);
  if (faults.length > 0) throw new InputError(faults);
  if (air.pressureHPa === 0) return NONE;
  const { pressureHPa: pressure, temperatureC: celsius } = air;
  const humidity = detail.relativeHumidity ?? 0.5;
  const square = (detail.wavelengthUm ?? 0.55) ** 2;
  const kelvin = celsius + 273.15;
  const saturated =
    10 ** ((0.7859 + 0.03477 * celsius) / (1 + 0.00412 * celsius)) *
    (1 + pressure * (4.5e-6 + 6e-10 * celsius * celsius));
  const vapour = (humidity * saturated) / (1 - ((1 - humidity) * saturated) / pressure);
  const dry = ((77.53484e-6 + (4.39108e-7 + 3.666e-9 / square) / square) * pressure) / kelvin;
  const gamma = dry - (11.2684e-6 * vapour) / kelvin;
  const beta = 4.4474e-6 * kelvin;
  return { a: gamma * (1 - beta), b: -gamma * (beta - gamma / 2) };
}

/** Refraction for T = tan(observed altitude), and its derivative with respect to the altitude. */
function fraction(constants: RefractionConstants, tangent: number): { refraction: number; slope: number } {
  const b = -constants.b / constants.a;
  const third = tangent + K3 * Math.sqrt(b);
  const second = tangent + (K2 * b) / third;
  const first = tangent + (K1 * b) / second;
  const outer = tangent + b / first;
  const secondSlope = 1 - (K2 * b) / (third * third);
  const firstSlope = 1 - ((K1 * b) / (second * second)) * secondSlope;
  const outerSlope = 1 - (b / (first * first)) * firstSlope;
  const refraction = constants.a / outer;
  // At the zenith the tangent is huge: divide before squaring.
  const inverse = 1 / outer;
  const ratio = tangent * inverse;
  return { refraction, slope: -constants.a * outerSlope * (inverse * inverse + ratio * ratio) };
}

function constantsOf(air: Air | RefractionConstants): RefractionConstants {
  return "a" in air ? air : refractionConstants(air);
}

function atObserved(constants: RefractionConstants, altitude: number): { refraction: number; slope: number } {
  if (altitude >= 0) return fraction(constants, Math.tan(altitude));
  const atHorizon = fraction(constants, 0).refraction;
  return { refraction: atHorizon * Math.cos(altitude), slope: -atHorizon * Math.sin(altitude) };
}

/**
 * Refraction where the star is seen: take it from the observed altitude to get the true one.
 *
 * @param observedAltitude - radians, −π/2 to π/2
 * @param air - pressure and temperature, or, for many altitudes, the constants of {@link refractionConstants}
 * @returns radians, never negative
 * @throws {@link InputError} `air-out-of-range`
 * @example
 * ```ts
 * const lifted = refractionFromObserved(Math.PI / 4, { pressureHPa: 1010, temperatureC: 10 });
 * (lifted * 180 * 3600) / Math.PI; // 58.0 (arcseconds)
 * ```
 */
export function refractionFromObserved(observedAltitude: number, air: Air | RefractionConstants): number {
  const constants = constantsOf(air);
  if (constants.a === 0) return 0;
  return atObserved(constants, observedAltitude).refraction;
}

/** Far below what any angle here needs, radians. */
const CLOSE = 1e-15;
const MOST_STEPS = 30;

/**
 * Refraction where the star would be without air: add it to the true altitude to get the observed one. The exact
 * inverse of {@link refractionFromObserved}, by Newton's iteration.
 *
 * @param trueAltitude - radians, −π/2 to π/2
 * @param air - pressure and temperature, or, for many altitudes, the constants of {@link refractionConstants}
 * @returns radians, never negative
 * @throws {@link InputError} `air-out-of-range`
 */
export function refractionFromTrue(trueAltitude: number, air: Air | RefractionConstants): number {
  const constants = constantsOf(air);
  if (constants.a === 0) return 0;
  let lifted = 0;
  for (let step = 0; step < MOST_STEPS; step++) {
    const { refraction, slope } = atObserved(constants, trueAltitude + lifted);
    const change = (refraction - lifted) / (1 - slope);
    lifted += change;
    if (Math.abs(change) < CLOSE) break;
  }
  return lifted;
}
