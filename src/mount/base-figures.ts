/**
 * Figures of a base that no base is likely to have: mostly a figure in another unit. They are refused with the likely unit
 * named, unless the mount file says `"confirmed": true` in its base.
 */
import { type Fault, shown } from "../errors.js";

export type Raw = Readonly<Record<string, unknown>>;

/** What is usual, millimetres, and what a figure outside it is likely to be. */
interface Usual {
  readonly from: number;
  readonly to: number;
  readonly small: string;
  readonly large: string;
}

const INCH = "25.4 mm are an inch";
const pitch: Usual = {
  from: 0.5,
  to: 6,
  small: `It may be in metres, centimetres or inches (${INCH}).`,
  large:
    "It may be threads per inch: then the pitch is 25.4 divided by it. Or it is in tenths of a millimetre.",
};
const lever: Usual = {
  from: 200,
  to: 10_000,
  small: `It may be in metres, centimetres or inches (${INCH}).`,
  large: "It may be in tenths of a millimetre.",
};
const travel: Usual = {
  from: 0.2,
  to: 500,
  small: `It may be in metres, centimetres or inches (${INCH}).`,
  large: "It may be in tenths of a millimetre.",
};
const twist: Usual = {
  from: 0.02,
  to: 5,
  small: "It may be in metres or inches.",
  large: "It may be in tenths or hundredths of a millimetre.",
};

/** How far apart the outermost jacks of a base usually stand, millimetres. */
const JACKS: readonly [number, number] = [400, 10_000];

export const isObject = (value: unknown): value is Raw =>
  typeof value === "object" && value !== null && !Array.isArray(value);
export const isNumber = (value: unknown): value is number =>
  typeof value === "number" && Number.isFinite(value);

/**
 * The figures of a base that are unlikely.
 *
 * @param base - the raw base of a mount file
 * @returns a fault for each; none where the base is confirmed
 */
export function unlikelyFigures(base: Raw): Fault[] {
  if (base.confirmed === true) return [];
  const faults: Fault[] = [];
  const check = (owner: unknown, path: string, key: string, usual: Usual): void => {
    const value = isObject(owner) ? owner[key] : undefined;
    // What is not above zero is refused elsewhere, or means that nothing is left.
    if (!isNumber(value) || value <= 0 || (value >= usual.from && value <= usual.to)) return;
    add(
      `${path}.${key}`,
      shown(value),
      `${usual.from} to ${usual.to} mm`,
      value < usual.from ? usual.small : usual.large,
    );
  };
  const add = (path: string, found: string, usual: string, likely: string): void => {
    faults.push({
      code: "unlikely-figure",
      path,
      found,
      allowed: `usually ${usual}; where it is really so, put "confirmed": true into base`,
      message: `This is an unlikely figure in millimetres. ${likely}`,
    });
  };
  const jacks = Array.isArray(base.jacks) ? (base.jacks as unknown[]) : [];
  for (const [owner, path] of [
    [base, "base"] as const,
    ...jacks.map((jack, index) => [jack, `base.jacks[${index}]`] as const),
  ]) {
    check(owner, path, "pitchMm", pitch);
    check(owner, path, "raiseLeftMm", travel);
    check(owner, path, "lowerLeftMm", travel);
  }
  check(base, "base", "warpLimitMm", twist);
  const { azimuthBolts: bolts, lowerBearing: bearing } = base;
  check(bolts, "base.azimuthBolts", "leverMm", lever);
  check(bolts, "base.azimuthBolts", "pitchMm", pitch);
  check(bolts, "base.azimuthBolts", "travelMm", travel);
  check(bearing, "base.lowerBearing", "axisLengthMm", lever);
  check(bearing, "base.lowerBearing", "eastWestPitchMm", pitch);
  check(bearing, "base.lowerBearing", "upDownPitchMm", pitch);
  check(bearing, "base.lowerBearing", "travelMm", travel);

  const places = jacks.flatMap((jack) =>
    isObject(jack) && isNumber(jack.eastMm) && isNumber(jack.northMm)
      ? [[jack.eastMm, jack.northMm] as const]
      : [],
  );
  const widest = Math.max(
    0,
    ...places.flatMap((a) => places.map((b) => Math.hypot(a[0] - b[0], a[1] - b[1]))),
  );
  if (places.length > 1 && places.length <= 24 && widest > 0 && (widest < JACKS[0] || widest > JACKS[1])) {
    add(
      "base.jacks",
      `at most ${widest.toPrecision(3)} mm between two jacks`,
      `${JACKS[0]} to ${JACKS[1]} mm between the outermost jacks`,
      widest < JACKS[0]
        ? `The places may be in metres, centimetres or inches (${INCH}).`
        : "The places may be in tenths of a millimetre.",
    );
  }
  return faults;
}
