/**
 * How a mount changes over months: each term as x₀ + v t + k (T − T₀), all terms of all nights at once with their covariances,
 * changes in between, and when to look again.
 */
import { inverse, Matrix } from "#matrices";
import { chiSquareProbability } from "../fit/distributions.js";
import type { Estimate } from "../fit/fit-result.js";
import type { KeptModel } from "../keep/keep.js";
import type { Mount } from "../mount/mount.js";
import { type TermName, termDescriptions } from "../mount/terms.js";
import { formatTime } from "../sky/time.js";
import { termsMatter } from "./matters.js";
import { keptNights } from "./nights.js";
import { changePoint, chiSquareAbout, type DatedValue, senSlope } from "./trend.js";

/** What is known of one term over the months. */
export interface TermMonths {
  readonly name: TermName;
  readonly label: string;
  readonly unit: "arcmin" | "arcmin/rad";
  /** As it stands at the last night, at the mean temperature. */
  readonly now: Estimate;
  /** How it goes, a month of 30.4 days. */
  readonly perMonth: number;
  /** 1σ of `perMonth`. */
  readonly uncertainty: number;
  /** The robust slope, a month; null where fewer than three nights tell the term. */
  readonly robustPerMonth: number | null;
  /** What a kelvin does; null where the temperatures do not tell it. */
  readonly perKelvin: number | null;
  readonly perKelvinUncertainty: number | null;
  /** The night from which on it stood elsewhere, ISO 8601; null where it did not jump. */
  readonly changedAt: string | null;
  /** By how much it jumped then; null where it did not. */
  readonly changedBy: Estimate | null;
  readonly verdict: "drifts" | "jumped" | "steady" | "not told";
  /** By how much the trend of a month moves the pointing over the sky, root mean square, arcminutes. */
  readonly pointingPerMonth: number;
  /** By how much it changes a star's drift while tracking, arcseconds a minute at the worst place, a month. */
  readonly trackingPerMonth: number;
  /** What each night's stars alone say, in the order of the nights; null where they do not tell it. */
  readonly nights: readonly (Estimate | null)[];
}

/** What a note about the months says. */
export interface MonthsNote {
  readonly code: "scatters" | "no-temperature" | "short-span" | "not-told" | "recent-change";
  readonly message: string;
  readonly remedy: string;
}

/** How a mount changes. */
export interface Months {
  readonly mountName: string;
  /** The times of the nights, ISO 8601. */
  readonly nights: readonly string[];
  readonly spanMonths: number;
  readonly terms: readonly TermMonths[];
  readonly chiSquare: {
    readonly value: number;
    readonly degreesOfFreedom: number;
    readonly probability: number;
  };
  /** By how much the uncertainties were made larger because the nights scatter more than they say; 1 where they do not. */
  readonly scaledBy: number;
  /** The term that matters most for pointing, and for tracking; null where none goes anywhere. */
  readonly mattersForPointing: TermName | null;
  readonly mattersForTracking: TermName | null;
  /** What pointing may lose before one looks again, arcminutes. */
  readonly limitArcmin: number;
  /** When to sight a night of stars again, weeks from the last one. */
  readonly lookAgainWeeks: number;
  readonly notes: readonly MonthsNote[];
}

const MONTH_MS = 30.4375 * 86_400_000;
const WEEKS_A_MONTH = 30.4375 / 7;
/** Less spread of temperature tells nothing of it, kelvin. */
const LEAST_SPREAD_K = 3;
/** Nights with a temperature before it is asked what a kelvin does. */
const LEAST_WITH_TEMPERATURE = 4;
/** A trend is one from here on, standard deviations: with seven terms a false one in fifty mounts. */
const DRIFTS_FROM = 3;
/** No term is expected to go faster a month, or to follow a kelvin further, in parts of its tolerance: keeps what is not told bounded. */
const TREND_PART = 1;
const KELVIN_PART = 0.1;
/** Of a free term: the polar axis of a base that settles, arcminutes. */
const FREE_TERM = 60;
const POOR_PROBABILITY = 0.05;
const LONGEST_WEEKS = 26;
const SHORT_MONTHS = 1;

/**
 * How the mount's terms change over kept nights.
 *
 * @param kept - three kept models or more, in any order
 * @param mount - the mount file of today
 * @throws {@link InputError} `few-nights` and the other faults of {@link keptNights}
 * @example
 * ```ts
 * months([march, april, june], mount).lookAgainWeeks
 * ```
 */
export function months(kept: readonly KeptModel[], mount: Mount): Months {
  const { names, units, tolerances, nights } = keptNights(kept, mount);
  const lastMs = nights.at(-1)!.timeMs;
  const times = nights.map((night) => (night.timeMs - lastMs) / MONTH_MS);
  const temperatures = nights.map((night) => night.temperatureC);
  const known = temperatures.filter((one) => one !== null);
  const meanT = known.length === 0 ? 0 : known.reduce((a, b) => a + b, 0) / known.length;
  const spread = known.length === 0 ? 0 : Math.max(...known) - Math.min(...known);
  const isWarmthTold =
    known.length >= LEAST_WITH_TEMPERATURE && spread >= LEAST_SPREAD_K && known.length === nights.length;
  const warmth = temperatures.map((one) => (isWarmthTold ? one! - meanT : 0));

  // Each term: a level, a trend, perhaps a temperature, perhaps a jump.
  const dated = names.map((_, k) =>
    nights.flatMap((night, i): (DatedValue & { readonly night: number })[] => {
      const told = night.told[k]!;
      return told === null ? [] : [{ time: times[i]!, value: told.value, sigma: told.sigma, night: i }];
    }),
  );
  const jumps = dated.map((values) => jumpOf(values, warmth, isWarmthTold));
  const columns: { term: number; at: readonly number[]; sigma: number }[] = [];
  names.forEach((_, term) => {
    const size = tolerances[term] ?? FREE_TERM;
    columns.push({ term, at: times.map(() => 1), sigma: tolerances[term] ?? 10 * FREE_TERM });
    columns.push({ term, at: times, sigma: TREND_PART * size });
    if (isWarmthTold) columns.push({ term, at: warmth, sigma: KELVIN_PART * size });
    const jump = jumps[term]!;
    // Levels count at the last night: the jump is taken off before it.
    if (jump !== null)
      columns.push({ term, at: times.map((__, i) => (i < jump ? -1 : 0)), sigma: 10 * size });
  });
  const size = columns.length;
  const information = Matrix.diag(columns.map((column) => 1 / column.sigma ** 2));
  const right = Matrix.zeros(size, 1);
  nights.forEach((night, i) => {
    columns.forEach((a, r) => {
      right.set(r, 0, right.get(r, 0) + a.at[i]! * night.weighted.get(a.term, 0));
      columns.forEach((b, c) => {
        const part = a.at[i]! * b.at[i]! * night.information.get(a.term, b.term);
        information.set(r, c, information.get(r, c) + part);
      });
    });
  });
  const covariance = inverse(information, true);
  const solution = covariance.mmul(right);
  let value = 0;
  let rank = 0;
  nights.forEach((night, i) => {
    const x = Matrix.columnVector(
      names.map((_, term) =>
        columns.reduce(
          (sum, column, c) => sum + (column.term === term ? column.at[i]! * solution.get(c, 0) : 0),
          0,
        ),
      ),
    );
    const quadratic = x.transpose().mmul(night.information).mmul(x).get(0, 0);
    const linear = x.transpose().mmul(night.weighted).get(0, 0);
    value += Math.max(0, night.square + quadratic - 2 * linear);
    rank += night.rank;
  });
  // As many unknowns as the nights really tell.
  const told = columns.reduce((sum, column, c) => sum + 1 - covariance.get(c, c) / column.sigma ** 2, 0);
  const degreesOfFreedom = Math.max(0, Math.round(rank - told));
  const probability = chiSquareProbability(value, degreesOfFreedom);
  const scaledBy =
    degreesOfFreedom > 0 && probability < POOR_PROBABILITY
      ? Math.max(1, Math.sqrt(value / degreesOfFreedom))
      : 1;

  const matter = termsMatter(names, mount);
  const terms = names.map((name, term): TermMonths => {
    const own = columns.flatMap((column, c) => (column.term === term ? [c] : []));
    const at = (k: number): Estimate => ({
      value: solution.get(own[k]!, 0),
      uncertainty: scaledBy * Math.sqrt(covariance.get(own[k]!, own[k]!)),
    });
    const trend = at(1);
    const kelvin = isWarmthTold ? at(2) : null;
    const jump = jumps[term]!;
    const isTold = dated[term]!.length >= 2;
    const since = jump === null ? dated[term]! : dated[term]!.filter((one) => one.night >= jump);
    return {
      name,
      label: labelOf(name, mount),
      unit: units[term]!,
      now: at(0),
      perMonth: trend.value,
      uncertainty: trend.uncertainty,
      robustPerMonth: since.length >= 3 ? senSlope(since) : null,
      perKelvin: kelvin?.value ?? null,
      perKelvinUncertainty: kelvin?.uncertainty ?? null,
      changedAt: jump === null ? null : formatTime(nights[jump]!.timeMs),
      changedBy: jump === null ? null : at(isWarmthTold ? 3 : 2),
      verdict: !isTold
        ? "not told"
        : jump !== null
          ? "jumped"
          : Math.abs(trend.value) > DRIFTS_FROM * trend.uncertainty
            ? "drifts"
            : "steady",
      pointingPerMonth: Math.abs(trend.value) * matter[term]!.pointing,
      trackingPerMonth: Math.abs(trend.value) * matter[term]!.tracking,
      nights: nights.map(({ told: seen }) =>
        seen[term] === null ? null : { value: seen[term]!.value, uncertainty: seen[term]!.sigma },
      ),
    };
  });
  const limitArcmin = pointingLimit(mount);
  const spanMonths = -times[0]!;
  const goes = terms.filter((term) => term.verdict === "drifts");
  const most = (of: (term: TermMonths) => number): TermName | null =>
    goes.length === 0 ? null : goes.reduce((best, term) => (of(term) > of(best) ? term : best)).name;
  return {
    mountName: mount.name,
    nights: nights.map((night) => formatTime(night.timeMs)),
    spanMonths,
    terms,
    chiSquare: { value, degreesOfFreedom, probability },
    scaledBy,
    mattersForPointing: most((term) => term.pointingPerMonth),
    mattersForTracking: most((term) => term.trackingPerMonth),
    limitArcmin,
    lookAgainWeeks: lookAgain(terms, matter, limitArcmin, spanMonths, jumps, nights.length),
    notes: notesOn(terms, { scaledBy, isWarmthTold, spanMonths, jumps, nights: nights.length }),
  };
}

/** Where a term jumped, if a jump tells its values better than a trend does; the index of the first night after it. */
function jumpOf(
  values: readonly (DatedValue & { readonly night: number })[],
  warmth: readonly number[],
  isWarmthTold: boolean,
): number | null {
  const jump = changePoint(values);
  if (jump === null) return null;
  const level = values.map(() => 1);
  const extra = isWarmthTold ? [values.map((one) => warmth[one.night]!)] : [];
  const trend = chiSquareAbout(values, [level, values.map((one) => one.time), ...extra]);
  const step = (at: number): number =>
    chiSquareAbout(values, [level, values.map((_, i) => (i < at ? 0 : 1)), ...extra]);
  // The sums tell that something changed; the best place is where a jump leaves least.
  let best = jump;
  for (let at = 1; at < values.length; at++) if (step(at) < step(best)) best = at;
  return step(best) < trend - BETTER_BY ? values[best]!.night : null;
}

/** A jump must beat a trend by so much of χ². */
const BETTER_BY = 4;

function labelOf(name: TermName, mount: Mount): string {
  if (name in termDescriptions) return termDescriptions[name as keyof typeof termDescriptions].label;
  return mount.customTerms.find((term) => term.name === name)?.label ?? name;
}

/** What pointing may lose before one looks again: a quarter of the camera's shorter side, else 5′ (a finder's eyepiece). */
function pointingLimit({ camera }: Mount): number {
  if (camera === null) return 5;
  const half = (0.5 * Math.min(camera.widthMm, camera.heightMm)) / camera.focalLengthMm;
  return (0.5 * half * 180 * 60) / Math.PI;
}

function lookAgain(
  terms: readonly TermMonths[],
  matter: readonly { readonly pointing: number }[],
  limitArcmin: number,
  spanMonths: number,
  jumps: readonly (number | null)[],
  nights: number,
): number {
  // A mount that just jumped may go on: soon.
  if (jumps.some((jump) => jump !== null && jump >= nights - 1)) return 1;
  // As fast as the trend may be, with what is not known of it, in parts that are told.
  const speed = Math.sqrt(
    terms.reduce((sum, term, k) => {
      if (term.verdict === "not told") return sum;
      return sum + ((Math.abs(term.perMonth) + term.uncertainty) * matter[k]!.pointing) ** 2;
    }, 0),
  );
  const weeks = (limitArcmin / Math.max(speed, 1e-9)) * WEEKS_A_MONTH;
  // No further ahead than twice as long as one has looked back.
  const most = Math.min(LONGEST_WEEKS, Math.max(2, 2 * spanMonths * WEEKS_A_MONTH));
  return Math.max(1, Math.floor(Math.min(most, weeks)));
}

function notesOn(
  terms: readonly TermMonths[],
  of: {
    readonly scaledBy: number;
    readonly isWarmthTold: boolean;
    readonly spanMonths: number;
    readonly jumps: readonly (number | null)[];
    readonly nights: number;
  },
): MonthsNote[] {
  const notes: MonthsNote[] = [];
  if (of.jumps.some((jump) => jump !== null && jump >= of.nights - 1)) {
    notes.push({
      code: "recent-change",
      message: "The last night stands apart from those before it.",
      remedy: "Sight another night soon: it shows whether the change lasts or the night was bad.",
    });
  }
  if (of.scaledBy > 1) {
    notes.push({
      code: "scatters",
      message: `The nights scatter ${of.scaledBy.toFixed(1)} times as much as their uncertainties say; all uncertainties are taken so much larger.`,
      remedy: "Look for what differs from night to night: clamps, loads, a collimation, who centres.",
    });
  }
  if (!of.isWarmthTold) {
    notes.push({
      code: "no-temperature",
      message: "Nothing is known of the temperature's part, so a season may look like a trend.",
      remedy:
        "Note the temperature in the night file (temperatureC), on four nights or more that differ by 3 K.",
    });
  }
  if (of.spanMonths < SHORT_MONTHS) {
    notes.push({
      code: "short-span",
      message: `The nights span ${(of.spanMonths * 30.4).toFixed(0)} days only; a trend a month is extrapolated.`,
      remedy: "Keep a night every few weeks.",
    });
  }
  const unseen = terms.filter((term) => term.verdict === "not told");
  if (unseen.length > 0) {
    notes.push({
      code: "not-told",
      message: `These nights do not measure: ${unseen.map((term) => term.label).join(", ")}. They may have changed unseen.`,
      remedy: "Sight more stars a night, spread over the sky; the plan says which.",
    });
  }
  return notes;
}
