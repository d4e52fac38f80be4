/**
 * The columns of a fit: its unknowns, what is known of each beforehand, and which of them each sighting touches.
 */
import { ARCMINUTE, DEGREE } from "../angles.js";
import { BUILT_IN_COUNT, CONE, DECLINATION_ZERO, HOUR_ANGLE_ZERO } from "../mount/model.js";
import type { Mount, Tolerances } from "../mount/mount.js";
import {
  type BuiltInTermName,
  type CauseName,
  type TermName,
  termNames,
  termRecords,
} from "../mount/terms.js";
import type { ReducedNight } from "../night/reduce.js";
import { AXIS_SPREAD, NOTHING_KNOWN } from "./beliefs.js";
import type { Bench, DeclaredSets } from "./bench.js";
import type { Story } from "./story.js";

/** One unknown. */
export interface Column {
  readonly name: TermName;
  /** Its place among the model's coefficients. */
  readonly place: number;
  /** The zero set or tube position that it belongs to; null when there is one only. */
  readonly set: string | null;
  /** 1σ of what is known of it beforehand, radians; a half turn where nothing is. */
  readonly width: number;
  /** Whether its width says something: false for a free one. */
  readonly held: boolean;
  /** The cause that it belongs to where that acts on some nights only. */
  readonly cause: CauseName | null;
}

/** The columns of a story. */
export interface Layout {
  /** Those that always act first, then those of the causes. */
  readonly columns: readonly Column[];
  /** How many always act. */
  readonly core: number;
  /** Unknowns that act on every sighting: pairs of coefficient's place and column. */
  readonly common: Int32Array;
  /** Column of each sighting's own hour-angle zero, declination zero and cone; −1 where it is not fitted. */
  readonly hourAngleZero: Int32Array;
  readonly declinationZero: Int32Array;
  readonly cone: Int32Array;
  /** −1 at the first used sighting, 0 at the last. */
  readonly progress: Float64Array;
}

/** The model's place of a term; −1 where the mount has no such term. */
export function termIndex(name: TermName, mount: Mount): number {
  const builtIn = termNames.indexOf(name as BuiltInTermName);
  if (builtIn >= 0) return builtIn;
  const custom = mount.customTerms.findIndex((term) => term.name === name);
  return custom < 0 ? -1 : BUILT_IN_COUNT + custom;
}

/** The tolerance that holds a term, arcminutes; null for a free one. */
export function toleranceOf(name: TermName, mount: Mount): number | null {
  const record = (termRecords as Partial<Record<string, { tolerance: keyof Tolerances | null }>>)[name];
  if (record !== undefined) return record.tolerance === null ? null : mount.tolerances[record.tolerance];
  return mount.customTerms.find((term) => term.name === name)?.tolerance ?? null;
}

/** The columns that a fit with all prior knowledge has. */
function usualTerms(mount: Mount): TermName[] {
  const own = mount.customTerms.map(({ name }) => name as TermName);
  return [...termNames, ...own].filter((name) => toleranceOf(name, mount) !== 0);
}

/** What a first search of a night that does not fit is made with: zeros and the axis. */
const ROUGH_TERMS: readonly TermName[] = ["hourAngleZero", "declinationZero", "polarAltitude", "polarEast"];
/** A first setting of the axis is hardly worse than this: it steers the rough search only. */
const ROUGH_AXIS_SPREAD = 5 * DEGREE;

/**
 * Lays out the columns of a story.
 *
 * @param rough - only zeros and the axis, for a first search
 */
export function layOut(bench: Bench, story: Story, rough = false): Layout {
  const { night } = bench;
  const terms = rough ? ROUGH_TERMS : bench.terms;
  const { mount, count } = night;
  const columns: Column[] = [];
  const hourAngleZero = new Int32Array(count).fill(-1);
  const declinationZero = new Int32Array(count).fill(-1);
  const cone = new Int32Array(count).fill(-1);
  const common: number[] = [];
  const causeOf = (name: TermName): CauseName | null =>
    (terms === null && termRecords[name as BuiltInTermName]?.cause) || null;
  const wanted = [...(terms ?? usualTerms(mount))].sort(
    (a, b) => (causeOf(a) === null ? 0 : 1) - (causeOf(b) === null ? 0 : 1),
  );
  let core = 0;
  for (const name of wanted) {
    const place = termIndex(name, mount);
    const cause = causeOf(name);
    const tolerance = terms === null ? toleranceOf(name, mount) : null;
    const polar = name === "polarAltitude" || name === "polarEast";
    const width =
      tolerance !== null
        ? tolerance * ARCMINUTE
        : polar && rough
          ? ROUGH_AXIS_SPREAD
          : polar && terms === null
            ? AXIS_SPREAD
            : NOTHING_KNOWN;
    const column = { name, place, width, held: tolerance !== null, cause };
    if (place === HOUR_ANGLE_ZERO || place === DECLINATION_ZERO || place === CONE) {
      const [own, sets, breaks] =
        place === HOUR_ANGLE_ZERO
          ? ([hourAngleZero, bench.hourAngleSets, story.hourAngleBreaks] as const)
          : place === DECLINATION_ZERO
            ? ([declinationZero, bench.declinationSets, story.declinationBreaks] as const)
            : ([cone, bench.tubeSets, []] as const);
      const labels = groupRows(night, story.used, sets, breaks, own, columns.length);
      for (const label of labels) columns.push({ ...column, set: labels.length > 1 ? label : null });
    } else {
      common.push(place, columns.length);
      columns.push({ ...column, set: null });
    }
    if (cause === null) core = columns.length;
  }
  return {
    columns,
    core,
    common: Int32Array.from(common),
    hourAngleZero,
    declinationZero,
    cone,
    progress: progressOf(night, story.used),
  };
}

/** How far the night had gone at each sighting, −1 at the first used one and 0 at the last. */
function progressOf(night: ReducedNight, used: Uint8Array): Float64Array {
  let first = Number.POSITIVE_INFINITY;
  let last = Number.NEGATIVE_INFINITY;
  night.sightings.forEach(({ timeMs }, i) => {
    if (!used[i]) return;
    first = Math.min(first, timeMs);
    last = Math.max(last, timeMs);
  });
  const span = last - first;
  return Float64Array.from(night.sightings, ({ timeMs }) => (span > 0 ? (timeMs - last) / span : 0));
}

/** All fitted unknowns in the model's order, of several sets the last; 0 for what is not fitted. */
export function fittedCoefficients(layout: Layout, parameters: Float64Array, size: number): Float64Array {
  const coefficients = new Float64Array(size);
  layout.columns.forEach((column, j) => {
    coefficients[column.place] = parameters[j]!;
  });
  return coefficients;
}

/** Writes the coefficients that are a sighting's own, its zeros and its cone; 0 where they are not fitted. */
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
