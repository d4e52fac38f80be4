// How a fit of a simulated night does against its truth, and many of them together.

/** A reading counts from any turn. */
const wrapped = (arcminutes) => arcminutes - 21600 * Math.round(arcminutes / 21600);
/** Half the width of a 95 % interval in uncertainties. */
const WIDTH = 1.96;
/** A sound night with a pole so many uncertainties off is wrong: chance does it once in 16 000. */
const WRONG_SIGMAS = 4;

/** Notes that speak of a fault or of something unusual; the others are advice. */
export const alarmCodes = [
  "misnamed-star",
  "outlier",
  "zeros-moved",
  "sense-reversed",
  "columns-exchanged",
  "clock-zone",
  "clock-step",
  "site-sign",
  "creeping",
  "settling",
  "play",
  "meridian-step",
  "smooth-residue",
  "errors-too-small",
  "poor-fit",
  "added-term",
  "ambiguous",
  "not-converged",
];

const geometry = new Set(["cone", "squareness", "tubeSag", "ringSag", "trunnionSag"]);
const poleTerms = new Set(["polarAltitude", "polarEast"]);
const groupOf = (name) =>
  poleTerms.has(name) ? "pole" : name.endsWith("Zero") ? "zeros" : geometry.has(name) ? "geometry" : "others";

/**
 * One night judged: deviations of all reported terms that the world defines, in units of their uncertainty, notes, verdict.
 *
 * @param fit what fitMount gives
 * @param night what drawWorldNight gives
 * @param comparison what compareModels says of this fit and one of another night of the same mount, unchanged
 */
export function judge(fit, night, comparison = null) {
  const deviations = [];
  const add = (name, value, uncertainty) => {
    const off = value - night.terms[name];
    deviations.push({
      name,
      group: groupOf(name),
      sigmas: (name.endsWith("Zero") ? wrapped(off) : off) / uncertainty,
    });
  };
  for (const [axis, name] of [
    ["altitude", "polarAltitude"],
    ["east", "polarEast"],
  ])
    if (fit.pole) add(name, fit.pole[axis].value, fit.pole[axis].uncertainty);
  const once = (name) => fit.terms.filter((term) => term.name === name).length === 1;
  // Of a term without freedom there is nothing to cover; several sets of a term have no one truth.
  for (const { name, value, uncertainty } of fit.terms)
    if (night.terms[name] !== undefined && !poleTerms.has(name) && uncertainty > 0 && once(name))
      add(name, value, uncertainty);
  const codes = [...new Set(fit.notes.map((note) => note.code))];
  const { told = [], alsoTold } = night.world;
  const jump = night.truth.faults.find((fault) => fault.kind === "zeros-moved");
  const poleOff = deviations.filter(({ group }) => group === "pole").map(({ sigmas }) => Math.abs(sigmas));
  return {
    deviations,
    // Both ways together.
    poleSigma: fit.pole ? Math.hypot(fit.pole.altitude.uncertainty, fit.pole.east.uncertainty) : Number.NaN,
    codes,
    alarms: codes.filter((code) => alarmCodes.includes(code)),
    unasked: codes.filter(
      (code) => alarmCodes.includes(code) && ![...told, ...(alsoTold ?? [])].includes(code),
    ),
    told:
      told.some((code) => codes.includes(code)) &&
      (!alsoTold || alsoTold.some((code) => codes.includes(code))),
    placed: jump ? fit.notes.some((note) => note.code === "zeros-moved" && note.row === jump.row) : null,
    sound: fit.sound,
    soundAndWrong: fit.sound && poleOff.some((sigmas) => !(sigmas <= WRONG_SIGMAS)),
    verdict: fit.verdict ?? null,
    changed: comparison
      ? [comparison.pole, ...comparison.terms].some(({ verdict }) => verdict === "changed")
      : null,
  };
}

const quantile = (values, fraction) => {
  const sorted = values.filter(Number.isFinite).sort((a, b) => a - b);
  return sorted.length === 0
    ? Number.NaN
    : sorted[Math.min(sorted.length - 1, Math.floor(fraction * sorted.length))];
};

/** Shares and medians over the nights of one world; `milliseconds` beside each judgement are optional. */
export function together(judged) {
  const all = judged.flatMap(({ deviations }) => deviations);
  const share = (list, test) => (list.length === 0 ? Number.NaN : list.filter(test).length / list.length);
  const covered = ({ sigmas }) => Math.abs(sigmas) <= WIDTH;
  const ofGroup = (...groups) =>
    share(
      all.filter(({ group }) => groups.includes(group)),
      covered,
    );
  const names = [...new Set(all.map(({ name }) => name))];
  const codes = [...new Set(judged.flatMap((one) => one.codes))];
  const jumps = judged.filter(({ placed }) => placed !== null);
  return {
    nights: judged.length,
    pole: ofGroup("pole"),
    zeros: ofGroup("zeros"),
    geometry: ofGroup("geometry"),
    others: ofGroup("others"),
    terms: ofGroup("zeros", "geometry", "others"),
    sigma: quantile(
      judged.map(({ poleSigma }) => poleSigma),
      0.5,
    ),
    worst: Math.max(0, ...all.map(({ sigmas }) => Math.abs(sigmas))),
    told: share(judged, ({ told }) => told),
    placed: share(jumps, ({ placed }) => placed),
    alarmed: share(judged, ({ alarms }) => alarms.length > 0),
    unasked: share(judged, ({ unasked }) => unasked.length > 0),
    sound: share(judged, ({ sound }) => sound),
    changed: share(
      judged.filter(({ changed }) => changed !== null),
      ({ changed }) => changed,
    ),
    soundAndWrong: share(judged, ({ soundAndWrong }) => soundAndWrong),
    codes: Object.fromEntries(
      codes
        .map((code) => [code, share(judged, (one) => one.codes.includes(code))])
        .sort((a, b) => b[1] - a[1]),
    ),
    byTerm: Object.fromEntries(
      names.map((name) => {
        const some = all.filter((one) => one.name === name);
        const rms = Math.sqrt(some.reduce((sum, { sigmas }) => sum + sigmas * sigmas, 0) / some.length);
        return [name, { covered: share(some, covered), rms }];
      }),
    ),
    verdicts: Object.fromEntries(
      [...new Set(judged.map(({ verdict }) => verdict))]
        .filter((verdict) => verdict !== null)
        .map((verdict) => [verdict, share(judged, (one) => one.verdict === verdict)]),
    ),
    millisecondsMedian: quantile(
      judged.map(({ milliseconds }) => milliseconds),
      0.5,
    ),
    millisecondsMost: Math.max(...judged.map(({ milliseconds }) => milliseconds ?? Number.NaN)),
  };
}

/** The goals of a world that a rate misses. */
export const missed = (goals = {}, found) =>
  Object.entries(goals)
    .filter(([name, wanted]) => (name === "sigma" ? !(found.sigma <= wanted) : !(found[name] >= wanted)))
    .map(([name]) => name);
