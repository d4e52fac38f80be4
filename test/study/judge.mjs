// How a fit of a simulated night does against its truth, and many of them together.

/** A reading counts from any turn. */
const wrapped = (arcminutes) => arcminutes - 21600 * Math.round(arcminutes / 21600);
/** Half the width of a 95 % interval in uncertainties. */
const WIDTH = 1.96;
/** A sound night with a pole so many uncertainties off is wrong: chance does it once in 16 000. */
const WRONG_SIGMAS = 4;
/** A term this far from the truth is told wrong. */
const FAR_OFF_SIGMAS = 3.5;
/** Two components of one star, seen as one. */
const SAME_STAR_DEG = 1 / 60;

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
const atRow = new Set(["misnamed-star", "outlier"]);

const geometry = new Set(["cone", "squareness", "tubeSag", "ringSag", "trunnionSag"]);
const poleTerms = new Set(["polarAltitude", "polarEast"]);
const groupOf = (name) =>
  poleTerms.has(name) ? "pole" : name.endsWith("Zero") ? "zeros" : geometry.has(name) ? "geometry" : "others";

/** Deviations of all reported terms that the world defines, in units of their uncertainty. */
function deviationsOf(fit, truth) {
  const poles = [
    { name: "polarAltitude", ...fit.pole.altitude },
    { name: "polarEast", ...fit.pole.east },
  ];
  const once = (name) => fit.terms.filter((term) => term.name === name).length === 1;
  // Of a term without freedom there is nothing to cover; several sets of a term have no one truth.
  const others = fit.terms.filter(
    ({ name, uncertainty }) =>
      truth[name] !== undefined && !poleTerms.has(name) && uncertainty > 0 && once(name),
  );
  return [...poles, ...others].map(({ name, value, uncertainty }) => {
    const off = name.endsWith("Zero") ? wrapped(value - truth[name]) : value - truth[name];
    return { name, group: groupOf(name), sigmas: off / uncertainty };
  });
}

function isSameStar(library, a, b) {
  if (a === b) return true;
  if (!a || !b) return false;
  const [one, other] = [library.findStar(a), library.findStar(b)];
  const east = (one.raDeg - other.raDeg) * Math.cos((one.decDeg * Math.PI) / 180);
  return Math.hypot(east, one.decDeg - other.decDeg) < SAME_STAR_DEG;
}

/**
 * One night judged.
 *
 * @param fit what fitMount gives
 * @param night what drawWorldNight gives
 * @param comparison what compareModels says of this fit and one of another night of the same mount, unchanged
 */
export function judge(library, fit, night, comparison = null) {
  const { world, truth, explained } = night;
  const deviations = deviationsOf(fit, night.terms);
  const codes = [...new Set(fit.notes.map((note) => note.code))];
  const mistaken = truth.sightings.filter(({ star, written }) => star !== written);
  const wrongRows = [
    ...mistaken.map(({ row }) => row),
    ...truth.faults.filter(({ kind }) => kind === "outlier").map(({ row }) => row),
  ];
  const isTold = (wanted) =>
    wanted.some((code) => atRow.has(code))
      ? wrongRows.every((row) => fit.notes.some((note) => note.row === row && wanted.includes(note.code)))
      : wanted.some((code) => codes.includes(code));
  const asked = new Set([...world.told.flat(), ...explained]);
  const jump = truth.faults.find(({ kind }) => kind === "zeros-moved");
  const poleOff = deviations.filter(({ group }) => group === "pole");
  return {
    sightings: truth.sightings.length,
    deviations,
    // Both ways together.
    poleSigma: Math.hypot(fit.pole.altitude.uncertainty, fit.pole.east.uncertainty),
    codes,
    unasked: fit.notes
      .filter(({ code, row }) => alarmCodes.includes(code) && !asked.has(code) && !wrongRows.includes(row))
      .map(({ code, row }) => (row === null ? code : `${code}@${row}`)),
    told: world.told.every(isTold),
    placed: jump ? fit.notes.some(({ code, row }) => code === "zeros-moved" && row === jump.row) : null,
    renamed:
      mistaken.length === 0
        ? null
        : mistaken.every(({ row, star }) =>
            isSameStar(library, fit.residuals.find((residual) => residual.row === row)?.likelyStar, star),
          ),
    sound: fit.sound,
    wrong: fit.sound && poleOff.some(({ sigmas }) => !(Math.abs(sigmas) <= WRONG_SIGMAS)),
    // No turns and no promise are made from it.
    withheld: library.evidenceOf(fit).allows !== "advice",
    changed: comparison
      ? [comparison.pole, ...comparison.terms].some(({ verdict }) => verdict === "changed")
      : null,
  };
}

export const quantile = (values, fraction) => {
  const sorted = values.filter(Number.isFinite).sort((a, b) => a - b);
  const place = Math.min(sorted.length - 1, Math.floor(fraction * sorted.length));
  return sorted[place] ?? Number.NaN;
};

/** A share with its 95 % interval (Wilson 1927). */
export function share(hits, of) {
  if (of === 0) return { value: Number.NaN, low: 0, high: 1, hits, of };
  const z = 1.96;
  const p = hits / of;
  const centre = (p + (z * z) / (2 * of)) / (1 + (z * z) / of);
  const half = (z * Math.sqrt((p * (1 - p)) / of + (z * z) / (4 * of * of))) / (1 + (z * z) / of);
  return { value: p, low: Math.max(0, centre - half), high: Math.min(1, centre + half), hits, of };
}

/** Of those of which it is known (not null), how many. */
function rate(judged, name) {
  const known = judged.filter((one) => one[name] !== null);
  return share(known.filter((one) => one[name]).length, known.length);
}

/** Shares and medians over the nights of one world. */
export function together(judged) {
  const all = judged.flatMap(({ deviations }) => deviations);
  const covered = (list) => share(list.filter(({ sigmas }) => Math.abs(sigmas) <= WIDTH).length, list.length);
  const ofGroup = (...groups) => covered(all.filter(({ group }) => groups.includes(group)));
  const withFlags = judged.map((one) => ({
    ...one,
    anyUnasked: one.unasked.length > 0,
    stopped: !one.sound,
  }));
  const codes = [...new Set(judged.flatMap((one) => one.codes))];
  const rateOfCode = (code) =>
    share(judged.filter((one) => one.codes.includes(code)).length, judged.length).value;
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
    farOff: judged.filter(({ deviations }) =>
      deviations.some(({ sigmas }) => Math.abs(sigmas) > FAR_OFF_SIGMAS),
    ).length,
    told: rate(withFlags, "told"),
    placed: rate(withFlags, "placed"),
    renamed: rate(withFlags, "renamed"),
    unasked: rate(withFlags, "anyUnasked"),
    stopped: rate(withFlags, "stopped"),
    wrong: rate(withFlags, "wrong"),
    withheld: rate(withFlags, "withheld"),
    changed: rate(withFlags, "changed"),
    codes: Object.fromEntries(codes.map((code) => [code, rateOfCode(code)]).sort((a, b) => b[1] - a[1])),
    byTerm: Object.fromEntries(
      [...new Set(all.map(({ name }) => name))].map((name) => {
        const some = all.filter((one) => one.name === name);
        const rms = Math.sqrt(some.reduce((sum, { sigmas }) => sum + sigmas * sigmas, 0) / some.length);
        return [name, { ...covered(some), rms }];
      }),
    ),
  };
}

/** Goals that are largest values; the others are least shares. */
const atMost = new Set(["sigma", "worst", "unasked", "wrong", "changed"]);

/**
 * The goals of a world held against what was found: met, not met, or, where the interval of a share holds the goal, open.
 *
 * @returns for each goal its name, what was wanted and found, and `met`: true, false or null
 */
export function heldAgainst(goals, found) {
  return Object.entries(goals).map(([name, wanted]) => {
    const value = found[name];
    const most = atMost.has(name);
    if (typeof value === "number") return { name, wanted, most, found: value, met: value <= wanted };
    if (value.of === 0) return { name, wanted, most, found: value, met: null };
    const met = most ? value.value <= wanted : value.value >= wanted;
    const open = most ? value.low <= wanted : value.high >= wanted;
    return { name, wanted, most, found: value, met: met ? true : open ? null : false };
  });
}
