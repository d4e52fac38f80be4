// What the study tries: each experiment draws one night from a seed and says how the fit did.
// `library` holds the project's functions, from dist/ in the study and from src/ in the tests.
import { between, drawCount, drawMount, drawSpan, drawTerms, logBetween, pick, whole } from "./nights.mjs";

/** What a clean night must not bring up; advice such as `few-sightings` is no alarm. */
export const alarmCodes = [
  "misnamed-star",
  "outlier",
  "zeros-moved",
  "sense-reversed",
  "clock-zone",
  "poor-fit",
  "added-term",
];

const alarmsOf = (fit) => fit.notes.filter((note) => alarmCodes.includes(note.code));
/** A reading counts from any turn. */
const wrapped = (arcminutes) => arcminutes - 21600 * Math.round(arcminutes / 21600);
/** Zeros that were set by hand or on a star, arcminutes: what a wrong clock is seen against. */
const MODEST = 30;

/** Draws a night; `faults` gets the number of sightings and the generator. */
function drawNight(
  library,
  seed,
  { least = 6, most = 60, zeros, widest, steps, choice, faults, mount: given, terms: known } = {},
) {
  const random = library.seededRandom(seed);
  for (;;) {
    const mount = given ?? drawMount(library, random, { steps });
    const terms = known ?? drawTerms(library, random, mount, { zeros, widest });
    const targets = drawCount(random, least, most);
    const span = drawSpan(library, random, mount.site);
    const plan = {
      seed: Math.floor(random() * 2 ** 31),
      mount,
      terms,
      targets,
      ...span,
      choice,
      countsWrap: random() < 0.5,
    };
    try {
      const simulate = (some, more = {}) =>
        library.simulateNight({ ...plan, terms: { ...terms, ...more }, faults: some });
      const made = faults ? faults(random, targets, mount, simulate) : [];
      return { night: simulate(made), terms, mount, made, targets, random, simulate };
    } catch (problem) {
      // A strip of sky, or a site's summer, without a star to sight: another night.
      if (problem.code !== "no-star-up") throw problem;
    }
  }
}

/** How far each term is from the truth, in units of its uncertainty; zeros over whole turns. */
function deviations(fit, terms) {
  const found = {};
  for (const [name, value] of Object.entries(terms)) {
    const estimates = fit.terms.filter((term) => term.name === name);
    if (estimates.length !== 1) continue;
    const off = name.endsWith("Zero") ? wrapped(estimates[0].value - value) : estimates[0].value - value;
    found[name] = off / estimates[0].uncertainty;
  }
  const distance = Math.hypot(
    fit.pole.altitude.value - terms.polarAltitude,
    fit.pole.east.value - terms.polarEast,
  );
  return { terms: found, poleOff: distance };
}

function record(library, seed, drawn, more = () => ({})) {
  const fit = library.fitMount(drawn.night);
  const alarms = alarmsOf(fit);
  return {
    seed,
    sightings: drawn.targets,
    latitude: Math.round(drawn.mount.site.latitude),
    perTurn: drawn.mount.readings.hourAngle.perTurn,
    sound: fit.sound,
    alarms: alarms.map((note) => `${note.code}${note.row === null ? "" : `@${note.row}`}`),
    faults: drawn.night.truth.faults,
    rmsRatio: fit.skyRms.found / fit.skyRms.expected,
    ...deviations(fit, drawn.terms),
    ...more(fit, alarms),
  };
}

function clean(options) {
  return (library, seed) =>
    record(library, seed, drawNight(library, seed, options), (_, alarms) => ({ ok: alarms.length === 0 }));
}

/** The mistaken stars: found means a note at the row, renamed that its likely star is the one that was in the field. */
function misnamed(count) {
  return (library, seed) => {
    const drawn = drawNight(library, seed, {
      least: count === 1 ? 8 : 14,
      faults: (random, targets) => {
        const rows = new Set();
        while (rows.size < count) rows.add(whole(random, 1, targets));
        return [...rows].map((row) => ({
          kind: "misnamed",
          row,
          instead: pick(random, ["neighbour", "any"]),
        }));
      },
    });
    return record(library, seed, drawn, (fit, alarms) => {
      const wrong = drawn.night.truth.sightings.filter((sighting) => sighting.star !== sighting.written);
      const found = wrong.filter(({ row }) =>
        alarms.some((note) => note.row === row && (note.code === "misnamed-star" || note.code === "outlier")),
      );
      const renamed = wrong.filter(({ row, star }) => {
        const likely = fit.residuals.find((residual) => residual.row === row)?.likelyStar;
        return likely === star || (likely && sameInTheField(library, likely, star));
      });
      const extra = alarms.filter((note) => !wrong.some(({ row }) => row === note.row));
      return {
        ok: found.length === wrong.length,
        renamed: renamed.length === wrong.length,
        extra: extra.length > 0,
        wrong: wrong.map(({ row, star, written }) => `${row}: ${written} is ${star}`),
      };
    });
  };
}

/** Two components of one star, seen as one. */
function sameInTheField(library, a, b) {
  const [one, other] = [library.findStar(a), library.findStar(b)];
  return (
    Math.hypot(
      (one.raDeg - other.raDeg) * Math.cos((one.decDeg * Math.PI) / 180),
      one.decDeg - other.decDeg,
    ) <
    1 / 60
  );
}

function outlier(library, seed) {
  const drawn = drawNight(library, seed, {
    least: 8,
    faults: (random, targets) => {
      const size = logBetween(random, 20, 300);
      const towards = between(random, 0, 2 * Math.PI);
      return [
        {
          kind: "outlier",
          row: whole(random, 1, targets),
          west: size * Math.sin(towards),
          north: size * Math.cos(towards),
        },
      ];
    },
  });
  const { row } = drawn.made[0];
  return record(library, seed, drawn, (_, alarms) => ({
    ok: alarms.some((note) => note.row === row && (note.code === "misnamed-star" || note.code === "outlier")),
    extra: alarms.some((note) => note.row !== row),
  }));
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
  const fit = library.fitMount({ mount: night.mount, sightings }, { catches: false });
  const [before, after] = ["before", "after"].map((set) =>
    fit.terms.findIndex((term) => term.name === `${axis}Zero` && term.set === set),
  );
  const { covariance } = fit;
  return Math.sqrt(covariance[before][before] + covariance[after][after] - 2 * covariance[before][after]);
}

/**
 * A jump on one axis or both, at least three sightings on each side: 5 to 500 times a sighting's expected error or the
 * jump's own uncertainty, whichever is larger.
 */
function jump(library, seed) {
  let sigmas = 0;
  const drawn = drawNight(library, seed, {
    least: 8,
    faults: (random, targets, mount, simulate) => {
      sigmas = logBetween(random, 5, 500);
      const axes = pick(random, ["hourAngle", "declination", "both"]);
      const row = whole(random, 4, targets - 2);
      const plain = simulate([]);
      const size = (axis) => {
        const step = 21600 / mount.readings[axis].perTurn / Math.sqrt(12);
        const unit = Math.max(
          Math.hypot(mount.centringArcmin, step),
          jumpUncertainty(library, plain, row, axis),
        );
        return pick(random, [-1, 1]) * sigmas * unit;
      };
      return [
        {
          kind: "zeros-moved",
          row,
          hourAngle: axes === "declination" ? 0 : size("hourAngle"),
          declination: axes === "hourAngle" ? 0 : size("declination"),
        },
      ];
    },
  });
  const { row } = drawn.made[0];
  return record(library, seed, drawn, (_, alarms) => {
    const notes = alarms.filter((note) => note.code === "zeros-moved");
    const rows = notes.map((note) => note.row);
    return {
      sigmas,
      ok: notes.length > 0,
      placed: rows.includes(row),
      placedNear: rows.some((found) => Math.abs(found - row) <= 1),
      extra: alarms.some((note) => note.code !== "zeros-moved") || notes.length > 1,
    };
  });
}

function setting(kind) {
  return (library, seed) => {
    const drawn = drawNight(library, seed, {
      least: 6,
      faults: (random) => {
        const axis = pick(random, ["hourAngle", "declination"]);
        return [
          kind === "sense-reversed"
            ? { kind, axis }
            : { kind, axis, factor: pick(random, [0.25, 0.5, 2, 4]) },
        ];
      },
    });
    return record(library, seed, drawn, (fit, alarms) => ({
      ok: !fit.sound && alarms.some((note) => note.code === "sense-reversed"),
      extra: alarms.some((note) => note.code !== "sense-reversed"),
    }));
  };
}

function clock(faults) {
  return (library, seed) => {
    const drawn = drawNight(library, seed, { zeros: MODEST, faults });
    return record(library, seed, drawn, (fit, alarms) => ({
      ok: alarms.some((note) => note.code === "clock-zone"),
      stopped: !fit.sound,
      extra: alarms.some((note) => note.code !== "clock-zone"),
    }));
  };
}

const halfHours = Array.from({ length: 47 }, (_, k) => (k - 23) / 2).filter((hours) => Math.abs(hours) >= 1);

/** Where turning the sign of the longitude changes next to nothing, the clock is an hour wrong instead. */
function wrongLongitude(_random, _targets, mount) {
  const shift = 2 * mount.site.longitude;
  return Math.abs(shift - 360 * Math.round(shift / 360)) < 8
    ? [{ kind: "clock", hours: 1 }]
    : [{ kind: "longitude-sign" }];
}

const empirical = [
  ["hourAngleScale"],
  ["declinationScale"],
  ["hourAngleEccentricSin", "hourAngleEccentricCos"],
  ["declinationEccentricSin", "declinationEccentricCos"],
];
/** An empirical term this large, arcminutes, is called for on every night: from it its uncertainty is learnt. */
const PLAIN_TO_SEE = 90;

/**
 * An encoder out of centre or a ratio that is off, so many times its own uncertainty, in a direction of its own where
 * it has two parts.
 */
function addedTerm(sigmas) {
  return (library, seed) => {
    for (let attempt = 0; ; attempt++) {
      const drawn = drawNight(library, seed + 4099 * attempt, { least: 12, most: 60 });
      const { random } = drawn;
      const names = pick(random, empirical);
      const towards = names.length === 1 ? pick(random, [0, Math.PI]) : between(random, 0, 2 * Math.PI);
      const direction = [Math.cos(towards), Math.sin(towards)].slice(0, names.length);
      const along = (size) => Object.fromEntries(names.map((name, k) => [name, size * direction[k]]));
      const large = library.fitMount(drawn.simulate([], along(PLAIN_TO_SEE)));
      const places = names.map((name) => large.terms.findIndex((term) => term.name === name));
      if (places.includes(-1)) continue;
      const [[a, b = 0], [, d = 1] = []] = places.map((i) => places.map((j) => large.covariance[i][j]));
      const [x, y = 0] = direction;
      const distance = Math.sqrt((d * x * x - 2 * b * x * y + a * y * y) / (a * d - b * b));
      // A night that tells the term so badly is none to look for it in.
      if (sigmas / distance > PLAIN_TO_SEE) continue;
      const night = drawn.simulate([], along(sigmas / distance));
      const labels = places.map((place) => large.terms[place].label.replace(/, (sine|cosine)$/, ""));
      return record(library, seed, { ...drawn, night }, (fit, alarms) => ({
        names,
        ok: alarms.some((note) => note.code === "added-term"),
        // Taken in, or told as what the sightings hardly tell from it.
        named: names.every(
          (name) =>
            fit.terms.some((term) => term.name === name) ||
            alarms.some(({ remedy }) => remedy.includes(labels[names.indexOf(name)])),
        ),
        extra: alarms.some((note) => note.code !== "added-term"),
      }));
    }
  };
}

/** Two rounds: sight, turn as advised, sight, turn; screws and floor follow by 0.85 to 1.1 of what is asked. */
function rounds(library, seed) {
  const random = library.seededRandom(seed ^ 0x5bd1e995);
  const mount = drawMount(library, random, { steps: pick(random, [8192, 10_000, 16_384]) });
  const terms = drawTerms(library, random, mount);
  const gains = { tilt: between(random, 0.85, 1.1), bolts: between(random, 0.85, 1.1) };
  let place = { altitude: terms.polarAltitude, east: terms.polarEast };
  const left = [Math.hypot(place.altitude, place.east)];
  const alarms = [];
  for (let round = 1; round <= 2; round++) {
    const drawn = drawNight(library, Math.floor(random() * 2 ** 31), {
      least: 24,
      most: 24,
      mount,
      terms: { ...terms, polarAltitude: place.altitude, polarEast: place.east },
    });
    const fit = library.fitMount(drawn.night);
    alarms.push(...alarmsOf(fit).map((note) => `${note.code}@${note.row}`));
    const advice = library.jackTurns(fit);
    const made = library.turnsOfAdvice(advice).map((turn) => {
      const gain = turn.adjuster === "azimuth bolts" ? gains.bolts : gains.tilt;
      return { ...turn, turns: turn.turns * gain, mm: turn.mm === null ? null : turn.mm * gain };
    });
    place = library.applyTurns(mount.base, made, mount.site, place);
    left.push(Math.hypot(place.altitude, place.east));
  }
  return { seed, latitude: Math.round(mount.site.latitude), left, alarms, ok: left[2] < 10, gains };
}

/** Name, how to run one, and how many of a full study's nights it gets. */
export const experiments = [
  { name: "clean", share: 10_000, run: clean({}) },
  { name: "clean, modest zeros", share: 2000, run: clean({ zeros: MODEST }) },
  { name: "equatorial strip", share: 500, run: clean({ choice: "equator", most: 20 }) },
  { name: "one misnamed star", share: 1500, run: misnamed(1) },
  { name: "two misnamed stars", share: 600, run: misnamed(2) },
  { name: "outlier", share: 800, run: outlier },
  { name: "zeros moved", share: 1500, run: jump },
  { name: "sense reversed", share: 600, run: setting("sense-reversed") },
  { name: "wrong steps a turn", share: 600, run: setting("wrong-steps") },
  {
    name: "clock in another zone",
    share: 800,
    run: clock((random) => [{ kind: "clock", hours: pick(random, halfHours) }]),
  },
  { name: "longitude's sign", share: 600, run: clock(wrongLongitude) },
  { name: "empirical term of 4 sigma", share: 1000, run: addedTerm(4) },
  { name: "empirical term of 5 sigma", share: 1000, run: addedTerm(5) },
  { name: "empirical term of 8 sigma", share: 600, run: addedTerm(8) },
  { name: "two rounds of turns", share: 600, run: rounds },
];

/** Runs one night of an experiment. */
export function runOne(library, name, seed) {
  const experiment = experiments.find((candidate) => candidate.name === name);
  if (!experiment)
    throw new Error(`no experiment "${name}"; there are: ${experiments.map((e) => e.name).join("; ")}`);
  try {
    return experiment.run(library, seed);
  } catch (problem) {
    return { seed, crashed: String(problem?.stack ?? problem).slice(0, 600), ok: false };
  }
}
