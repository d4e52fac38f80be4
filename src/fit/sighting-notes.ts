/**
 * Notes on single sightings and on the night as a whole.
 */
import { ARCMINUTE, DEGREE, HOUR, TURN } from "../angles.js";
import type { ReducedNight } from "../night/reduce.js";
import { hourAngleVector } from "../sky/horizon-frame.js";
import { NO_AIR } from "../sky/observe.js";
import type { Site } from "../sky/site.js";
import type { ObservedDirection } from "../sky/star.js";
import { sunDirection } from "../sky/sun-and-moon.js";
import { DAY_MS } from "../sky/time.js";
import { separation, type Vector } from "../vectors.js";
import type { Note } from "./fit-result.js";
import { SEEN_FROM } from "./horizon-notes.js";
import { type LikelyStar, likelyStars } from "./likely-star.js";
import type { Workbench } from "./mount-problem.js";
import { fixed, signed } from "./note-words.js";
import { comparer, type Outcome } from "./outcome.js";

/** Lower than this refraction is uncertain by more than the sightings. */
const LOW = 10 * DEGREE;
/** No sighting within this of the Sun. */
const SUN_LIMIT = 30 * DEGREE;
/** Fewer used sightings than this leave too much to tolerances. */
const FEW = 6;

/** The notes on sightings that were set aside, and for each its likely star. */
export function setAsideNotes(
  bench: Workbench,
  outcome: Outcome,
): { notes: Note[]; likely: Map<number, string> } {
  const { night } = bench;
  const compare = comparer(bench, outcome);
  const notes: Note[] = [];
  const likely = new Map<number, string>();
  for (let i = 0; i < night.count; i++) {
    const sighting = night.sightings[i]!;
    if (!sighting.use || outcome.explanation.used[i]) continue;
    const c = compare(i);
    const { row } = sighting;
    if (!c.comparable) {
      notes.push({
        code: "outlier",
        row,
        message: `Row ${row} (${sighting.star}) is set aside: no other sighting shares its encoder zero, so nothing can be compared.`,
        remedy: "Sight more stars with these zeros, or leave it out.",
      });
      continue;
    }
    const stars = likelyStars(bench, outcome, i);
    const west = (c.deltaHourAngle * c.cosDeclination) / ARCMINUTE;
    const north = c.deltaDeclination / ARCMINUTE;
    const off = `${Math.abs(west).toFixed(1)}′ ${west >= 0 ? "west" : "east"} and ${Math.abs(north).toFixed(1)}′ ${north >= 0 ? "north" : "south"}`;
    if (stars.length > 0 && sighting.catalogueStar !== null) {
      likely.set(i, stars[0]!.star.label);
      notes.push(misnamed(row, sighting.star, stars));
      continue;
    }
    const sigmas = Math.sqrt(c.distanceSquared) / outcome.scale;
    notes.push({
      code: "outlier",
      row,
      message: `Row ${row} (${sighting.star}) fits no star: it is off by ${off} (${sigmas.toFixed(0)} times its uncertainty) and is set aside.${hint(c.deltaHourAngle, c.deltaDeclination, bench, i)}`,
      remedy: "Look at the entry again; mend it if it was mistyped, else sight the star again.",
    });
  }
  return { notes, likely };
}

function misnamed(row: number, said: string, stars: readonly LikelyStar[]): Note {
  const [first, ...others] = stars as [LikelyStar, ...LikelyStar[]];
  const also =
    others.length > 0
      ? ` ${others.map((other) => `${other.star.label} (${other.distanceArcmin.toFixed(1)}′)`).join(" and ")} would fit nearly as well.`
      : "";
  return {
    code: "misnamed-star",
    row,
    message: `Row ${row} says ${said}; the readings fit ${first.star.label} to ${first.distanceArcmin.toFixed(1)}′.${also} It is set aside.`,
    remedy: `If you sighted ${first.star.label}, write that name in row ${row} and fit again.`,
  };
}

/** What a lonely error may come from, where one axis fits and the other does not. */
function hint(deltaH: number, deltaD: number, bench: Workbench, i: number): string {
  const { night } = bench;
  const fitsD = Math.abs(deltaD) < 5 * night.sigmaNorth[i]!;
  const fitsH = Math.abs(deltaH) * Math.cos(night.declination[i]!) < 5 * night.sigmaWest[i]!;
  if (fitsD && !fitsH) {
    const minutes = (deltaH / HOUR) * 60;
    return ` Its declination fits: the hour-angle reading is wrong, or the time by ${Math.abs(minutes).toFixed(1)} minutes.`;
  }
  if (fitsH && !fitsD) return " Its hour angle fits: the declination reading is wrong.";
  return "";
}

/** A note for each place where zeros moved. */
export function jumpNotes(
  bench: Workbench,
  outcome: Outcome,
  uncertainty: (column: number) => number,
): Note[] {
  const { night } = bench;
  const { explanation, layout, solution } = outcome;
  const places = [...new Set([...explanation.hourAngleBreaks, ...explanation.declinationBreaks])].sort(
    (a, b) => a - b,
  );
  return places.map((place) => {
    const parts: string[] = [];
    for (const [name, breaks, columns] of [
      ["hour-angle", explanation.hourAngleBreaks, layout.hourAngleZero],
      ["declination", explanation.declinationBreaks, layout.declinationZero],
    ] as const) {
      if (!breaks.includes(place)) continue;
      const before = lastColumn(columns, place - 1);
      const after = firstColumn(columns, place);
      if (before < 0 || after < 0) continue;
      const jump = solution.parameters[after]! - solution.parameters[before]!;
      const wrapped = jump - 2 * Math.PI * Math.round(jump / (2 * Math.PI));
      const spread = Math.hypot(uncertainty(before), uncertainty(after));
      const size =
        Math.abs(wrapped) > 2 * DEGREE
          ? `${signed(wrapped / DEGREE, 2)}°`
          : `${signed(wrapped / ARCMINUTE, 1)}′`;
      parts.push(`the ${name} zero by ${size} (± ${spread.toFixed(1)}′)`);
    }
    const row = night.sightings[place]!.row;
    const before = night.sightings[place - 1]!.row;
    return {
      code: "zeros-moved" as const,
      row,
      rows: [before, row],
      message: `Between rows ${before} and ${row} the encoder zeros moved: ${parts.join(" and ")}. The fit goes on with zeros of their own on each side.`,
      remedy:
        "Look for a power failure, a slipping clutch, coupling, belt or roller. If the zeros were reset on purpose, say so in the column zeroSet.",
    };
  });
  function firstColumn(columns: Int32Array, from: number): number {
    for (let i = from; i < columns.length; i++) if (columns[i]! >= 0) return columns[i]!;
    return -1;
  }
  function lastColumn(columns: Int32Array, from: number): number {
    for (let i = from; i >= 0; i--) if (columns[i]! >= 0) return columns[i]!;
    return -1;
  }
}

/** A quarter of a day: the Sun then moves by less than 0.13° in declination, and by 2′ against the mean Sun. */
const SUN_STEP_MS = 6 * 3_600_000;

/** Where the Sun stands at any moment of a night, unit vectors in the hour-angle frame, to about 0.1°. */
function sunOver(site: Site): (timeMs: number) => Vector {
  const steps = new Map<number, ObservedDirection>();
  return (timeMs) => {
    const step = Math.round(timeMs / SUN_STEP_MS);
    let sun = steps.get(step);
    if (sun === undefined) {
      sun = sunDirection(step * SUN_STEP_MS, site, NO_AIR);
      steps.set(step, sun);
    }
    const hourAngle = sun.hourAngle + (TURN * (timeMs - step * SUN_STEP_MS)) / DAY_MS;
    return hourAngleVector({ hourAngle, declination: sun.declination });
  };
}

/** Notes on few, low and near-Sun sightings. */
export function circumstanceNotes(night: ReducedNight, used: Uint8Array): Note[] {
  const notes: Note[] = [];
  let count = 0;
  for (const flag of used) count += flag;
  if (count < FEW) {
    notes.push({
      code: "few-sightings",
      row: null,
      message: `Only ${count} ${count === 1 ? "sighting counts" : "sightings count"}: much of the answer is what was known beforehand.`,
      remedy: "Sight at least six stars, well spread; a dozen tell most terms apart.",
    });
  }
  const sunAt = sunOver(night.mount.site);
  for (let i = 0; i < night.count; i++) {
    const sighting = night.sightings[i]!;
    if (!sighting.use) continue;
    if (night.altitude[i]! < LOW && night.altitude[i]! >= SEEN_FROM) {
      notes.push({
        code: "low-star",
        row: sighting.row,
        message: `Row ${sighting.row} (${sighting.star}) stood at ${fixed(night.altitude[i]! / DEGREE, 1)}°: refraction so low is uncertain.`,
        remedy: "Prefer stars above 20°.",
      });
    }
    const star = hourAngleVector({ hourAngle: night.hourAngle[i]!, declination: night.declination[i]! });
    const distance = separation(star, sunAt(sighting.timeMs));
    if (distance < SUN_LIMIT) {
      notes.push({
        code: "near-sun",
        row: sighting.row,
        message: `Row ${sighting.row} (${sighting.star}) was ${(distance / DEGREE).toFixed(0)}° from the Sun.`,
        remedy:
          "Never sight or sweep within 30° of the Sun: it blinds at once and burns what is in the focus. If this star was not really there, the time or the date is wrong.",
      });
    }
  }
  return notes;
}
