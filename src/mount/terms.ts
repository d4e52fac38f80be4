/**
 * The terms of a mount: one record each. A new term is a record here and, where the builder may set its tolerance, a
 * line in the mount file's schema.
 */
import type { Tolerances } from "./mount.js";

/** Where the shafts stand and how they came there: what a direct effect may depend on. Radians. */
export interface ShaftState {
  /** Hour-angle shaft, westward from the meridian. */
  hourAngle: number;
  /** Declination shaft, beyond ±90° when the tube is turned over the pole. */
  declination: number;
  sinHourAngle: number;
  cosHourAngle: number;
  sinDeclination: number;
  cosDeclination: number;
  tanDeclination: number;
  cosLatitude: number;
  sinLatitude: number;
  /** +1 last moved westward (northward), −1 eastward (southward), 0 not known. */
  hourAngleApproach: number;
  declinationApproach: number;
  /** −1 at the first sighting of the night, 0 at the last. */
  progress: number;
}

/** An effect that is added to the reading of one axis, per unit of its term. */
export interface DirectEffect {
  readonly axis: "hourAngle" | "declination";
  effect(at: ShaftState): number;
  /** ∂effect/∂H and ∂effect/∂D of the shafts; absent: 0. */
  byHourAngle?(at: ShaftState): number;
  byDeclination?(at: ShaftState): number;
}

/** What there is to know about a term. */
export interface TermRecord {
  readonly label: string;
  /** What a positive value means. */
  readonly positive: string;
  readonly unit: "arcmin" | "arcmin/rad";
  /** The mount file's tolerance that holds it; null: free. */
  readonly tolerance: keyof Tolerances | null;
  /** The cause that it belongs to, where that acts on some nights only: its terms come and go together. */
  readonly cause?: CauseName;
  /** Absent for the terms that act on the geometry of the axes themselves. */
  readonly direct?: DirectEffect;
}

/** The causes that act on some nights, or on some mounts, only. */
export type CauseName =
  | "hourAngleEccentricity"
  | "declinationEccentricity"
  | "hourAngleScale"
  | "declinationScale"
  | "hourAngleBacklash"
  | "declinationBacklash"
  | "hourAngleMeridianStep"
  | "declinationMeridianStep"
  | "hourAngleCreep"
  | "declinationCreep"
  | "settling";

const records = {
  hourAngleZero: {
    label: "hour-angle zero",
    positive: "the reading is west of the true hour angle",
    unit: "arcmin",
    tolerance: null,
    direct: { axis: "hourAngle", effect: () => 1 },
  },
  declinationZero: {
    label: "declination zero",
    positive: "the reading is north of the true declination",
    unit: "arcmin",
    tolerance: null,
    direct: { axis: "declination", effect: () => 1 },
  },
  polarAltitude: {
    label: "polar axis altitude error",
    positive: "the elevated end of the axis points too high",
    unit: "arcmin",
    tolerance: null,
  },
  polarEast: {
    label: "polar axis east error",
    positive: "the elevated end of the axis points too far east",
    unit: "arcmin",
    tolerance: null,
  },
  cone: {
    label: "collimation (cone) error",
    positive: "the optical axis leans to the east end of the declination axis",
    unit: "arcmin",
    tolerance: "cone",
  },
  squareness: {
    label: "axis squareness",
    positive: "the east end of the declination axis leans away from the north pole",
    unit: "arcmin",
    tolerance: "squareness",
  },
  tubeSag: {
    label: "tube sag",
    positive: "the optical axis droops as the tube goes down",
    unit: "arcmin",
    tolerance: "tubeSag",
  },
  ringSag: {
    label: "ring sag",
    positive: "the reading is north on the meridian, by the cosine of the hour angle",
    unit: "arcmin",
    tolerance: "ringSag",
    direct: {
      axis: "declination",
      effect: (at) => at.cosHourAngle,
      byHourAngle: (at) => -at.sinHourAngle,
    },
  },
  trunnionSag: {
    label: "trunnion sag",
    positive: "the declination axis gives under the tube's weight",
    unit: "arcmin",
    tolerance: "trunnionSag",
    direct: {
      axis: "hourAngle",
      effect: (at) => at.cosLatitude * at.cosHourAngle + at.sinLatitude * at.tanDeclination,
      byHourAngle: (at) => -at.cosLatitude * at.sinHourAngle,
      byDeclination: (at) => at.sinLatitude * (1 + at.tanDeclination * at.tanDeclination),
    },
  },
  hourAngleEccentricSin: {
    label: "hour-angle encoder eccentricity, sine",
    positive: "reading ahead at 90 degrees",
    unit: "arcmin",
    tolerance: "eccentricity",
    cause: "hourAngleEccentricity",
    direct: { axis: "hourAngle", effect: (at) => at.sinHourAngle, byHourAngle: (at) => at.cosHourAngle },
  },
  hourAngleEccentricCos: {
    label: "hour-angle encoder eccentricity, cosine",
    positive: "reading ahead at 0 degrees",
    unit: "arcmin",
    tolerance: "eccentricity",
    cause: "hourAngleEccentricity",
    direct: { axis: "hourAngle", effect: (at) => at.cosHourAngle, byHourAngle: (at) => -at.sinHourAngle },
  },
  declinationEccentricSin: {
    label: "declination encoder eccentricity, sine",
    positive: "reading ahead at 90 degrees",
    unit: "arcmin",
    tolerance: "eccentricity",
    cause: "declinationEccentricity",
    direct: {
      axis: "declination",
      effect: (at) => at.sinDeclination,
      byDeclination: (at) => at.cosDeclination,
    },
  },
  declinationEccentricCos: {
    label: "declination encoder eccentricity, cosine",
    positive: "reading ahead at 0 degrees",
    unit: "arcmin",
    tolerance: "eccentricity",
    cause: "declinationEccentricity",
    direct: {
      axis: "declination",
      effect: (at) => at.cosDeclination,
      byDeclination: (at) => -at.sinDeclination,
    },
  },
  hourAngleScale: {
    label: "hour-angle scale error",
    positive: "the reading grows faster than the angle",
    unit: "arcmin/rad",
    tolerance: "scale",
    cause: "hourAngleScale",
    direct: { axis: "hourAngle", effect: (at) => at.hourAngle, byHourAngle: () => 1 },
  },
  declinationScale: {
    label: "declination scale error",
    positive: "the reading grows faster than the angle",
    unit: "arcmin/rad",
    tolerance: "scale",
    cause: "declinationScale",
    direct: { axis: "declination", effect: (at) => at.declination, byDeclination: () => 1 },
  },
  hourAngleBacklash: {
    label: "hour-angle backlash",
    positive: "half of it ahead when approached westward",
    unit: "arcmin",
    tolerance: "backlash",
    cause: "hourAngleBacklash",
    direct: { axis: "hourAngle", effect: (at) => 0.5 * at.hourAngleApproach },
  },
  declinationBacklash: {
    label: "declination backlash",
    positive: "half of it ahead when approached northward",
    unit: "arcmin",
    tolerance: "backlash",
    cause: "declinationBacklash",
    direct: { axis: "declination", effect: (at) => 0.5 * at.declinationApproach },
  },
  hourAngleMeridianStep: {
    label: "hour-angle step at the meridian",
    positive: "half of the step: the reading is ahead west of the meridian, behind east of it",
    unit: "arcmin",
    tolerance: "meridianStep",
    cause: "hourAngleMeridianStep",
    direct: { axis: "hourAngle", effect: (at) => Math.sign(at.sinHourAngle) },
  },
  declinationMeridianStep: {
    label: "declination step at the meridian",
    positive: "half of the step: the reading is north west of the meridian, south east of it",
    unit: "arcmin",
    tolerance: "meridianStep",
    cause: "declinationMeridianStep",
    direct: { axis: "declination", effect: (at) => Math.sign(at.sinHourAngle) },
  },
  hourAngleCreep: {
    label: "hour-angle creep",
    positive: "the zero moves west, from the first sighting to the last",
    unit: "arcmin",
    tolerance: "creep",
    cause: "hourAngleCreep",
    direct: { axis: "hourAngle", effect: (at) => at.progress },
  },
  declinationCreep: {
    label: "declination creep",
    positive: "the zero moves north, from the first sighting to the last",
    unit: "arcmin",
    tolerance: "creep",
    cause: "declinationCreep",
    direct: { axis: "declination", effect: (at) => at.progress },
  },
  polarAltitudeRate: {
    label: "settling of the polar axis in altitude",
    positive: "the elevated end rises, from the first sighting to the last",
    unit: "arcmin",
    tolerance: "settling",
    cause: "settling",
  },
  polarEastRate: {
    label: "settling of the polar axis in the east",
    positive: "the elevated end moves east, from the first sighting to the last",
    unit: "arcmin",
    tolerance: "settling",
    cause: "settling",
  },
} as const satisfies Readonly<Record<string, TermRecord>>;

/** The key of a built-in term. */
export type BuiltInTermName = keyof typeof records;
/** The key of a built-in term or of a builder's own. */
export type TermName = BuiltInTermName | `custom${string}`;

/** The terms that every fit may hold. */
export const termNames = Object.keys(records) as readonly BuiltInTermName[];

/** The built-in terms that turn the telescope itself; the others only shift what is read. */
export const turningTerms = [
  "polarAltitude",
  "polarEast",
  "cone",
  "squareness",
  "tubeSag",
  "ringSag",
  "trunnionSag",
] as const satisfies readonly BuiltInTermName[];

/** Label, sense, unit, prior and effect of every built-in term. */
export const termRecords: Readonly<Record<BuiltInTermName, TermRecord>> = records;

/** What a term is called and what its sign means. */
export type TermDescription = Pick<TermRecord, "label" | "positive" | "unit">;

/** Label, sense and unit of every built-in term. */
export const termDescriptions: Readonly<Record<BuiltInTermName, TermDescription>> = records;

/** Whether a term belongs to a cause that acts on some nights or mounts only. */
export function isOfCause(name: TermName): boolean {
  return name in records && termRecords[name as BuiltInTermName].cause !== undefined;
}

/** The place of a built-in term among a model's coefficients. */
export function termPlace(name: BuiltInTermName): number {
  return termNames.indexOf(name);
}
