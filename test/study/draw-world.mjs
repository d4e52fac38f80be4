// One night of a world, from its name and a seed, with the truth of everything that a fit may report.
import { kinds } from "./night-kinds.mjs";
import { anyZeros, axes, drawMount, drawSpan, drawTerms, logBetween, pick, sign, whole } from "./nights.mjs";
import { worlds } from "./world-table.mjs";

/** As the priors say: how often, 1σ (arcminutes; of play the whole), the note that tells it; and the wide part of them. */
const extras = [
  { names: ["EccentricSin", "EccentricCos"], chance: 0.25, size: 1, told: "added-term" },
  { names: ["Scale"], chance: 0.1, size: 1, told: "added-term" },
  { names: ["Backlash"], chance: 0.15, size: 1.5, told: "play" },
];
const WIDE = 3;
const WIDE_CHANCE = 0.3;

function drawExtras(library, random) {
  const terms = {};
  for (const axis of axes)
    for (const { names, chance, size } of extras) {
      if (random() >= chance) continue;
      const width = random() < WIDE_CHANCE ? WIDE * size : size;
      for (const name of names) terms[axis + name] = width * library.gaussian(random);
    }
  return terms;
}

/** Codes of the notes that tell terms which are there. */
const explainedBy = (terms) =>
  extras
    .filter(({ names }) => axes.some((axis) => names.some((name) => (terms[axis + name] ?? 0) !== 0)))
    .map(({ told }) => told);

/** Terms that nothing draws are none. */
const NONE = Object.fromEntries(
  axes.flatMap((axis) =>
    ["EccentricSin", "EccentricCos", "Scale", "Backlash"].map((name) => [axis + name, 0]),
  ),
);

/** The terms that the disturbances of a night amount to. */
const ratesOf = ({ meridianStep, creep, settling }) => ({
  ...Object.fromEntries(
    axes.flatMap((axis) => [
      [`${axis}MeridianStep`, meridianStep?.[axis] ?? 0],
      [`${axis}Creep`, creep?.[axis] ?? 0],
    ]),
  ),
  polarAltitudeRate: settling?.altitude ?? 0,
  polarEastRate: settling?.east ?? 0,
});

/** The night, or null where a strip of sky, or a site's summer, has no star to sight. */
function simulateIfUp(library, plan) {
  try {
    return library.simulateNight(plan);
  } catch (problem) {
    if (problem.code !== "no-star-up") throw problem;
    return null;
  }
}

/**
 * How well a jump before a row could be known if one were told of it, 1σ, arcminutes: the same night without the jump,
 * with two sets of zeros.
 */
function jumpUncertainty(library, night, row, axis) {
  const sightings = night.sightings.map((sighting) => ({
    ...sighting,
    zeroSet: sighting.row < row ? "before" : "after",
  }));
  const { terms, covariance } = library.fitMount({ mount: night.mount, sightings });
  const [before, after] = ["before", "after"].map((set) =>
    terms.findIndex((term) => term.name === `${axis}Zero` && term.set === set),
  );
  return Math.sqrt(covariance[before][before] + covariance[after][after] - 2 * covariance[before][after]);
}

/** A jump on one axis or both, at least three sightings on each side, in units of an error or of its own uncertainty. */
function drawJump(library, random, night, [least, most]) {
  const sigmas = logBetween(random, least, most);
  const moved = pick(random, ["hourAngle", "declination", "both"]);
  const row = whole(random, 4, night.sightings.length - 2);
  const size = (axis) => {
    if (moved !== axis && moved !== "both") return 0;
    const { readings, centringArcmin } = night.mount;
    const error = Math.hypot(centringArcmin, 21600 / readings[axis].perTurn / Math.sqrt(12));
    return sign(random) * sigmas * Math.max(error, jumpUncertainty(library, night, row, axis));
  };
  return { kind: "zeros-moved", row, hourAngle: size("hourAngle"), declination: size("declination") };
}

/**
 * One night of a world.
 *
 * @param library the project's functions, from dist/ or from src/
 * @returns mount, sightings, csv as `simulateNight` gives them, `terms` (the truth of every term, the pole and the zeros
 *   at the last sighting), `world`, `explained` (codes of notes that tell terms which are there), and `another()`: a later
 *   night of the same mount, unchanged but for its zeros
 */
export function drawWorldNight(library, name, seed) {
  const world = worlds.find((candidate) => candidate.name === name);
  if (!world) throw new Error(`no world "${name}"; there are: ${worlds.map((w) => w.name).join(" ")}`);
  const random = library.seededRandom(seed * 7919 + 17);
  const kind = kinds[world.of];
  for (;;) {
    const [fewest, most] = kind.sightings;
    const sightings = Math.round(logBetween(random, Math.max(fewest, world.least), most));
    const mount = drawMount(library, random, kind, world.needs);
    const extra = kind.extras ? drawExtras(library, random) : {};
    const drawn = world.draw(random, { sightings });
    const terms = { ...drawTerms(library, random, kind.widestArcmin), ...extra, ...drawn.terms };
    const plan = {
      seed: whole(random, 1, 2 ** 31),
      mount,
      terms,
      targets: sightings,
      ...drawSpan(library, random, mount.site, kind.hours),
      choice: kind.choice,
      countsWrap: random() < 0.5,
      approach: drawn.approach ?? (kind.extras ? "by-order" : "unknown"),
      faults: drawn.faults ?? [],
      disturbance: { seed, ...drawn.disturbance },
    };
    const plain = simulateIfUp(library, plan);
    if (!plain) continue;
    const night = world.jump
      ? library.simulateNight({ ...plan, faults: [drawJump(library, random, plain, world.jump)] })
      : plain;
    const another = () => {
      for (;;) {
        const span = drawSpan(library, random, mount.site, kind.hours);
        const zeros = { ...terms, ...anyZeros(random) };
        const later = simulateIfUp(library, {
          ...plan,
          ...span,
          seed: whole(random, 1, 2 ** 31),
          terms: zeros,
        });
        if (later) return later;
      }
    };
    return {
      ...night,
      world,
      terms: { ...NONE, ...terms, ...ratesOf(plan.disturbance) },
      explained: explainedBy(terms),
      another,
    };
  }
}
