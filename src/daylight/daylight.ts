/**
 * Before the first star, by daylight: the axis's tilt by an inclinometer, north by a plumb line's shadow or by a
 * compass, and whether that is good enough for the first stars to fall into the finder.
 */
import { DEGREE } from "../angles.js";
import { refractedPole } from "../base/aim.js";
import { anotherRound } from "../base/another-round.js";
import { adviseTurns } from "../base/jack-turns.js";
import type { TurnAdvice } from "../base/turn-advice.js";
import { type Fault, InputError, shown } from "../errors.js";
import type { Mount } from "../mount/mount.js";
import { SUN_CAUTION } from "../pointing/sun-safety.js";
import { TIME_RANGE_MS } from "../sky/time.js";
import { type MagneticDeclination, magneticDeclination } from "./compass.js";
import { type ShadowDay, type ShadowOptions, shadowDay } from "./shadow.js";

/** What the builder has at hand and has measured. Everything may be left out. */
export interface DaylightOptions extends ShadowOptions {
  /** The axis's tilt from level as measured, degrees; null when it has not been. */
  readonly measuredTiltDeg?: number | null;
  /** How well the inclinometer reads, 1σ, degrees; 0.1. */
  readonly inclinometerDeg?: number;
  /** How well the compass reads, 1σ, degrees; 1. */
  readonly compassDeg?: number;
  /** The finder's field, its diameter, degrees; 5. */
  readonly finderFieldDeg?: number;
}

/** The tilt of the polar axis. */
export interface TiltAnswer {
  /** The end of the axis that must be the upper one. */
  readonly upperEnd: "north" | "south";
  /** How far the axis must rise from level: the latitude, degrees. */
  readonly tiltDeg: number;
  /** By how much refraction lifts the pole, arcminutes: nothing that an inclinometer shows. */
  readonly refractionArcmin: number;
  /** As measured; null when it has not been. */
  readonly measuredDeg: number | null;
  /** Measured minus wanted, arcminutes, too high positive; null when not measured. */
  readonly errorArcmin: number | null;
  /** The base's turns for it; null when not measured or the mount file has no base. */
  readonly turns: TurnAdvice | null;
  /** How well the inclinometer reads, 1σ. */
  readonly accuracyDeg: number;
}

/** North by compass. */
export interface CompassAnswer extends MagneticDeclination {
  /** What a compass shows in the direction of true north, degrees, 0 to 360. */
  readonly bearingOfTrueNorthDeg: number;
  /** What it shows in the direction of the axis's upper end. */
  readonly bearingOfUpperEndDeg: number;
  /** How well it tells north, 1σ, the field model's own error included. */
  readonly accuracyDeg: number;
  readonly usable: boolean;
  readonly cautions: readonly string[];
}

/** Whether the first stars will be found. */
export interface FirstStars {
  readonly northBy: "shadow" | "compass";
  /** How far off the axis then may be, 1σ, degrees on the sky. */
  readonly axisDeg: number;
  /** Twice that, against half the finder's field. */
  readonly suffices: boolean;
  readonly text: string;
}

/** What can be set by daylight. */
export interface Daylight {
  readonly mount: string;
  /** The zone of the site's clocks, IANA; null where the mount file names none. */
  readonly timeZone: string | null;
  readonly cautions: readonly string[];
  readonly tilt: TiltAnswer;
  readonly shadow: ShadowDay;
  readonly compass: CompassAnswer;
  readonly finderFieldDeg: number;
  readonly firstStars: readonly FirstStars[];
}

/** What goes with all daylight work. */
const daylightCautions: readonly string[] = [
  SUN_CAUTION,
  "North comes from the shadow on the ground, never from the Sun itself: stand with your back to it.",
];

/** Weaker than this a needle is not to be trusted, and weaker than that not at all, nanotesla (the World Magnetic Model's zones). */
const CAUTION_NT = 6000;
const BLACKOUT_NT = 2000;

/**
 * What a builder can set by daylight, before the first star.
 *
 * @param mount - the mount
 * @param timeMs - a time of the day in question, milliseconds of UTC since 1970
 * @throws {@link InputError} with every option that is out of range
 * @example
 * ```ts
 * daylight(mount, parseTime("2026-03-14T10:00:00Z"), { measuredTiltDeg: 28.9 }).tilt.turns?.steps
 * ```
 */
export function daylight(mount: Mount, timeMs: number, options: DaylightOptions = {}): Daylight {
  const full = checkedOptions(mount, timeMs, options);
  const { site } = mount;
  const upperEnd = site.latitude < 0 ? "south" : "north";
  const tiltDeg = Math.abs(site.latitude);
  const errorArcmin = full.measuredTiltDeg === null ? null : 60 * (full.measuredTiltDeg - tiltDeg);
  const tilt: TiltAnswer = {
    upperEnd,
    tiltDeg,
    refractionArcmin: refractedPole(site),
    measuredDeg: full.measuredTiltDeg,
    errorArcmin,
    turns: errorArcmin === null ? null : tiltTurns(mount, errorArcmin, full.inclinometerDeg),
    accuracyDeg: full.inclinometerDeg,
  };
  const shadow = shadowDay(site, timeMs, full);
  const compass = compassAnswer(mount, timeMs, full.compassDeg, upperEnd);
  const firstStars: FirstStars[] = [];
  if (shadow.best !== null) {
    firstStars.push(firstStarsBy("shadow", shadow.table[shadow.best]!.accuracyDeg, mount, full));
  }
  if (compass.usable) firstStars.push(firstStarsBy("compass", compass.accuracyDeg, mount, full));
  return {
    mount: mount.name,
    timeZone: site.timeZone ?? null,
    cautions: daylightCautions,
    tilt,
    shadow,
    compass,
    finderFieldDeg: full.finderFieldDeg,
    firstStars,
  };
}

function tiltTurns(mount: Mount, errorArcmin: number, inclinometerDeg: number): TurnAdvice | null {
  if (mount.base === null) return null;
  const uncertainty = 60 * inclinometerDeg;
  // North is set apart from this, by shadow or compass.
  const pole = {
    altitude: { value: errorArcmin, uncertainty },
    east: { value: 0, uncertainty },
    covariance: 0,
  };
  const evidence = { allows: "advice", missing: 0, unsound: false } as const;
  const decided = anotherRound({ mount, pole, evidence });
  // By daylight a rough correction serves: what is more than the inclinometer's own error is worth turning.
  const rough = decided.verdict === "stop" ? { ...decided, verdict: "turn" as const } : decided;
  return adviseTurns({ mount, pole, sound: true, troubles: [], decided: rough });
}

function compassAnswer(
  mount: Mount,
  timeMs: number,
  compassDeg: number,
  upperEnd: "north" | "south",
): CompassAnswer {
  const field = magneticDeclination(mount.site, timeMs);
  const bearing = (azimuth: number): number => (((azimuth - field.declinationDeg) % 360) + 360) % 360;
  const usable = field.horizontalNT >= BLACKOUT_NT;
  const cautions = [
    "Steel pulls the needle: read it several metres away from the base, the frame, vehicles and reinforced floors, along a line stretched past the mount, and compare two places.",
  ];
  if (field.warning !== null) cautions.push(field.warning);
  if (!usable) {
    cautions.push("The field is too weak to hold a needle so near the magnetic pole: use the shadow.");
  } else if (field.horizontalNT < CAUTION_NT) {
    cautions.push("The field is weak here and the needle sluggish: trust the shadow rather.");
  }
  return {
    ...field,
    bearingOfTrueNorthDeg: bearing(0),
    bearingOfUpperEndDeg: bearing(upperEnd === "north" ? 0 : 180),
    accuracyDeg: Math.hypot(compassDeg, field.modelUncertaintyDeg),
    usable,
    cautions,
  };
}

function firstStarsBy(
  northBy: "shadow" | "compass",
  northDeg: number,
  mount: Mount,
  options: { readonly inclinometerDeg: number; readonly finderFieldDeg: number },
): FirstStars {
  const east = northDeg * Math.cos(mount.site.latitude * DEGREE);
  const axisDeg = Math.hypot(options.inclinometerDeg, east);
  const half = options.finderFieldDeg / 2;
  const suffices = 2 * axisDeg <= half;
  const found = `the axis will stand within ${(2 * axisDeg).toFixed(1)}° (19 times in 20); half the finder's field is ${half.toFixed(1)}°`;
  return {
    northBy,
    axisDeg,
    suffices,
    text: suffices
      ? `Good enough by ${northBy}: ${found}, so once one star has set the zeros the others will be in it.`
      : `Not good enough by ${northBy}: ${found}. Look around for the first stars, or measure better.`,
  };
}

const ranges = {
  inclinometerDeg: [0.001, 10],
  compassDeg: [0.01, 45],
  finderFieldDeg: [0.1, 60],
  plumbHeightMm: [10, 20_000],
  markMm: [0.01, 100],
  clockS: [0, 600],
  stepMinutes: [1, 120],
} as const;

function checkedOptions(mount: Mount, timeMs: number, options: DaylightOptions) {
  const full = {
    inclinometerDeg: 0.1,
    compassDeg: 1,
    finderFieldDeg: 5,
    plumbHeightMm: 1500,
    markMm: 1,
    clockS: 2,
    stepMinutes: 15,
    measuredTiltDeg: null as number | null,
    ...(Object.fromEntries(
      Object.entries(options).filter(([, value]) => value !== undefined),
    ) as DaylightOptions),
  };
  const measuredTiltDeg = full.measuredTiltDeg ?? null;
  const faults: Fault[] = [];
  for (const [key, [from, to]] of Object.entries(ranges)) {
    const value = full[key as keyof typeof ranges];
    if (value >= from && value <= to) continue;
    faults.push({
      code: "option-out-of-range",
      path: key,
      found: shown(value),
      allowed: `from ${from} to ${to}`,
      message: "This option is outside what is allowed.",
    });
  }
  if (measuredTiltDeg !== null && !(measuredTiltDeg >= -10 && measuredTiltDeg <= 100)) {
    faults.push({
      code: "option-out-of-range",
      path: "measuredTiltDeg",
      found: shown(measuredTiltDeg),
      allowed: `degrees from level, about ${Math.abs(mount.site.latitude)} at this latitude`,
      message: "The measured tilt of the axis cannot be that.",
    });
  }
  if (!(timeMs >= TIME_RANGE_MS[0] + 2 * 86_400_000 && timeMs < TIME_RANGE_MS[1] - 2 * 86_400_000)) {
    faults.push({
      code: "time-out-of-range",
      found: shown(timeMs),
      allowed: "a time from 1900 to 2100",
      message: "The time is outside the years that are covered.",
    });
  }
  if (faults.length > 0) throw new InputError(faults);
  return { ...full, measuredTiltDeg };
}
