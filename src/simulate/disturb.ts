/**
 * What a mount, its encoders and a hand do beside what the terms of the model hold.
 */
import { ARCMINUTE } from "../angles.js";
import { dot, type Vector } from "../vectors.js";
import type { Disturbance } from "./options.js";
import { gaussian, seededRandom, studentT } from "./random.js";

/** Plane waves in a smooth field; the sum of so many is normal to the eye. */
const WAVES = 64;
/** A stream of chance of its own: a disturbance leaves the night's stars and errors as they are without it. */
const OWN_STREAM = 0x2545f491;

/** What is added at one sighting, radians. */
interface AtSighting {
  readonly polarAltitude: number;
  readonly polarEast: number;
  /** On the sky. */
  readonly west: number;
  readonly north: number;
}

/** One night's disturbances. */
export interface Disturber {
  /** A standard normal number or one with heavy tails, for the errors of hand and clock. */
  readonly chance: (random: () => number) => number;
  readonly centringFactor: number;
  /**
   * @param share - of the night that has gone: 0 at the first sighting, 1 at the last
   * @param direction - where the star is seen, a unit vector in the hour-angle frame
   */
  at(share: number, direction: Vector): AtSighting;
  /** Added to the two readings, radians, where the axes stand at these angles. */
  onReadings(share: number, axisHourAngle: number, axisDeclination: number): readonly [number, number];
}

/** The disturbances of a night from its seed. */
export function disturber(disturbance: Disturbance, seed: number): Disturber {
  const random = seededRandom(seed ^ OWN_STREAM);
  const {
    meridianStep,
    creep,
    settling,
    secondHarmonic,
    smoothField,
    centringFactor = 1,
    tails,
  } = disturbance;
  const [phaseH, phaseD] = [2 * Math.PI * random(), 2 * Math.PI * random()];
  const none = () => 0;
  const field = smoothField
    ? [
        smoothWaves(random, smoothField.rms, smoothField.lengthRad),
        smoothWaves(random, smoothField.rms, smoothField.lengthRad),
      ]
    : [none, none];
  return {
    chance: tails === undefined ? gaussian : (source) => studentT(source, tails),
    centringFactor,
    at: (share, direction) => ({
      polarAltitude: (share - 1) * (settling?.altitude ?? 0) * ARCMINUTE,
      polarEast: (share - 1) * (settling?.east ?? 0) * ARCMINUTE,
      west: field[0]!(direction) * ARCMINUTE,
      north: field[1]!(direction) * ARCMINUTE,
    }),
    onReadings: (share, axisHourAngle, axisDeclination) => {
      const side = Math.sign(Math.sin(axisHourAngle));
      const of = (axis: "hourAngle" | "declination", angle: number, phase: number): number =>
        ARCMINUTE *
        (side * (meridianStep?.[axis] ?? 0) +
          (share - 1) * (creep?.[axis] ?? 0) +
          (secondHarmonic?.[axis] ?? 0) * Math.sin(2 * angle + phase));
      return [of("hourAngle", axisHourAngle, phaseH), of("declination", axisDeclination, phaseD)];
    },
  };
}

/**
 * A random field over directions: plane waves through space, their wave vectors normal with 1σ of 1 / length, so that
 * two directions an angle γ apart correlate by exp(−(1 − cos γ) / length²) (Bochner 1932).
 */
function smoothWaves(random: () => number, rms: number, lengthRad: number): (direction: Vector) => number {
  const waves = Array.from({ length: WAVES }, () => {
    const along = (): number => gaussian(random) / lengthRad;
    const wave: Vector = [along(), along(), along()];
    return { wave, phase: 2 * Math.PI * random() };
  });
  const amplitude = rms * Math.sqrt(2 / WAVES);
  return (direction) =>
    waves.reduce((sum, { wave, phase }) => sum + amplitude * Math.cos(dot(wave, direction) + phase), 0);
}
