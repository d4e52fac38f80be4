/**
 * What has changed between two fits, beyond what they can tell.
 */

import { EigenvalueDecomposition, Matrix, pseudoInverse } from "#matrices";
import { ARCMINUTE } from "../angles.js";
import { jackFrame } from "../base/jack-frame.js";
import { InputError } from "../errors.js";
import { chiSquareLimit, chiSquareProbability } from "../fit/distributions.js";
import type { Estimate, EveryCause, MountFit } from "../fit/fit-result.js";
import { SCALE_UP_PROBABILITY } from "../fit/mount-fit.js";
import type { Mount } from "../mount/mount.js";
import { isOfCause, type TermName, termDescriptions } from "../mount/terms.js";
import type { KnownTerm } from "../pointing/known-mount.js";
import { hasEveryCause, OF_ONE_NIGHT, withEveryCause } from "./every-cause.js";
import { keptStanding } from "./keep.js";

/** One of the two: a fit, or a kept model on its mount. */
export interface ComparedModel {
  readonly mount: Mount;
  readonly terms: readonly (KnownTerm & {
    /** 1σ. */
    readonly uncertainty: number;
    readonly unit: "arcmin" | "arcmin/rad";
    /** The prior 1σ that held it; null for a free term. */
    readonly tolerance: number | null;
  })[];
  /** Covariance of `terms`, in their order and units squared. */
  readonly covariance: readonly (readonly number[])[];
  readonly chiSquare: MountFit["chiSquare"];
  /** The terms with every cause at work, where the fit has them so. */
  readonly everyCause?: EveryCause | null;
}

/** A model for comparing: with every cause at work, whose covariance has the scale of the errors in it. */
function unpreferred(model: ComparedModel & { readonly everyCause: EveryCause }): ComparedModel {
  return { ...withEveryCause(model), chiSquare: { ...model.chiSquare, probability: 1 } };
}

/**
 * Beyond doubt, perhaps, or not; `could not have been seen`: the stars of one of the nights do not tell this term, so that it
 * may have changed unseen.
 */
export type ChangeVerdict =
  | "changed"
  | "perhaps changed"
  | "not changed"
  | "could not have been seen"
  | "starts anew";

/** One term then and now. */
export interface TermChange {
  readonly name: TermName;
  readonly label: string;
  readonly unit: "arcmin" | "arcmin/rad";
  readonly older: Estimate;
  readonly newer: Estimate;
  /** Newer minus older, and how far it would scatter had nothing changed. */
  readonly difference: Estimate;
  /** The difference over its scatter. */
  readonly ratio: number;
  /** The smallest change that would have stood out, in the term's unit; null where none would, whatever its size. */
  readonly couldSee: number | null;
  readonly verdict: ChangeVerdict;
  /** What such a change usually comes from; empty where nothing changed. */
  readonly meaning: string;
}

/** All terms together, the encoder zeros free. */
export interface ChangeTogether {
  readonly chiSquare: MountFit["chiSquare"];
  readonly verdict: ChangeVerdict;
  /** The one term whose change alone explains most of it; null where nothing changed. */
  readonly likeliest: {
    readonly name: TermName;
    readonly label: string;
    readonly unit: "arcmin" | "arcmin/rad";
    readonly change: Estimate;
    /** χ² of what is left once it is allowed for, and its probability with one degree of freedom less. */
    readonly left: number;
    readonly leftProbability: number;
  } | null;
}

/** What changed between two nights. */
export interface Comparison {
  readonly mount: string;
  readonly together: ChangeTogether;
  readonly terms: readonly TermChange[];
  /** The axis's two ways together, arcminutes. */
  readonly pole: {
    readonly altitude: number;
    readonly east: number;
    readonly distance: number;
    /** The chance of so great a change had nothing changed. */
    readonly probability: number;
    /** A move of this size, arcminutes, would have stood out whichever way; null where none would. */
    readonly couldSee: number | null;
    readonly verdict: ChangeVerdict;
  };
  /** Terms that only one of them holds. */
  readonly onlyOlder: readonly TermName[];
  readonly onlyNewer: readonly TermName[];
  /** The whole in a few sentences. */
  readonly summary: readonly string[];
}

/** A term changed where it stands out so far and all terms together do, or stands out beyond doubt by itself. */
const CHANGED_FROM = 3;
const BEYOND_DOUBT = 4.5;
const PERHAPS_FROM = 2.5;
/** The chances at which all terms together, or the axis's two ways, are called changed: a false alarm in 100 comparisons. */
const CHANGED_PROBABILITY = 0.004;
const PERHAPS_PROBABILITY = 0.03;
/** Of a term's true change so little shows in the difference: the stars do not tell the term. */
const LEAST_SHOWN = 0.1;
/** A move of the axis that stays unseen below this leaves the question open, arcminutes. */
const AXIS_MATTERS = 30;
/** A term that could change by so many of its tolerances unseen is not told. */
const TOLERANCES_UNSEEN = 3;

/**
 * Compares two fits or kept models of the same mount.
 *
 * Both used the same tolerances as prior knowledge, so what neither night measured is the same in both and does not
 * scatter. With P the covariances, s the factors by which χ² had enlarged them, Λ the inverse variances of the
 * tolerances, and Pᵢ = s Cᵢ, the difference scatters, had nothing changed, by
 * V = s₁ (C₁ − C₁ Λ C₁) + s₂ (C₂ − C₂ Λ C₂) + (C₂ − C₁) Λ (C₂ − C₁): the sightings' part of each, and what the two pull
 * differently towards the tolerances' middle (linear least squares with a Gaussian prior).
 *
 * @param earlier - the earlier one
 * @param later - the later one
 * @throws {@link InputError} `model-of-other-mount` with every difference that leaves nothing to compare: another site,
 *   other encoders, another formula of a custom term that both hold
 * @example
 * ```ts
 * compareModels(keptStanding(parseKeptModel(keptText), mount), fit).summary
 * ```
 */
export function compareModels(earlier: ComparedModel, later: ComparedModel): Comparison {
  refuseOtherMount(earlier, later);
  const [older, newer] =
    hasEveryCause(earlier) && hasEveryCause(later)
      ? [unpreferred(earlier), unpreferred(later)]
      : [earlier, later];
  const olderPlaces = placesInForce(older);
  const newerPlaces = placesInForce(newer);
  const names = [...newerPlaces.keys()].filter((name) => olderPlaces.has(name) && !OF_ONE_NIGHT.has(name));
  const before = blockOf(older, names, olderPlaces);
  const after = blockOf(newer, names, newerPlaces);
  const prior = Matrix.diag(
    names.map((name) => {
      const tolerance = newer.terms[newerPlaces.get(name)!]!.tolerance;
      const same = tolerance !== null && older.terms[olderPlaces.get(name)!]!.tolerance === tolerance;
      return same ? 1 / tolerance ** 2 : 0;
    }),
  );
  const pulled = Matrix.sub(after, before);
  const scatter = pulled
    .mmul(prior)
    .mmul(pulled)
    .add(fromSightings(before, prior).mul(enlargement(older)))
    .add(fromSightings(after, prior).mul(enlargement(newer)));

  const differences = names.map(
    (name) => newer.terms[newerPlaces.get(name)!]!.value - older.terms[olderPlaces.get(name)!]!.value,
  );
  // A true change shows in the newer fit as far as its sightings tell it and not the tolerances.
  const shown = Matrix.sub(Matrix.eye(names.length), after.mmul(prior));
  const all = changeTogether(names, differences, scatter, shown, newer, newerPlaces);
  const { together, left, judged } = all;
  const terms = names.map((name, index): TermChange => {
    const was = older.terms[olderPlaces.get(name)!]!;
    const is = newer.terms[newerPlaces.get(name)!]!;
    const difference = differences[index]!;
    // Rounding may leave next to nothing, or less, of what did not scatter at all.
    const least = (1e-3 * Math.hypot(was.uncertainty, is.uncertainty)) ** 2;
    const uncertainty = Math.sqrt(Math.max(least, scatter.get(index, index)));
    const ratio = difference / uncertainty;
    const share = shown.get(index, index);
    const couldSee = share < LEAST_SHOWN ? null : (CHANGED_FROM * uncertainty) / share;
    const verdict = isZero(name)
      ? "starts anew"
      : termVerdict(
          Math.max(Math.abs(left[index]! / uncertainty), all.byAxis?.get(name) ?? 0),
          judged[index]!,
          couldSee,
          unseenFrom(name, is.tolerance),
        );
    return {
      name,
      label: labelOf(name, newer.mount),
      unit: is.unit,
      older: { value: was.value, uncertainty: was.uncertainty },
      newer: { value: is.value, uncertainty: is.uncertainty },
      difference: { value: difference, uncertainty },
      ratio,
      couldSee: isZero(name) ? null : couldSee,
      verdict,
      meaning:
        verdict === "changed" || verdict === "perhaps changed"
          ? meaningOf(name, difference, newer.mount)
          : "",
    };
  });
  const alone = poleChange(names, differences, scatter);
  // Where nothing but the axis explains what has changed, it is the axis.
  const pole = all.byAxis === null ? alone : { ...alone, verdict: together.verdict };
  return {
    mount: newer.mount.name,
    together,
    terms,
    pole,
    onlyOlder: [...olderPlaces.keys()].filter((name) => !newerPlaces.has(name)),
    onlyNewer: [...newerPlaces.keys()].filter((name) => !olderPlaces.has(name)),
    summary: summaryOf(terms, pole, all, newer.mount),
  };
}

/** Beyond this size a change that would not be seen leaves the question open. */
function unseenFrom(name: TermName, tolerance: number | null): number {
  return name === "polarAltitude" || name === "polarEast"
    ? AXIS_MATTERS
    : TOLERANCES_UNSEEN * (tolerance ?? AXIS_MATTERS / TOLERANCES_UNSEEN);
}

/** Combinations that scatter less than this part of what their terms do are rounding. */
const LEAST_SCATTER = 1e-3;

/** So many changes at once are taken off before the other terms are judged. */
const MOST_CHANGES = 4;
const AXIS: ReadonlySet<TermName> = new Set<TermName>(["polarAltitude", "polarEast"]);

/**
 * All terms but the zeros together: χ² = dᵀ V⁻¹ d in the directions that scatter, the one term that explains most of it, and of each
 * difference what is left, and by which verdict on all it is judged, once the changes that explain them all are taken off: one
 * that has changed makes no other suspect, and stars that hardly tell a term show another's change in it.
 */
function changeTogether(
  names: readonly TermName[],
  differences: readonly number[],
  scatter: Matrix,
  shown: Matrix,
  newer: ComparedModel,
  newerPlaces: ReadonlyMap<TermName, number>,
): {
  readonly together: ChangeTogether;
  readonly left: readonly number[];
  readonly judged: readonly ChangeVerdict[];
  /** Of each of the axis's ways its change over its scatter, where they alone explain all and nothing else does; else null. */
  readonly byAxis: ReadonlyMap<TermName, number> | null;
} {
  const places = names.flatMap((name, index) => (isZero(name) ? [] : [index]));
  const asOne = (together: ChangeTogether) => ({
    together,
    left: differences,
    judged: names.map(() => together.verdict),
    byAxis: null,
  });
  const none: ChangeTogether = {
    chiSquare: { value: 0, degreesOfFreedom: 0, probability: 1 },
    verdict: "could not have been seen",
    likeliest: null,
  };
  if (places.length === 0) return asOne(none);
  const sizes = places.map((place) => {
    const term = newer.terms[newerPlaces.get(names[place]!)!]!;
    return Math.max(term.uncertainty, Math.sqrt(Math.max(0, scatter.get(place, place))), 1e-9);
  });
  const scaled = new Matrix(
    places.map((a, i) =>
      places.map((b, j) => (scatter.get(a, b) + scatter.get(b, a)) / (2 * sizes[i]! * sizes[j]!)),
    ),
  );
  const { realEigenvalues: sizesSquared, eigenvectorMatrix: ways } = new EigenvalueDecomposition(scaled, {
    assumeSymmetric: true,
  });
  const told = sizesSquared.flatMap((square, k) => (square > LEAST_SCATTER ? [k] : []));
  if (told.length === 0) return asOne(none);
  /** A vector over the terms as independent numbers of unit scatter. */
  const whitened = (values: readonly number[]): number[] =>
    told.map(
      (k) =>
        values.reduce((sum, value, i) => sum + (ways.get(i, k) * value) / sizes[i]!, 0) /
        Math.sqrt(sizesSquared[k]!),
    );
  const dot = (a: readonly number[], b: readonly number[]): number =>
    a.reduce((sum, value, k) => sum + value * b[k]!, 0);
  const change = whitened(places.map((place) => differences[place]!));
  const value = dot(change, change);
  const degreesOfFreedom = told.length;
  const probability = chiSquareProbability(value, degreesOfFreedom);
  const verdict = verdictBy(probability);
  if (verdict === "not changed") {
    return asOne({ chiSquare: { value, degreesOfFreedom, probability }, verdict, likeliest: null });
  }
  // How one unit of each term would show in all the differences.
  const patterns = places.map((place) => whitened(places.map((row) => shown.get(row, place))));
  let likeliest: ChangeTogether["likeliest"] = null;
  for (const [k, place] of places.entries()) {
    const name = names[place]!;
    const pattern = patterns[k]!;
    const square = dot(pattern, pattern);
    if (!(square > 0)) continue;
    const amount = dot(pattern, change) / square;
    const left = Math.max(0, value - amount * amount * square);
    if (likeliest !== null && likeliest.left <= left) continue;
    likeliest = {
      name,
      label: labelOf(name, newer.mount),
      unit: newer.terms[newerPlaces.get(name)!]!.unit,
      change: { value: amount, uncertainty: 1 / Math.sqrt(square) },
      left,
      leftProbability: chiSquareProbability(left, degreesOfFreedom - 1),
    };
  }
  const { amounts, ratios, rest, clear } = fewestChanges(
    places.map((place) => names[place]!),
    patterns,
    change,
    degreesOfFreedom,
  );
  return {
    together: { chiSquare: { value, degreesOfFreedom, probability }, verdict, likeliest },
    judged: names.map((_, row) => (amounts.has(places.indexOf(row)) ? verdict : rest)),
    byAxis:
      clear && rest === "not changed" && [...ratios.keys()].every((k) => AXIS.has(names[places[k]!]!))
        ? new Map([...ratios].map(([k, ratio]) => [names[places[k]!]!, ratio]))
        : null,
    // Of a term that is itself among the changes all is left.
    left: differences.map((difference, row) =>
      places.reduce(
        (sum, place, k) => (place === row ? sum : sum - (amounts.get(k) ?? 0) * shown.get(row, place)),
        difference,
      ),
    ),
  };
}

/** What explains the differences: of each term its change and that over its scatter. */
interface Explanation {
  readonly amounts: ReadonlyMap<number, number>;
  readonly ratios: ReadonlyMap<number, number>;
  /** What is left, judged. */
  readonly rest: ChangeVerdict;
  /** The last one taken explains clearly more than any other would. */
  readonly clear: boolean;
}

/** So much less of χ² must be left than with another change: three standard deviations. */
const CLEARLY = 9;

/** The fewest changes, one after the other by what they explain, that leave no more than chance does; the axis's two ways count as one. */
function fewestChanges(
  names: readonly TermName[],
  patterns: readonly (readonly number[])[],
  change: readonly number[],
  degreesOfFreedom: number,
): Explanation {
  const axis = names.flatMap((name, k) => (AXIS.has(name) ? [k] : []));
  const groups = [axis, ...names.flatMap((name, k) => (AXIS.has(name) ? [] : [[k]]))];
  let taken: { places: readonly number[]; rows: Matrix; amounts: Matrix; left: number } = {
    places: [],
    rows: Matrix.zeros(change.length, 0),
    amounts: Matrix.zeros(0, 1),
    left: Number.POSITIVE_INFINITY,
  };
  let clear = false;
  const explained = (group: readonly number[]): typeof taken => {
    const places = [...taken.places, ...group];
    const rows = new Matrix(change.map((_, row) => places.map((k) => patterns[k]![row]!)));
    const seen = Matrix.columnVector([...change]);
    const amounts = pseudoInverse(rows).mmul(seen);
    return { places, rows, amounts, left: Matrix.sub(seen, rows.mmul(amounts)).norm() ** 2 };
  };
  let rest: ChangeVerdict = "changed";
  for (let round = 0; round < MOST_CHANGES && rest !== "not changed"; round++) {
    const open = groups.filter((group) => group.length > 0 && !taken.places.includes(group[0]!));
    if (open.length === 0) break;
    const [best, second] = open.map(explained).sort((a, b) => a.left - b.left);
    taken = best!;
    clear = second === undefined || second.left - best!.left > CLEARLY;
    const free = Math.max(1, degreesOfFreedom - taken.places.length);
    rest = verdictBy(chiSquareProbability(taken.left, free));
  }
  const scatter = pseudoInverse(taken.rows.transpose().mmul(taken.rows));
  const amounts = taken.amounts.to1DArray();
  return {
    amounts: new Map(taken.places.map((k, index) => [k, amounts[index]!])),
    ratios: new Map(
      taken.places.map((k, index) => [k, Math.abs(amounts[index]!) / Math.sqrt(scatter.get(index, index))]),
    ),
    rest,
    clear,
  };
}

function verdictBy(probability: number): "changed" | "perhaps changed" | "not changed" {
  return probability <= CHANGED_PROBABILITY
    ? "changed"
    : probability <= PERHAPS_PROBABILITY
      ? "perhaps changed"
      : "not changed";
}

/** Refuses two that are not of the same mount at the same site, by what a kept model must share with its mount. */
function refuseOtherMount(older: ComparedModel, newer: ComparedModel): void {
  const { name: mount, site, readings, customTerms } = older.mount;
  const inBoth = older.terms.filter((term) => newer.terms.some(({ name }) => name === term.name));
  try {
    keptStanding(
      {
        format: "polewright kept model",
        version: 1,
        mount,
        latitude: site.latitude,
        longitude: site.longitude,
        sightedAt: null,
        temperatureC: null,
        sightings: 0,
        skyRmsArcmin: 0,
        chiSquare: older.chiSquare,
        readings,
        customTerms,
        terms: inBoth.map((term) => ({ ...term, standing: "measured" })),
        covariance: [],
        note: "",
      },
      newer.mount,
    );
  } catch (problem) {
    if (!(problem instanceof InputError)) throw problem;
    throw new InputError(
      problem.faults.map((fault) => ({
        ...fault,
        message: `The older one, of ${mount}, does not fit the mount of the newer one, ${newer.mount.name}.`,
      })),
    );
  }
}

/** The factor by which a fit had enlarged its covariance because its residuals were too large. */
function enlargement(model: ComparedModel): number {
  const { value, degreesOfFreedom, probability } = model.chiSquare;
  return degreesOfFreedom > 0 && probability < SCALE_UP_PROBABILITY
    ? Math.max(1, value / degreesOfFreedom)
    : 1;
}

/** What of a covariance comes from the sightings' own errors. */
function fromSightings(covariance: Matrix, prior: Matrix): Matrix {
  return Matrix.sub(covariance, covariance.mmul(prior).mmul(covariance));
}

/** The places of the terms in force: of several sets the last. */
function placesInForce(model: ComparedModel): Map<TermName, number> {
  const places = new Map<TermName, number>();
  model.terms.forEach((term, index) => {
    places.set(term.name, index);
  });
  return places;
}

/** The covariance of some terms, before it was enlarged. */
function blockOf(
  model: ComparedModel,
  names: readonly TermName[],
  places: ReadonlyMap<TermName, number>,
): Matrix {
  const enlarged = enlargement(model);
  const block = Matrix.zeros(names.length, names.length);
  names.forEach((a, i) => {
    names.forEach((b, j) => {
      block.set(i, j, model.covariance[places.get(a)!]![places.get(b)!]! / enlarged);
    });
  });
  return block;
}

/** Encoders begin to count anew when they are switched on: their zeros say nothing of the mount. */
function isZero(name: TermName): boolean {
  return name === "hourAngleZero" || name === "declinationZero";
}

/** One term, in the light of all together: seven terms would stand out by three scatters in one of fifty comparisons. */
function termVerdict(
  ratio: number,
  together: ChangeVerdict,
  couldSee: number | null,
  unseen: number,
): ChangeVerdict {
  if (ratio >= BEYOND_DOUBT || (ratio >= CHANGED_FROM && together === "changed")) return "changed";
  if (ratio >= CHANGED_FROM || (ratio >= PERHAPS_FROM && together !== "not changed"))
    return "perhaps changed";
  return couldSee === null || couldSee > unseen ? "could not have been seen" : "not changed";
}

function labelOf(name: TermName, mount: Mount): string {
  if (name in termDescriptions) return termDescriptions[name as keyof typeof termDescriptions].label;
  return mount.customTerms.find((term) => term.name === name)?.label ?? name;
}

function poleChange(
  names: readonly TermName[],
  differences: readonly number[],
  scatter: Matrix,
): Comparison["pole"] {
  const places = [names.indexOf("polarAltitude"), names.indexOf("polarEast")];
  if (places.some((place) => place < 0)) {
    return {
      altitude: 0,
      east: 0,
      distance: 0,
      probability: 1,
      couldSee: null,
      verdict: "could not have been seen",
    };
  }
  const [altitude, east] = places.map((place) => differences[place]!) as [number, number];
  const step = Matrix.columnVector([altitude, east]);
  const block = scatter.selection(places, places);
  const square = step.transpose().mmul(pseudoInverse(block)).mmul(step).get(0, 0);
  const probability = chiSquareProbability(square, 2);
  const [a, e] = [block.get(0, 0), block.get(1, 1)];
  const largest = (a + e) / 2 + Math.hypot((a - e) / 2, block.get(0, 1));
  const couldSee = Math.sqrt(chiSquareLimit(CHANGED_PROBABILITY, 2) * Math.max(0, largest));
  const verdict = verdictBy(probability);
  return {
    altitude,
    east,
    distance: Math.hypot(altitude, east),
    probability,
    couldSee,
    verdict: verdict === "not changed" && couldSee > AXIS_MATTERS ? "could not have been seen" : verdict,
  };
}

function meaningOf(name: TermName, difference: number, mount: Mount): string {
  switch (name) {
    case "polarAltitude":
      return settlingText(difference, mount);
    case "polarEast":
      return `unless it was turned, the base has swung or tilted sideways: the axis's upper end points further ${difference < 0 ? "west" : "east"}`;
    case "cone":
      return "the main mirror was collimated again, or the tube moved in its rings";
    case "squareness":
      return "the declination axis moved in its bearings or trunnions";
    case "tubeSag":
      return difference > 0
        ? "the tube, the mirror's cell or the secondary's holder gives more than before: look for a loose bolt"
        : "the tube, the mirror's cell or the secondary's holder gives less than before";
    case "ringSag":
    case "trunnionSag":
      return "the frame carries its load otherwise: look at bolts, welds and rollers";
    case "hourAngleScale":
    case "declinationScale":
      return "a coupling or roller slips, or its diameter changed with wear or cold";
    default:
      return "what it stands for has changed";
  }
}

/** A change of the axis's altitude as the settling of one end of the base. */
function settlingText(difference: number, mount: Mount): string {
  const north = mount.site.latitude >= 0 ? difference : -difference;
  const end = north < 0 ? "north" : "south";
  const frame = mount.base === null ? null : jackFrame(mount.base.jacks);
  if (frame === null || frame.northExtent === 0)
    return `unless it was turned, as if the ${end} end of the base had settled`;
  const mm = Math.abs(north) * ARCMINUTE * frame.northExtent;
  return `unless it was turned, as if the ${end} end of the base had settled by ${mm < 0.1 ? mm.toFixed(2) : mm.toFixed(1)} mm`;
}

function summaryOf(
  terms: readonly TermChange[],
  pole: Comparison["pole"],
  { together, byAxis }: ReturnType<typeof changeTogether>,
  mount: Mount,
): string[] {
  const sentences: string[] = [togetherText(together, byAxis !== null, terms, mount), poleText(pole)];
  for (const term of terms) {
    if (term.meaning === "") continue;
    if (term.name === "polarAltitude" || term.name === "polarEast") {
      if (pole.verdict === "changed" || pole.verdict === "perhaps changed")
        sentences.push(`Axis ${term.name === "polarEast" ? "sideways" : "altitude"}: ${term.meaning}.`);
      continue;
    }
    const changed = term.verdict === "changed" ? "has changed" : "may have changed";
    const per = term.unit === "arcmin" ? "′" : "′/rad";
    sentences.push(
      signs(
        `The ${term.label} ${changed} from ${term.older.value.toFixed(1)}${per} to ${term.newer.value.toFixed(1)}${per}: ${term.meaning}.`,
      ),
    );
  }
  const unseen = terms.filter((term) => term.verdict === "could not have been seen");
  if (unseen.length > 0) {
    const named = unseen.filter(({ name }) => !isOfCause(name)).map(({ label }) => label);
    const others = named.length < unseen.length ? ["errors of the encoders, play or steps"] : [];
    sentences.push(
      `Not measured by these stars, so it may have changed unseen: ${[...named, ...others].join(", ")}.`,
    );
  }
  if (terms.some((term) => term.verdict === "starts anew")) {
    sentences.push(
      "Encoder zeros are new whenever the encoders are switched on; their change says nothing of the mount.",
    );
  }
  return sentences;
}

const signs = (text: string): string => text.replace(/-(\d)/g, "−$1");

function togetherText(
  together: ChangeTogether,
  byAxis: boolean,
  terms: readonly TermChange[],
  mount: Mount,
): string {
  const { chiSquare, verdict, likeliest } = together;
  const figure = `χ² ${chiSquare.value.toFixed(0)} of ${chiSquare.degreesOfFreedom}`;
  if (verdict === "could not have been seen") {
    return "Whether anything has changed cannot be said: these nights do not measure enough of the same terms.";
  }
  if (verdict === "not changed") {
    const told = terms.filter((term) => term.verdict === "not changed");
    return told.length === 0
      ? `These nights do not show whether ${mount.name} has changed: every term could have changed unseen.`
      : `Nothing of ${mount.name} that these nights measure has changed (all terms together: ${figure}).`;
  }
  const said = verdict === "changed" ? "has changed" : "may have changed";
  const start = `${mount.name} ${said}: all terms together differ by more than chance (${figure}).`;
  if (likeliest === null) return start;
  if (byAxis) return `${start} A move of the polar axis alone would explain it.`;
  const per = likeliest.unit === "arcmin" ? "′" : "′/rad";
  const size = signs(
    `${likeliest.change.value.toFixed(1)}${per} ± ${likeliest.change.uncertainty.toFixed(1)}${per}`,
  );
  const alone =
    likeliest.leftProbability > PERHAPS_PROBABILITY
      ? `A change of the ${likeliest.label} by ${size} alone would explain it.`
      : `A change of the ${likeliest.label} by ${size} explains most of it, but not all (χ² ${likeliest.left.toFixed(0)} is left).`;
  return `${start} ${alone}`;
}

function poleText(pole: Comparison["pole"]): string {
  const up = pole.altitude < 0 ? "lower" : "higher";
  const over = pole.east < 0 ? "west" : "east";
  const place = `${Math.abs(pole.altitude).toFixed(1)}′ ${up} and ${Math.abs(pole.east).toFixed(1)}′ further ${over}`;
  switch (pole.verdict) {
    case "changed":
      return `The polar axis has moved by ${pole.distance.toFixed(1)}′: it points ${place}.`;
    case "perhaps changed":
      return `The polar axis may have moved: it seems to point ${place}, which chance alone would do in ${(100 * pole.probability).toFixed(1)} % of cases. A few more stars will show it.`;
    case "not changed":
      return `The polar axis has not moved by ${pole.couldSee!.toFixed(1)}′ or more; less could not have been seen.`;
    default:
      return pole.couldSee === null
        ? "Whether the polar axis has moved cannot be said: one of the nights does not measure it."
        : `Whether the polar axis has moved cannot be said: a move of less than ${pole.couldSee.toFixed(0)}′ could not have been seen.`;
  }
}
