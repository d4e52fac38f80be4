/** The telescope with its errors: where it really looks when its dials say something, and the other way round. */
import { ARCMINUTE } from "../angles.js";
import { type MountModel, mountModel, normalStance } from "../mount/model.js";
import { type BuiltInTermName, termNames } from "../mount/terms.js";
import type { Vector } from "../vectors.js";

/** Errors are drawn so many times too large. */
export const EXAGGERATION = 12;

/** The errors of a telescope, arcminutes. */
export type Errors = ReadonlyMap<BuiltInTermName, number>;

/** A direction, radians. */
export interface Direction {
  readonly hourAngle: number;
  readonly declination: number;
}

/** A telescope at a latitude with errors. */
export class Telescope {
  private readonly model: MountModel;
  private readonly coefficients: Float64Array;

  /**
   * @param latitude - radians
   * @param times - the errors are taken so many times
   */
  constructor(
    readonly latitude: number,
    readonly errors: Errors,
    times = 1,
  ) {
    this.model = mountModel(latitude);
    this.coefficients = Float64Array.from(
      { length: this.model.size },
      (_, index) => times * (errors.get(termNames[index]!) ?? 0) * ARCMINUTE,
    );
  }

  /** What the dials say when it looks there. */
  dialsAt(star: Direction): Direction {
    const dials = new Float64Array(2);
    this.model.forward(this.coefficients, star.hourAngle, star.declination, normalStance, dials);
    return { hourAngle: dials[0]!, declination: dials[1]! };
  }

  /** Where it looks when the dials say this. */
  looksAt(dials: Direction): Direction {
    return this.model.inverse(this.coefficients, dials.hourAngle, dials.declination, normalStance);
  }
}

/** A direction in the horizon's frame: east, north, up. */
export function horizonVector({ hourAngle, declination }: Direction, latitude: number): Vector {
  const x = Math.cos(declination) * Math.cos(hourAngle);
  const east = -Math.cos(declination) * Math.sin(hourAngle);
  const z = Math.sin(declination);
  return [
    east,
    -Math.sin(latitude) * x + Math.cos(latitude) * z,
    Math.cos(latitude) * x + Math.sin(latitude) * z,
  ];
}

/** The direction of a vector in the horizon's frame. */
export function directionOf([east, north, up]: Vector, latitude: number): Direction {
  const x = -Math.sin(latitude) * north + Math.cos(latitude) * up;
  const z = Math.cos(latitude) * north + Math.sin(latitude) * up;
  return { hourAngle: Math.atan2(-east, x), declination: Math.atan2(z, Math.hypot(x, east)) };
}
