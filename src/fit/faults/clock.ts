/**
 * A clock or a zone that is wrong all night, and a site with a wrong sign or its two figures exchanged: what an hour-angle
 * zero of a whole or half number of hours, or of twice the longitude, means while the declination zero is near nothing; and
 * what stars below the horizon mean.
 */
import { DEGREE, HOUR, wrapHalfTurn } from "../../angles.js";
import { InputError } from "../../errors.js";
import type { Mount } from "../../mount/mount.js";
import type { ReducedNight } from "../../night/reduce.js";
import {
  CALLED_ODDS,
  CLOCK_CHANCE,
  LATITUDE_SIGN_CHANCE,
  MENTIONED_ODDS,
  priceOf,
  SITE_EXCHANGED_CHANCE,
} from "../beliefs.js";
import { type Bench, benchFor } from "../bench.js";
import { skyPrice, starsBelowHorizon, zeroDensity } from "../circumstances.js";
import { layOut } from "../columns.js";
import { fitCore } from "../core-fit.js";
import type { Note } from "../fit-result.js";
import { fixed } from "../note-words.js";
import { type Outcome, termValue } from "../outcome.js";
import { coreCost } from "../rough-start.js";
import { type Fault, type FaultOf, storyOf } from "../story.js";
import { doubtText, hoursText, lateOrEarly, remedyText, siteText, writtenZone } from "./clock-words.js";
import type { FaultKind, Proposal, Telling } from "./fault-kind.js";

type ClockFault = FaultOf<"clock"> | FaultOf<"site">;
export const isClockFault = (fault: Fault): fault is ClockFault =>
  fault.kind === "clock" || fault.kind === "site";

/** Sidereal angle of an hour of UTC. */
export const HOUR_OF_TIME = 1.00273791 * HOUR;
/** Of all faults of the clock, so many are a longitude of the wrong sign, … */
const LONGITUDE_SHARE = 0.1;
/** … so many whole and half hours, evenly, … */
const WHOLE_HOURS = 0.4 / 28;
const HALF_HOURS = 0.1 / 28;
/** … and so much more each zone that the longitude suggests. */
const OWN_ZONE = 0.06;
/** A wrong longitude's sign within this makes no difference, degrees. */
const NO_LONGITUDE = 1;
/** How many faults, the likeliest by their zeros, are tried on the night; more where its stars were not to be seen. */
const TRIED = 4;
const TRIED_UNSEEN = 6;
/** Stars below the horizon say that something is wrong from this part of the night on. */
const UNSEEN_SHARE = 0.15;
const UNSEEN_LEAST = 2;

/** How often a fault comes, on any night. */
function chanceOf(fault: ClockFault, mount: Mount): number {
  const { longitude } = mount.site;
  if (fault.kind === "site") {
    if (fault.site === "latitude-sign") return LATITUDE_SIGN_CHANCE;
    if (fault.site === "exchanged") return SITE_EXCHANGED_CHANCE;
    return Math.abs(longitude) > NO_LONGITUDE ? CLOCK_CHANCE * LONGITUDE_SHARE : 0;
  }
  const zone = Math.round(longitude / 15);
  const whole = Number.isInteger(fault.hours);
  const away = Math.min(Math.abs(fault.hours - zone), Math.abs(fault.hours + zone));
  return CLOCK_CHANCE * ((whole ? WHOLE_HOURS : HALF_HOURS) + (whole && away <= 1 ? OWN_ZONE : 0));
}

function allFaults({ site }: Mount): ClockFault[] {
  const faults: ClockFault[] = [
    { kind: "site", site: "longitude-sign" },
    { kind: "site", site: "latitude-sign" },
  ];
  if (Math.abs(site.longitude) <= 90) faults.push({ kind: "site", site: "exchanged" });
  for (let half = -28; half <= 28; half++) if (half !== 0) faults.push({ kind: "clock", hours: half / 2 });
  return faults;
}

/** The hour-angle zero that a fault makes of a zero of nothing, radians. */
function zeroOf(fault: ClockFault, { site }: Mount): number {
  if (fault.kind === "clock") return -fault.hours * HOUR_OF_TIME;
  if (fault.site === "longitude-sign") return -2 * site.longitude * DEGREE;
  return fault.site === "exchanged" ? (site.latitude - site.longitude) * DEGREE : 0;
}

const price = (fault: ClockFault, _: Outcome, root: Bench): number =>
  priceOf(chanceOf(fault, root.night.mount) / (1 - CLOCK_CHANCE));

const margin = 2 * Math.log(CALLED_ODDS);

export const clock: FaultKind<"clock"> = {
  kind: "clock",
  unsound: true,
  margin,
  price,
  propose,
  notes: (faults, telling) => faults.map((fault) => clockNote(fault, telling, true)),
};

export const site: FaultKind<"site"> = {
  kind: "site",
  unsound: true,
  margin,
  price,
  // Proposed with the clock's, told like them.
  propose: () => [],
  notes: (faults, telling) => faults.map((fault) => clockNote(fault, telling, true)),
};

/** Whether so many stars were below the horizon that the night cannot be as entered. */
export function isUnseen(outcome: Outcome): boolean {
  const below = starsBelowHorizon(outcome.bench.night, outcome.story.used).length;
  return below >= Math.max(UNSEEN_LEAST, UNSEEN_SHARE * outcome.story.usedCount);
}

/** Whether stars that nobody could have seen, excluded ones too, are too many to be slips: then every fault is tried. */
function looksUnseen({ bench, story }: Outcome): boolean {
  const whole = storyOf(
    bench.night,
    story.faults.filter(({ kind }) => kind !== "excluded"),
  );
  return starsBelowHorizon(bench.night, whole.used).length >= UNSEEN_LEAST;
}

function propose(outcome: Outcome, root: Bench): Proposal[] {
  const { story, bench } = outcome;
  const { mount } = root.night;
  // A display of right ascension runs by its own clock: a wrong one of ours cancels in its zero.
  if (mount.readings.hourAngle.as === "rightAscension") return [];
  if (!outcome.layout.columns.some(({ name }) => name === "hourAngleZero")) return [];
  if (story.faults.some(isClockFault)) return [];
  const unseen = isUnseen(outcome) || looksUnseen(outcome);
  const zeroH = termValue(outcome, "hourAngleZero");
  const zeroD = termValue(outcome, "declinationZero");
  const plain = zeroDensity(mount, zeroH, zeroD);
  // Sightings excluded and jumps seen at the wrong altitudes may not be mistakes at the right ones.
  const settings = story.faults.filter(({ kind }) => kind === "setting" || kind === "exchanged-columns");
  const steps = story.faults.filter(({ kind }) => kind === "clock-step");
  const now = coreCost(outcome.core, story) + skyPrice(bench.night, story);
  const likely = allFaults(mount)
    .map((fault) => ({
      fault,
      odds:
        (chanceOf(fault, mount) / (1 - CLOCK_CHANCE)) *
        (zeroDensity(mount, zeroH, zeroD, zeroOf(fault, mount)) / plain),
    }))
    // Beside sightings that do not fit, zeros near nothing do not clear a latitude.
    .filter(
      ({ fault, odds }) =>
        odds > (unseen || (fault.kind === "site" && story.excludedCount > 0) ? 0 : MENTIONED_ODDS / 10),
    )
    .sort((a, b) => b.odds - a.odds)
    .slice(0, unseen ? undefined : TRIED);
  return likely
    .flatMap(({ fault, odds }) => {
      const whole = [...story.faults, fault];
      const kept = [...settings, ...steps, fault];
      return (kept.length < whole.length ? [whole, kept] : [whole]).flatMap((faults): Proposal[] => {
        const tried = storyOf(root.night, faults);
        try {
          // By the core alone: to doubt every sighting of a night that is still wrong takes long.
          const corrected = benchFor(root, tried);
          const core = fitCore(corrected, tried, layOut(corrected, tried), null);
          const gain = now - coreCost(core, tried) - skyPrice(corrected.night, tried) + 2 * Math.log(odds);
          return [{ faults, gain }];
        } catch (problem) {
          // A builder's own term has no value in the corrected night, for instance the root of an altitude below 0.
          if (problem instanceof InputError) return [];
          throw problem;
        }
      });
    })
    .sort((a, b) => b.gain - a.gain)
    .slice(0, 2 * (unseen ? TRIED_UNSEEN : TRIED));
}

/** A zero this near to what a fault makes of nothing, both axes together, shows how large the fault is, … */
const ZERO_SHOWS = 2 * DEGREE;
/** … and within this, three times a careless setting, that there is one. */
const ZERO_HINTS = 4.5 * DEGREE;

/**
 * The note of a clock or site fault.
 *
 * @param sure - the night was corrected; otherwise it could be so
 */
export function clockNote(fault: ClockFault, { root, asEntered, rivals }: Telling, sure: boolean): Note {
  const { night } = root;
  const rows = starsBelowHorizon(night, asEntered.story.used).map((i) => night.sightings[i]!.row);
  const below =
    rows.length > 0
      ? ` At the times entered ${rows.length} of the stars sighted ${rows.length === 1 ? "was" : "were"} below the horizon.`
      : "";
  const hourZero = termValue(asEntered, "hourAngleZero");
  const declinationZero = termValue(asEntered, "declinationZero");
  const off = Math.hypot(wrapHalfTurn(hourZero - zeroOf(fault, night.mount)), wrapHalfTurn(declinationZero));
  const about = off < ZERO_SHOWS ? "" : "about ";
  const zero = hourZero / DEGREE;
  // Further off the zeros stand anywhere, and only stars, horizon and Sun tell how far the times are off.
  const found =
    off < ZERO_HINTS && zeroOf(fault, night.mount) !== 0
      ? `The hour-angle zero comes out as ${fixed(zero, 1)}° (${fixed(zero / 15, 2)} hours), and the declination zero is near nothing: that is ${about}${causeText(fault, about, night)}.`
      : `Stars, horizon and Sun agree best if ${doubtText(fault, night)}.`;
  const remedy = remedyText(fault, night, about);
  const rival = rivals.find(isClockFault);
  // The rival's zero lies elsewhere: how far off the times would be is not known as well.
  const also =
    rival === undefined
      ? ""
      : ` It could equally be that ${doubtText(rival, night)}: check which. In that case: ${remedyText(rival, night, "about ")}`;
  return {
    code: fault.kind === "site" && fault.site !== "longitude-sign" ? "site-sign" : "clock-zone",
    row: null,
    message: `${found}${below}${sure ? " The terms below are those of the corrected night." : ""}`,
    remedy: sure
      ? `${remedy}${also} Turn no jack before that. If the zero truly stands so, fit with the clock trusted (--trust-clock).`
      : `If that is not so, nothing is wrong. Otherwise: ${remedy}${also}`,
  };
}

/** The note where stars were below the horizon and no fault explains it. */
export function unseenNote(outcome: Outcome): Note {
  const { night } = outcome.bench;
  const rows = starsBelowHorizon(night, outcome.story.used).map((i) => night.sightings[i]!.row);
  return {
    code: "clock-zone",
    row: rows[0] ?? null,
    rows,
    message: `The times, the date or the site cannot be right: ${rows.length} of the stars sighted were below the horizon.`,
    remedy:
      "Check that every time carries its zone (Z only for UTC), the date, and the signs of site.latitude and site.longitude. Turn no jack before that.",
  };
}

function causeText(fault: ClockFault, about: string, night: ReducedNight): string {
  if (fault.kind === "site")
    return `${fault.site === "longitude-sign" ? "twice the longitude" : "latitude less longitude"}, as when ${siteText(fault.site, night)}`;
  const zone = writtenZone(night);
  const as =
    zone === 0 ? "local time is entered as UTC" : "times are entered with another zone than the clock's";
  return `${hoursText(fault.hours)}, as when ${as}: the times entered are ${about}${lateOrEarly(fault.hours)}`;
}
