/**
 * What to change so that the drive runs right.
 */
import type { Estimate } from "../fit/fit-result.js";
import type { Drive } from "../mount/mount.js";
import type { DriveRemedy, RateRemedy } from "./drive-result.js";

/** Beyond so many standard deviations an error is told from nothing. */
const TOLD_SIGMAS = 2;
const PPM = 1e-6;

/**
 * The ways to correct the rate, the cheapest first, and whether it is worth it.
 *
 * A roller of diameter d turns the ring by d / D of its own turn: a drive that is too slow by e needs a roller of d · (1 + e).
 *
 * @param rate - the error found, parts per million, negative when too slow
 * @param meanPpm - the mean best rate above the sidereal one
 * @param longest - how long an exposure may be as it is, and with the rate corrected
 */
export function driveRemedy(
  rate: { readonly errorPpm: number; readonly uncertaintyPpm: number; readonly herePpm: Estimate },
  meanPpm: number,
  drive: Drive | null,
  longest: { readonly asItIsS: number; readonly rateCorrectedS: number },
): DriveRemedy {
  const runs = 1 + PPM * rate.errorPpm;
  const relative = PPM * rate.uncertaintyPpm;
  const ways: RateRemedy[] = [];
  const add = (means: RateRemedy["means"], unit: RateRemedy["unit"], now: number, sense: 1 | -1): void => {
    const wanted = (rateWanted: number): number =>
      sense === 1 ? (now * rateWanted) / runs : (now * runs) / rateWanted;
    ways.push({
      means,
      unit,
      now,
      sidereal: wanted(1),
      meanBest: wanted(1 + PPM * meanPpm),
      uncertainty: now * relative,
    });
  };
  if (drive !== null && drive.stepRateHz !== null) add("step rate", "Hz", drive.stepRateHz, 1);
  if (drive !== null && drive.rollerDiameterMm !== null) add("roller", "mm", drive.rollerDiameterMm, 1);
  if (drive !== null && drive.reduction !== null)
    add("ratio", "turns of the motor for one of the axis", drive.reduction, -1);
  const size = Math.abs(rate.errorPpm).toFixed(0);
  const way = rate.errorPpm < 0 ? "slow" : "fast";
  const { herePpm } = rate;
  if (Math.abs(rate.errorPpm) < TOLD_SIGMAS * rate.uncertaintyPpm) {
    if (Math.abs(herePpm.value) > TOLD_SIGMAS * herePpm.uncertainty) {
      const here = `At this star the telescope runs ${Math.abs(herePpm.value).toFixed(0)} ± ${herePpm.uncertainty.toFixed(0)} ppm too ${herePpm.value < 0 ? "slow" : "fast"}.`;
      return {
        verdict: "step-rate-only",
        sentence: `${here} The axis and the tube's sag, as far as they are not known, could do as much (± ${rate.uncertaintyPpm.toFixed(0)} ppm). Correct the step rate if you like, but cut no metal yet: sight a night of stars first, or follow a second star elsewhere.`,
        ways,
      };
    }
    return {
      verdict: "not-known-yet",
      sentence: `Change nothing: the rate's error (${size} ppm) cannot be distinguished from zero (± ${rate.uncertaintyPpm.toFixed(0)} ppm).`,
      ways,
    };
  }
  const first = ways[0];
  const how =
    first === undefined
      ? "the mount file does not say what sets the rate: add stepRateHz, rollerDiameterMm or reduction to its drive."
      : textOf(first);
  const found = `The drive is ${size} ppm too ${way}.`;
  if (longest.asItIsS > 0.8 * longest.rateCorrectedS) {
    return {
      verdict: "leave",
      sentence: `${found} That shortens exposures by less than a fifth, so it may stay as it is. To correct it all the same: ${how}`,
      ways,
    };
  }
  return { verdict: "correct", sentence: `${found} To correct it: ${how}`, ways };
}

function textOf(way: RateRemedy): string {
  const digits = Math.max(0, Math.ceil(-Math.log10(Math.max(way.uncertainty, 1e-9))) + 1);
  const figure = (value: number): string => value.toFixed(Math.min(6, digits));
  const name = way.means === "roller" ? "roller's diameter" : way.means;
  return `change the ${name} from ${figure(way.now)} to ${figure(way.meanBest)} (± ${figure(way.uncertainty)}) ${way.unit} for the mean best rate; ${figure(way.sidereal)} is the sidereal rate.`;
}
