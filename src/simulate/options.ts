/**
 * What a simulated night is made of.
 */
import type { Mount } from "../mount/mount.js";
import type { TermName } from "../mount/terms.js";
import type { Sighting } from "../night/sighting.js";

/** Something that goes wrong in a night. Rows count from 1; angles are arcminutes. */
export type SimulatedFault =
  /** The builder took another star than he wrote: a neighbour, any star that is up, or the one named. */
  | {
      readonly kind: "misnamed";
      readonly row: number;
      readonly instead: "neighbour" | "any" | { readonly star: string };
    }
  /** From this row on the readings have moved. */
  | {
      readonly kind: "zeros-moved";
      readonly row: number;
      readonly hourAngle: number;
      readonly declination: number;
    }
  /** One sighting is off by so much on the sky. */
  | { readonly kind: "outlier"; readonly row: number; readonly west: number; readonly north: number }
  /** The encoder counts the other way than the mount file says. */
  | { readonly kind: "sense-reversed"; readonly axis: "hourAngle" | "declination" }
  /** The mount file's `perTurn` is the true one times `factor`. */
  | { readonly kind: "wrong-steps"; readonly axis: "hourAngle" | "declination"; readonly factor: number }
  /** The times written are the true ones plus so many hours. */
  | { readonly kind: "clock"; readonly hours: number }
  /** The mount file's longitude has the wrong sign. */
  | { readonly kind: "longitude-sign" };

/** A star to be sighted at a time. */
export interface SimulatedTarget {
  /** Any name that the catalogue knows. */
  readonly star: string;
  /** Milliseconds of UTC since 1970. */
  readonly timeMs: number;
}

/** What night is to be simulated. Terms, drawing of stars, noise and faults may be left out. */
export interface SimulationOptions {
  /** The same seed gives the same night. */
  readonly seed: number;
  /** The mount as it truly is. Faults change the mount file, not this. */
  readonly mount: Mount;
  /** The true errors, arcminutes (scale errors arcminutes a radian); left out: 0. */
  readonly terms?: Readonly<Partial<Record<TermName, number>>>;
  /** The stars and when, or how many stars are to be drawn. */
  readonly targets: readonly SimulatedTarget[] | number;
  /** For drawn stars: the first moment, milliseconds of UTC since 1970. */
  readonly fromMs?: number;
  /** For drawn stars: the last moment. */
  readonly toMs?: number;
  /** For drawn stars: anywhere within the limits, or within 12° of the equator. */
  readonly choice?: "sky" | "equator";
  /** For drawn stars: none fainter; 3.5 when left out. */
  readonly faintest?: number;
  /** On which side of the meridian the tube is turned over the pole; `never` when left out. */
  readonly beyond?: "never" | "east" | "west";
  /** The counters go round to 0 after a full turn. */
  readonly countsWrap?: boolean;
  /** Whether each axis is approached by chance from either side, and whether that is written down. */
  readonly approach?: "unknown" | "written";
  /** Multiplies centring and timing errors; 0 leaves the steps of the encoder only. */
  readonly noise?: number;
  readonly faults?: readonly SimulatedFault[];
  /** Lines that go before the header of the CSV as comments. */
  readonly comments?: readonly string[];
}

/** What was really under a sighting. */
export interface TrueSighting {
  /** Counted from 1. */
  readonly row: number;
  /** The star that stood in the field. */
  readonly star: string;
  /** The star that was written down. */
  readonly written: string;
  /** Observed place of the star in the field, degrees. */
  readonly hourAngleDeg: number;
  readonly declinationDeg: number;
  readonly altitudeDeg: number;
  /** How far from the star the telescope pointed, arcminutes: centring and timing. */
  readonly west: number;
  readonly north: number;
}

/** The truth behind a simulated night. */
export interface SimulatedTruth {
  readonly seed: number;
  /** Arcminutes (scale errors arcminutes a radian); the zeros are those of the first row. */
  readonly terms: Readonly<Partial<Record<TermName, number>>>;
  readonly sightings: readonly TrueSighting[];
  readonly faults: readonly SimulatedFault[];
}

/** What a builder would have entered, and the truth behind it. */
export interface SimulatedNight {
  /** As the mount file says, faults included. */
  readonly mount: Mount;
  readonly sightings: readonly Sighting[];
  /** The night file. */
  readonly csv: string;
  readonly truth: SimulatedTruth;
}
