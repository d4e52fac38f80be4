/** A zero that jumped: a power failure, a clutch or a coupling that slipped. */
import { ARCMINUTE, DEGREE, TURN, wrapHalfTurn } from "../../angles.js";
import type { ReducedNight } from "../../night/reduce.js";
import { BOTH_JUMP_CHANCE, JUMP_CHANCE, JUMP_SIZE, NOTHING_KNOWN, priceOf } from "../beliefs.js";
import { circularMedian } from "../circular.js";
import type { Note } from "../fit-result.js";
import { signed } from "../note-words.js";
import type { Outcome } from "../outcome.js";
import { type Fault, type FaultOf, faultsOf, type JumpAxes } from "../story.js";
import { priceFall, type Suspicion, suspicionOf } from "../suspicion.js";
import { exclusionPrice } from "./excluded.js";
import type { FaultKind, Proposal } from "./fault-kind.js";

type Axis = "hourAngle" | "declination";
const AXES: readonly Axis[] = ["hourAngle", "declination"];
const onAxis = (axes: JumpAxes, axis: Axis): boolean => axes === "both" || axes === axis;

export const jump: FaultKind<"jump"> = {
  kind: "jump",
  unsound: false,
  margin: 0,
  price(fault, outcome) {
    const places = Math.max(1, outcome.story.usedCount + outcome.story.excludedCount - 1);
    const chance = fault.axes === "both" ? BOTH_JUMP_CHANCE : JUMP_CHANCE;
    let price = priceOf(chance / places);
    for (const axis of AXES)
      if (onAxis(fault.axes, axis)) price += sizePrice(sizeAt(outcome, axis, fault.place));
    return price;
  },
  propose,
  notes: (_, { outcome }) => jumpNotes(outcome),
};

/** A jump's size at Cauchy's odds, instead of the half turn that holds every zero. */
function sizePrice(size: number): number {
  const density = JUMP_SIZE / (Math.PI * (size * size + JUMP_SIZE * JUMP_SIZE));
  const held = 1 / (NOTHING_KNOWN * Math.sqrt(2 * Math.PI));
  return priceOf(density / held);
}

const columnsOf = (outcome: Outcome, axis: Axis): Int32Array =>
  axis === "hourAngle" ? outcome.layout.hourAngleZero : outcome.layout.declinationZero;
const breaksOf = (outcome: Outcome, axis: Axis): readonly number[] =>
  axis === "hourAngle" ? outcome.story.hourAngleBreaks : outcome.story.declinationBreaks;

/** The columns of a zero before and after a place; −1 where one is not fitted. */
function columnsAround(columns: Int32Array, place: number): [number, number] {
  let before = -1;
  for (let i = place - 1; i >= 0 && before < 0; i--) before = columns[i]!;
  let after = -1;
  for (let i = place; i < columns.length && after < 0; i++) after = columns[i]!;
  return [before, after];
}

/** How far a zero jumps at a place, radians. */
export function sizeAt(outcome: Outcome, axis: Axis, place: number): number {
  const [before, after] = columnsAround(columnsOf(outcome, axis), place);
  if (before < 0 || after < 0) return 0;
  return wrapHalfTurn(outcome.parameters[after]! - outcome.parameters[before]!);
}

/** A jump needs two used sightings on each side: one alone could equally be a mistake of its own. */
export function jumpsHold(used: Uint8Array, breaks: readonly number[]): boolean {
  const ends = [0, ...breaks, used.length];
  for (let k = 0; k + 1 < ends.length && breaks.length > 0; k++) {
    let count = 0;
    for (let i = ends[k]!; i < ends[k + 1]!; i++) count += used[i]!;
    if (count < 2) return false;
  }
  return true;
}

function propose(outcome: Outcome): Proposal[] {
  const found = suspicionOf(outcome);
  return [
    ...newJumps(outcome, found),
    ...stretches(outcome, found),
    ...movedJumps(outcome, found),
    ...weakJumps(outcome),
  ];
}

/** What a jump of a usual size pays besides its place. */
const USUAL_SIZE_PRICE = 6;

/** One more jump among the used sightings, however small: the added-variable test at every place. */
function newJumps(outcome: Outcome, found: Suspicion): Proposal[] {
  const { story, rows } = outcome;
  const places = Math.max(1, story.usedCount - 1);
  const single = priceOf(JUMP_CHANCE / places) + USUAL_SIZE_PRICE;
  const both = priceOf(BOTH_JUMP_CHANCE / places) + 2 * USUAL_SIZE_PRICE;
  const best = new Map<JumpAxes, { place: number; gain: number }>();
  const offer = (axes: JumpAxes, place: number, gain: number): void => {
    if (gain > (best.get(axes)?.gain ?? 0)) best.set(axes, { place, gain });
  };
  const { scale } = outcome.posterior.likeliest;
  const fall = (part: number): number => priceFall(found, scale, part);
  for (let k = 1; k < rows.usedRows.length; k++) {
    const place = rows.usedRows[k]!;
    const h = story.hourAngleBreaks.includes(place) ? 0 : found.jumpGainHourAngle[place]!;
    const d = story.declinationBreaks.includes(place) ? 0 : found.jumpGainDeclination[place]!;
    if (h > 0) offer("hourAngle", place, fall(h) - single);
    if (d > 0) offer("declination", place, fall(d) - single);
    // A power failure moves both zeros at one place, and each alone leaves the fit as bad as before.
    if (h > 0 && d > 0) offer("both", place, fall(h + d) - both);
  }
  return [...best].map(([axes, { place, gain }]) => ({
    faults: [...story.faults, { kind: "jump", place, axes }],
    gain,
  }));
}

/** At most so many places are tried as the ends of a stretch. */
const PLACE_LIMIT = 40;
/** So many sightings speak for a long stretch. */
const STRETCH_SAMPLE = 100;
/** A step looks like the end of a stretch from so many errors on. */
const STEP = 3 * Math.SQRT2;
/** On a long night neighbours' medians are compared, of one sighting in so many, so that no wild row is taken for a step. */
const STEP_SHARE = 1 / 60;
const WIDEST_STEP = 5;

/** The largest step of either axis before each usable sighting, in errors. */
function stepsOf(
  count: number,
  deltas: readonly Float64Array[],
  weights: readonly Float64Array[],
): Float64Array {
  const side = Math.max(1, Math.min(WIDEST_STEP, Math.floor(count * STEP_SHARE)));
  const steps = new Float64Array(count);
  for (let k = side; k + side <= count; k++) {
    deltas.forEach((delta, axis) => {
      const weight = Math.min(weights[axis]![k]!, weights[axis]![k - 1]!);
      const step =
        side === 1
          ? delta[k]! - delta[k - 1]!
          : circularMedian(delta.subarray(k, k + side)) - circularMedian(delta.subarray(k - side, k));
      steps[k] = Math.max(steps[k]!, Math.abs(wrapHalfTurn(step)) * weight);
    });
  }
  // Of places close by that see the same step the one that sees it best.
  if (side > 1)
    for (let k = 0; k < count; k++)
      for (let j = Math.max(0, k - side); j <= Math.min(count - 1, k + side); j++)
        if (steps[j]! > steps[k]!) steps[k] = 0;
  return steps;
}

function sampled(values: Float64Array, from: number, to: number, stride: number): Float64Array {
  if (stride === 1) return values.subarray(from, to);
  return Float64Array.from({ length: Math.ceil((to - from) / stride) }, (_, k) => values[from + k * stride]!);
}

/** Differences of the usable sightings of the night, and what each costs at an offset of the zeros. */
function usable(outcome: Outcome, found: Suspicion) {
  const { night } = outcome.bench;
  const rows: number[] = [];
  for (let i = 0; i < night.count; i++) if (night.sightings[i]!.use && found.axesRead[i] === 2) rows.push(i);
  const { scale } = outcome.posterior.likeliest;
  const price = exclusionPrice(rows.length);
  const deltaH = Float64Array.from(rows, (i) => found.deltaHourAngle[i]!);
  const deltaD = Float64Array.from(rows, (i) => found.deltaDeclination[i]!);
  const weightH = Float64Array.from(rows, (i) => found.cosDeclination[i]! / (night.sigmaWest[i]! * scale));
  const weightD = Float64Array.from(rows, (i) => 1 / (night.sigmaNorth[i]! * scale));
  const costAt = (k: number, offsetH: number, offsetD: number): number =>
    Math.min(
      price,
      (wrapHalfTurn(deltaH[k]! - offsetH) * weightH[k]!) ** 2 +
        (wrapHalfTurn(deltaD[k]! - offsetD) * weightD[k]!) ** 2,
    );
  return { rows, deltaH, deltaD, weightH, weightD, costAt, price };
}

/**
 * A stretch of sightings that would fit with zeros of its own, the model otherwise as it is: finds large jumps, also where
 * one side of them has been excluded whole.
 */
function stretches(outcome: Outcome, found: Suspicion): Proposal[] {
  const { story } = outcome;
  if (story.excludedCount < 2 && outcome.posterior.likeliest.scale < 1.3) return [];
  const { rows, deltaH, deltaD, weightH, weightD, costAt, price } = usable(outcome, found);
  const count = rows.length;
  if (count < 4) return [];
  const now = Float64Array.from(rows, (_, k) => costAt(k, 0, 0));
  const steps = stepsOf(count, [deltaH, deltaD], [weightH, weightD]);
  let places = Array.from({ length: count - 1 }, (_, k) => k + 1).filter((k) => steps[k]! > STEP);
  if (places.length > PLACE_LIMIT) {
    places = places
      .sort((a, b) => steps[b]! - steps[a]!)
      .slice(0, PLACE_LIMIT)
      .sort((a, b) => a - b);
  }
  const ends = [0, ...places, count];
  const jumpPrice = priceOf(JUMP_CHANCE / Math.max(1, count - 1)) + USUAL_SIZE_PRICE;
  let best: { from: number; to: number; axes: JumpAxes; gain: number; h: number; d: number } | null = null;
  for (let p = 0; p < ends.length - 1; p++) {
    for (let q = p + 1; q < ends.length; q++) {
      const from = ends[p]!;
      const to = ends[q]!;
      if ((from === 0 && to === count) || to - from < 2) continue;
      const stride = Math.ceil((to - from) / STRETCH_SAMPLE);
      const medianH = circularMedian(sampled(deltaH, from, to, stride));
      const medianD = circularMedian(sampled(deltaD, from, to, stride));
      const breaks = (from > 0 ? 1 : 0) + (to < count ? 1 : 0);
      for (const axes of ["hourAngle", "declination", "both"] as const) {
        const h = axes === "declination" ? 0 : medianH;
        const d = axes === "hourAngle" ? 0 : medianD;
        let gain = -breaks * jumpPrice * (axes === "both" ? 1.5 : 1);
        for (let k = from; k < to; k += stride) gain += stride * (now[k]! - costAt(k, h, d));
        if (gain > (best?.gain ?? 0)) best = { from, to, axes, gain, h, d };
      }
    }
  }
  if (best === null) return [];
  const { from, to, axes, gain, h, d } = best;
  // A large jump usually brings back what had been excluded on its other side.
  const back = new Set<number>();
  const out: Fault[] = [];
  rows.forEach((i, k) => {
    const inside = k >= from && k < to;
    const cost = costAt(k, inside ? h : 0, inside ? d : 0);
    if (cost < price) back.add(i);
    else if (story.used[i]) out.push({ kind: "excluded", place: i });
  });
  const usedNow = rows.map(
    (i) =>
      (story.used[i] === 1 || back.has(i)) &&
      !out.some((fault) => fault.kind === "excluded" && fault.place === i),
  );
  const known = new Set([...story.hourAngleBreaks, ...story.declinationBreaks]);
  /** Whether enough sightings are used from a place on, or before it, up to the next known jump. */
  const stands = (k: number, way: 1 | -1): boolean => {
    let standing = 0;
    for (let j = way > 0 ? k : k - 1; j >= 0 && j < count; j += way) {
      if (usedNow[j] && ++standing >= 2) return true;
      if (way > 0 ? j > k && known.has(rows[j]!) : known.has(rows[j]!)) return false;
    }
    return false;
  };
  // Where nothing is used beyond an end there is nothing to jump to.
  const jumps = [from, to]
    .filter((k) => k > 0 && k < count && stands(k, 1) && stands(k, -1))
    .map((k): Fault => ({ kind: "jump", place: rows[k]!, axes }));
  if (jumps.length === 0) return [];
  const kept = story.faults.filter(
    (fault) =>
      !(fault.kind === "excluded" && back.has(fault.place)) &&
      !(fault.kind === "jump" && jumps.some((other) => other.kind === "jump" && other.place === fault.place)),
  );
  return [
    { faults: [...kept, ...jumps, ...out], gain },
    { faults: [...story.faults, ...jumps], gain: gain / 2 },
  ];
}

/** Known jumps at the place where the readings of both sides change best, sightings excluded so far counted too. */
function movedJumps(outcome: Outcome, found: Suspicion): Proposal[] {
  const { story } = outcome;
  const jumps = faultsOf(story, "jump");
  if (jumps.length === 0) return [];
  const { rows, costAt, price } = usable(outcome, found);
  const proposals: Proposal[] = [];
  const places = [...new Set(jumps.map(({ place }) => place))].sort((a, b) => a - b);
  for (const [index, place] of places.entries()) {
    const h = breaksOf(outcome, "hourAngle").includes(place) ? sizeAt(outcome, "hourAngle", place) : 0;
    const d = breaksOf(outcome, "declination").includes(place) ? sizeAt(outcome, "declination", place) : 0;
    const low = places[index - 1] ?? 0;
    const high = places[index + 1] ?? outcome.bench.night.count;
    // What each sighting would cost on the other side of the jump less what it costs where it is.
    let change = 0;
    let least = 0;
    let better = place;
    const at = rows.findIndex((i) => i >= place);
    for (let k = at; k >= 0 && k < rows.length && rows[k]! < high; k++) {
      // Later: the sighting k comes before the jump.
      change += costAt(k, -h, -d) - costAt(k, 0, 0);
      if (change < least && k + 1 < rows.length) {
        least = change;
        better = rows[k + 1]!;
      }
    }
    change = 0;
    for (let k = (at < 0 ? rows.length : at) - 1; k >= 0 && rows[k]! >= low; k--) {
      change += costAt(k, h, d) - costAt(k, 0, 0);
      if (change < least && k > 0) {
        least = change;
        better = rows[k]!;
      }
    }
    if (better === place) continue;
    const way = better > place ? -1 : 1;
    const back = new Set(
      rows.filter(
        (i, k) =>
          i >= Math.min(place, better) && i < Math.max(place, better) && costAt(k, way * h, way * d) < price,
      ),
    );
    proposals.push({
      faults: story.faults
        .filter((fault) => !(fault.kind === "excluded" && back.has(fault.place)))
        .map((fault) =>
          fault.kind === "jump" && fault.place === place ? { ...fault, place: better } : fault,
        ),
      gain: -least,
    });
  }
  return proposals;
}

/** Jumps that hardly stand out of their uncertainty, taken away; jumps of both zeros with one of them only. */
function weakJumps(outcome: Outcome): Proposal[] {
  const { story } = outcome;
  const proposals: Proposal[] = [];
  for (const fault of faultsOf(story, "jump")) {
    const others = story.faults.filter((other) => other !== fault);
    let strength = 0;
    for (const axis of AXES) {
      if (!onAxis(fault.axes, axis)) continue;
      const [before, after] = columnsAround(columnsOf(outcome, axis), fault.place);
      if (before < 0 || after < 0) continue;
      const width = Math.max(varianceOf(outcome, before, after), 1e-30);
      // What the rows win by the jump, less what they pay for a zero that may be anywhere.
      const own = sizeAt(outcome, axis, fault.place) ** 2 / width - Math.log(NOTHING_KNOWN ** 2 / width);
      strength += own;
      const single: FaultOf<"jump"> = {
        ...fault,
        axes: axis === "hourAngle" ? "declination" : "hourAngle",
      };
      if (fault.axes === "both") {
        const gain = sizePrice(sizeAt(outcome, axis, fault.place)) - own;
        if (gain > -4) proposals.push({ faults: [...others, single], gain: Math.max(gain, 0.1) });
      }
    }
    const gain = jump.price(fault, outcome, outcome.bench) - strength;
    if (gain > -4) proposals.push({ faults: others, gain: Math.max(gain, 0.1) });
  }
  return proposals;
}

/** The variance of a jump between two columns of a zero, radians². */
function varianceOf({ covariance, layout }: Outcome, before: number, after: number): number {
  const all = layout.columns.length;
  return (
    covariance[before * all + before]! +
    covariance[after * all + after]! -
    2 * covariance[before * all + after]!
  );
}

/** A note for each place where zeros moved. */
function jumpNotes(outcome: Outcome): Note[] {
  const { night } = outcome.bench;
  const places = [...new Set(faultsOf(outcome.story, "jump").map(({ place }) => place))].sort(
    (a, b) => a - b,
  );
  return places.flatMap((place) => {
    const parts = AXES.filter((axis) => breaksOf(outcome, axis).includes(place)).flatMap((axis) => {
      const text = jumpText(outcome, axis, place);
      return text === null
        ? []
        : [`the ${axis === "hourAngle" ? "hour-angle" : "declination"} zero by ${text}`];
    });
    if (parts.length === 0) return [];
    return noteAt(night, place, parts);
  });
}

function jumpText(outcome: Outcome, axis: Axis, place: number): string | null {
  const [before, after] = columnsAround(columnsOf(outcome, axis), place);
  if (before < 0 || after < 0) return null;
  const variance = varianceOf(outcome, before, after);
  const size = sizeAt(outcome, axis, place);
  const wrapped = size - TURN * Math.round(size / TURN);
  const text =
    Math.abs(wrapped) > 2 * DEGREE ? `${signed(wrapped / DEGREE, 2)}°` : `${signed(wrapped / ARCMINUTE, 1)}′`;
  return `${text} (± ${(Math.sqrt(Math.max(0, variance)) / ARCMINUTE).toFixed(1)}′)`;
}

function noteAt(night: ReducedNight, place: number, parts: readonly string[]): Note[] {
  const row = night.sightings[place]!.row;
  const before = night.sightings[place - 1]!.row;
  return [
    {
      code: "zeros-moved",
      row,
      rows: [before, row],
      message: `Between rows ${before} and ${row} the encoder zeros moved: ${parts.join(" and ")}. The fit uses separate zeros on each side.`,
      remedy:
        "Look for a power failure, a slipping clutch, coupling, belt or roller. If the zeros were reset on purpose, say so in the column zeroSet.",
    },
  ];
}
