// The worlds that nights are drawn from: one row each, shared by the study, the quick harness (worlds.mjs) and the tests.
//
// Every world draws the site (20° to 60° from the equator, either side), the stars or pictures above 20° of altitude,
// the axis up to 60′ off each way, zeros anywhere in the turn, the senses of the encoders, and the five terms that a
// builder knows of his work from their tolerances. What a world has besides stands in its row.
//
// A row: `of` is the kind of night; `draw(random, night)` gives what differs: `terms`, `disturbance`, `faults`,
// `approach`, `mount` (changes of the mount file); `told` the codes of the notes one of which must be there;
// `goals` what is asked for: pole, terms (shares of 95 % intervals that cover), sigma (median of the pole, ′), told.
import { between, drawSpan, pick, whole } from "./nights.mjs";

/** Kinds of night: how many sightings, over how long, how read. */
const kinds = {
  coarse: { sightings: [24, 24], hours: [3, 3], perTurn: 10_000, centringArcmin: 0.7, choice: "sky" },
  camera: { sightings: [40, 60], hours: [3, 5], perTurn: 2 ** 23, centringArcmin: 0.08, choice: "pictures" },
  fine: { sightings: [60, 60], hours: [4, 4], perTurn: 2 ** 23, centringArcmin: 0.08, choice: "sky" },
  long: { sightings: [2000, 2000], hours: [5, 8], perTurn: 10_000, centringArcmin: 0.7, choice: "pictures" },
  three: { sightings: [3, 3], hours: [0.5, 1.5], perTurn: 10_000, centringArcmin: 0.7, choice: "sky" },
  one: { sightings: [1, 1], hours: [0.5, 1], perTurn: 10_000, centringArcmin: 0.7, choice: "sky" },
  two: { sightings: [2, 2], hours: [0.5, 1], perTurn: 10_000, centringArcmin: 0.7, choice: "sky" },
  five: { sightings: [4, 5], hours: [0.5, 2], perTurn: 10_000, centringArcmin: 0.7, choice: "sky" },
};

/** What every mount's file may say as tolerances; the truth is drawn from the same. */
const tolerances = { cone: 20, squareness: 15, tubeSag: 5, ringSag: 3, trunnionSag: 2 };

const sign = (random) => (random() < 0.5 ? -1 : 1);
const axes = ["hourAngle", "declination"];
const onAxis = (random, size, axis = pick(random, axes)) => ({
  hourAngle: 0,
  declination: 0,
  [axis]: sign(random) * size,
});
const towards = (random, size) => {
  const angle = between(random, 0, 2 * Math.PI);
  return { altitude: size * Math.cos(angle), east: size * Math.sin(angle) };
};
/** An encoder out of centre by so much, in any direction. */
const eccentric = (random, size, names = axes) =>
  Object.fromEntries(
    names.flatMap((axis) => {
      const phase = between(random, 0, 2 * Math.PI);
      return [
        [`${axis}EccentricSin`, size * Math.sin(phase)],
        [`${axis}EccentricCos`, size * Math.cos(phase)],
      ];
    }),
  );
const scale = (random, size) => ({ [`${pick(random, axes)}Scale`]: sign(random) * size });
const play = (size, names = axes) => ({
  terms: Object.fromEntries(names.map((axis) => [`${axis}Backlash`, size])),
  approach: "by-order",
});
const settling = (size) => (random) => ({ disturbance: { settling: towards(random, size) } });
const step = (from, to, axis) => (random) => ({
  disturbance: { meridianStep: onAxis(random, between(random, from, to) / 2, axis) },
});
const creep = (size, axis) => (random) => ({ disturbance: { creep: onAxis(random, size, axis) } });
const slip = (random, sightings) => ({
  kind: "zeros-moved",
  row: whole(random, Math.ceil(0.2 * sightings), Math.floor(0.8 * sightings)),
  ...onAxis(random, between(random, 8, 60)),
});
const wild = (random, sightings, share) => {
  const rows = new Set();
  while (rows.size < Math.round(share * sightings)) rows.add(whole(random, 1, sightings));
  return [...rows].map((row) => {
    const { altitude, east } = towards(random, Math.exp(between(random, Math.log(30), Math.log(600))));
    return { kind: "outlier", row, west: east, north: altitude };
  });
};
const misnamed = (random, sightings) => ({
  kind: "misnamed",
  row: whole(random, 1, sightings),
  instead: pick(random, ["neighbour", "any"]),
});
const hourStep = (random, sightings) => ({
  kind: "clock",
  hours: sign(random),
  row: whole(random, 4, sightings - 2),
});
const hoursOff = (random) => sign(random) * pick(random, [1, 1.5, 2]);
/** What a zero is off where somebody set it: within half a degree. */
const modestZeros = (random) => ({
  hourAngleZero: between(random, -30, 30),
  declinationZero: between(random, -30, 30),
});

/** @type {readonly { name: string, of: keyof typeof kinds, draw: Function, told?: string[], goals?: object }[]} */
export const worlds = [
  { name: "clean", of: "coarse", draw: () => ({}), goals: { pole: 0.94, terms: 0.94, sigma: 1.05 } },
  {
    name: "eccentric-1",
    of: "coarse",
    draw: (random) => ({ terms: eccentric(random, 1) }),
    goals: { pole: 0.93, terms: 0.92, sigma: 1.2 },
  },
  {
    name: "eccentric-3",
    of: "coarse",
    draw: (random) => ({ terms: eccentric(random, 3) }),
    goals: { pole: 0.92, terms: 0.84, sigma: 1.25 },
  },
  {
    name: "play-2",
    of: "coarse",
    draw: () => play(2),
    told: ["play"],
    goals: { pole: 0.93, terms: 0.92, sigma: 1.2 },
  },
  {
    name: "play-2-hour-angle",
    of: "coarse",
    draw: () => play(2, ["hourAngle"]),
    told: ["play"],
    goals: { pole: 0.93, terms: 0.92, sigma: 1.2, told: 0.35 },
  },
  {
    name: "play-2-declination",
    of: "coarse",
    draw: () => play(2, ["declination"]),
    told: ["play"],
    goals: { pole: 0.93, terms: 0.92, sigma: 1.2, told: 0.55 },
  },
  {
    name: "play-4-hour-angle",
    of: "coarse",
    draw: () => play(4, ["hourAngle"]),
    told: ["play"],
    goals: { pole: 0.93, terms: 0.92, told: 0.95 },
  },
  {
    name: "play-4-declination",
    of: "coarse",
    draw: () => play(4, ["declination"]),
    told: ["play"],
    goals: { pole: 0.93, terms: 0.92, told: 0.95 },
  },
  { name: "play-8", of: "coarse", draw: () => play(8), told: ["play"], goals: { told: 0.95 } },
  {
    name: "centring-2",
    of: "coarse",
    draw: () => ({ disturbance: { centringFactor: 2 / 0.7 } }),
    goals: { pole: 0.92, terms: 0.91, sigma: 2 },
  },
  {
    name: "creep-10",
    of: "coarse",
    draw: creep(10),
    told: ["creeping"],
    goals: { pole: 0.93, terms: 0.92, sigma: 1.2, told: 0.95 },
  },
  {
    name: "settling-3",
    of: "coarse",
    draw: settling(3),
    told: ["settling"],
    goals: { pole: 0.9, sigma: 1.4, told: 0.3 },
  },
  {
    name: "settling-8",
    of: "coarse",
    draw: settling(8),
    told: ["settling"],
    goals: { pole: 0.9, told: 0.9 },
  },
  {
    name: "meridian-step",
    of: "coarse",
    draw: step(2, 4),
    told: ["meridian-step"],
    goals: { pole: 0.93, terms: 0.92, sigma: 1.2, told: 0.6 },
  },
  {
    name: "meridian-step-declination",
    of: "coarse",
    draw: step(2, 4, "declination"),
    told: ["meridian-step"],
    goals: { pole: 0.93, terms: 0.92, sigma: 1.2, told: 0.6 },
  },
  {
    name: "heavy-tails",
    of: "coarse",
    draw: (random) => ({ disturbance: { tails: pick(random, [3, 4]) } }),
    goals: { pole: 0.93, terms: 0.92, sigma: 1.2 },
  },
  { name: "camera-clean", of: "camera", draw: () => ({}), goals: { pole: 0.94, terms: 0.94, sigma: 0.12 } },
  {
    name: "camera-eccentric-scale",
    of: "camera",
    draw: (random) => ({ terms: { ...eccentric(random, 1), ...scale(random, 1) } }),
    goals: { pole: 0.93, terms: 0.9, sigma: 0.12 },
  },
  {
    name: "camera-field",
    of: "camera",
    draw: (random) => ({ disturbance: { smoothField: { rms: 0.3, lengthRad: between(random, 0.6, 1.1) } } }),
    told: ["smooth-residue"],
    goals: { pole: 0.91, terms: 0.88, sigma: 0.3 },
  },
  {
    name: "camera-harmonic",
    of: "camera",
    draw: () => ({ disturbance: { secondHarmonic: { hourAngle: 0.3, declination: 0 } } }),
    told: ["smooth-residue"],
    goals: { pole: 0.84, terms: 0.72, sigma: 0.2 },
  },
  {
    name: "camera-meridian-step",
    of: "camera",
    draw: step(2, 4),
    told: ["meridian-step"],
    goals: { pole: 0.93, terms: 0.92, told: 0.95 },
  },
  {
    name: "fine",
    of: "fine",
    draw: () => ({
      terms: {
        hourAngleEccentricSin: 0.8,
        hourAngleEccentricCos: -0.5,
        declinationEccentricSin: 0.6,
      },
    }),
    goals: { pole: 0.93, terms: 0.9, sigma: 0.12 },
  },
  {
    name: "hour-step",
    of: "coarse",
    draw: (random, { sightings }) => ({ faults: [hourStep(random, sightings)] }),
    told: ["clock-step"],
    goals: { told: 0.95 },
  },
  {
    name: "latitude-sign",
    of: "coarse",
    draw: () => ({ faults: [{ kind: "latitude-sign" }] }),
    told: ["site-sign"],
  },
  {
    name: "longitude-sign",
    of: "coarse",
    draw: () => ({ faults: [{ kind: "longitude-sign" }], farFromMeridian: true }),
    told: ["site-sign", "clock-zone"],
  },
  {
    name: "site-exchanged",
    of: "coarse",
    draw: () => ({ faults: [{ kind: "site-exchanged" }], exchangeable: true }),
    told: ["site-sign"],
  },
  {
    name: "clock-modest-zeros",
    of: "coarse",
    draw: (random) => ({ terms: modestZeros(random), faults: [{ kind: "clock", hours: hoursOff(random) }] }),
    told: ["clock-zone"],
  },
  {
    name: "clock-any-zeros",
    of: "coarse",
    draw: (random) => ({ faults: [{ kind: "clock", hours: hoursOff(random) }] }),
    told: ["clock-zone"],
  },
  {
    name: "reversed-and-clock",
    of: "coarse",
    draw: (random) => ({
      terms: modestZeros(random),
      faults: [
        { kind: "sense-reversed", axis: pick(random, axes) },
        { kind: "clock", hours: hoursOff(random) },
      ],
    }),
    told: ["sense-reversed"],
    alsoTold: ["clock-zone"],
  },
  {
    name: "misnamed-and-creep",
    of: "coarse",
    draw: (random, { sightings }) => ({
      faults: [misnamed(random, sightings)],
      disturbance: { creep: onAxis(random, 10) },
    }),
    told: ["creeping"],
    alsoTold: ["misnamed-star", "outlier"],
  },
  {
    name: "misnamed-and-slip",
    of: "coarse",
    draw: (random, { sightings }) => ({
      faults: [misnamed(random, sightings), slip(random, sightings)],
    }),
    told: ["zeros-moved"],
    alsoTold: ["misnamed-star", "outlier"],
  },
  {
    name: "play-and-eccentric",
    of: "coarse",
    draw: (random) => ({ ...play(4), terms: { ...play(4).terms, ...eccentric(random, 1) } }),
    told: ["play"],
    goals: { pole: 0.93, terms: 0.9, told: 0.95 },
  },
  {
    name: "creep-and-step",
    of: "coarse",
    draw: (random) => ({
      disturbance: { ...creep(10)(random).disturbance, ...step(3, 4)(random).disturbance },
    }),
    told: ["creeping"],
    goals: { pole: 0.93, terms: 0.9, told: 0.95 },
  },
  {
    name: "settling-and-eccentric",
    of: "coarse",
    draw: (random) => ({ ...settling(8)(random), terms: eccentric(random, 1) }),
    told: ["settling"],
    goals: { pole: 0.9, told: 0.8 },
  },
  {
    name: "three-one-misnamed",
    of: "three",
    draw: (random) => ({ faults: [misnamed(random, 3)] }),
    told: ["few-sightings"],
  },
  { name: "one", of: "one", draw: () => ({}), told: ["few-sightings"] },
  { name: "two", of: "two", draw: () => ({}), told: ["few-sightings"] },
  { name: "five", of: "five", draw: () => ({}), told: ["few-sightings"] },
  {
    name: "five-one-misnamed",
    of: "five",
    draw: (random, { sightings }) => ({ faults: [misnamed(random, sightings)] }),
    told: ["few-sightings"],
  },
  { name: "long-clean", of: "long", draw: () => ({}), goals: { pole: 0.94, terms: 0.92 } },
  {
    name: "long-slip-wild",
    of: "long",
    draw: (random, { sightings }) => ({
      faults: [slip(random, sightings), ...wild(random, sightings, 0.02)],
    }),
    told: ["zeros-moved"],
    goals: { told: 0.95, placed: 0.95 },
  },
  {
    name: "long-creep",
    of: "long",
    draw: creep(10),
    told: ["creeping"],
    goals: { pole: 0.93, terms: 0.9, told: 0.95 },
  },
];

/** Terms of a world that nothing draws are none. */
const NONE = Object.fromEntries(
  axes.flatMap((axis) =>
    ["EccentricSin", "EccentricCos", "Scale", "Backlash", "MeridianStep", "Creep"].map((name) => [
      axis + name,
      0,
    ]),
  ),
);

/** Degrees by which a longitude must differ from its mirror image for its sign to matter. */
const MIRROR_DEG = 20;

function drawWorldMount(library, random, night, drawn) {
  const axis = (sense) => ({ as: "counts", perTurn: night.perTurn, sense });
  const longitude = () => {
    for (;;) {
      const degrees = between(random, -180, 180);
      const apart = Math.abs(2 * degrees - 360 * Math.round((2 * degrees) / 360));
      if (drawn.exchangeable && Math.abs(degrees) > 85) continue;
      if (!drawn.farFromMeridian || apart > MIRROR_DEG) return degrees;
    }
  };
  return library.parseMount({
    name: "Invented, for the study",
    site: {
      latitude: sign(random) * between(random, 20, 60),
      longitude: longitude(),
      heightM: 500,
      pressureHPa: between(random, 800, 1020),
      temperatureC: between(random, -5, 25),
    },
    readings: { hourAngle: axis(sign(random)), declination: axis(sign(random)) },
    centringArcmin: night.centringArcmin,
    tolerances,
    limits: { altitudeDeg: 20 },
    ...drawn.mount,
  });
}

/**
 * One night of a world.
 *
 * @param library the project's functions, from dist/ or from src/
 * @returns mount, sightings, csv as `simulateNight` gives them, `terms` (the truth of every term, the pole and the zeros
 *   at the last sighting), `world`, and `another()`: a later night of the same mount, unchanged but for its zeros
 */
export function drawWorldNight(library, name, seed) {
  const world = worlds.find((candidate) => candidate.name === name);
  if (!world) throw new Error(`no world "${name}"; there are: ${worlds.map((w) => w.name).join(" ")}`);
  const random = library.seededRandom(seed * 7919 + 17);
  const night = kinds[world.of];
  for (;;) {
    const sightings = whole(random, ...night.sightings);
    const drawn = world.draw(random, { sightings });
    const mount = drawWorldMount(library, random, night, drawn);
    const terms = {
      ...anyZeros(random),
      polarAltitude: between(random, -60, 60),
      polarEast: between(random, -60, 60),
    };
    for (const [term, tolerance] of Object.entries(tolerances))
      terms[term] = tolerance * library.gaussian(random);
    Object.assign(terms, drawn.terms);
    const span = drawSpan(library, random, mount.site, night.hours);
    const plan = {
      seed: whole(random, 1, 2 ** 31),
      mount,
      terms,
      targets: sightings,
      ...span,
      choice: night.choice,
      ...(drawn.approach ? { approach: drawn.approach } : {}),
      ...(drawn.faults ? { faults: drawn.faults } : {}),
      disturbance: { seed, ...drawn.disturbance },
    };
    const another = () => {
      for (;;) {
        const later = simulateIfUp(library, {
          ...plan,
          seed: whole(random, 1, 2 ** 31),
          ...drawSpan(library, random, mount.site, night.hours),
          terms: { ...terms, ...anyZeros(random) },
        });
        if (later) return later;
      }
    };
    const simulated = simulateIfUp(library, plan);
    if (simulated)
      return { ...simulated, world, plan, terms: { ...NONE, ...terms, ...ratesOf(plan) }, another };
  }
}

const anyZeros = (random) => ({
  hourAngleZero: between(random, -10_800, 10_800),
  declinationZero: between(random, -10_800, 10_800),
});

/** The terms that the disturbances of a night amount to. */
const ratesOf = ({ disturbance: { meridianStep, creep, settling } }) => ({
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
