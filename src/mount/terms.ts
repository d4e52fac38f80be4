/** The terms that every fit may hold. */
export const termNames = [
  "hourAngleZero",
  "declinationZero",
  "polarAltitude",
  "polarEast",
  "cone",
  "squareness",
  "tubeSag",
  "ringSag",
  "trunnionSag",
  "hourAngleEccentricSin",
  "hourAngleEccentricCos",
  "declinationEccentricSin",
  "declinationEccentricCos",
  "hourAngleScale",
  "declinationScale",
  "hourAngleBacklash",
  "declinationBacklash",
] as const;

/** The key of a built-in term. */
export type BuiltInTermName = (typeof termNames)[number];
/** The key of a built-in term or of a builder's own. */
export type TermName = BuiltInTermName | `custom${string}`;

/** What a term is called and what its sign means. */
export interface TermDescription {
  readonly label: string;
  /** What a positive value means. */
  readonly positive: string;
  readonly unit: "arcmin" | "arcmin/rad";
}

/** Label, sense and unit of every built-in term. */
export const termDescriptions: Readonly<Record<BuiltInTermName, TermDescription>> = {
  hourAngleZero: {
    label: "hour-angle zero",
    positive: "the reading is west of the true hour angle",
    unit: "arcmin",
  },
  declinationZero: {
    label: "declination zero",
    positive: "the reading is north of the true declination",
    unit: "arcmin",
  },
  polarAltitude: {
    label: "polar axis altitude error",
    positive: "the elevated end of the axis points too high",
    unit: "arcmin",
  },
  polarEast: {
    label: "polar axis east error",
    positive: "the elevated end of the axis points too far east",
    unit: "arcmin",
  },
  cone: {
    label: "collimation (cone) error",
    positive: "the optical axis leans to the east end of the declination axis",
    unit: "arcmin",
  },
  squareness: {
    label: "axis squareness",
    positive: "the east end of the declination axis leans away from the north pole",
    unit: "arcmin",
  },
  tubeSag: { label: "tube sag", positive: "the optical axis droops as the tube goes down", unit: "arcmin" },
  ringSag: {
    label: "ring sag",
    positive: "the reading is north on the meridian, by the cosine of the hour angle",
    unit: "arcmin",
  },
  trunnionSag: {
    label: "trunnion sag",
    positive: "the declination axis gives under the tube's weight",
    unit: "arcmin",
  },
  hourAngleEccentricSin: {
    label: "hour-angle encoder eccentricity, sine",
    positive: "reading ahead at 90 degrees",
    unit: "arcmin",
  },
  hourAngleEccentricCos: {
    label: "hour-angle encoder eccentricity, cosine",
    positive: "reading ahead at 0 degrees",
    unit: "arcmin",
  },
  declinationEccentricSin: {
    label: "declination encoder eccentricity, sine",
    positive: "reading ahead at 90 degrees",
    unit: "arcmin",
  },
  declinationEccentricCos: {
    label: "declination encoder eccentricity, cosine",
    positive: "reading ahead at 0 degrees",
    unit: "arcmin",
  },
  hourAngleScale: {
    label: "hour-angle scale error",
    positive: "the reading grows faster than the angle",
    unit: "arcmin/rad",
  },
  declinationScale: {
    label: "declination scale error",
    positive: "the reading grows faster than the angle",
    unit: "arcmin/rad",
  },
  hourAngleBacklash: {
    label: "hour-angle backlash",
    positive: "half of it ahead when approached westward",
    unit: "arcmin",
  },
  declinationBacklash: {
    label: "declination backlash",
    positive: "half of it ahead when approached northward",
    unit: "arcmin",
  },
};
