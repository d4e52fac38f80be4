import type { Site } from "../sky/site.js";

/** How an axis is read. */
export type ReadingKind = "counts" | "degrees" | "hours" | "rightAscension";

/** One axis's encoder or dial. */
export interface AxisReadings {
  readonly as: ReadingKind;
  /** Counts in a full turn of the axis; for dials 360 or 24. */
  readonly perTurn: number;
  /** +1 where readings grow westward (hour angle) or northward (declination), else −1. */
  readonly sense: 1 | -1;
  /** The smallest step that can be read, in the reading's own unit: 1 for counts, the division of a dial. */
  readonly smallest: number;
  /** The card of a picture's FITS header that has the reading. */
  readonly card?: string;
}

/** A levelling jack and its place in plan. */
export interface Jack {
  readonly name: string;
  /** Place in plan, millimetres, east positive, from any common origin. */
  readonly eastMm: number;
  /** Place in plan, millimetres, north positive. */
  readonly northMm: number;
  /** Rise for one turn, millimetres. */
  readonly pitchMm: number;
  /** What a clockwise turn, seen from above, does. */
  readonly clockwise: "raises" | "lowers";
  /** The smallest part of a turn that a hand can set. */
  readonly smallestTurn: number;
  /** Travel left upward, millimetres. */
  readonly raiseLeftMm: number;
  /** Travel left downward, millimetres. */
  readonly lowerLeftMm: number;
  /** The foot stands on ground that yields. */
  readonly softGround: boolean;
}

/** Bolts that push one end of the base east or west. */
export interface AzimuthBolts {
  /** The end that moves. */
  readonly end: "north" | "south";
  /** From the pivot to the bolts, millimetres. */
  readonly leverMm: number;
  /** Way for one turn, millimetres. */
  readonly pitchMm: number;
  /** The smallest part of a turn that a hand can set. */
  readonly smallestTurn: number;
  /** Travel left to each side, millimetres; null when not known. */
  readonly travelMm: number | null;
}

/** A bearing at the low end of the polar axis that can be moved. */
export interface LowerBearing {
  /** From the moved bearing to the other bearing, millimetres. */
  readonly axisLengthMm: number;
  /** Way for one turn of the screw that moves it east or west, millimetres; null where there is none. */
  readonly eastWestPitchMm: number | null;
  /** Way for one turn of the screw that moves it up or down, millimetres; null where there is none. */
  readonly upDownPitchMm: number | null;
  /** The smallest part of a turn that a hand can set. */
  readonly smallestTurn: number;
  /** Travel left each way, millimetres; null when not known. */
  readonly travelMm: number | null;
}

/** The base that the mount stands on and what it is adjusted by. */
export interface Base {
  /** False: an example's figures, not this base's, so nothing is turned by them. True: unusual figures have been looked at. */
  readonly confirmed?: boolean;
  readonly jacks: readonly Jack[];
  /** The most that a foot may be out of the plane of the others, millimetres. */
  readonly warpLimitMm: number;
  /** The most that the builder lets the base stand out of level, degrees. */
  readonly tiltLimitDeg: number;
  readonly azimuthBolts: AzimuthBolts | null;
  readonly lowerBearing: LowerBearing | null;
}

/** Where the telescope may point. */
export interface Limits {
  /** Lowest altitude, degrees. */
  readonly altitudeDeg: number;
  /** From and to, hours. */
  readonly hourAngleHours: readonly [number, number];
  /** From and to, degrees. */
  readonly declinationDeg: readonly [number, number];
  /** The horizon: pairs of azimuth and altitude, degrees, in order of azimuth. */
  readonly horizon: readonly (readonly [number, number])[];
}

/** The camera in the focus. */
export interface Camera {
  /** Of the telescope with whatever stands before the camera. */
  readonly focalLengthMm: number;
  /** The chip's side that lies east to west. */
  readonly widthMm: number;
  /** The chip's side that lies north to south. */
  readonly heightMm: number;
  /** The side of a pixel, micrometres. */
  readonly pixelUm: number;
}

/** What drives the hour-angle axis; null where not stated. */
export interface Drive {
  /** The parts that turn, and how long each takes for a turn, seconds. */
  readonly parts: readonly { readonly name: string; readonly periodS: number }[];
  /** Of the driving roller, where one turns the ring. */
  readonly rollerDiameterMm: number | null;
  readonly ringDiameterMm: number | null;
  /** Teeth of the worm wheel. */
  readonly wormTeeth: number | null;
  /** Turns of the motor for one turn of the polar axis. */
  readonly reduction: number | null;
  /** Steps of the motor for one of its turns. */
  readonly stepsPerTurn: number | null;
  /** Steps a second while it follows the stars. */
  readonly stepRateHz: number | null;
}

/** What a builder knows of his own work: 1σ, arcminutes; 0 takes the term out of the fit. */
export interface Tolerances {
  readonly cone: number;
  readonly squareness: number;
  readonly tubeSag: number;
  readonly ringSag: number;
  readonly trunnionSag: number;
  /** Of each of an encoder's two terms of eccentricity. */
  readonly eccentricity: number;
  /** Arcminutes a radian. */
  readonly scale: number;
  /** The whole play. */
  readonly backlash: number;
  /** Half of the step when the tube crosses the meridian. */
  readonly meridianStep: number;
  /** How far a zero moves in a night. */
  readonly creep: number;
  /** How far the polar axis moves in a night, each way. */
  readonly settling: number;
  /** What no term explains: the amplitude up to which it is looked for. */
  readonly residue: number;
}

/** A builder's own term: two expressions for Δh and Δδ per unit of the term. */
export interface CustomTerm {
  /** The key, `custom` and a capitalised word, for instance `customFork`. */
  readonly name: string;
  readonly label: string;
  readonly hourAngle: string;
  readonly declination: string;
  /** 1σ, arcminutes, or null for a free term. */
  readonly tolerance: number | null;
}

/** A validated mount file with its defaults filled in. */
export interface Mount {
  readonly name: string;
  readonly site: Site;
  readonly kind: "split-ring" | "fork" | "yoke" | "german" | "other";
  readonly readings: { readonly hourAngle: AxisReadings; readonly declination: AxisReadings };
  /** How well a star is centred, 1σ, arcminutes. */
  readonly centringArcmin: number;
  /** How well a time is noted, 1σ, seconds. */
  readonly timingS: number;
  readonly tolerances: Tolerances;
  readonly customTerms: readonly CustomTerm[];
  readonly limits: Limits;
  readonly base: Base | null;
  readonly camera: Camera | null;
  readonly drive: Drive | null;
  /** Between the trunnions of the declination axis, millimetres; null when not given. */
  readonly trunnionSpacingMm: number | null;
  /** Between the tube rings, millimetres; null when not given. */
  readonly ringSpacingMm: number | null;
}
