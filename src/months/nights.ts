/**
 * Kept nights as they are compared over months: what each night's stars alone say of the terms, in information form, so that the
 * tolerances that all nights shared are not counted once a night.
 */
import { EigenvalueDecomposition, inverse, Matrix } from "#matrices";
import { InputError } from "../errors.js";
import { hasEveryCause, OF_ONE_NIGHT, withEveryCause } from "../keep/every-cause.js";
import type { KeptModel } from "../keep/keep.js";
import { keptStanding } from "../keep/keep.js";
import type { Mount } from "../mount/mount.js";
import type { TermName } from "../mount/terms.js";
import { parseTime } from "../sky/time.js";

/** One night. */
interface KeptNight {
  readonly timeMs: number;
  readonly temperatureC: number | null;
  /** Information of the night's own stars on the terms, zeros left free: −2 ln of the likelihood is xᵀJx − 2hᵀx. */
  readonly information: Matrix;
  readonly weighted: Matrix;
  /** What its stars alone say of each term and how well; null where they do not tell it. */
  readonly told: readonly ({ readonly value: number; readonly sigma: number } | null)[];
  /** hᵀJ⁺h and the rank of J: for the χ² of what is left. */
  readonly square: number;
  readonly rank: number;
}

/** The nights in the order of time, with the terms that they share. */
export interface KeptNights {
  readonly names: readonly TermName[];
  readonly units: readonly ("arcmin" | "arcmin/rad")[];
  /** The prior 1σ of each term; null for a free one. */
  readonly tolerances: readonly (number | null)[];
  readonly nights: readonly KeptNight[];
}

/** Fewer nights are compared, not followed. */
const LEAST_NIGHTS = 3;
const ZEROS: ReadonlySet<string> = new Set(["hourAngleZero", "declinationZero"]);
/** Of a term known to its tolerance nothing is told by a night that makes it surer by less than this part. */
const LEAST_TOLD = 0.3;

/**
 * The nights of kept models in the order of time.
 *
 * @param kept - three or more of the same mount
 * @param mount - the mount file of today
 * @throws {@link InputError} `few-nights`, `night-without-time`, `same-night-twice`, and the faults of {@link keptStanding}
 */
export function keptNights(kept: readonly KeptModel[], mount: Mount): KeptNights {
  if (kept.length < LEAST_NIGHTS) {
    throw new InputError({
      code: "few-nights",
      found: `${kept.length}`,
      allowed: `${LEAST_NIGHTS} kept models or more; two are held against each other by compare`,
      message: "Too few nights to show how a mount changes.",
    });
  }
  const dated = kept.map((model, index) => {
    keptStanding(model, mount);
    if (model.sightedAt === null) {
      throw new InputError({
        code: "night-without-time",
        found: `${index + 1}. model`,
        allowed: "models with the time of their sightings",
        message: "A kept model does not say when its stars were sighted.",
      });
    }
    return { model, timeMs: parseTime(model.sightedAt) };
  });
  dated.sort((a, b) => a.timeMs - b.timeMs);
  const twice = dated.find((one, i) => i > 0 && one.timeMs === dated[i - 1]!.timeMs);
  if (twice !== undefined) {
    throw new InputError({
      code: "same-night-twice",
      found: twice.model.sightedAt!,
      allowed: "each night once",
      message: "Two kept models are of the same night.",
    });
  }
  const last = dated.at(-1)!.model;
  const names = [...new Set(last.terms.map((term) => term.name))].filter(
    (name) =>
      !ZEROS.has(name) &&
      !OF_ONE_NIGHT.has(name) &&
      dated.every(({ model }) => model.terms.some((term) => term.name === name)),
  );
  const lastTerm = (name: TermName) => last.terms.filter((term) => term.name === name).at(-1)!;
  return {
    names,
    units: names.map((name) => lastTerm(name).unit),
    tolerances: names.map((name) => lastTerm(name).tolerance),
    nights: dated.map(({ model, timeMs }) => nightOf(asCompared(model, dated), timeMs, names)),
  };
}

/** With every cause at work where all nights have it so: only then is what holds each term its tolerance alone. */
function asCompared(model: KeptModel, all: readonly { readonly model: KeptModel }[]): KeptModel {
  return hasEveryCause(model) && all.every((one) => hasEveryCause(one.model)) ? withEveryCause(model) : model;
}

function nightOf(model: KeptModel, timeMs: number, names: readonly TermName[]): KeptNight {
  const places = names.map((name) => model.terms.map((term) => term.name).lastIndexOf(name));
  const covariance = new Matrix(
    places.map((i) => places.map((j) => (model.covariance[i]![j]! + model.covariance[j]![i]!) / 2)),
  );
  const values = Matrix.columnVector(places.map((place) => model.terms[place]!.value));
  const posterior = inverse(covariance, true);
  const prior = places.map((place) => {
    const { tolerance } = model.terms[place]!;
    return tolerance === null ? 0 : 1 / tolerance ** 2;
  });
  const information = Matrix.sub(posterior, Matrix.diag(prior));
  const weighted = posterior.mmul(values);
  const { square, rank, cleaned } = sureParts(information, weighted, prior);
  return {
    timeMs,
    temperatureC: model.temperatureC,
    information: cleaned,
    weighted,
    told: names.map((_, k) => {
      const sigma = Math.sqrt(covariance.get(k, k));
      // A prior shrinks a value towards zero; what the stars alone said is had back by the part that they hold.
      const held = 1 - covariance.get(k, k) * prior[k]!;
      return held < LEAST_TOLD ? null : { value: values.get(k, 0) / held, sigma: sigma / Math.sqrt(held) };
    }),
    square,
    rank,
  };
}

/** Takes off what rounding left below nothing; gives the square of what is told and in how many directions. */
function sureParts(information: Matrix, weighted: Matrix, prior: readonly number[]) {
  const size = information.rows;
  const scales = prior.map(
    (value, k) => 1 / Math.sqrt(Math.max(value, 1e-3 * Math.abs(information.get(k, k)), 1e-12)),
  );
  const scaled = new Matrix(
    Array.from({ length: size }, (_, i) =>
      Array.from({ length: size }, (__, j) => scales[i]! * information.get(i, j) * scales[j]!),
    ),
  );
  const { realEigenvalues, eigenvectorMatrix } = new EigenvalueDecomposition(scaled, {
    assumeSymmetric: true,
  });
  let square = 0;
  let rank = 0;
  const cleaned = Matrix.zeros(size, size);
  realEigenvalues.forEach((value, k) => {
    // In units of the tolerances: a direction told less well than they hold it counts for nothing.
    if (value < 0.05) return;
    rank += 1;
    let along = 0;
    for (let i = 0; i < size; i++) along += eigenvectorMatrix.get(i, k) * scales[i]! * weighted.get(i, 0);
    square += (along * along) / value;
    for (let i = 0; i < size; i++) {
      for (let j = 0; j < size; j++) {
        const part =
          (value * eigenvectorMatrix.get(i, k) * eigenvectorMatrix.get(j, k)) / (scales[i]! * scales[j]!);
        cleaned.set(i, j, cleaned.get(i, j) + part);
      }
    }
  });
  return { square, rank, cleaned };
}
