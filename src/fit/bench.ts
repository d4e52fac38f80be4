/**
 * A night laid out for fitting: what its rows need besides a story, made once for each way to read clock and site.
 */
import { ARCMINUTE, DEGREE, wrapHalfTurn } from "../angles.js";
import { compileCustomTerm } from "../mount/custom-term.js";
import { type CustomEffect, type MountModel, mountModel, type Stance } from "../mount/model.js";
import type { Mount } from "../mount/mount.js";
import type { TermName } from "../mount/terms.js";
import { type ReducedNight, reduceNight } from "../night/reduce.js";
import type { Sighting } from "../night/sighting.js";
import { fromSpherical, type Vector } from "../vectors.js";
import type { Circumstances, Story } from "./story.js";

/** The rigorous model of a mount, its own terms compiled. */
export function modelOfMount(mount: Mount): MountModel {
  const custom: CustomEffect[] = mount.customTerms.map((term, k) =>
    compileCustomTerm(term, `customTerms[${k}]`),
  );
  return mountModel(mount.site.latitude * DEGREE, custom);
}

/** How the telescope came to a sighting, as its row says. */
export function stanceOf(sighting: Sighting): Stance {
  return {
    beyond: sighting.side === "beyond",
    hourAngleApproach: sighting.hourAngleApproach ?? 0,
    declinationApproach: sighting.declinationApproach ?? 0,
  };
}

/** The labels of a night's zero sets, tube positions or locked settings. */
export interface DeclaredSets {
  readonly labels: readonly string[];
  /** For each sighting the place of its label. */
  readonly of: Int32Array;
}

/** A night ready to be fitted. */
export interface Bench {
  readonly night: ReducedNight;
  readonly model: MountModel;
  /** Stances without the progress of the night; the approach, where no column tells it, by the order of the readings. */
  readonly stances: readonly Stance[];
  /** Unit vectors of the observed directions in the hour-angle frame, three places a sighting. */
  readonly directions: Float64Array;
  readonly hourAngleSets: DeclaredSets;
  readonly declinationSets: DeclaredSets;
  readonly tubeSets: DeclaredSets;
  /** Only these terms, without prior knowledge: the classical fit; null: all terms, held by their tolerances. */
  readonly terms: readonly TermName[] | null;
  /** Sightings of stars below the horizon, and whether the Sun was up, are judged by these indices. */
  readonly variants: Map<string, Bench>;
}

/** The label under which the sightings of a locked setting share a declination of the tube. */
const lockedLabel = (group: string): string => `locked ${group}`;

/** Lays out a night. */
export function benchOf(reduced: ReducedNight, terms: readonly TermName[] | null): Bench {
  const night = withLockedSettings(reduced);
  const directions = new Float64Array(3 * night.count);
  for (let i = 0; i < night.count; i++)
    putDirection(directions, 3 * i, night.hourAngle[i]!, night.declination[i]!);
  return {
    night,
    model: modelOfMount(night.mount),
    stances: stancesOf(night),
    directions,
    hourAngleSets: declaredSets(night, (sighting) => sighting.zeroSet),
    declinationSets: declaredSets(night, (sighting) =>
      isLocked(sighting) ? lockedLabel(sighting.group ?? "") : sighting.zeroSet,
    ),
    tubeSets: declaredSets(night, (sighting) => sighting.tubeSet),
    terms,
    variants: new Map(),
  };
}

function isLocked(sighting: Sighting): boolean {
  return sighting.hourAngle === null && sighting.declination === null && sighting.group !== null;
}

/**
 * Pictures taken with the declination axis locked and unread: the tube keeps one declination, whatever it is, so each
 * counts as a reading of 0 with a zero of its group's own.
 */
function withLockedSettings(night: ReducedNight): ReducedNight {
  if (!night.sightings.some(isLocked)) return night;
  const readingDeclination = Float64Array.from(night.readingDeclination);
  const hasDeclination = Uint8Array.from(night.hasDeclination);
  const sigmaNorth = Float64Array.from(night.sigmaNorth);
  night.sightings.forEach((sighting, i) => {
    if (!isLocked(sighting)) return;
    readingDeclination[i] = 0;
    hasDeclination[i] = 1;
    // No encoder is read: only the picture's own error is left.
    sigmaNorth[i] = (sighting.centringArcmin ?? night.mount.centringArcmin) * ARCMINUTE;
  });
  return { ...night, readingDeclination, hasDeclination, sigmaNorth };
}

/** Approaches as written, else by the way that the readings went since the sighting before. */
function stancesOf(night: ReducedNight): Stance[] {
  return night.sightings.map((sighting, i) => {
    const stance = stanceOf(sighting);
    const before = i > 0 ? night.sightings[i - 1]! : null;
    if (before === null || before.zeroSet !== sighting.zeroSet) return stance;
    const since = (readings: Float64Array): number => {
      const way = wrapHalfTurn(readings[i]! - readings[i - 1]!);
      return way > 0 ? 1 : way < 0 ? -1 : 0;
    };
    return {
      beyond: stance.beyond,
      hourAngleApproach: sighting.hourAngleApproach ?? since(night.readingHourAngle),
      declinationApproach: sighting.declinationApproach ?? since(night.readingDeclination),
    };
  });
}

/** Writes the unit vector of an observed direction into an array. */
export function putDirection(into: Float64Array, at: number, hourAngle: number, declination: number): void {
  const [x, y, z]: Vector = fromSpherical(-hourAngle, declination);
  into[at] = x;
  into[at + 1] = y;
  into[at + 2] = z;
}

function declaredSets(night: ReducedNight, labelOf: (sighting: Sighting) => string): DeclaredSets {
  const places = new Map<string, number>();
  const of = new Int32Array(night.count);
  for (let i = 0; i < night.count; i++) {
    const label = labelOf(night.sightings[i]!);
    let place = places.get(label);
    if (place === undefined) {
      place = places.size;
      places.set(label, place);
    }
    of[i] = place;
  }
  return { labels: [...places.keys()], of };
}

const HOUR_MS = 3_600_000;

/** The bench of a story: the night read with the story's clock and site. */
export function benchFor(root: Bench, story: Story): Bench {
  const { circumstances } = story;
  if (circumstances.hours === 0 && circumstances.steps.length === 0 && circumstances.sites.length === 0)
    return root;
  const key = JSON.stringify(circumstances);
  let bench = root.variants.get(key);
  if (bench === undefined) {
    bench = benchOf(reduceNight(corrected(root.night, circumstances)), root.terms);
    root.variants.set(key, bench);
  }
  return bench;
}

/** The night as it would be without the faults of clock and site. */
function corrected({ mount, sightings }: ReducedNight, circumstances: Circumstances) {
  let { latitude, longitude } = mount.site;
  for (const fault of circumstances.sites) {
    if (fault === "longitude-sign") longitude = -longitude;
    else if (fault === "latitude-sign") latitude = -latitude;
    else [latitude, longitude] = [longitude, latitude];
  }
  return {
    mount: { ...mount, site: { ...mount.site, latitude, longitude } },
    sightings: sightings.map((sighting, place) => {
      let hours = circumstances.hours;
      for (const step of circumstances.steps) if (place >= step.place) hours += step.hours;
      return hours === 0 ? sighting : { ...sighting, timeMs: sighting.timeMs - hours * HOUR_MS };
    }),
  };
}

/** Which rows a story uses, in order. */
export function usedPlaces(story: Story): Int32Array {
  const places = new Int32Array(story.usedCount);
  for (let i = 0, k = 0; i < story.used.length; i++) if (story.used[i]) places[k++] = i;
  return places;
}
