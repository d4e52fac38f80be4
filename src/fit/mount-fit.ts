/**
 * The fit of a night: from sightings to how the mount stands, with everything that must be said about it.
 */
import { ARCMINUTE, DEGREE } from "../angles.js";
import { InputError, shown } from "../errors.js";
import { type BuiltInTermName, type TermName, termDescriptions, termNames } from "../mount/terms.js";
import type { Night } from "../night/night.js";
import { reduceNight } from "../night/reduce.js";
import { comparisons } from "./comparisons.js";
import { chiSquareProbability } from "./distributions.js";
import type { CalledTerm } from "./empirical-terms.js";
import { countUsed } from "./explanation.js";
import type { MountFit, Note, PoleError, Residual, StopReason, TermEstimate } from "./fit-result.js";
import { horizonNotes } from "./horizon-notes.js";
import { usualTerms } from "./layout.js";
import { conditionOf } from "./least-squares.js";
import { explainLongNight } from "./long-night.js";
import { modelOfMount, type Workbench, workbench } from "./mount-problem.js";
import { fixed, withUncertainty } from "./note-words.js";
import { fitExplanation, type Outcome } from "./outcome.js";
import { plainExplanation } from "./search.js";
import { entanglements, tellingStar } from "./separability.js";
import { clockNote, settingsNote } from "./settings-notes.js";
import { explainShortNight } from "./short-night.js";
import { circumstanceNotes, jumpNotes, setAsideNotes } from "./sighting-notes.js";

/** How to fit. */
export interface FitOptions {
  /**
   * The terms to fit, without prior knowledge: the classical fit. By default every geometric and sag term is fitted,
   * held by the mount file's tolerances, and empirical terms enter when the data call for them.
   */
  readonly terms?: readonly TermName[];
  /**
   * False: every sighting counts as entered, nothing is doubted. Default true; but where `terms` leave a zero out, which
   * holds it at 0, no sighting is doubted either.
   */
  readonly catches?: boolean;
  /** True: the hour-angle zero truly stands where it is; clock and longitude are not doubted. */
  readonly trustClock?: boolean;
}

/** The condition given where the sightings do not tell all terms: infinity, as far as doubles and JSON can say it. */
const SINGULAR = 1e16;
/** From this probability of χ² down, uncertainties are scaled up. */
export const SCALE_UP_PROBABILITY = 0.05;
/** From this probability down, the fit is called poor. */
const POOR_PROBABILITY = 1e-4;

/**
 * Fits a night.
 *
 * @param night - a mount and its sightings
 * @returns terms with uncertainties (1σ), where the axis points, residuals, and notes; `sound` is false where the
 *   readings cannot be trusted as they stand
 * @throws {@link InputError} `unknown-term` for a term that the mount does not have
 * @example
 * ```ts
 * const fit = fitMount(openNight("data/first-light"));
 * fit.pole.altitude // { value: …, uncertainty: … } arcminutes, too high positive
 * ```
 */
export function fitMount(night: Night, options: FitOptions = {}): MountFit {
  const terms = checkedTerms(night, options.terms);
  const priors = options.terms === undefined;
  const reduced = reduceNight(withBothReadings(night));
  const bench = workbench(reduced);
  const base = plainExplanation(bench, terms, priors);
  if (countUsed(base.used) === 0) return emptyFit(night, terms, priors);

  const held = heldZeros(terms);
  const notes: Note[] = held.length > 0 ? [heldNote(held)] : [];
  const doubts = options.catches ?? true;
  // A zero that is held at 0 and is not 0 makes good sightings look wrong one by one.
  const catches = doubts && held.length === 0;
  const trustClock = options.trustClock ?? false;
  const { settings, clock, ...final } = catches
    ? (explainLongNight(bench, base, trustClock) ?? explainShortNight(bench, base, trustClock))
    : { bench, outcome: fitExplanation(bench, base), called: [], settings: null, clock: null };
  if (settings !== null) notes.push(settingsNote(settings.outcome, settings.others, reduced));
  if (clock !== null) notes.push(clockNote(clock.verdict, clock.asWritten, reduced));
  let sound = settings === null && clock?.verdict.standing !== "wrong";
  // The clock's note says it where it holds the clock for wrong.
  if (doubts && sound) {
    const horizon = horizonNotes(final.bench.night);
    notes.push(...horizon.notes);
    sound = horizon.sound;
  }
  const { called } = final;
  return assemble(night, final.bench, final.outcome, { notes, sound, priors, called, base: terms });
}

/** The zeros that are not among the terms. */
function heldZeros(terms: readonly TermName[]): BuiltInTermName[] {
  return (["hourAngleZero", "declinationZero"] as const).filter((name) => !terms.includes(name));
}

function heldNote(held: readonly BuiltInTermName[]): Note {
  const labels = held.map((name) => termDescriptions[name].label).join(" and the ");
  const [is, it] = held.length === 1 ? ["is", "it"] : ["are", "them"];
  return {
    code: "zeros-held",
    row: null,
    message: `The ${labels} ${is} not among the terms and so held at 0; no single sighting is doubted.`,
    remedy: `Unless the readings are truly 0 where they should be, add ${held.join(" and ")} to the terms and fit ${it} too.`,
  };
}

function checkedTerms(night: Night, wanted: readonly TermName[] | undefined): readonly TermName[] {
  if (wanted === undefined) return usualTerms;
  const own = night.mount.customTerms.map((term) => term.name);
  const known = [...termNames, ...own] as readonly string[];
  const faults = wanted
    .filter((name) => !known.includes(name))
    .map((name) => ({
      code: "unknown-term",
      path: "terms",
      found: shown(name),
      allowed: known.join(", "),
      message: "There is no such term.",
    }));
  if (faults.length > 0) throw new InputError(faults);
  if (wanted.length === 0) {
    throw new InputError([
      {
        code: "no-terms",
        path: "terms",
        allowed: known.join(", "),
        message: "A fit needs at least one term.",
      },
    ]);
  }
  return [...new Set(wanted)];
}

/** A sighting counts with both readings only, so far. */
function withBothReadings({ mount, sightings }: Night): Night {
  return {
    mount,
    sightings: sightings.filter(({ hourAngle, declination }) => hourAngle !== null && declination !== null),
  };
}

function labelOf(name: TermName, night: Night): string {
  const builtIn = (termDescriptions as Partial<Record<string, { label: string }>>)[name];
  return builtIn?.label ?? night.mount.customTerms.find((term) => term.name === name)?.label ?? name;
}

function unitOf(name: TermName): "arcmin" | "arcmin/rad" {
  return termDescriptions[name as BuiltInTermName]?.unit ?? "arcmin";
}

interface Findings {
  readonly notes: readonly Note[];
  readonly sound: boolean;
  readonly priors: boolean;
  readonly called: readonly CalledTerm[];
  readonly base: readonly TermName[];
}

function assemble(night: Night, bench: Workbench, outcome: Outcome, findings: Findings): MountFit {
  const { problem, solution, layout, explanation } = outcome;
  const reduced = bench.night;
  const size = problem.size;
  const degreesOfFreedom = Math.max(0, problem.rows - size);
  const probability = chiSquareProbability(solution.sumOfSquares, degreesOfFreedom);
  const scale =
    degreesOfFreedom > 0 && probability < SCALE_UP_PROBABILITY
      ? Math.max(1, solution.sumOfSquares / degreesOfFreedom)
      : 1;
  const inverse = solution.factor.inverseInformation();
  const covariance = Array.from({ length: size }, (_, i) =>
    Array.from({ length: size }, (_, j) => (inverse[i * size + j]! * scale) / ARCMINUTE ** 2),
  );
  const terms = layout.unknowns.map((unknown, j): TermEstimate => {
    const uncertainty = Math.sqrt(covariance[j]![j]!);
    const free = findings.priors ? toleranceOf(unknown.name, night) : null;
    return {
      name: unknown.name,
      label: labelOf(unknown.name, night),
      set: unknown.set,
      value: solution.parameters[j]! / ARCMINUTE,
      uncertainty,
      unit: unitOf(unknown.name),
      standing:
        free === null
          ? uncertainty < NOT_MEASURED_ARCMIN
            ? "measured"
            : "tolerance only"
          : uncertainty < free / 2
            ? "measured"
            : "tolerance only",
      tolerance: free,
    };
  });
  const pole = poleError(terms, covariance, reduced.mount.site.latitude);
  const { notes: asideNotes, likely } = setAsideNotes(bench, outcome);
  const { residuals, found, expected } = residualsOf(bench, outcome, likely);
  const used = problem.usedRows.length;
  const setAside = reduced.sightings.filter((s, i) => s.use && !explanation.used[i]).length;
  const times = reduced.sightings.filter((_, i) => explanation.used[i]).map((s) => s.timeMs);
  const meanTimeMs = times.length > 0 ? times.reduce((sum, t) => sum + t, 0) / times.length : null;
  const partial = { mount: reduced.mount, terms, covariance };
  const notes: Note[] = [
    ...findings.notes,
    ...asideNotes,
    ...jumpNotes(bench, outcome, (column) => terms[column]!.uncertainty),
    ...calledNotes(findings.called, terms, night),
    ...circumstanceNotes(reduced, explanation.used),
    ...separabilityNotes(partial, bench, meanTimeMs),
  ];
  if (used >= 3 && probability < POOR_PROBABILITY) {
    notes.push({
      code: "poor-fit",
      row: null,
      message: `The sightings fit to ${found.toFixed(2)}′, expected ${expected.toFixed(2)}′: something acts that the model does not hold, or stars are centred less well than the mount file says.`,
      remedy:
        "Uncertainties are scaled up. Give a truer centringArcmin, look for something loose, or for a pattern in the residuals.",
    });
  }
  let sound = findings.sound;
  // The sightings contradict the zeros as they are held: the axis that comes out is no axis to turn by.
  if (heldZeros(findings.base).length > 0 && probability < POOR_PROBABILITY) sound = false;
  if (setAside > used / 2 && used + setAside >= 4) {
    sound = false;
    notes.push({
      code: "ambiguous",
      row: null,
      message: `${setAside} of ${used + setAside} sightings agree with no single story: the ${used} that do may agree by chance.`,
      remedy:
        "Check the mount file (sense, perTurn, site), the clock and the star names before anything is turned.",
    });
  }
  if (solution.stop !== "converged") {
    notes.push({
      code: "not-converged",
      row: null,
      message: "The fit did not settle.",
      remedy: "Sight more stars, or fit fewer terms.",
    });
  }
  return {
    mount: reduced.mount,
    sightings: { read: reduced.count, used, setAside },
    terms,
    covariance,
    pole,
    skyRms: { found, expected },
    chiSquare: { value: solution.sumOfSquares, degreesOfFreedom, probability },
    residuals,
    notes,
    sound,
    stop: { reason: solution.stop as StopReason, iterations: solution.iterations },
    condition: Math.min(conditionOf(solution.factor).condition, SINGULAR),
    priors: findings.priors,
    meanTimeMs,
  };
}

/** A free term so uncertain is not measured at all. */
const NOT_MEASURED_ARCMIN = 300;

function toleranceOf(name: TermName, night: Night): number | null {
  const tolerances: Partial<Record<string, number>> = { ...night.mount.tolerances };
  return tolerances[name] ?? night.mount.customTerms.find((term) => term.name === name)?.tolerance ?? null;
}

function poleError(
  terms: readonly TermEstimate[],
  covariance: readonly (readonly number[])[],
  latitudeDeg: number,
): PoleError {
  const a = terms.findIndex((term) => term.name === "polarAltitude");
  const e = terms.findIndex((term) => term.name === "polarEast");
  const altitude = a < 0 ? { value: 0, uncertainty: 0 } : pick(terms[a]!);
  const east = e < 0 ? { value: 0, uncertainty: 0 } : pick(terms[e]!);
  const both = a >= 0 && e >= 0 ? covariance[a]![e]! : 0;
  const distance = Math.hypot(altitude.value, east.value);
  const spread =
    distance > 0
      ? Math.sqrt(
          Math.max(
            0,
            (altitude.value * altitude.uncertainty) ** 2 +
              (east.value * east.uncertainty) ** 2 +
              2 * altitude.value * east.value * both,
          ),
        ) / distance
      : Math.hypot(altitude.uncertainty, east.uncertainty);
  // In the pole's own place azimuth means nothing: the cosine is kept from zero.
  const cosLatitude = Math.max(Math.cos(latitudeDeg * DEGREE), 1e-6);
  return {
    altitude,
    east,
    azimuth: { value: east.value / cosLatitude, uncertainty: east.uncertainty / cosLatitude },
    distance: { value: distance, uncertainty: spread },
    covariance: both,
  };
}

function pick(term: TermEstimate): { value: number; uncertainty: number } {
  return { value: term.value, uncertainty: term.uncertainty };
}

function residualsOf(
  bench: Workbench,
  outcome: Outcome,
  likely: ReadonlyMap<number, string>,
): { residuals: Residual[]; found: number; expected: number } {
  const { night } = bench;
  const compared = comparisons(bench, outcome);
  const residuals: Residual[] = [];
  let foundSum = 0;
  let expectedSum = 0;
  let count = 0;
  const zeroOf = (column: number): number | null =>
    column < 0 ? null : outcome.solution.parameters[column]! / ARCMINUTE;
  for (let i = 0; i < night.count; i++) {
    const sighting = night.sightings[i]!;
    const west = (compared.deltaHourAngle[i]! * compared.cosDeclination[i]!) / ARCMINUTE;
    const north = compared.deltaDeclination[i]! / ARCMINUTE;
    const sigmaWest = night.sigmaWest[i]! / ARCMINUTE;
    const sigmaNorth = night.sigmaNorth[i]! / ARCMINUTE;
    const used = outcome.explanation.used[i] === 1;
    if (used) {
      foundSum += west * west + north * north;
      // The part of each error that the fit takes up is not seen in its residual.
      expectedSum +=
        sigmaWest ** 2 * Math.max(0, 1 - compared.absorbedWest[i]!) +
        sigmaNorth ** 2 * Math.max(0, 1 - compared.absorbedNorth[i]!);
      count++;
    }
    residuals.push({
      row: sighting.row,
      star: sighting.star,
      time: sighting.time,
      west,
      north,
      distance: Math.sqrt(west * west + north * north),
      expectedWest: sigmaWest,
      expectedNorth: sigmaNorth,
      standing: used ? "used" : sighting.use ? "set aside" : "not used",
      likelyStar: likely.get(i) ?? null,
      hourAngleDeg: night.hourAngle[i]! / DEGREE,
      declinationDeg: night.declination[i]! / DEGREE,
      altitudeDeg: night.altitude[i]! / DEGREE,
      azimuthDeg: night.azimuth[i]! / DEGREE,
      zeroSet: sighting.zeroSet,
      hourAngleZero: zeroOf(outcome.layout.hourAngleZero[i]!),
      declinationZero: zeroOf(outcome.layout.declinationZero[i]!),
      side: sighting.side,
      readingHourAngle: sighting.hourAngle,
      readingDeclination: sighting.declination,
    });
  }
  return {
    residuals,
    found: count > 0 ? Math.sqrt(foundSum / count) : 0,
    expected: count > 0 ? Math.sqrt(expectedSum / count) : 0,
  };
}

function calledNotes(called: readonly CalledTerm[], terms: readonly TermEstimate[], night: Night): Note[] {
  const isFitted = (name: TermName): boolean => terms.some((term) => term.name === name);
  return called.map(({ names, gain, rivals }) => {
    const values = names
      .map((name) => {
        const term = terms.find((other) => other.name === name)!;
        return `${term.label} ${withUncertainty(term.value, term.uncertainty)}${term.unit === "arcmin" ? "′" : "′ a radian"}`;
      })
      .join(", ");
    const labels = (some: readonly TermName[]): string =>
      [...new Set(some.map((name) => labelOf(name, night).replace(/, (sine|cosine)$/, "")))].join(", ");
    const open = rivals.filter((some) => !some.every(isFitted));
    return {
      code: "added-term" as const,
      row: null,
      message: `The readings call for a further term: ${values} (χ² falls by ${gain.toFixed(0)}). It was taken in.`,
      remedy: `Look at what it stands for: ${labels(names)}.${open.length === 0 ? "" : ` Tonight's stars hardly tell it from ${open.map(labels).join(", or ")}: look at that too, or sight more stars, wider over the sky.`}`,
    };
  });
}

/** At most so many entanglements are told: the worst say the rest. */
const TOLD = 3;

function separabilityNotes(
  fit: Pick<MountFit, "mount" | "terms" | "covariance">,
  bench: Workbench,
  timeMs: number | null,
): Note[] {
  const seen = new Set<number>();
  const notes: Note[] = [];
  for (const { first, second, correlation } of entanglements(fit)) {
    if (notes.length >= TOLD) break;
    if (seen.has(first) && seen.has(second)) continue;
    seen.add(first).add(second);
    const a = fit.terms[first]!;
    const b = fit.terms[second]!;
    const open = a.standing === "measured" ? second : first;
    const star = timeMs === null ? null : tellingStar(fit, bench.model, open, timeMs);
    notes.push({
      code: "not-separable",
      row: null,
      message: `Tonight's stars cannot tell ${a.label} and ${b.label} apart (correlation ${fixed(correlation, 2)}).`,
      remedy: star
        ? `Sight ${star.star.label}: the ${fit.terms[open]!.label} would then be known to ${star.uncertainty.toFixed(1)}′.`
        : "Sight stars at quite other declinations and hour angles.",
    });
  }
  return notes;
}

/** No sighting counts: what was known beforehand, and nothing else. */
function emptyFit(night: Night, names: readonly TermName[], priors: boolean): MountFit {
  const { mount } = night;
  modelOfMount(mount);
  const HALF_TURN_ARCMIN = 180 * 60;
  const terms = names.map((name): TermEstimate => {
    const tolerance = priors ? toleranceOf(name, night) : null;
    return {
      name,
      label: labelOf(name, night),
      set: null,
      value: 0,
      uncertainty: tolerance ?? HALF_TURN_ARCMIN,
      unit: unitOf(name),
      standing: "tolerance only",
      tolerance,
    };
  });
  const covariance = terms.map((term, i) => terms.map((_, j) => (i === j ? term.uncertainty ** 2 : 0)));
  return {
    mount,
    sightings: { read: night.sightings.length, used: 0, setAside: 0 },
    terms,
    covariance,
    pole: poleError(terms, covariance, mount.site.latitude),
    skyRms: { found: 0, expected: 0 },
    chiSquare: { value: 0, degreesOfFreedom: 0, probability: 1 },
    residuals: [],
    notes: [
      {
        code: "few-sightings",
        row: null,
        message: "No sighting counts yet.",
        remedy: "Sight at least six stars, well spread.",
      },
    ],
    sound: false,
    stop: { reason: "no-sightings", iterations: 0 },
    condition: 1,
    priors,
    meanTimeMs: null,
  };
}
