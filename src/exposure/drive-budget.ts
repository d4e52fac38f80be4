/** What the drive adds to an exposure: its rate error, and its periodic error at the worst beginning. */
import type { DriveResult } from "../drive/drive-result.js";
import { driveSmear, type Wave } from "../drive/drive-smear.js";

/** What of a drive counts in an exposure. */
export interface DriveBudget {
  /** Over the sidereal rate, parts per million; 0 where the course told no rate. */
  readonly ratePpm: number;
  readonly peakToPeakArcsec: number;
  /** How far the periodic errors carry a star on the equator between any two moments so far apart, arcseconds. */
  wavesArcsec(seconds: number): number;
}

/** From the shortest exposure to the longest, so close that a straight line in between is exact to a hundredth of the smear. */
const FIRST_S = 0.25;
const STEP = 1.05;
/** The longest exposure that is looked for, seconds. */
export const LONGEST_EXPOSURE_S = 4 * 3600;

const tables = new WeakMap<readonly Wave[], (seconds: number) => number>();

/** The budget of a drive whose track was read. */
export function driveBudget(drive: Pick<DriveResult, "rate" | "waves" | "peakToPeakArcsec">): DriveBudget {
  let wavesArcsec = tables.get(drive.waves);
  if (wavesArcsec === undefined) {
    wavesArcsec = tabled(drive.waves);
    tables.set(drive.waves, wavesArcsec);
  }
  return {
    ratePpm: drive.rate?.errorPpm ?? 0,
    peakToPeakArcsec: drive.peakToPeakArcsec,
    wavesArcsec,
  };
}

/** A map of the sky asks thousands of times: the smear is worked out once for each length in a table. */
function tabled(waves: readonly Wave[]): (seconds: number) => number {
  if (waves.length === 0) return () => 0;
  const lengths = [0];
  for (let seconds = FIRST_S; seconds < LONGEST_EXPOSURE_S * STEP; seconds *= STEP) lengths.push(seconds);
  const smears = lengths.map((seconds) => (seconds === 0 ? 0 : driveSmear(waves, 0, seconds)));
  return (seconds) => {
    const place = seconds < FIRST_S ? 0 : 1 + Math.floor(Math.log(seconds / FIRST_S) / Math.log(STEP));
    const at = Math.min(place, lengths.length - 2);
    const part = (seconds - lengths[at]!) / (lengths[at + 1]! - lengths[at]!);
    return smears[at]! + part * (smears[at + 1]! - smears[at]!);
  };
}
