/**
 * What is believed of builders, mounts and nights before tonight's sightings speak: every number in the price of a story.
 * A price is −2 ln of odds. Where no source is named, the number is a judgement, stated so that it can be disputed.
 */
import { ARCMINUTE, DEGREE } from "../angles.js";
import type { CauseName } from "../mount/terms.js";

/** −2 ln of a probability. */
export const priceOf = (probability: number): number => -2 * Math.log(probability);

/** How often a cause acts, and how often it then has {@link WIDER} times the width that the mount file says. */
export interface Chance {
  readonly acts: number;
  readonly wider: number;
}

/** A cause that acts has the width that the mount file says, or so many times that width: builders forgive their encoders. */
export const WIDER = 3;
const usual = (acts: number): Chance => ({ acts, wider: 0.3 });

/** On most mounts each cause acts for itself. */
export const CAUSE_CHANCE: Readonly<Record<CauseName, Chance>> = {
  hourAngleEccentricity: usual(0.25),
  declinationEccentricity: usual(0.25),
  hourAngleScale: usual(0.06),
  declinationScale: usual(0.06),
  hourAngleBacklash: usual(0.15),
  declinationBacklash: usual(0.15),
  hourAngleMeridianStep: usual(0.2),
  declinationMeridianStep: usual(0.2),
  hourAngleCreep: usual(0.05),
  declinationCreep: usual(0.05),
  settling: usual(0.15),
};

/**
 * On so many mounts the encoders are poor together: one hand fitted both, in one way. What an eccentricity of one axis
 * shows then speaks for that of the other, and for both scales.
 */
export const POOR_ENCODERS = 0.2;
export const POOR_CHANCE: Readonly<Partial<Record<CauseName, Chance>>> = {
  hourAngleEccentricity: { acts: 0.8, wider: 0.5 },
  declinationEccentricity: { acts: 0.8, wider: 0.5 },
  hourAngleScale: { acts: 0.4, wider: 0.5 },
  declinationScale: { acts: 0.4, wider: 0.5 },
};

/** How often a cause acts, whatever the mount. */
export function chanceOf(cause: CauseName): number {
  const own = CAUSE_CHANCE[cause];
  const poor = POOR_CHANCE[cause] ?? own;
  return (1 - POOR_ENCODERS) * own.acts + POOR_ENCODERS * poor.acts;
}

/**
 * What is quoted gives each cause at least this part of its chance before the night. The evidence against a cause is mostly
 * that the night is told without it (Occam's factor), not that it does not act: 0.6′ of eccentricity hides behind the sag
 * of the tube. On 250 nights with a fine, eccentric encoder 22 had a term more than 3.5σ wrong at 0, four at 0.7; the pole
 * of a clean night is then 4 % wider (node test/study/worlds.mjs --world fine,clean --nights 250 --seed 6).
 */
export const KEPT_CHANCE = 0.7;

/** Amplitudes of the smooth residue, arcminutes, equally likely where it acts; and how often it acts. */
export const RESIDUE_AMPLITUDES = [0.06, 0.12, 0.25, 0.5, 1];
export const RESIDUE_CHANCE = 0.4;
/** The residue over the sky: its share of the variance, its reach as in exp(−(1 − cos θ)/reach²), its degrees. */
export const SKY_SHARE = 0.6;
export const SKY_REACH = 0.8;
export const SKY_DEGREES = 5;
/** The residue along the hour angle: exp(−2 sin²(Δ/2)/reach²), its harmonics. */
export const HOUR_SHARE = 0.4;
export const HOUR_REACH = 0.6;
export const HOUR_HARMONICS = 4;

/** The expected errors are right to this factor (1σ of the logarithm), and never too large. */
export const ERROR_SCALE_SPREAD = 0.5;
/** Logarithms of the scales tried: near 1 as close as a night of 24 tells them apart. */
export const ERROR_SCALE_LOGS = [0, 0.08, 0.17, 0.27, 0.4, 0.55, 0.75, 1, 1.35, 1.8, 2.4];

/** A polar axis is hardly set worse than this by daylight (1σ). */
export const AXIS_SPREAD = 8 * DEGREE;
/** Nothing is known of an encoder's zero or of a builder's own free term: half a turn keeps it finite. */
export const NOTHING_KNOWN = Math.PI;

/** The chance, over a whole clean night, that any sighting is excluded. */
export const FALSE_EXCLUSION = 0.001;
/** How often, on a night, the zero of one given axis jumps, and both zeros at once (a power failure). */
export const JUMP_CHANCE = 0.02;
export const BOTH_JUMP_CHANCE = 0.01;
/** Half of all jumps are smaller than this (Cauchy's distribution: slips have any size). */
export const JUMP_SIZE = 15 * ARCMINUTE;
/** One mount file in three thousand has a given wrong setting of an encoder. */
export const SETTING_CHANCE = 1 / 3000;
/** Share of nights with a wrong clock, zone or site. */
export const CLOCK_CHANCE = 0.03;
/** Share of nights in which the times change their zone on the way. */
export const CLOCK_STEP_CHANCE = 0.01;
/** Share of mount files with a latitude of the wrong sign, and with latitude and longitude exchanged. */
export const LATITUDE_SIGN_CHANCE = 0.003;
export const SITE_EXCHANGED_CHANCE = 0.001;
/** How near to nothing a zero is that was set by hand: a mixture of careful and careless. */
export const ZERO_SPREADS = [0.15 * DEGREE, 0.5 * DEGREE, 1.5 * DEGREE];
/** How often zeros are set at all: on a dial nearly always, in every second encoder. */
export const ZERO_SET_DIAL = 0.9;
export const ZERO_SET_COUNTS = 0.5;
/** What a star below the horizon, and the Sun above it, add to the price of a night. */
export const BELOW_HORIZON_PRICE = 25;
export const SUN_UP_PRICE = 8;

/** Odds from which a fault of clock or site is called, and from which it is mentioned. */
export const CALLED_ODDS = 3;
export const MENTIONED_ODDS = 0.5;
/** Stories with this part of the likeliest one's odds are named beside it. */
export const RIVAL_ODDS = 0.1;
