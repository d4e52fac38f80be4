import type { IcrsPosition, Star } from "../sky/star.js";

/** Which side of the mount the tube was on: `beyond` means turned over the pole. */
export type Side = "normal" | "beyond";

/** One star centred and read, as it stands in the night file, validated. */
export interface Sighting {
  /** Counted from 1 at the first sighting of the night. */
  readonly row: number;
  /** Line of the night file, counted from 1; null when it did not come from a file. */
  readonly line: number | null;
  /** The time as written. */
  readonly time: string;
  /** The time, milliseconds of UTC since 1970. */
  readonly timeMs: number;
  /** The star's label, or the coordinates as text. */
  readonly star: string;
  /** The star of the catalogue, or null when coordinates were given. */
  readonly catalogueStar: Star | null;
  readonly position: IcrsPosition;
  /**
   * The hour-angle axis's reading in the unit of the mount file (a right ascension in hours where it shows that); null
   * where it was not read.
   */
  readonly hourAngle: number | null;
  /** The declination axis's reading in the unit of the mount file; null where it was not read. */
  readonly declination: number | null;
  /**
   * Label of the setting in which the declination axis was locked: all rows of a group have the declination axis at the
   * same place. Null where none is given.
   */
  readonly group: string | null;
  /** The air at this sighting; null: as the mount file says. */
  readonly pressureHPa: number | null;
  readonly temperatureC: number | null;
  /** Label of the encoder zeros in force; an empty string where none is given. */
  readonly zeroSet: string;
  /** Label of the tube's position in its rings; an empty string where none is given. */
  readonly tubeSet: string;
  readonly side: Side;
  readonly hourAngleApproach: 1 | -1 | null;
  readonly declinationApproach: 1 | -1 | null;
  /** How well this star was centred, 1σ, arcminutes; null: as the mount file says. */
  readonly centringArcmin: number | null;
  /** False where the builder wants it left out of the fit. */
  readonly use: boolean;
  /** True where a later line took it back; it is then out of use. */
  readonly withdrawn?: boolean;
  readonly note: string;
}
