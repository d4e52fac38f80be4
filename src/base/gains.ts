/** How truly the axis follows what is asked of it. */
import type { Estimate } from "../fit/fit-result.js";
import { type BaseMotion, stillBase } from "./axis-motion.js";
import type { AltitudeMeans, AzimuthMeans } from "./turn-advice.js";

/** For each axis and means: the change found for one asked for. A thread off its pitch or a floor that gives makes it other than 1. */
export interface Gains {
  readonly altitude: Readonly<Record<AltitudeMeans, Estimate>>;
  readonly east: Readonly<Record<AzimuthMeans, Estimate>>;
}

/** What is known of a gain before anything has been turned: 1 ± 0.2. */
export const gainBefore: Estimate = { value: 1, uncertainty: 0.2 };

/** Nothing learned yet. */
export const gainsBefore: Gains = {
  altitude: { jacks: gainBefore, lowerBearing: gainBefore },
  east: { bolts: gainBefore, tilt: gainBefore, lowerBearing: gainBefore, slide: gainBefore },
};

/** Motions by the means that make them. */
export interface MotionParts {
  /** Slopes by the jacks: north for the altitude, east for the azimuth. */
  readonly tilt: BaseMotion;
  readonly bolts: BaseMotion;
  readonly slide: BaseMotion;
  readonly lowerBearing: BaseMotion;
}

/** The motion that is to be expected of the motion asked for. */
export function expectedMotion(parts: MotionParts, gains: Gains): BaseMotion {
  return {
    ...stillBase,
    slopeNorth: parts.tilt.slopeNorth * gains.altitude.jacks.value,
    slopeEast: parts.tilt.slopeEast * gains.east.tilt.value,
    turn: parts.bolts.turn * gains.east.bolts.value + parts.slide.turn * gains.east.slide.value,
    bearingEast: parts.lowerBearing.bearingEast * gains.east.lowerBearing.value,
    bearingUp: parts.lowerBearing.bearingUp * gains.altitude.lowerBearing.value,
  };
}
