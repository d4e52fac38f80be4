/**
 * A story of a night: which mistakes it holds. Everything else about it follows from the list of its faults.
 */
import type { ReducedNight } from "../night/reduce.js";

/** A mistake that a night may hold. Places are indices of sightings. */
export type Fault =
  | { readonly kind: "excluded"; readonly place: number }
  | { readonly kind: "jump"; readonly place: number; readonly axes: JumpAxes }
  | { readonly kind: "setting"; readonly axis: "hourAngle" | "declination"; readonly factor: number }
  | { readonly kind: "exchanged-columns" }
  | { readonly kind: "clock" /** Entered minus true. */; readonly hours: number }
  | { readonly kind: "clock-step"; readonly place: number /** Entered minus true. */; readonly hours: number }
  | { readonly kind: "site"; readonly site: SiteFault };

export type JumpAxes = "hourAngle" | "declination" | "both";
export type SiteFault = "longitude-sign" | "latitude-sign" | "exchanged";
export type FaultOf<K extends Fault["kind"]> = Extract<Fault, { kind: K }>;

/** What the times and the site were entered as, against the truth. */
export interface Circumstances {
  readonly hours: number;
  readonly steps: readonly { readonly place: number; readonly hours: number }[];
  readonly sites: readonly SiteFault[];
}

/** A story with all that follows from its faults. */
export interface Story {
  readonly faults: readonly Fault[];
  /** 1 for each sighting that the fit uses. */
  readonly used: Uint8Array;
  readonly usedCount: number;
  /** Sightings that could be used but are not. */
  readonly excludedCount: number;
  /** Indices of the sightings from which a zero is a new one, ascending. */
  readonly hourAngleBreaks: readonly number[];
  readonly declinationBreaks: readonly number[];
  /** What the file's angles must be multiplied by: −1 for a reversed sense, 2 for half the steps a turn. */
  readonly hourAngleFactor: number;
  readonly declinationFactor: number;
  /** The two columns of readings were exchanged. */
  readonly exchanged: boolean;
  readonly circumstances: Circumstances;
}

/** The story of a list of faults. */
export function storyOf(night: ReducedNight, faults: readonly Fault[]): Story {
  const used = Uint8Array.from(night.sightings, (sighting) => (sighting.use ? 1 : 0));
  let usedCount = 0;
  for (const flag of used) usedCount += flag;
  let excludedCount = 0;
  const hourAngleBreaks: number[] = [];
  const declinationBreaks: number[] = [];
  let hourAngleFactor = 1;
  let declinationFactor = 1;
  let exchanged = false;
  let hours = 0;
  const steps: { place: number; hours: number }[] = [];
  const sites: SiteFault[] = [];
  for (const fault of faults) {
    if (fault.kind === "excluded") {
      if (!used[fault.place]) continue;
      used[fault.place] = 0;
      usedCount--;
      excludedCount++;
    } else if (fault.kind === "jump") {
      if (fault.axes !== "declination") hourAngleBreaks.push(fault.place);
      if (fault.axes !== "hourAngle") declinationBreaks.push(fault.place);
    } else if (fault.kind === "setting") {
      if (fault.axis === "hourAngle") hourAngleFactor *= fault.factor;
      else declinationFactor *= fault.factor;
    } else if (fault.kind === "exchanged-columns") exchanged = !exchanged;
    else if (fault.kind === "clock") hours += fault.hours;
    else if (fault.kind === "clock-step") steps.push({ place: fault.place, hours: fault.hours });
    else sites.push(fault.site);
  }
  const ascending = (places: number[]): number[] => [...new Set(places)].sort((a, b) => a - b);
  return {
    faults,
    used,
    usedCount,
    excludedCount,
    hourAngleBreaks: ascending(hourAngleBreaks),
    declinationBreaks: ascending(declinationBreaks),
    hourAngleFactor,
    declinationFactor,
    exchanged,
    circumstances: { hours, steps, sites },
  };
}

/** The faults of one kind. */
export function faultsOf<K extends Fault["kind"]>(story: Story, kind: K): FaultOf<K>[] {
  return story.faults.filter((fault): fault is FaultOf<K> => fault.kind === kind);
}

/** A night's readings as a story has them: each axis's angles, to be multiplied by its factor. */
export interface StoryReadings {
  readonly hourAngle: Float64Array;
  readonly hourAngleFactor: number;
  readonly hasHourAngle: Uint8Array;
  readonly declination: Float64Array;
  readonly declinationFactor: number;
  readonly hasDeclination: Uint8Array;
}

/**
 * The readings in a story. Where the columns were exchanged, each axis takes the other column's figures with its own sense
 * and steps.
 */
export function readingsOf(story: Story, night: ReducedNight): StoryReadings {
  const { hourAngleFactor, declinationFactor } = story;
  if (!story.exchanged) {
    return {
      hourAngle: night.readingHourAngle,
      hourAngleFactor,
      hasHourAngle: night.hasHourAngle,
      declination: night.readingDeclination,
      declinationFactor,
      hasDeclination: night.hasDeclination,
    };
  }
  const { hourAngle, declination } = night.mount.readings;
  const ratio = (hourAngle.sense * declination.perTurn) / (declination.sense * hourAngle.perTurn);
  return {
    hourAngle: night.readingDeclination,
    hourAngleFactor: hourAngleFactor * ratio,
    hasHourAngle: night.hasDeclination,
    declination: night.readingHourAngle,
    declinationFactor: declinationFactor / ratio,
    hasDeclination: night.hasHourAngle,
  };
}
