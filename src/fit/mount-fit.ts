/**
 * The fit of a night: from sightings to how the mount stands, with everything that must be said about it.
 */
import { ARCMINUTE, DEGREE } from "../angles.js";
import { InputError, shown } from "../errors.js";
import {
  type BuiltInTermName,
  type CauseName,
  type TermName,
  termDescriptions,
  termNames,
  termRecords,
} from "../mount/terms.js";
import type { Night } from "../night/night.js";
import { reduceNight } from "../night/reduce.js";
import { formatTime } from "../sky/time.js";
import { MENTIONED_ODDS } from "./beliefs.js";
import { type Bench, benchOf, modelOfMount } from "./bench.js";
import { causeNotes, fitQualityNotes } from "./cause-notes.js";
import { type Column, toleranceOf } from "./columns.js";
import { chiSquareProbability } from "./distributions.js";
import { ENOUGH_ALONE } from "./evidence.js";
import { clockNote, isClockFault, isUnseen, unseenNote } from "./faults/clock.js";
import { excludedNotes } from "./faults/excluded.js";
import { allKinds } from "./faults/kinds.js";
import type {
  EveryCause,
  MountFit,
  Note,
  PoleError,
  Residual,
  StopReason,
  TermEstimate,
} from "./fit-result.js";
import { horizonNotes } from "./horizon-notes.js";
import { conditionOf } from "./least-squares.js";
import { everyCauseOf, fitStory, leastSquaresOf, type Outcome } from "./outcome.js";
import { type Explained, explain, rivalsOf } from "./search.js";
import { correlationOf, ENTANGLED, entanglements, tellingStar } from "./separability.js";
import { circumstanceNotes } from "./sighting-notes.js";
import { storyOf } from "./story.js";
import { suspicionOf } from "./suspicion.js";

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
/** From this probability of χ² down, the uncertainties of a classical fit are scaled up. */
export const SCALE_UP_PROBABILITY = 0.05;
/** So unlikely a night contradicts what was held fixed, or itself. */
const CONTRADICTED = 1e-4;
/** Among fewer sightings than this none is excluded: which of them is wrong could not be seen. */
const FEWEST_DOUBTED = 5;
/** Errors so many times as large as expected are no errors of centring. */
const HOPELESS_SCALE = 5;
/** With an excluded sighting, so many must be left that agree. */
const FEWEST_AGREEING = 4;

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
  const root = benchOf(reduceNight(night), terms);
  const plain = storyOf(root.night, []);
  if (plain.usedCount === 0) return emptyFit(night, terms);

  const held = heldZeros(terms);
  const notes: Note[] = held.length > 0 ? [heldNote(held)] : [];
  const doubts = options.catches ?? true;
  // A zero that is held at 0 and is not 0 makes good sightings look wrong one by one.
  const explained =
    doubts && held.length === 0 && plain.usedCount >= FEWEST_DOUBTED
      ? explain(root, options.trustClock ?? false)
      : null;
  const outcome = explained?.outcome ?? fitStory(root, plain, null);
  const told = explained === null ? { notes: [], sound: true } : storyNotes(root, explained);
  notes.push(...told.notes);
  let { sound } = told;
  // The clock's note says it where it takes the clock for wrong.
  if (doubts && sound) {
    const horizon = horizonNotes(outcome.bench.night);
    notes.push(...horizon.notes);
    sound = horizon.sound;
  }
  return assemble(night, root, outcome, { notes, sound, terms });
}

/** What the story of a night says: its faults, and those that could be there instead. */
function storyNotes(root: Bench, explained: Explained): { notes: Note[]; sound: boolean } {
  const { outcome, asEntered } = explained;
  const notes: Note[] = [];
  let sound = true;
  for (const kind of allKinds) {
    const faults = outcome.story.faults.filter((fault) => fault.kind === kind.kind);
    if (faults.length === 0) continue;
    if (kind.unsound) sound = false;
    const family: (typeof kind.kind)[] =
      kind.kind === "clock" || kind.kind === "site" ? ["clock", "site"] : [kind.kind];
    notes.push(...kind.notes(faults, { root, outcome, asEntered, rivals: rivalsOf(explained, family) }));
  }
  if (outcome.story.faults.some(isClockFault)) return { notes, sound };
  if (isUnseen(outcome)) return { notes: [unseenNote(outcome), ...notes], sound: false };
  // A fault of the clock that is not believed but nearly as likely is mentioned.
  for (const other of explained.others) {
    if (other.price - explained.price > -2 * Math.log(MENTIONED_ODDS)) break;
    const fault = other.outcome.story.faults.find(isClockFault);
    if (fault === undefined) continue;
    notes.push(clockNote(fault, { root, outcome, asEntered, rivals: [] }, false));
    break;
  }
  return { notes, sound };
}

/** The zeros that are not among the terms. */
function heldZeros(terms: readonly TermName[] | null): BuiltInTermName[] {
  if (terms === null) return [];
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

function checkedTerms(night: Night, wanted: readonly TermName[] | undefined): readonly TermName[] | null {
  if (wanted === undefined) return null;
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

function labelOf(name: TermName, night: Night): string {
  const builtIn = (termDescriptions as Partial<Record<string, { label: string }>>)[name];
  return builtIn?.label ?? night.mount.customTerms.find((term) => term.name === name)?.label ?? name;
}

function unitOf(name: TermName): "arcmin" | "arcmin/rad" {
  return termDescriptions[name as BuiltInTermName]?.unit ?? "arcmin";
}

function causeOf({ name }: { name: TermName }): CauseName | null {
  return termRecords[name as BuiltInTermName]?.cause ?? null;
}

interface Findings {
  readonly notes: readonly Note[];
  readonly sound: boolean;
  readonly terms: readonly TermName[] | null;
}

/** The columns that are told as terms: a locked declination is none of the mount's. */
const isTerm = (column: Column): boolean => !(column.set?.startsWith("locked ") ?? false);

function assemble(night: Night, root: Bench, outcome: Outcome, findings: Findings): MountFit {
  const { layout, bench, story, posterior, core } = outcome;
  const reduced = bench.night;
  const priors = findings.terms === null;
  const solution = priors ? outcome : (leastSquaresOf(outcome) ?? outcome);
  const { chiSquare, degreesOfFreedom } = solution;
  const probability = chiSquareProbability(chiSquare, Math.max(0, degreesOfFreedom));
  const scale = priors ? 1 : scaleUp(chiSquare, degreesOfFreedom, probability);
  const all = layout.columns.length;
  const shown = layout.columns.flatMap((column, j) => (isTerm(column) ? [j] : []));
  const covariance = shown.map((i) =>
    shown.map((j) => (scale * solution.covariance[i * all + j]!) / ARCMINUTE ** 2),
  );
  const bare = shown.map((j, place): TermEstimate => {
    const column = layout.columns[j]!;
    const cause = causeOf(column);
    return {
      name: column.name,
      label: labelOf(column.name, night),
      set: column.set,
      value: solution.parameters[j]! / ARCMINUTE,
      uncertainty: Math.sqrt(Math.max(0, covariance[place]![place]!)),
      unit: unitOf(column.name),
      standing: "tolerance only",
      tolerance: column.held ? column.width / ARCMINUTE : null,
      probability: cause === null || !priors ? null : (posterior.acts.get(cause) ?? 0),
    };
  });
  const terms = withStandings(bare, covariance);
  const { residuals, found, expected } = residualsOf(outcome, root.night.sightings);
  const usedSightings = reduced.sightings.filter((_, i) => story.used[i]);
  const times = usedSightings.map((s) => s.timeMs);
  const meanTimeMs = times.length > 0 ? times.reduce((sum, t) => sum + t, 0) / times.length : null;
  // By the clock as entered, whatever is wrong with it.
  const usedTimes = root.night.sightings.flatMap(({ timeMs }, i) => (story.used[i] ? [timeMs] : []));
  const lastMs = usedTimes.reduce((latest, timeMs) => Math.max(latest, timeMs), Number.NEGATIVE_INFINITY);
  const fit = {
    mount: reduced.mount,
    sightings: { read: reduced.count, used: story.usedCount, setAside: story.excludedCount },
    terms,
    covariance,
    everyCause: priors ? everyCauseFrom(outcome, shown) : null,
    pole: poleError(
      terms,
      covariance,
      reduced.mount.site.latitude,
      usedTimes.length === 0 ? null : formatTime(lastMs),
    ),
    skyRms: { found, expected },
    chiSquare: { value: chiSquare, degreesOfFreedom: Math.max(0, degreesOfFreedom), probability },
    residue: posterior.residue,
    errorScale: posterior.errorScale,
    residuals,
    stop: { reason: core.solution.stop as StopReason, iterations: core.solution.iterations },
    condition: Math.min(conditionOf(core.solution.factor).condition, SINGULAR),
    priors,
    meanTimeMs,
  };
  const contradiction = contradictionNote(outcome, findings, probability);
  // Where most agree with nothing, the rows, settings and terms found wrong mean nothing either.
  if (contradiction !== null && story.excludedCount > story.usedCount)
    return { ...fit, notes: [contradiction], sound: false };
  const notes: Note[] = [
    ...findings.notes,
    ...(contradiction === null ? [] : [contradiction]),
    // Among few sightings, or such as contradict each other, a cause is soon called for.
    ...(priors && contradiction === null && story.usedCount >= ENOUGH_ALONE
      ? causeNotes(posterior, terms, causeOf)
      : []),
    ...circumstanceNotes(reduced, story.used),
    ...separabilityNotes(fit, root, meanTimeMs),
    ...fitQualityNotes(fit),
  ];
  if (core.solution.stop !== "converged") {
    notes.push({
      code: "not-converged",
      row: null,
      message: "The fit did not settle.",
      remedy: "Sight more stars, or fit fewer terms.",
    });
  }
  return { ...fit, notes, sound: findings.sound && contradiction === null };
}

function everyCauseFrom(outcome: Outcome, shown: readonly number[]): EveryCause | null {
  const everyCause = everyCauseOf(outcome);
  if (everyCause === null) return null;
  const all = outcome.layout.columns.length;
  return {
    values: shown.map((j) => everyCause.parameters[j]! / ARCMINUTE),
    covariance: shown.map((i) => shown.map((j) => everyCause.covariance[i * all + j]! / ARCMINUTE ** 2)),
  };
}

/** Why the sightings cannot be believed together; null where they can. */
function contradictionNote(outcome: Outcome, findings: Findings, probability: number): Note | null {
  const { usedCount, excludedCount, hourAngleBreaks, declinationBreaks } = outcome.story;
  const total = usedCount + excludedCount;
  // A jump beside excluded sightings explains as much as two of them.
  const jumps = new Set([...hourAngleBreaks, ...declinationBreaks]).size;
  const explainedAway = excludedCount + (excludedCount > 0 ? 2 * jumps : 0);
  const ambiguous =
    (explainedAway > usedCount / 2 && total >= FEWEST_AGREEING) ||
    (excludedCount > 0 && usedCount < FEWEST_AGREEING);
  const quarrel =
    (total < FEWEST_DOUBTED && probability < CONTRADICTED) ||
    (findings.terms === null && outcome.posterior.likeliest.scale > HOPELESS_SCALE);
  // The sightings contradict the zeros as they are held: the axis that comes out is no axis to turn by.
  const held = heldZeros(findings.terms).length > 0 && probability < CONTRADICTED;
  if (!ambiguous && !quarrel && !held) return null;
  return {
    code: "ambiguous",
    row: null,
    message: held
      ? "The sightings contradict the zeros that are held at 0."
      : quarrel
        ? `The ${total} sightings contradict each other, and it cannot be seen which of them are wrong.`
        : `${excludedCount} of ${total} sightings agree with no single explanation. The ${usedCount} that do may agree by chance.`,
    remedy: held
      ? "Add the zeros to the terms and fit them too."
      : "Check how each axis is read (as, perTurn, sense), the site, the clock and the star names. Turn no jack before that.",
  };
}

/** By how much the variances of a classical fit are scaled up where it is poor. */
function scaleUp(chiSquare: number, degreesOfFreedom: number, probability: number): number {
  return degreesOfFreedom > 0 && probability < SCALE_UP_PROBABILITY
    ? Math.max(1, chiSquare / degreesOfFreedom)
    : 1;
}

/** A free term more uncertain than this is not measured, whatever it hangs on. */
const NOT_MEASURED_ARCMIN = 300;

/** A held term is measured from half its tolerance on; a free one unless it hangs on another that is not. */
function withStandings(
  terms: readonly TermEstimate[],
  covariance: readonly (readonly number[])[],
): TermEstimate[] {
  const held = terms.map(({ tolerance, uncertainty }) => tolerance !== null && uncertainty < tolerance / 2);
  const entangled = (i: number, j: number): boolean =>
    j !== i && Math.abs(correlationOf(covariance, i, j)) >= ENTANGLED;
  return terms.map((term, i) => {
    const measured =
      term.tolerance !== null
        ? held[i]!
        : term.uncertainty > 0 &&
          term.uncertainty < NOT_MEASURED_ARCMIN &&
          terms.every((_, j) => held[j]! || !entangled(i, j));
    return { ...term, standing: measured ? "measured" : "tolerance only" };
  });
}

function poleError(
  terms: readonly TermEstimate[],
  covariance: readonly (readonly number[])[],
  latitudeDeg: number,
  at: string | null,
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
    at,
  };
}

function pick(term: TermEstimate): { value: number; uncertainty: number } {
  return { value: term.value, uncertainty: term.uncertainty };
}

function residualsOf(
  outcome: Outcome,
  entered: readonly { readonly timeMs: number }[],
): { residuals: Residual[]; found: number; expected: number } {
  const { bench, layout, story, parameters } = outcome;
  const { night } = bench;
  const compared = suspicionOf(outcome);
  const { likely } = excludedNotes(outcome);
  const residuals: Residual[] = [];
  let foundSum = 0;
  let expectedSum = 0;
  let count = 0;
  const zeroOf = (column: number): number | null => (column < 0 ? null : parameters[column]! / ARCMINUTE);
  for (let i = 0; i < night.count; i++) {
    const sighting = night.sightings[i]!;
    const hasWest = !Number.isNaN(compared.deltaHourAngle[i]!);
    const hasNorth = !Number.isNaN(compared.deltaDeclination[i]!);
    const west = hasWest ? (compared.deltaHourAngle[i]! * compared.cosDeclination[i]!) / ARCMINUTE : 0;
    const north = hasNorth ? compared.deltaDeclination[i]! / ARCMINUTE : 0;
    const sigmaWest = night.sigmaWest[i]! / ARCMINUTE;
    const sigmaNorth = night.sigmaNorth[i]! / ARCMINUTE;
    const used = story.used[i] === 1;
    if (used) {
      foundSum += west * west + north * north;
      // The part of each error that the fit takes up is not seen in its residual.
      if (hasWest) expectedSum += sigmaWest ** 2 * Math.max(0, 1 - compared.absorbedWest[i]!);
      if (hasNorth) expectedSum += sigmaNorth ** 2 * Math.max(0, 1 - compared.absorbedNorth[i]!);
      count++;
    }
    residuals.push({
      row: sighting.row,
      star: sighting.star,
      time: formatTime(entered[i]!.timeMs),
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
      hourAngleZero: zeroOf(layout.hourAngleZero[i]!),
      declinationZero: zeroOf(layout.declinationZero[i]!),
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

/** At most so many entanglements are told: the worst say the rest. */
const TOLD = 3;

function separabilityNotes(
  fit: Pick<MountFit, "mount" | "terms" | "covariance">,
  bench: Bench,
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
      message: `Tonight's stars cannot distinguish ${a.label} from ${b.label} (correlation ${correlation.toFixed(2)}).`,
      remedy: star
        ? `Sight ${star.star.label}: the ${fit.terms[open]!.label} would then be known to ${star.uncertainty.toFixed(1)}′.`
        : "Sight stars at quite other declinations and hour angles.",
    });
  }
  return notes;
}

/** No sighting counts: what was known beforehand, and nothing else. */
function emptyFit(night: Night, wanted: readonly TermName[] | null): MountFit {
  const { mount } = night;
  modelOfMount(mount);
  const HALF_TURN_ARCMIN = 180 * 60;
  const own = mount.customTerms.map(({ name }) => name as TermName);
  const names = wanted ?? [...termNames, ...own].filter((name) => toleranceOf(name, mount) !== 0);
  const terms = names.map((name): TermEstimate => {
    const tolerance = wanted === null ? toleranceOf(name, mount) : null;
    return {
      name,
      label: labelOf(name, night),
      set: null,
      value: 0,
      uncertainty: tolerance ?? HALF_TURN_ARCMIN,
      unit: unitOf(name),
      standing: "tolerance only",
      tolerance,
      probability: null,
    };
  });
  const covariance = terms.map((term, i) => terms.map((_, j) => (i === j ? term.uncertainty ** 2 : 0)));
  return {
    mount,
    sightings: { read: night.sightings.length, used: 0, setAside: 0 },
    terms,
    covariance,
    everyCause: null,
    pole: poleError(terms, covariance, mount.site.latitude, null),
    skyRms: { found: 0, expected: 0 },
    chiSquare: { value: 0, degreesOfFreedom: 0, probability: 1 },
    residue: { amplitudeArcmin: 0, probability: 0 },
    errorScale: { value: 1, uncertainty: 0 },
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
    priors: wanted === null,
    meanTimeMs: null,
  };
}
