/**
 * The parts of a drive and how long each takes for one turn: whatever is out of round shows with that period.
 */
import type { Drive } from "../mount/mount.js";

/** A part that turns. */
export interface DrivePart {
  readonly name: string;
  /** One turn, seconds, while the drive follows the stars. */
  readonly periodS: number;
  /** Worked out from diameters and teeth, not stated. */
  readonly derived: boolean;
}

/** A turn of the sky, seconds: IAU 2006, the Earth's rotation against the stars. */
const SIDEREAL_DAY_S = 86_164.0989;

/**
 * The parts with their periods: those stated, and those that follow from diameters, teeth and reduction. The worm turns on the
 * roller's shaft where there is a roller, else on the polar axis.
 */
export function driveParts(drive: Drive | null): DrivePart[] {
  if (drive === null) return [];
  const parts: DrivePart[] = drive.parts.map(({ name, periodS }) => ({ name, periodS, derived: false }));
  const add = (name: string, periodS: number | null): void => {
    const same = parts.some(
      (part) => part.name.toLowerCase() === name || (periodS !== null && near(part.periodS, periodS)),
    );
    if (periodS !== null && periodS > 0 && !same) parts.push({ name, periodS, derived: true });
  };
  const { rollerDiameterMm, ringDiameterMm, wormTeeth, reduction } = drive;
  const roller =
    rollerDiameterMm === null || ringDiameterMm === null
      ? null
      : (SIDEREAL_DAY_S * rollerDiameterMm) / ringDiameterMm;
  add("roller", roller);
  add("worm", wormTeeth === null ? null : (roller ?? SIDEREAL_DAY_S) / wormTeeth);
  add("motor", reduction === null ? null : SIDEREAL_DAY_S / reduction);
  return parts;
}

function near(a: number, b: number): boolean {
  return Math.abs(a / b - 1) < 0.01;
}

/** Which part a period belongs to: a turn of it or a whole fraction of a turn. */
export interface PartMatch {
  readonly name: string;
  /** 1: once a turn; 2: twice, and so on. */
  readonly harmonic: number;
}

const MOST_HARMONICS = 6;

/**
 * The part whose turn, or a fraction of it, is this period; null where none is near.
 *
 * @param uncertaintyS - 1σ of the period
 */
export function partOf(periodS: number, uncertaintyS: number, parts: readonly DrivePart[]): PartMatch | null {
  let best: { match: PartMatch; off: number } | null = null;
  for (const part of parts) {
    for (let harmonic = 1; harmonic <= MOST_HARMONICS; harmonic++) {
      const expected = part.periodS / harmonic;
      const off = Math.abs(periodS - expected) / Math.hypot(uncertaintyS, 0.005 * expected);
      // A simpler fraction is likelier.
      if (off < 3 && (best === null || off + 0.5 * harmonic < best.off + 0.5 * best.match.harmonic))
        best = { match: { name: part.name, harmonic }, off };
    }
  }
  return best?.match ?? null;
}

/**
 * How far the motor's stated rate is off by the stated gearing alone, parts per million; null where not all is stated.
 */
export function statedRateError(drive: Drive | null): number | null {
  if (drive === null || drive.stepRateHz === null || drive.reduction === null || drive.stepsPerTurn === null)
    return null;
  return ((drive.stepRateHz * SIDEREAL_DAY_S) / (drive.stepsPerTurn * drive.reduction) - 1) * 1e6;
}
