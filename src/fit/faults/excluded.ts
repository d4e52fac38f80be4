/** A sighting that is a mistake of its own: another star than named, a slip of the pen, a knock. */
import { ARCMINUTE, HOUR } from "../../angles.js";
import { FALSE_EXCLUSION } from "../beliefs.js";
import type { Bench } from "../bench.js";
import type { Note } from "../fit-result.js";
import { type LikelyStar, likelyStars } from "../likely-star.js";
import type { Outcome } from "../outcome.js";
import { type Fault, faultsOf } from "../story.js";
import { comparer, priceFall, suspicionOf } from "../suspicion.js";
import type { FaultKind, Proposal } from "./fault-kind.js";

/** The χ² (2 degrees of freedom) that the worst sighting of a clean night exceeds once in a thousand nights. */
export function exclusionPrice(sightings: number): number {
  return 2 * Math.log(Math.max(1, sightings) / FALSE_EXCLUSION);
}

/** So many are proposed one by one. */
const SINGLES = 3;
/** From so many on, all that look wrong are proposed together. */
const MANY = 2;

export const excluded: FaultKind<"excluded"> = {
  kind: "excluded",
  unsound: false,
  margin: 0,
  price: (_, { story }) => exclusionPrice(story.usedCount + story.excludedCount),
  propose,
  notes: (_, { outcome }) => excludedNotes(outcome).notes,
};

function propose(outcome: Outcome): Proposal[] {
  const { story, bench } = outcome;
  const { night } = bench;
  const found = suspicionOf(outcome);
  const { scale } = outcome.posterior.likeliest;
  // What leaving a used sighting out wins, and what taking another back costs.
  const distanceSquared = found.distanceSquared.map((distance, i) =>
    story.used[i] ? priceFall(found, scale, distance) : distance,
  );
  const price = exclusionPrice(story.usedCount + story.excludedCount);
  const wrong: number[] = [];
  const welcome: number[] = [];
  for (let i = 0; i < night.count; i++) {
    if (!night.sightings[i]!.use) continue;
    if (story.used[i]) {
      if (distanceSquared[i]! > price) wrong.push(i);
    } else if (distanceSquared[i]! < price) welcome.push(i);
  }
  const gainOf = (i: number): number => Math.abs(distanceSquared[i]! - price);
  wrong.sort((a, b) => gainOf(b) - gainOf(a));
  const exclude = (places: readonly number[]): Fault[] => [
    ...story.faults,
    ...places.map((place): Fault => ({ kind: "excluded", place })),
  ];
  const takeBack = (places: readonly number[]): Fault[] => {
    const back = new Set(places);
    return story.faults.filter((fault) => fault.kind !== "excluded" || !back.has(fault.place));
  };
  const proposals: Proposal[] = [];
  // A sighting far out drags others with it: the worst few are tried first, each alone and then together.
  for (const i of wrong.slice(0, SINGLES)) proposals.push({ faults: exclude([i]), gain: gainOf(i) });
  if (wrong.length >= MANY) {
    const gain = wrong.reduce((sum, i) => sum + gainOf(i), 0);
    proposals.push({ faults: exclude(wrong), gain: gain / 2 });
    if (wrong.length > 4) {
      const half = wrong.slice(0, Math.ceil(wrong.length / 2));
      proposals.push({ faults: exclude(half), gain: half.reduce((sum, i) => sum + gainOf(i), 0) / 2 });
    }
  }
  if (welcome.length > 0) {
    const gain = welcome.reduce((sum, i) => sum + gainOf(i), 0);
    proposals.push({ faults: takeBack(welcome), gain });
    if (welcome.length > 1)
      for (const i of welcome.slice(0, SINGLES)) proposals.push({ faults: takeBack([i]), gain: gainOf(i) });
  }
  return proposals;
}

/** The notes on excluded sightings, and for each its likely star. */
export function excludedNotes(outcome: Outcome): { notes: Note[]; likely: Map<number, string> } {
  const { bench, story } = outcome;
  const { night } = bench;
  const compare = comparer(outcome);
  const notes: Note[] = [];
  const likely = new Map<number, string>();
  const places = faultsOf(story, "excluded")
    .map(({ place }) => place)
    .sort((a, b) => a - b);
  for (const i of places) {
    const sighting = night.sightings[i]!;
    const c = compare(i);
    const { row } = sighting;
    if (!c.comparable) {
      notes.push({
        code: "outlier",
        row,
        message: `Row ${row} (${sighting.star}) is excluded from the fit: no other sighting shares its encoder zero.`,
        remedy: "Sight more stars with these zeros, or leave the row out.",
      });
      continue;
    }
    const stars = likelyStars(outcome, i);
    if (stars.length > 0 && sighting.catalogueStar !== null) {
      likely.set(i, stars[0]!.star.label);
      notes.push(misidentified(row, sighting.star, stars));
      continue;
    }
    const west = (c.deltaHourAngle * c.cosDeclination) / ARCMINUTE;
    const north = c.deltaDeclination / ARCMINUTE;
    const parts = [
      Number.isNaN(west) ? "" : `${Math.abs(west).toFixed(1)}′ ${west >= 0 ? "west" : "east"}`,
      Number.isNaN(north) ? "" : `${Math.abs(north).toFixed(1)}′ ${north >= 0 ? "north" : "south"}`,
    ].filter((part) => part !== "");
    notes.push({
      code: "outlier",
      row,
      message: `Row ${row} (${sighting.star}) fits no star and is excluded from the fit. It is off by ${parts.join(" and ")}, ${Math.sqrt(c.distanceSquared).toFixed(0)} times its uncertainty.${hint(c.deltaHourAngle, c.deltaDeclination, bench, i)}`,
      remedy: "Check the entry. Correct it if it was mistyped; otherwise sight the star again.",
    });
  }
  return { notes, likely };
}

function misidentified(row: number, said: string, stars: readonly LikelyStar[]): Note {
  const [first, ...others] = stars as [LikelyStar, ...LikelyStar[]];
  const also =
    others.length > 0
      ? ` ${others.map((other) => `${other.star.label} (${other.distanceArcmin.toFixed(1)}′)`).join(" and ")} would fit nearly as well.`
      : "";
  return {
    code: "misnamed-star",
    row,
    message: `Row ${row} says ${said}, but the readings fit ${first.star.label} to ${first.distanceArcmin.toFixed(1)}′.${also} The row is excluded from the fit.`,
    remedy: `If you sighted ${first.star.label}, write that name in row ${row} and fit again.`,
  };
}

/** An axis fits where it is off by less than this many of its errors. */
const FITS = 5;

/** What a lonely error may come from, where one axis fits and the other does not. */
function hint(deltaH: number, deltaD: number, bench: Bench, i: number): string {
  const { night } = bench;
  const fitsD = Math.abs(deltaD) < FITS * night.sigmaNorth[i]!;
  const fitsH = Math.abs(deltaH) * Math.cos(night.declination[i]!) < FITS * night.sigmaWest[i]!;
  if (fitsD && !fitsH && !Number.isNaN(deltaH)) {
    const minutes = (deltaH / HOUR) * 60;
    return ` Its declination fits: the hour-angle reading is wrong, or the time by ${Math.abs(minutes).toFixed(1)} minutes.`;
  }
  if (fitsH && !fitsD && !Number.isNaN(deltaD))
    return " Its hour angle fits: the declination reading is wrong.";
  return "";
}
