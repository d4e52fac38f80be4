/**
 * Clock and longitude: an hour-angle zero that is a whole or half number of hours, or twice the longitude, while the
 * declination zero is near nothing, was hardly set by hand. Judged by odds: how often builders enter local time
 * against how often zeros fall so by chance, and by what the other time does to the fit, the horizon and the Sun.
 */
import { DEGREE, HOUR, wrapHalfTurn } from "../angles.js";
import { InputError } from "../errors.js";
import type { Mount } from "../mount/mount.js";
import { type ReducedNight, reduceNight } from "../night/reduce.js";
import { sunDirection } from "../sky/sun-and-moon.js";
import { type Explained, priced, withCalledTermsInstead } from "./empirical-terms.js";
import type { Explanation } from "./explanation.js";
import { SEEN_FROM } from "./horizon-notes.js";
import { type Workbench, workbench } from "./mount-problem.js";
import { fitExplanation, type Outcome, termValue } from "./outcome.js";
import { explain } from "./search.js";

/** What may be wrong with the clock or the longitude. */
export type ClockFault =
  | { readonly kind: "time" /** Entered minus true, hours. */; readonly hours: number }
  | { readonly kind: "longitude" };

export interface ClockVerdict {
  /** `wrong`: the readings cannot be trusted as they stand; `possible`: the builder should look. */
  readonly standing: "wrong" | "possible";
  /** The likeliest fault; null where the stars only show that something is wrong. */
  readonly fault: ClockFault | null;
  /** Another that is not much less likely; null where there is none. */
  readonly rival: ClockFault | null;
  /** The night with the fault mended, where there is one. */
  readonly mended: (Explained & { readonly bench: Workbench }) | null;
  /** Sightings of stars that were below the horizon at the time entered. */
  readonly belowHorizon: readonly number[];
}

/** Share of nights with a wrong clock or longitude. */
const FAULT_SHARE = 0.03;
/** Odds from which a fault is called, and from which it is mentioned. */
const CALLED = 3;
const MENTIONED = 0.5;
/** A fault with this part of the likeliest one's odds is told besides. */
const RIVAL = 0.1;
/** The part of all odds that the faults told must have, where stars below the horizon say that something is wrong. */
const SURE = 0.8;
/** How near to nothing a zero is that was set by hand: a mixture of careful and careless, degrees. */
const SET_SPREADS_DEG = [0.15, 0.5, 1.5];
/** How often zeros are set at all: always on a dial, in every second encoder. */
const SET_SHARE_COUNTS = 0.5;
const SET_SHARE_DIAL = 0.9;
/** What a star below the horizon, and the Sun above it, add to a night's cost. */
const BELOW_HORIZON_COST = 25;
const SUN_UP_COST = 8;
/** Sidereal angle of an hour of UTC. */
const HOUR_OF_TIME = 1.00273791 * HOUR;

/** Faults and how likely each is among them. */
function faults(mount: Mount): { fault: ClockFault; weight: number }[] {
  const zone = Math.round(mount.site.longitude / 15);
  const list: { fault: ClockFault; weight: number }[] = [
    { fault: { kind: "longitude" }, weight: Math.abs(mount.site.longitude) > 1 ? 0.1 : 0 },
  ];
  for (let half = -28; half <= 28; half++) {
    if (half === 0) continue;
    const hours = half / 2;
    const whole = half % 2 === 0;
    let weight = whole ? 0.4 / 28 : 0.1 / 28;
    const away = Math.min(Math.abs(hours - zone), Math.abs(hours + zone));
    if (whole && away <= 1) weight += 0.06;
    list.push({ fault: { kind: "time", hours }, weight });
  }
  return list;
}

/** The hour-angle zero that a fault makes of a zero of nothing, radians. */
export function zeroOf(fault: ClockFault, mount: Mount): number {
  return fault.kind === "time" ? -fault.hours * HOUR_OF_TIME : -2 * mount.site.longitude * DEGREE;
}

/** Density of a pair of zeros, a square degree, around what a fault makes of them. */
function density(zeroH: number, zeroD: number, shift: number, share: number): number {
  const h = wrapHalfTurn(zeroH - shift) / DEGREE;
  const d = wrapHalfTurn(zeroD) / DEGREE;
  let set = 0;
  for (const spread of SET_SPREADS_DEG) {
    set += Math.exp(-(h * h + d * d) / (2 * spread * spread)) / (2 * Math.PI * spread * spread);
  }
  return (share * set) / SET_SPREADS_DEG.length + (1 - share) / (360 * 360);
}

/** The night as it would be without the fault. */
export function mendedClock(night: ReducedNight, fault: ClockFault): ReducedNight {
  const { mount, sightings } = night;
  if (fault.kind === "longitude") {
    const site = { ...mount.site, longitude: -mount.site.longitude };
    return reduceNight({ mount: { ...mount, site }, sightings });
  }
  return reduceNight({
    mount,
    sightings: sightings.map((sighting) => ({
      ...sighting,
      timeMs: sighting.timeMs - fault.hours * 3_600_000,
    })),
  });
}

/** Indices of used sightings of stars that nobody could have seen. */
export function starsBelowHorizon(night: ReducedNight, used: Uint8Array): number[] {
  const rows: number[] = [];
  for (let i = 0; i < night.count; i++) if (used[i] && night.altitude[i]! < SEEN_FROM) rows.push(i);
  return rows;
}

/** What horizon and Sun add to the cost of a night. */
function circumstance(night: ReducedNight, used: Uint8Array): number {
  const middle = night.sightings[Math.floor(night.count / 2)]!;
  const sunUp = sunDirection(middle.timeMs, night.mount.site).altitude > 0;
  return starsBelowHorizon(night, used).length * BELOW_HORIZON_COST + (sunUp ? SUN_UP_COST : 0);
}

/** How many faults, the likeliest by their zeros, are tried on the night; all where its stars were not to be seen. */
const TRIED = 4;
/** Of these, so many, the likeliest by every sighting as entered, are tried with sightings in doubt, … */
const TRIED_DOUBTING = 6;
/** … and of these so many with further terms too. */
const TRIED_WIDER = 3;

/** A fault and its odds by the zeros and how often it comes. */
interface LikelyFault {
  readonly fault: ClockFault;
  readonly odds: number;
}

function likelyFaults(outcome: Outcome, night: ReducedNight, unseen: boolean): LikelyFault[] {
  const { mount } = night;
  const zeroH = termValue(outcome, night, "hourAngleZero");
  const zeroD = termValue(outcome, night, "declinationZero");
  const share = mount.readings.hourAngle.as === "counts" ? SET_SHARE_COUNTS : SET_SHARE_DIAL;
  const plainDensity = density(zeroH, zeroD, 0, share);
  return faults(mount)
    .map(({ fault, weight }) => ({
      fault,
      odds:
        ((FAULT_SHARE * weight) / (1 - FAULT_SHARE)) *
        (density(zeroH, zeroD, zeroOf(fault, mount), share) / plainDensity),
    }))
    .filter(({ odds }) => odds > (unseen ? 0 : MENTIONED / 10))
    .sort((a, b) => b.odds - a.odds)
    .slice(0, unseen ? undefined : TRIED);
}

/** A fault tried on the whole night. */
interface TriedFault extends LikelyFault {
  /** The logarithm of the odds by the mended night too. */
  readonly logOdds: number;
  readonly mended: Explained & { readonly bench: Workbench };
}

function costOf(explained: Explained, bench: Workbench): number {
  return priced(explained, bench) + circumstance(bench.night, explained.outcome.explanation.used);
}

/**
 * Tries faults on the whole night, the likeliest first: in three sieves, for to doubt every sighting of a night that is
 * still wrong takes long.
 */
function tryFaults(
  likely: readonly LikelyFault[],
  night: ReducedNight,
  base: Explanation,
  plainCost: number,
): TriedFault[] {
  const judge = ({ fault, odds }: LikelyFault, bench: Workbench, explained: Explained): TriedFault => ({
    fault,
    odds,
    logOdds: Math.log(odds) + (plainCost - costOf(explained, bench)) / 2,
    mended: { ...explained, bench },
  });
  const likeliestFirst = (a: TriedFault, b: TriedFault): number => b.logOdds - a.logOdds;
  /** The likeliest so many explained better, the others as they are. */
  const sift = (
    tried: readonly TriedFault[],
    count: number,
    better: (bench: Workbench, explained: Explained) => Explained,
  ): TriedFault[] =>
    [...tried]
      .sort(likeliestFirst)
      .map((one, rank) =>
        rank < count ? judge(one, one.mended.bench, better(one.mended.bench, one.mended)) : one,
      );
  const asEntered = likely.flatMap((one) => {
    try {
      const bench = workbench(mendedClock(night, one.fault));
      return judge(one, bench, { outcome: fitExplanation(bench, base), called: [] });
    } catch (problem) {
      // A builder's own term has no value in the mended night, for instance the root of an altitude below 0.
      if (problem instanceof InputError) return [];
      throw problem;
    }
  });
  // Refraction at the wrong altitudes may have set sightings aside or called for terms: all is asked anew.
  const doubting = sift(asEntered, TRIED_DOUBTING, (bench) => ({
    outcome: explain(bench, base),
    called: [],
  }));
  return sift(doubting, TRIED_WIDER, withCalledTermsInstead).sort(likeliestFirst);
}

/**
 * Doubts the clock; null where there is no ground to.
 *
 * @param base - the explanation that the night began with
 * @param plain - how the night is explained as it stands
 */
export function clockVerdict(bench: Workbench, base: Explanation, plain: Explained): ClockVerdict | null {
  const { night } = bench;
  const { explanation, problem } = plain.outcome;
  // A display of right ascension runs by its own clock: a wrong one of ours cancels in its zero.
  if (night.mount.readings.hourAngle.as === "rightAscension") return null;
  if (!explanation.terms.includes("hourAngleZero")) return null;
  const belowRows = starsBelowHorizon(night, explanation.used);
  const unseen = belowRows.length >= Math.max(2, 0.15 * problem.usedRows.length);
  const likely = likelyFaults(plain.outcome, night, unseen);
  if (likely.length === 0) return null;
  const unknown: ClockVerdict = {
    standing: "wrong",
    fault: null,
    rival: null,
    mended: null,
    belowHorizon: belowRows,
  };
  const tried = tryFaults(likely, night, base, costOf(plain, bench));
  const [best, second] = tried;
  if (best === undefined) return unseen ? unknown : null;
  const share = ({ logOdds }: TriedFault): number => Math.exp(logOdds - best.logOdds);
  const rival = second !== undefined && share(second) >= RIVAL ? second : null;
  const all = tried.reduce((sum, one) => sum + share(one), 0);
  if (unseen && 1 + (rival === null ? 0 : share(rival)) < SURE * all) return unknown;
  const found = { fault: best.fault, rival: rival?.fault ?? null, belowHorizon: belowRows };
  if (best.logOdds >= Math.log(CALLED)) return { ...found, standing: "wrong", mended: best.mended };
  if (unseen) return unknown;
  return best.logOdds >= Math.log(MENTIONED) ? { ...found, standing: "possible", mended: null } : null;
}
