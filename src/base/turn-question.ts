/** What an advice is asked for. */
import type { Evidence } from "../fit/evidence.js";
import type { PoleError } from "../fit/fit-result.js";
import type { Mount } from "../mount/mount.js";
import type { TurnMade } from "./adjusters/adjuster.js";
import type { AltitudeMeans, AzimuthMeans } from "./adjusters/adjusters.js";
import type { RoundVerdict } from "./another-round.js";
import type { Gains } from "./gains.js";
import type { Aim } from "./turn-advice.js";

/** What the builder may choose. */
export interface TurnOptions {
  /** What moves the axis in azimuth; `auto` weighs what there is. */
  readonly azimuthBy?: AzimuthMeans | "auto";
  /** What moves the axis in altitude. */
  readonly altitudeBy?: AltitudeMeans | "auto";
  /** Which pole to aim at: the true one (default) or the refracted one. */
  readonly aim?: Aim;
  /** What earlier rounds have taught; by default 1 ± 0.2 everywhere. */
  readonly gains?: Gains;
  /** What has been turned since the mount file's travel was measured: it is no longer left. */
  readonly used?: readonly TurnMade[];
}

/** What an advice starts from. */
export interface TurnQuestion {
  readonly mount: Mount;
  readonly pole: Pick<PoleError, "altitude" | "east" | "covariance">;
  /** False when the readings cannot be trusted: no turns then. */
  readonly sound: boolean;
  /** What is wrong when they cannot. */
  readonly troubles: readonly string[];
  /** What the sightings allow; all, where it is left out and the readings are sound. */
  readonly evidence?: Evidence;
  /** The decision, where it was made elsewhere (by the last night of several). */
  readonly decided?: RoundVerdict;
}

/** The pole aimed at: how far above the true one, arcminutes, and why. */
export interface AimPlace {
  readonly at: Aim;
  readonly altitude: number;
  readonly reason: string;
}
