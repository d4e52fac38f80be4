/**
 * What has changed between two fits, beyond what they can tell.
 */

import { Matrix, pseudoInverse } from "#matrices";
import { ARCMINUTE } from "../angles.js";
import { jackFrame } from "../base/jack-frame.js";
import { InputError } from "../errors.js";
import { chiSquareProbability } from "../fit/distributions.js";
import type { Estimate, MountFit } from "../fit/fit-result.js";
import { SCALE_UP_PROBABILITY } from "../fit/mount-fit.js";
import type { Mount } from "../mount/mount.js";
import { type TermName, termDescriptions } from "../mount/terms.js";
import type { KnownTerm } from "../pointing/known-mount.js";
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
}

/** Beyond doubt, perhaps, or not. */
export type ChangeVerdict = "changed" | "perhaps changed" | "not changed" | "starts anew";

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
  readonly verdict: ChangeVerdict;
  /** What such a change usually comes from; empty where nothing changed. */
  readonly meaning: string;
}

/** What changed between two nights. */
export interface Comparison {
  readonly mount: string;
  readonly terms: readonly TermChange[];
  /** The axis's two ways together, arcminutes. */
  readonly pole: {
    readonly altitude: number;
    readonly east: number;
    readonly distance: number;
    /** The chance of so great a change had nothing changed. */
    readonly probability: number;
    readonly verdict: ChangeVerdict;
  };
  /** Terms that only one of them holds. */
  readonly onlyOlder: readonly TermName[];
  readonly onlyNewer: readonly TermName[];
  /** The whole in a few sentences. */
  readonly summary: readonly string[];
}

/** Three standard deviations: with nine terms, a false alarm in forty comparisons. */
const CHANGED_FROM = 3;
const PERHAPS_FROM = 2;
/** The probabilities of the same two limits. */
const CHANGED_PROBABILITY = 0.0027;
const PERHAPS_PROBABILITY = 0.0455;

/**
 * Compares two fits or kept models of the same mount.
 *
 * Both used the same tolerances as prior knowledge, so what neither night measured is the same in both and does not
 * scatter. With P the covariances, s the factors by which χ² had enlarged them, Λ the inverse variances of the
 * tolerances, and Pᵢ = s Cᵢ, the difference scatters, had nothing changed, by
 * V = s₁ (C₁ − C₁ Λ C₁) + s₂ (C₂ − C₂ Λ C₂) + (C₂ − C₁) Λ (C₂ − C₁): the sightings' part of each, and what the two pull
 * differently towards the tolerances' middle (linear least squares with a Gaussian prior).
 *
 * @param older - the earlier one
 * @param newer - the later one
 * @throws {@link InputError} `model-of-other-mount` with every difference that leaves nothing to compare: another site,
 *   other encoders, another formula of a custom term that both hold
 * @example
 * ```ts
 * compareModels(keptStanding(parseKeptModel(text), mount), fit).summary
 * ```
 */
export function compareModels(older: ComparedModel, newer: ComparedModel): Comparison {
  refuseOtherMount(older, newer);
  const olderPlaces = placesInForce(older);
  const newerPlaces = placesInForce(newer);
  const names = [...newerPlaces.keys()].filter((name) => olderPlaces.has(name));
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
  const terms = names.map((name, index): TermChange => {
    const was = older.terms[olderPlaces.get(name)!]!;
    const is = newer.terms[newerPlaces.get(name)!]!;
    const difference = differences[index]!;
    // Rounding may leave next to nothing, or less, of what did not scatter at all.
    const least = (1e-3 * Math.hypot(was.uncertainty, is.uncertainty)) ** 2;
    const uncertainty = Math.sqrt(Math.max(least, scatter.get(index, index)));
    const ratio = difference / uncertainty;
    const verdict = isZero(name) ? "starts anew" : verdictOf(Math.abs(ratio));
    return {
      name,
      label: labelOf(name, newer.mount),
      unit: is.unit,
      older: { value: was.value, uncertainty: was.uncertainty },
      newer: { value: is.value, uncertainty: is.uncertainty },
      difference: { value: difference, uncertainty },
      ratio,
      verdict,
      meaning:
        verdict === "changed" || verdict === "perhaps changed"
          ? meaningOf(name, difference, newer.mount)
          : "",
    };
  });
  const pole = poleChange(names, differences, scatter);
  return {
    mount: newer.mount.name,
    terms,
    pole,
    onlyOlder: [...olderPlaces.keys()].filter((name) => !newerPlaces.has(name)),
    onlyNewer: [...newerPlaces.keys()].filter((name) => !olderPlaces.has(name)),
    summary: summaryOf(terms, pole, newer.mount),
  };
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

function verdictOf(ratio: number): ChangeVerdict {
  return ratio >= CHANGED_FROM ? "changed" : ratio >= PERHAPS_FROM ? "perhaps changed" : "not changed";
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
    return { altitude: 0, east: 0, distance: 0, probability: 1, verdict: "not changed" };
  }
  const [altitude, east] = places.map((place) => differences[place]!) as [number, number];
  const step = Matrix.columnVector([altitude, east]);
  const square = step
    .transpose()
    .mmul(pseudoInverse(scatter.selection(places, places)))
    .mmul(step)
    .get(0, 0);
  const probability = chiSquareProbability(square, 2);
  const verdict: ChangeVerdict =
    probability <= CHANGED_PROBABILITY
      ? "changed"
      : probability <= PERHAPS_PROBABILITY
        ? "perhaps changed"
        : "not changed";
  return { altitude, east, distance: Math.hypot(altitude, east), probability, verdict };
}

function meaningOf(name: TermName, difference: number, mount: Mount): string {
  switch (name) {
    case "polarAltitude":
      return settlingText(difference, mount);
    case "polarEast":
      return `unless it was turned, the base has swung or tilted sideways: the axis's upper end points further ${difference < 0 ? "west" : "east"}`;
    case "cone":
      return "the main mirror was collimated anew, or the tube moved in its rings";
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

function summaryOf(terms: readonly TermChange[], pole: Comparison["pole"], mount: Mount): string[] {
  const sentences: string[] = [];
  const up = pole.altitude < 0 ? "lower" : "higher";
  const over = pole.east < 0 ? "west" : "east";
  const place = `${Math.abs(pole.altitude).toFixed(1)}′ ${up} and ${Math.abs(pole.east).toFixed(1)}′ further ${over}`;
  if (pole.verdict === "changed") {
    sentences.push(`The polar axis has moved by ${pole.distance.toFixed(1)}′: it points ${place}.`);
  } else if (pole.verdict === "perhaps changed") {
    sentences.push(
      `The polar axis may have moved: it seems to point ${place}, which chance alone would do in ${(100 * pole.probability).toFixed(1)} % of cases. A few more stars will tell.`,
    );
  } else {
    sentences.push("The polar axis has not moved by more than the two nights can tell.");
  }
  for (const term of terms) {
    if (term.meaning === "") continue;
    if (term.name === "polarAltitude" || term.name === "polarEast") {
      if (pole.verdict !== "not changed")
        sentences.push(`Axis ${term.name === "polarEast" ? "sideways" : "altitude"}: ${term.meaning}.`);
      continue;
    }
    const changed = term.verdict === "changed" ? "has changed" : "may have changed";
    const per = term.unit === "arcmin" ? "′" : "′/rad";
    sentences.push(
      `The ${term.label} ${changed} from ${term.older.value.toFixed(1)}${per} to ${term.newer.value.toFixed(1)}${per}: ${term.meaning}.`.replace(
        /-(\d)/g,
        "−$1",
      ),
    );
  }
  if (terms.some((term) => term.verdict === "starts anew")) {
    sentences.push(
      "Encoder zeros start anew whenever the encoders are switched on; their change says nothing of the mount.",
    );
  }
  if (pole.verdict === "not changed" && terms.every((term) => term.meaning === "")) {
    sentences.push(`Nothing else of ${mount.name} has changed either: the kept model still holds.`);
  }
  return sentences;
}
