/**
 * A clock that is wrong from one row on, as when the times typed change to summer time or to another zone on the way. In the
 * readings it looks like a jump of the hour-angle zero by 15.04° an hour; but the stars then stood elsewhere.
 */
import { wrapHalfTurn } from "../../angles.js";
import { CLOCK_STEP_CHANCE, priceOf } from "../beliefs.js";
import type { Bench } from "../bench.js";
import type { Note } from "../fit-result.js";
import type { Outcome } from "../outcome.js";
import { type Fault, type FaultOf, faultsOf } from "../story.js";
import { suspicionOf } from "../suspicion.js";
import { HOUR_OF_TIME } from "./clock.js";
import { hoursText, lateOrEarly } from "./clock-words.js";
import type { FaultKind, Proposal, Telling } from "./fault-kind.js";
import { sizeAt } from "./jump.js";

/** A clock is changed by at most so much on the way, hours. */
const LARGEST_STEP = 14;
/** A jump within this of whole half hours may be the clock, in parts of half an hour. */
const NEAR = 0.25;
/** How much commoner a whole hour is than each half hour, and one hour than each other. */
const ONE_HOUR_SHARE = 0.6;

function chanceOf(hours: number): number {
  const others = 4 * LARGEST_STEP - 2;
  return Math.abs(hours) === 1 ? ONE_HOUR_SHARE / 2 : (1 - ONE_HOUR_SHARE) / others;
}

export const clockStep: FaultKind<"clock-step"> = {
  kind: "clock-step",
  unsound: true,
  margin: 0,
  price({ hours }, { story }) {
    const places = Math.max(1, story.usedCount + story.excludedCount - 1);
    return priceOf((CLOCK_STEP_CHANCE * chanceOf(hours)) / places);
  },
  propose,
  notes: (faults, telling) => faults.map((fault) => note(fault, telling)),
};

/** Entered minus true, from a jump of the hour-angle readings; null where it is no whole half hours. */
function hoursOf(jump: number): number | null {
  const halves = (-2 * jump) / HOUR_OF_TIME;
  const nearest = Math.round(halves);
  if (nearest === 0 || Math.abs(halves - nearest) > NEAR || Math.abs(nearest) > 2 * LARGEST_STEP) return null;
  return nearest / 2;
}

/** Gains here are guesses: a jump that is a clock's saves its own price and more. */
const SAVED = 20;
/** So many places are tried where the readings step by hours. */
const PLACES = 4;

function propose(outcome: Outcome, root: Bench): Proposal[] {
  const { story } = outcome;
  if (root.night.mount.readings.hourAngle.as === "rightAscension") return [];
  const proposals: Proposal[] = [];
  for (const jump of faultsOf(story, "jump")) {
    if (jump.axes === "declination") continue;
    const hours = hoursOf(sizeAt(outcome, "hourAngle", jump.place));
    if (hours === null) continue;
    const others = story.faults.filter((fault) => fault !== jump);
    const rest: Fault[] =
      jump.axes === "both" ? [{ kind: "jump", place: jump.place, axes: "declination" }] : [];
    const step: Fault = { kind: "clock-step", place: jump.place, hours };
    proposals.push({ faults: [...others, step], gain: SAVED });
    if (rest.length > 0) proposals.push({ faults: [...others, ...rest, step], gain: SAVED - 1 });
    const plain = others.filter(({ kind }) => kind !== "excluded");
    if (plain.length < others.length) proposals.push({ faults: [...plain, step], gain: SAVED - 2 });
  }
  if (story.faults.some(({ kind }) => kind === "clock-step")) return [...proposals, ...moved(outcome)];
  // Before any jump is known: neighbours whose hour angles step by hours while all else may be as it was.
  const { night } = outcome.bench;
  const { deltaHourAngle } = suspicionOf(outcome);
  const steps: { place: number; hours: number; size: number }[] = [];
  let before = -1;
  for (let i = 0; i < night.count; i++) {
    if (!night.sightings[i]!.use || Number.isNaN(deltaHourAngle[i]!)) continue;
    if (before >= 0) {
      const size = wrapHalfTurn(deltaHourAngle[i]! - deltaHourAngle[before]!);
      const hours = hoursOf(size);
      if (hours !== null && outcome.posterior.likeliest.scale > 3) steps.push({ place: i, hours, size });
    }
    before = i;
  }
  const settings = story.faults.filter(({ kind }) => kind !== "excluded" && kind !== "jump");
  return [
    ...proposals,
    ...steps.slice(0, PLACES).map(
      ({ place, hours }): Proposal => ({
        faults: [...settings, { kind: "clock-step", place, hours }],
        gain: SAVED,
      }),
    ),
  ];
}

/** Known steps one sighting earlier or later, where that sighting does not fit. */
function moved(outcome: Outcome): Proposal[] {
  const { story, bench } = outcome;
  const { distanceSquared } = suspicionOf(outcome);
  return faultsOf(story, "clock-step").flatMap((step) =>
    [step.place - 1, step.place + 1].flatMap((place) => {
      const crossed = Math.min(place, step.place);
      if (place <= 0 || place >= bench.night.count) return [];
      const out = story.faults.some((fault) => fault.kind === "excluded" && fault.place === crossed);
      if (!out && !(distanceSquared[crossed]! > 4)) return [];
      return {
        faults: story.faults
          .filter((fault) => !(fault.kind === "excluded" && fault.place === crossed))
          .map((fault) => (fault === step ? { ...step, place } : fault)),
        gain: out ? SAVED : distanceSquared[crossed]!,
      };
    }),
  );
}

function note({ place, hours }: FaultOf<"clock-step">, { root }: Telling): Note {
  const { night } = root;
  const row = night.sightings[place]!.row;
  const before = night.sightings[place - 1]!.row;
  return {
    code: "clock-step",
    row,
    rows: [before, row],
    message: `From row ${row} on the times are ${lateOrEarly(hours)} against those before it: the clock or its zone was changed by ${hoursText(hours)} between rows ${before} and ${row}. The terms below are those of the corrected night.`,
    remedy: `Find out which part is right. Write the times from row ${row} on ${hoursText(hours)} ${hours > 0 ? "earlier" : "later"}, or those before it ${hoursText(hours)} ${hours > 0 ? "later" : "earlier"}. Then fit again. Turn no jack before that.`,
  };
}
