/**
 * What is known of a mount before the next star: a value for every term and how sure it is, from the tolerances alone,
 * from a fit, or from a kept model.
 */
import { ARCMINUTE } from "../angles.js";
import { AXIS_SPREAD, chanceOf, NOTHING_KNOWN } from "../fit/beliefs.js";
import { modelOfMount } from "../fit/bench.js";
import { toleranceOf } from "../fit/columns.js";
import { type Evidence, evidenceOf } from "../fit/evidence.js";
import type { MountFit, Note } from "../fit/fit-result.js";
import { type SetChoice, termsInForce } from "../fit/sets-in-force.js";
import {
  BUILT_IN_COUNT,
  CONE,
  type MountModel,
  normalStance,
  SQUARENESS,
  type Stance,
} from "../mount/model.js";
import type { Mount } from "../mount/mount.js";
import { formatReading, readingFromAngle } from "../mount/readings.js";
import {
  type BuiltInTermName,
  type CauseName,
  type TermName,
  termNames,
  termRecords,
} from "../mount/terms.js";
import type { Side } from "../night/sighting.js";
import type { HourAngleDirection } from "../sky/horizon-frame.js";
import type { Guidance } from "./guidance.js";

/** A term's value and how it was held; the part of a fit's term that is needed here. */
export interface KnownTerm {
  readonly name: TermName;
  readonly set: string | null;
  /** Arcminutes (scale errors: arcminutes a radian). */
  readonly value: number;
}

/** Anything that says how a mount stands: a fit or a kept model. */
export interface MountStanding {
  readonly mount: Mount;
  readonly terms: readonly KnownTerm[];
  /** Covariance of `terms`, arcminutes squared. */
  readonly covariance: readonly (readonly number[])[];
  /** What no term explains, of a fit; of a kept model that does not say: none. */
  readonly residue?: MountFit["residue"];
  /** When the encoder zeros were found, ISO 8601, where that was another night. */
  readonly zerosFrom?: string | null;
  /** What may be said of it; of a fit as `evidenceOf` says. */
  readonly evidence?: Evidence;
  /** What must be known of it. */
  readonly notes?: readonly Pick<Note, "message" | "remedy">[];
}

/** What is known, ready for computing. */
export interface KnownMount {
  readonly mount: Mount;
  readonly model: MountModel;
  /** In the model's order, radians. */
  readonly coefficients: Float64Array;
  /** The terms that are not quite known, in the order of `covariance`. */
  readonly names: readonly TermName[];
  /** For each of `names` its place among the coefficients, or −1 for a set that is no longer in force. */
  readonly places: readonly number[];
  /** Covariance, arcminutes squared, row by row. */
  readonly covariance: Float64Array;
  /** Variance of what no term explains, each way, arcminutes squared. */
  readonly residueVariance: number;
  /** Whether sightings stand behind it; without them the zeros are unknown and readings can only be compared. */
  readonly fromSightings: boolean;
  /** When the encoder zeros were found, ISO 8601, where that was another night; else null. */
  readonly zerosFrom: string | null;
  /** Whether it may be promised that a target will stand in the field. */
  readonly promises: boolean;
  /** What stands against a promise. */
  readonly cautions: readonly Guidance[];
}

/** What a builder must know of zeros that are not tonight's; none where they are. */
export function zerosNote(known: KnownMount): Guidance[] {
  if (!known.fromSightings) {
    return [
      {
        code: "zeros-unknown",
        message: "No sightings stand behind these readings: they hold but for the encoder zeros.",
        remedy:
          "Find one star by eye; what its readings differ from those here, all others will differ by too.",
      },
    ];
  }
  if (known.zerosFrom === null) return [];
  return [
    {
      code: "zeros-of-another-night",
      message: `The encoder zeros are those of ${known.zerosFrom}.`,
      remedy:
        "If the encoders have been switched off or have slipped since, sight one star tonight first: it sets them again.",
    },
  ];
}

/** The terms that a fit holds by default. */
const defaultTerms: readonly BuiltInTermName[] = termNames.slice(0, 9);

/** Causes of which stars chosen ahead cannot tell: they hang on how and when the stars will be reached. */
const unforeseen: ReadonlySet<CauseName> = new Set<CauseName>([
  "hourAngleBacklash",
  "declinationBacklash",
  "hourAngleCreep",
  "declinationCreep",
  "settling",
]);

/** The terms that stars may be planned for and that a plan reckons with, a builder's own besides. */
export const plannableTerms: readonly BuiltInTermName[] = termNames.filter((name) => {
  const { cause } = termRecords[name];
  return cause === undefined || !unforeseen.has(cause);
});

/**
 * What is known of a term before the first star, 1σ in arcminutes; 0 where the mount file rules it out. Of a cause that acts
 * on some mounts only the variance is the chance that it acts times the square of its width: a Gaussian in place of the fit's
 * mixture, which foretells the fit's mean uncertainty within a tenth (ten and twenty stars, split ring).
 */
function sigmaBefore(name: TermName, mount: Mount): number {
  const tolerance = toleranceOf(name, mount);
  if (tolerance === null) {
    return (name === "polarAltitude" || name === "polarEast" ? AXIS_SPREAD : NOTHING_KNOWN) / ARCMINUTE;
  }
  const cause = termRecords[name as BuiltInTermName]?.cause;
  return tolerance * Math.sqrt(cause === undefined ? 1 : chanceOf(cause));
}

/**
 * The knowledge before the first star: tolerances for what the builder knows of his work, next to nothing for the rest.
 */
export function unsightedMount(mount: Mount, terms: readonly BuiltInTermName[] = defaultTerms): KnownMount {
  const names = [...terms, ...mount.customTerms.map((term) => term.name as TermName)].filter(
    (name) => sigmaBefore(name, mount) !== 0,
  );
  const sigma = names.map((name) => sigmaBefore(name, mount));
  const covariance = new Float64Array(names.length ** 2);
  sigma.forEach((value, index) => {
    covariance[index * names.length + index] = value * value;
  });
  const model = modelOfMount(mount);
  return {
    mount,
    model,
    coefficients: new Float64Array(model.size),
    names,
    places: names.map((name) => placeOf(name, mount)),
    covariance,
    // Nothing is promised before the first star: what no term explains is told by sightings.
    residueVariance: 0,
    fromSightings: false,
    zerosFrom: null,
    promises: false,
    cautions: [],
  };
}

/**
 * The knowledge that a fit or a kept model holds; of several zero sets and tube positions the last one.
 *
 * @param standing - a fit or a kept model
 * @param sets - the sets in force, where it is not the last ones
 * @throws InputError `unknown-set` where there are several sets and none of that name
 */
export function knownMount(standing: MountStanding, sets: SetChoice = {}): KnownMount {
  const { mount, terms } = standing;
  const model = modelOfMount(mount);
  const coefficients = new Float64Array(model.size);
  const inForce = termsInForce(terms, sets);
  const places = terms.map((term, index) =>
    inForce.get(term.name) === index ? placeOf(term.name, mount) : -1,
  );
  terms.forEach((term, index) => {
    if (places[index]! >= 0) coefficients[places[index]!] = term.value * ARCMINUTE;
  });
  const size = terms.length;
  const covariance = new Float64Array(size * size);
  standing.covariance.forEach((row, i) => {
    row.forEach((value, j) => {
      covariance[i * size + j] = value;
    });
  });
  return {
    mount,
    model,
    coefficients,
    names: terms.map((term) => term.name),
    places,
    covariance,
    residueVariance: standing.residue
      ? standing.residue.probability * standing.residue.amplitudeArcmin ** 2
      : 0,
    fromSightings: true,
    zerosFrom: standing.zerosFrom ?? null,
    ...assuranceOf(standing),
  };
}

/** Whether a standing allows a promise, and what stands against it. */
function assuranceOf(standing: MountStanding): Pick<KnownMount, "promises" | "cautions"> {
  const evidence = standing.evidence ?? ("sound" in standing ? evidenceOf(standing as MountFit) : null);
  if (evidence === null || evidence.allows === "advice") {
    return { promises: (standing.zerosFrom ?? null) === null, cautions: [] };
  }
  const cautions = evidence.unsound
    ? (standing.notes ?? []).map(({ message, remedy }): Guidance => ({ code: "not-sound", message, remedy }))
    : [
        {
          code: "few-sightings" as const,
          message: "So few sightings do not show a misidentified star.",
          remedy: `Nothing is promised before ${evidence.missing} more.`,
        },
      ];
  return { promises: false, cautions };
}

function placeOf(name: TermName, mount: Mount): number {
  const builtIn = termNames.indexOf(name as BuiltInTermName);
  if (builtIn >= 0) return builtIn;
  const custom = mount.customTerms.findIndex((term) => term.name === name);
  return custom < 0 ? -1 : BUILT_IN_COUNT + custom;
}

/**
 * Why the tube cannot be brought to a direction, whatever the axes do; null where it can.
 */
export function outOfReach(known: KnownMount, direction: HourAngleDirection): string | null {
  const { model, coefficients, mount } = known;
  if (model.shaftCosine(coefficients, direction.hourAngle, direction.declination) >= 0) return null;
  const elevated = mount.site.latitude >= 0 ? 1 : -1;
  const kept = Math.abs(coefficients[CONE]! + elevated * coefficients[SQUARENESS]!) / ARCMINUTE;
  return `nearer to the mount's own pole than the tube can be brought (${kept.toFixed(0)}′, by the cone and squareness errors): shim the tube's cone error away, or choose another`;
}

/** The stance of a side. */
export function stanceOf(side: Side): Stance {
  return side === "normal" ? normalStance : { ...normalStance, beyond: true };
}

/**
 * How the readings at a direction change with each term, on the sky and unweighted.
 *
 * @param out - receives ∂(west)/∂term in its first `names.length` places and ∂(north)/∂term in the next
 * @param scratch - at least `2 + 2 · model.size` places
 */
export function skyPartials(
  known: KnownMount,
  direction: HourAngleDirection,
  stance: Stance,
  out: Float64Array,
  scratch: Float64Array,
): void {
  const { model, places } = known;
  const { size } = model;
  const partials = scratch.subarray(2, 2 + 2 * size);
  model.forward(known.coefficients, direction.hourAngle, direction.declination, stance, scratch, partials);
  const cosDeclination = Math.cos(direction.declination);
  const count = places.length;
  for (let index = 0; index < count; index++) {
    const place = places[index]!;
    out[index] = place < 0 ? 0 : cosDeclination * partials[place]!;
    out[count + index] = place < 0 ? 0 : partials[size + place]!;
  }
}

/** What both axes should show for a direction. */
export interface PredictedReadings {
  /** In the mount file's unit, not rounded. */
  readonly hourAngle: number;
  readonly declination: number;
  /** As they are set: whole counts, or a dial's degrees or hours. */
  readonly hourAngleText: string;
  readonly declinationText: string;
  /**
   * How sure they are, 1σ, arcminutes on the sky (the larger of both ways together); null before the first star, while
   * the encoder zeros are unknown.
   */
  readonly uncertaintyArcmin: number | null;
}

/**
 * The readings for an observed direction, by what is known.
 *
 * @param direction - observed hour angle and declination, radians
 * @param siderealTime - local apparent, radians: for an axis that shows right ascension
 */
export function predictReadings(
  known: KnownMount,
  direction: HourAngleDirection,
  siderealTime: number,
  side: Side = "normal",
): PredictedReadings {
  const angles = new Float64Array(2);
  known.model.forward(known.coefficients, direction.hourAngle, direction.declination, stanceOf(side), angles);
  const { readings } = known.mount;
  const hourAngle = readingFromAngle(angles[0]!, readings.hourAngle, { siderealTime });
  let shownDeclination = angles[1]!;
  // A dial shows a declination again beyond the pole; a counter counts on.
  if (side === "beyond" && readings.declination.as !== "counts") {
    shownDeclination = (known.mount.site.latitude >= 0 ? Math.PI : -Math.PI) - shownDeclination;
  }
  const declination = readingFromAngle(shownDeclination, readings.declination);
  return {
    hourAngle,
    declination,
    hourAngleText: formatReading(hourAngle, readings.hourAngle),
    declinationText: formatReading(declination, readings.declination),
    uncertaintyArcmin: known.fromSightings ? pointingUncertainty(known, direction, side) : null,
  };
}

/** How sure the pointing is at a direction: variances west and north and their covariance, arcminutes squared. */
export interface PointingVariance {
  readonly west: number;
  readonly north: number;
  readonly both: number;
}

/** How sure the pointing is at a direction: the terms together, and what no term explains. */
export function pointingVariance(
  known: KnownMount,
  direction: HourAngleDirection,
  stance: Stance,
): PointingVariance {
  const count = known.names.length;
  const rows = new Float64Array(2 * count);
  skyPartials(known, direction, stance, rows, new Float64Array(2 + 2 * known.model.size));
  const product = (a: number, b: number): number => {
    let sum = 0;
    for (let i = 0; i < count; i++) {
      for (let j = 0; j < count; j++) {
        sum += rows[a * count + i]! * known.covariance[i * count + j]! * rows[b * count + j]!;
      }
    }
    return sum;
  };
  return {
    west: Math.max(0, product(0, 0)) + known.residueVariance,
    north: Math.max(0, product(1, 1)) + known.residueVariance,
    both: product(0, 1),
  };
}

/** 1σ of west and north together, arcminutes. */
function pointingUncertainty(known: KnownMount, direction: HourAngleDirection, side: Side): number {
  const { west, north } = pointingVariance(known, direction, stanceOf(side));
  return Math.sqrt(west + north);
}

/** The side on which a mount looks at an hour angle: a German mount changes at the meridian. */
export function usualSide(mount: Mount, hourAngle: number): Side {
  return mount.kind === "german" && hourAngle < 0 ? "beyond" : "normal";
}
