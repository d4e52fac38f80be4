/**
 * Keeping a fitted model for other nights: text that holds the terms, their covariance and what they belong to.
 */
import * as v from "valibot";
import { CholeskyDecomposition, Matrix } from "#matrices";
import { type Fault, InputError, shown } from "../errors.js";
import type { EveryCause, MountFit, Standing } from "../fit/fit-result.js";
import type { AxisReadings, CustomTerm, Mount } from "../mount/mount.js";
import { defaultTolerances } from "../mount/mount-schema.js";
import { type TermName, termNames } from "../mount/terms.js";
import type { Night } from "../night/night.js";
import type { KnownTerm, MountStanding } from "../pointing/known-mount.js";
import { formatTime, parseTime } from "../sky/time.js";

/** The version of the file that this library writes and reads. */
const KEPT_MODEL_VERSION = 1;
const FORMAT = "polewright kept model";

/** A term of a kept model: arcminutes (scale errors arcminutes a radian). */
export interface KeptTerm extends KnownTerm {
  /** 1σ. */
  readonly uncertainty: number;
  readonly unit: "arcmin" | "arcmin/rad";
  readonly standing: Standing;
  /** The prior 1σ that held it; null for a free term. */
  readonly tolerance: number | null;
}

/** A fitted model as it is kept: plain data. */
export interface KeptModel {
  readonly format: typeof FORMAT;
  readonly version: typeof KEPT_MODEL_VERSION;
  /** The mount's name. */
  readonly mount: string;
  /** Degrees. */
  readonly latitude: number;
  /** Degrees, east positive. */
  readonly longitude: number;
  /** Mean time of the sightings, ISO 8601; null where there was none. */
  readonly sightedAt: string | null;
  /** Mean temperature of the air at the sightings that say it, degrees Celsius; null where none does. */
  readonly temperatureC: number | null;
  /** How many sightings the fit used. */
  readonly sightings: number;
  /** Root mean square of their distances. */
  readonly skyRmsArcmin: number;
  /** Of the fit; when its probability was small, the uncertainties had been enlarged. */
  readonly chiSquare: MountFit["chiSquare"];
  /** How the axes were read: zeros mean something for the same encoders only. */
  readonly readings: { readonly hourAngle: AxisReadings; readonly declination: AxisReadings };
  readonly customTerms: readonly CustomTerm[];
  readonly terms: readonly KeptTerm[];
  /** Covariance of `terms`, arcminutes squared. */
  readonly covariance: readonly (readonly number[])[];
  /** The terms with every cause at work, for comparing; null or absent where the fit had none. */
  readonly everyCause?: EveryCause | null | undefined;
  /** What no term explained; files of the first version do without. */
  readonly residue?: MountFit["residue"] | undefined;
  /** Whatever the builder wants to remember of it. */
  readonly note: string;
}

/**
 * The model of a fit, to be kept.
 *
 * @param fit - a sound fit
 * @param note - what to remember of it
 * @param temperatureC - how warm the air was, from {@link meanTemperature}; null where nobody knows
 * @throws {@link InputError} `fit-not-sound` for a fit that cannot be trusted, `nothing-to-keep` for one without terms
 * @example
 * ```ts
 * const text = keptModelText(keepModel(fit, "after the second round of turns"));
 * ```
 */
export function keepModel(fit: MountFit, note = "", temperatureC: number | null = null): KeptModel {
  if (!fit.sound) {
    refuse(
      "fit-not-sound",
      "This fit cannot be trusted as it stands, so it is not kept.",
      "a sound fit; correct first what its notes say",
    );
  }
  if (fit.terms.length === 0)
    refuse("nothing-to-keep", "This fit holds no terms.", "a fit with sightings in it");
  const { mount } = fit;
  const unknown = fit.terms.find(
    (term) => !Number.isFinite(term.value) || !Number.isFinite(term.uncertainty),
  );
  if (unknown !== undefined) {
    refuse(
      "nothing-to-keep",
      `The sightings do not measure the ${unknown.label} at all.`,
      "more sightings, or a fit that uses the tolerances",
    );
  }
  return {
    format: FORMAT,
    version: KEPT_MODEL_VERSION,
    mount: mount.name,
    latitude: mount.site.latitude,
    longitude: mount.site.longitude,
    sightedAt: fit.meanTimeMs === null ? null : formatTime(1000 * Math.round(fit.meanTimeMs / 1000)),
    temperatureC,
    sightings: fit.sightings.used,
    skyRmsArcmin: fit.skyRms.found,
    chiSquare: fit.chiSquare,
    readings: mount.readings,
    customTerms: mount.customTerms,
    terms: fit.terms.map(({ name, set, value, uncertainty, unit, standing, tolerance }) => ({
      name,
      set,
      value,
      uncertainty,
      unit,
      standing,
      tolerance,
    })),
    covariance: fit.covariance,
    everyCause: fit.everyCause,
    residue: { amplitudeArcmin: fit.residue.amplitudeArcmin, probability: fit.residue.probability },
    note,
  };
}

/**
 * The mean temperature of the sightings that are in use and say theirs, degrees Celsius; null where none does.
 *
 * @example
 * ```ts
 * meanTemperature(night) // null
 * ```
 */
export function meanTemperature(night: Pick<Night, "sightings">): number | null {
  const told = night.sightings.flatMap(({ use, temperatureC }) =>
    use && temperatureC !== null ? [temperatureC] : [],
  );
  return told.length === 0 ? null : told.reduce((sum, one) => sum + one, 0) / told.length;
}

/**
 * The text of a kept model's file. Numbers keep all their digits.
 *
 * @example
 * ```ts
 * parseKeptModel(keptModelText(keepModel(fit))).mount // "Nowhere School 40 cm"
 * ```
 */
export function keptModelText(kept: KeptModel): string {
  const { covariance, everyCause, terms, ...rest } = kept;
  const head = JSON.stringify(rest, null, 2).replace(/\n\}$/, "");
  const rowsOf = (rows: readonly object[], indent: string): string =>
    `[\n${rows.map((row) => `${indent}  ${JSON.stringify(row)}`).join(",\n")}\n${indent}]`;
  const causes =
    everyCause === null || everyCause === undefined
      ? "null"
      : `{\n    "values": ${JSON.stringify(everyCause.values)},\n    "covariance": ${rowsOf(everyCause.covariance, "    ")}\n  }`;
  return `${head},\n  "terms": ${rowsOf(terms, "  ")},\n  "everyCause": ${causes},\n  "covariance": ${rowsOf(covariance, "  ")}\n}\n`;
}

const finite = v.pipe(v.number(), v.finite());
const axis = v.strictObject({
  as: v.picklist(["counts", "degrees", "hours", "rightAscension"]),
  perTurn: v.pipe(finite, v.gtValue(0)),
  sense: v.picklist([1, -1]),
  smallest: v.pipe(finite, v.gtValue(0)),
});
const nameOfTerm = v.custom<TermName>(
  (value) =>
    typeof value === "string" &&
    ((termNames as readonly string[]).includes(value) || /^custom[A-Z]\w*$/.test(value)),
  "the key of a term, for instance polarAltitude",
);
const LARGEST_TERMS = 200;
const schema = v.strictObject({
  format: v.literal(FORMAT),
  version: v.literal(KEPT_MODEL_VERSION),
  mount: v.pipe(v.string(), v.maxLength(200)),
  latitude: v.pipe(finite, v.minValue(-90), v.maxValue(90)),
  longitude: v.pipe(finite, v.minValue(-180), v.maxValue(180)),
  sightedAt: v.nullable(v.string()),
  // Files of the first version do without.
  temperatureC: v.optional(v.nullable(v.pipe(finite, v.minValue(-90), v.maxValue(70))), null),
  sightings: v.pipe(finite, v.integer(), v.minValue(0)),
  skyRmsArcmin: v.pipe(finite, v.minValue(0)),
  chiSquare: v.strictObject({
    value: v.pipe(finite, v.minValue(0)),
    degreesOfFreedom: finite,
    probability: v.pipe(finite, v.minValue(0), v.maxValue(1)),
  }),
  readings: v.strictObject({ hourAngle: axis, declination: axis }),
  customTerms: v.array(
    v.strictObject({
      name: v.string(),
      label: v.string(),
      hourAngle: v.string(),
      declination: v.string(),
      tolerance: v.nullable(v.pipe(finite, v.gtValue(0))),
    }),
  ),
  terms: v.pipe(
    v.array(
      v.strictObject({
        name: nameOfTerm,
        set: v.nullable(v.string()),
        value: finite,
        uncertainty: v.pipe(finite, v.minValue(0)),
        unit: v.picklist(["arcmin", "arcmin/rad"]),
        standing: v.picklist(["measured", "tolerance only"]),
        tolerance: v.nullable(v.pipe(finite, v.gtValue(0))),
      }),
    ),
    v.minLength(1),
    v.maxLength(LARGEST_TERMS),
  ),
  covariance: v.array(v.array(finite)),
  everyCause: v.nullish(v.strictObject({ values: v.array(finite), covariance: v.array(v.array(finite)) })),
  residue: v.optional(
    v.strictObject({
      amplitudeArcmin: v.pipe(finite, v.minValue(0)),
      probability: v.pipe(finite, v.minValue(0), v.maxValue(1)),
    }),
  ),
  note: v.pipe(v.string(), v.maxLength(10_000)),
});

/** More than any kept model is long, characters. */
const LARGEST_FILE = 5_000_000;
/** A covariance may miss symmetry, and its diagonal the squared uncertainties, by rounding only: relative. */
const ROUNDING = 1e-6;

/**
 * Reads a kept model from its text.
 *
 * @param text - JSON, as {@link keptModelText} writes it
 * @param file - the file's name, for messages
 * @throws {@link InputError} `not-json`, `other-version` (a newer library wrote it), or every fault with its path
 * @example
 * ```ts
 * parseKeptModel(keptModelText(keepModel(fit))).mount // "Nowhere School 40 cm"
 * ```
 */
export function parseKeptModel(text: string, file?: string): KeptModel {
  const where = file === undefined ? {} : { file };
  const stop = (fault: Omit<Fault, "file">): never => {
    throw new InputError({ ...where, ...fault });
  };
  if (text.length > LARGEST_FILE) {
    stop({
      code: "file-too-large",
      allowed: "a file that the keep command wrote",
      message: "This is too large for a kept model.",
    });
  }
  let json: unknown;
  try {
    json = JSON.parse(text.replace(/^\uFEFF/, ""));
  } catch {
    stop({
      code: "not-json",
      found: shown(text.slice(0, 40)),
      allowed: "a kept model's JSON, whole",
      message: "This is not JSON; the file may have been cut short.",
    });
  }
  const head = json as { format?: unknown; version?: unknown } | null;
  if (typeof head !== "object" || head === null || head.format !== FORMAT) {
    stop({
      code: "not-a-kept-model",
      path: "format",
      found: shown(head?.format ?? null),
      allowed: `"${FORMAT}"`,
      message: "This file is not a kept model.",
    });
  }
  if (head?.version !== KEPT_MODEL_VERSION) {
    stop({
      code: "other-version",
      path: "version",
      found: shown(head?.version),
      allowed: `${KEPT_MODEL_VERSION}; for a higher one bring Polewright up to date`,
      message: "This kept model was written in a version of the file that is not known here.",
    });
  }
  const read = v.safeParse(schema, json);
  const faults: Fault[] = (read.issues ?? []).map((issue) => ({
    code: "kept-model-faulty",
    ...where,
    path: v.getDotPath(issue) ?? "",
    found: shown(issue.received),
    allowed: issue.expected ?? issue.message,
    message: "This part of the kept model cannot be used.",
  }));
  if (faults.length === 0)
    faults.push(...faultsTogether(read.output as KeptModel).map((fault) => ({ ...where, ...fault })));
  if (faults.length > 0) throw new InputError(faults);
  return read.output as KeptModel;
}

/** What depends on several keys at once. */
function faultsTogether(kept: KeptModel): Fault[] {
  const faults: Fault[] = [];
  const size = kept.terms.length;
  if (kept.covariance.length !== size || kept.covariance.some((row) => row.length !== size)) {
    return [
      {
        code: "kept-model-faulty",
        path: "covariance",
        found: `${kept.covariance.length} rows`,
        allowed: `${size} rows of ${size} numbers, one for each term`,
        message: "The covariance does not belong to the terms.",
      },
    ];
  }
  kept.covariance.forEach((row, i) => {
    const variance = kept.terms[i]!.uncertainty ** 2;
    if (Math.abs(row[i]! - variance) > ROUNDING * Math.max(variance, row[i]!)) {
      faults.push({
        code: "kept-model-faulty",
        path: `covariance[${i}][${i}]`,
        found: String(row[i]),
        allowed: `the square of the term's uncertainty, ${variance}`,
        message: `The covariance and the uncertainty of ${kept.terms[i]!.name} do not agree.`,
      });
    }
    row.forEach((value, j) => {
      if (j >= i) return;
      const scale = kept.terms[i]!.uncertainty * kept.terms[j]!.uncertainty;
      const symmetric = Math.abs(value - kept.covariance[j]![i]!) <= ROUNDING * scale;
      if (symmetric && Math.abs(value) <= scale * (1 + ROUNDING)) return;
      faults.push({
        code: "kept-model-faulty",
        path: `covariance[${i}][${j}]`,
        found: String(value),
        allowed: "a symmetric covariance with correlations from −1 to 1",
        message: "The covariance is none.",
      });
    });
  });
  if (faults.length === 0 && !isPossible(kept)) {
    faults.push({
      code: "kept-model-faulty",
      path: "covariance",
      found: "a covariance by which some combination of terms would have a variance below nothing",
      allowed: "the covariance as the keep command wrote it",
      message: "The covariance is none.",
    });
  }
  faults.push(...faultsOfSize(kept));
  const twice = kept.terms.filter(
    (term, index) =>
      kept.terms.findIndex((other) => other.name === term.name && other.set === term.set) !== index,
  );
  for (const term of twice) {
    faults.push({
      code: "kept-model-faulty",
      path: "terms",
      found: term.name,
      allowed: "each term once for each set",
      message: "A term stands there twice.",
    });
  }
  if (kept.sightedAt !== null) {
    try {
      parseTime(kept.sightedAt);
    } catch (problem) {
      if (!(problem instanceof InputError)) throw problem;
      faults.push(...problem.faults.map((fault) => ({ ...fault, path: "sightedAt" })));
    }
  }
  return faults;
}

/** Whether every combination of the terms has a variance: the correlations, rounded figures allowed for, are positive definite. */
function isPossible({ terms, covariance }: KeptModel): boolean {
  const correlation = covariance.map((row, i) =>
    row.map((value, j) => {
      const scale = terms[i]!.uncertainty * terms[j]!.uncertainty;
      if (i === j) return 1 + ROUNDING;
      return scale > 0 ? (value + covariance[j]![i]!) / (2 * scale) : 0;
    }),
  );
  return new CholeskyDecomposition(new Matrix(correlation)).isPositiveDefinite();
}

/** A term further from its prior than so many of its 1σ is no builder's work but a slip of the pen. */
const MOST_TOLERANCES = 10;
/** No axis that sightings were made with points further off, arcminutes. */
const MOST_POLAR = 30 * 60;
const HALF_TURN = 180 * 60;

/** The largest that a term may be, arcminutes. */
function largest({ name, tolerance }: KeptTerm): number {
  if (name === "hourAngleZero" || name === "declinationZero") return HALF_TURN;
  if (name === "polarAltitude" || name === "polarEast") return MOST_POLAR;
  const usual = name in defaultTolerances ? defaultTolerances[name as keyof typeof defaultTolerances] : 0;
  return MOST_TOLERANCES * Math.max(tolerance ?? 0, usual, LEAST_TOLERANCE_TAKEN);
}

/** For terms held by no tolerance of their own, arcminutes. */
const LEAST_TOLERANCE_TAKEN = 20;

/** Values that no mount has. */
function faultsOfSize(kept: KeptModel): Fault[] {
  return kept.terms.flatMap((term, index) => {
    const most = largest(term);
    if (Math.abs(term.value) <= most) return [];
    return [
      {
        code: "kept-model-faulty",
        path: `terms[${index}].value`,
        found: String(term.value),
        allowed: `arcminutes, at most ${most} either way`,
        message: `No mount that can be used has such a ${term.name}.`,
      },
    ];
  });
}

/** A kept model on its mount: what finding, planning and comparing take. */
export interface KeptStanding extends MountStanding {
  readonly terms: readonly KeptTerm[];
  readonly chiSquare: MountFit["chiSquare"];
  /** The terms with every cause at work, for comparing; null where the fit had none. */
  readonly everyCause: EveryCause | null;
}

/** A site that is another one, degrees. */
const OTHER_SITE_DEG = 0.1;

/**
 * A kept model on its mount, for finding and planning.
 *
 * @param kept - read from its file
 * @param mount - the mount file of today
 * @returns what {@link findTargets}, {@link planStars} and {@link classList} take
 * @throws {@link InputError} `model-of-other-mount` with every difference that makes the model useless: another site,
 *   other encoders, other custom terms
 * @example
 * ```ts
 * keptStanding(keepModel(fit), mount).terms.length === fit.terms.length // true
 * ```
 */
export function keptStanding(kept: KeptModel, mount: Mount): KeptStanding {
  const faults: Fault[] = [];
  const differ = (path: string, found: unknown, allowed: unknown): void => {
    faults.push({
      code: "model-of-other-mount",
      path,
      found: shown(found),
      allowed: `${shown(allowed)}, as the mount file has it; or sight and fit again`,
      message: `The kept model of ${kept.mount} does not fit this mount.`,
    });
  };
  for (const key of ["latitude", "longitude"] as const) {
    if (Math.abs(kept[key] - mount.site[key]) > OTHER_SITE_DEG) differ(key, kept[key], mount.site[key]);
  }
  for (const axisName of ["hourAngle", "declination"] as const) {
    for (const key of ["as", "perTurn", "sense"] as const) {
      const [was, is] = [kept.readings[axisName][key], mount.readings[axisName][key]];
      if (was !== is) differ(`readings.${axisName}.${key}`, was, is);
    }
  }
  for (const term of kept.terms) {
    if (!term.name.startsWith("custom")) continue;
    const was = kept.customTerms.find((custom) => custom.name === term.name);
    const is = mount.customTerms.find((custom) => custom.name === term.name);
    if (
      was === undefined ||
      is === undefined ||
      was.hourAngle !== is.hourAngle ||
      was.declination !== is.declination
    ) {
      differ(`customTerms.${term.name}`, was ?? null, is ?? null);
    }
  }
  if (faults.length > 0) throw new InputError(faults);
  return {
    mount,
    terms: kept.terms,
    covariance: kept.covariance,
    everyCause: kept.everyCause ?? null,
    ...(kept.residue === undefined ? {} : { residue: kept.residue }),
    chiSquare: kept.chiSquare,
    zerosFrom: kept.sightedAt ?? "another night",
  };
}

function refuse(code: string, message: string, allowed: string): never {
  throw new InputError({ code, message, allowed });
}
