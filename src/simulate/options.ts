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
  /** The times written are the true ones plus so many hours: all night, or from a row on. */
  | { readonly kind: "clock"; readonly hours: number; readonly row?: number }
  /** The mount file's longitude or latitude has the wrong sign, or each stands in the other's place. */
  | { readonly kind: "longitude-sign" | "latitude-sign" | "site-exchanged" };

/**
 * What a mount, its encoders and a hand do beside what the terms hold. Arcminutes; what is left out does not happen.
 * Where something drifts, the true terms are those at the last sighting.
 */
export interface Disturbance {
  /** Seed of what chance decides here; two nights of one mount share it. The night's own when left out. */
  readonly seed?: number;
  /** Jumps by twice this where the hour-angle axis crosses the meridian: added to the west of it, taken off to the east. */
  readonly meridianStep?: AxisPair;
  /** How far each zero creeps from the first sighting to the last, evenly in time. */
  readonly creep?: AxisPair;
  /** How far the polar axis moves from the first sighting to the last, evenly in time. */
  readonly settling?: { readonly altitude: number; readonly east: number };
  /** Amplitudes of a second harmonic of the axis's own angle, phase by chance. */
  readonly secondHarmonic?: AxisPair;
  /** Rms of a smooth error, the same wherever the telescope points there again, on the sky west and north. */
  readonly smoothField?: { readonly rms: number; readonly lengthRad: number };
  /** The stars are centred so many times worse than the mount file says. */
  readonly centringFactor?: number;
  /** Degrees of freedom (3 and more) of Student's distribution of the errors, of the same 1σ as the normal one. */
  readonly tails?: number;
}

/** One value for each axis. */
export interface AxisPair {
  readonly hourAngle: number;
  readonly declination: number;
}

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
  /**
   * For drawn stars: anywhere within the limits, or within 12° of the equator; `pictures`: no stars but places
   * drawn evenly over the sky within the limits, given by their coordinates as a solved picture gives them.
   */
  readonly choice?: "sky" | "equator" | "pictures";
  /** For drawn stars: none fainter; 3.5 when left out. */
  readonly faintest?: number;
  /** On which side of the meridian the tube is turned over the pole; `never` when left out. */
  readonly beyond?: "never" | "east" | "west";
  /** The counters go round to 0 after a full turn. */
  readonly countsWrap?: boolean;
  /**
   * Whether each axis is approached by chance from either side, and whether that is written down; `by-order`: from
   * where the sighting before left it, the first by chance, and not written down.
   */
  readonly approach?: "unknown" | "written" | "by-order";
  /** Multiplies centring and timing errors; 0 leaves the steps of the encoder only. */
  readonly noise?: number;
  readonly disturbance?: Disturbance;
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
  /**
   * Arcminutes (scale errors arcminutes a radian); where zeros jump they are those of the first row, where zeros or
   * the axis drift those at the last sighting.
   */
  readonly terms: Readonly<Partial<Record<TermName, number>>>;
  readonly sightings: readonly TrueSighting[];
  readonly faults: readonly SimulatedFault[];
  readonly disturbance: Disturbance;
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
