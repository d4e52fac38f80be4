/**
 * Which unknowns a fit has, and which of them each sighting touches.
 */
import { ARCMINUTE, DEGREE } from "../angles.js";
import { BUILT_IN_COUNT, CONE, DECLINATION_ZERO, HOUR_ANGLE_ZERO } from "../mount/model.js";
import type { Mount } from "../mount/mount.js";
import { type TermName, termNames } from "../mount/terms.js";
import type { ReducedNight } from "../night/reduce.js";
import type { Explanation } from "./explanation.js";

/** One unknown. */
interface Unknown {
  readonly name: TermName;
  /** Its place among the model's coefficients. */
  readonly index: number;
  /** The zero set or tube position it belongs to; null when there is one only. */
  readonly set: string | null;
  /** 1σ of what is known of it beforehand, radians; null for a free one. */
  readonly prior: number | null;
}

export interface Layout {
  readonly unknowns: readonly Unknown[];
  /** Unknowns that act on every sighting: pairs of model index and column. */
  readonly common: Int32Array;
  /** Column of each sighting's own hour-angle zero, declination zero and cone; −1 where it is not fitted. */
  readonly hourAngleZero: Int32Array;
  readonly declinationZero: Int32Array;
  readonly cone: Int32Array;
}

/** Every geometric and sag term: what a fit holds when nothing else is asked for. */
export const usualTerms: readonly TermName[] = [
  "hourAngleZero",
  "declinationZero",
  "polarAltitude",
  "polarEast",
  "cone",
  "squareness",
  "tubeSag",
  "ringSag",
  "trunnionSag",
];

/** The model's index of a term. */
export function termIndex(name: TermName, mount: Mount): number {
  const builtIn = (termNames as readonly string[]).indexOf(name);
  if (builtIn >= 0) return builtIn;
  const custom = mount.customTerms.findIndex((term) => term.name === name);
  return custom < 0 ? -1 : BUILT_IN_COUNT + custom;
}

function priorOf(name: TermName, mount: Mount): number | null {
  const tolerances: Partial<Record<string, number>> = { ...mount.tolerances };
  const tolerance =
    tolerances[name] ?? mount.customTerms.find((term) => term.name === name)?.tolerance ?? null;
  return tolerance === null ? null : tolerance * ARCMINUTE;
}

/**
 * A first setting of the axis is hardly worse than this: it steers the rough search only, never the fit itself.
 */
const ROUGH_POLAR_SPREAD = 5 * DEGREE;

/** What holds a free unknown when the sightings alone cannot: half a turn says nothing, but keeps it finite. */
const NOTHING_KNOWN = Math.PI;

/** How the free unknowns are held: not at all, the axis roughly (first search), or just kept finite. */
export type Hold = "free" | "rough-axis" | "finite";

/** What a layout needs of a night. */
export interface LayoutNight {
  readonly night: ReducedNight;
  readonly zeroSets: DeclaredSets;
  readonly tubeSets: DeclaredSets;
}

/** Lays out the unknowns of an explanation. */
export function layOut(of: LayoutNight, explanation: Explanation, hold: Hold = "free"): Layout {
  const { night } = of;
  const { mount, count } = night;
  const unknowns: Unknown[] = [];
  const hourAngleZero = new Int32Array(count).fill(-1);
  const declinationZero = new Int32Array(count).fill(-1);
  const cone = new Int32Array(count).fill(-1);
  const common: number[] = [];

  for (const name of explanation.terms) {
    const index = termIndex(name, mount);
    const known = explanation.priors ? priorOf(name, mount) : null;
    const polar = name === "polarAltitude" || name === "polarEast";
    const prior =
      hold === "rough-axis" && polar
        ? ROUGH_POLAR_SPREAD
        : hold === "finite"
          ? (known ?? NOTHING_KNOWN)
          : known;
    if (index === HOUR_ANGLE_ZERO || index === DECLINATION_ZERO || index === CONE) {
      const columns =
        index === HOUR_ANGLE_ZERO ? hourAngleZero : index === DECLINATION_ZERO ? declinationZero : cone;
      const breaks =
        index === HOUR_ANGLE_ZERO
          ? explanation.hourAngleBreaks
          : index === DECLINATION_ZERO
            ? explanation.declinationBreaks
            : [];
      const sets = index === CONE ? of.tubeSets : of.zeroSets;
      const labels = groupRows(night, explanation.used, sets, breaks, columns, unknowns.length);
      for (const label of labels)
        unknowns.push({ name, index, set: labels.length > 1 ? label : null, prior });
    } else {
      common.push(index, unknowns.length);
      unknowns.push({ name, index, set: null, prior });
    }
  }
  return { unknowns, common: Int32Array.from(common), hourAngleZero, declinationZero, cone };
}

/** The labels of a night's zero sets or tube positions. */
export interface DeclaredSets {
  readonly labels: readonly string[];
  /** For each sighting the place of its label. */
  readonly of: Int32Array;
}

/** Gathers the labels that a column of the night file declares. */
export function declaredSets(night: ReducedNight, column: "zeroSet" | "tubeSet"): DeclaredSets {
  const places = new Map<string, number>();
  const of = new Int32Array(night.count);
  for (let i = 0; i < night.count; i++) {
    const label = night.sightings[i]![column];
    let place = places.get(label);
    if (place === undefined) {
      place = places.size;
      places.set(label, place);
    }
    of[i] = place;
  }
  return { labels: [...places.keys()], of };
}

/**
 * Writes the coefficients that are a sighting's own, its zeros and its cone; 0 where they are not fitted.
 *
 * @param coefficients - in the model's order; the others are left alone
 */
export function ownCoefficients(
  layout: Layout,
  parameters: Float64Array,
  sighting: number,
  coefficients: Float64Array,
): void {
  const zeroH = layout.hourAngleZero[sighting]!;
  const zeroD = layout.declinationZero[sighting]!;
  const cone = layout.cone[sighting]!;
  coefficients[HOUR_ANGLE_ZERO] = zeroH >= 0 ? parameters[zeroH]! : 0;
  coefficients[DECLINATION_ZERO] = zeroD >= 0 ? parameters[zeroD]! : 0;
  coefficients[CONE] = cone >= 0 ? parameters[cone]! : 0;
}

/** All fitted unknowns in the model's order, of several sets the last; 0 for what is not fitted. */
export function fittedCoefficients(layout: Layout, parameters: Float64Array, size: number): Float64Array {
  const coefficients = new Float64Array(size);
  layout.unknowns.forEach((unknown, j) => {
    coefficients[unknown.index] = parameters[j]!;
  });
  return coefficients;
}

/** Sightings that share a zero or a tube position. */
interface Group {
  readonly declared: string;
  readonly first: number;
  last: number;
  used: boolean;
}

/**
 * Parts the sightings into those that share a zero or a tube position.
 *
 * @param columns - receives for each sighting the number of its group, counted from `from`, or −1
 * @returns the groups' labels
 */
function groupRows(
  night: ReducedNight,
  used: Uint8Array,
  sets: DeclaredSets,
  breaks: readonly number[],
  columns: Int32Array,
  from: number,
): string[] {
  const groups: Group[] = [];
  const ordinals = new Map<number, number>();
  const setCount = sets.labels.length;
  let segment = 0;
  let key = -1;
  let ordinal = -1;
  for (let i = 0; i < night.count; i++) {
    while (segment < breaks.length && i >= breaks[segment]!) segment++;
    const set = sets.of[i]!;
    if (segment * setCount + set !== key) {
      key = segment * setCount + set;
      const known = ordinals.get(key);
      ordinal = known ?? groups.length;
      if (known === undefined) {
        ordinals.set(key, ordinal);
        groups.push({ declared: sets.labels[set]!, first: i, last: i, used: false });
      }
    }
    const group = groups[ordinal]!;
    group.last = i;
    if (used[i]) group.used = true;
    columns[i] = ordinal;
  }
  // Only sets with a used sighting can be found; the others' sightings have no prediction of their own.
  const kept = groups.filter((group) => group.used);
  let next = from;
  const places = Int32Array.from(groups, (group) => (group.used ? next++ : -1));
  for (let i = 0; i < night.count; i++) columns[i] = places[columns[i]!]!;
  const declaredCount = new Map<string, number>();
  for (const group of kept) declaredCount.set(group.declared, (declaredCount.get(group.declared) ?? 0) + 1);
  return kept.map(({ declared, first, last }) => {
    const firstRow = night.sightings[first]!.row;
    const lastRow = night.sightings[last]!.row;
    const range = firstRow === lastRow ? `row ${firstRow}` : `rows ${firstRow}–${lastRow}`;
    const split = declaredCount.get(declared)! > 1 || declared === "";
    return declared === "" ? range : split ? `${declared}, ${range}` : declared;
  });
}
