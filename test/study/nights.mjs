// Mounts, errors and nights drawn for the study, everything from one seed.

const MINUTES_A_TURN = 21600;
const DAY_MS = 86_400_000;
const FIRST_DAY_MS = Date.UTC(2024, 0, 1, 12);
const DAYS = 2500;

export const between = (random, low, high) => low + (high - low) * random();
export const logBetween = (random, low, high) => Math.exp(between(random, Math.log(low), Math.log(high)));
export const pick = (random, list) => list[Math.floor(random() * list.length)];
export const whole = (random, low, high) => low + Math.floor(random() * (high - low + 1));

/** A square base with room for the first setting's worst. */
const base = {
  jacks: [
    { name: "north-east", eastMm: 600, northMm: 800 },
    { name: "north-west", eastMm: -600, northMm: 800 },
    { name: "south-west", eastMm: -600, northMm: -800 },
    { name: "south-east", eastMm: 600, northMm: -800 },
  ],
  pitchMm: 2,
  clockwise: "raises",
  smallestTurn: 0.125,
  raiseLeftMm: 400,
  lowerLeftMm: 400,
  warpLimitMm: 0.3,
  tiltLimitDeg: 10,
  azimuthBolts: { end: "south", leverMm: 1500, pitchMm: 1.5, smallestTurn: 0.125 },
};

export function drawMount(library, random, { steps } = {}) {
  const axis = () => ({
    as: "counts",
    perTurn: steps ?? Math.round(logBetween(random, 8000, 1e7)),
    sense: pick(random, [-1, 1]),
  });
  return library.parseMount({
    name: "Invented, for the study",
    site: {
      latitude: between(random, -60, 65),
      longitude: between(random, -180, 180),
      heightM: 500,
      pressureHPa: between(random, 750, 1030),
      temperatureC: between(random, -10, 25),
    },
    readings: { hourAngle: axis(), declination: axis() },
    limits: {
      altitudeDeg: 15,
      hourAngleHours: pick(random, [
        [-6, 6],
        [-12, 12],
      ]),
      declinationDeg: [-90, 90],
      horizon: [],
    },
    base,
  });
}

/**
 * Errors drawn from the tolerances; the axis by its first setting, 2′ to 5° off.
 *
 * @param zeros how far the encoder zeros may be off, arcminutes
 */
export function drawTerms(library, random, mount, { zeros = MINUTES_A_TURN / 2, widest = 300 } = {}) {
  const distance = logBetween(random, 2, widest);
  const towards = between(random, 0, 2 * Math.PI);
  const terms = {
    hourAngleZero: between(random, -zeros, zeros),
    declinationZero: between(random, -zeros, zeros),
    polarAltitude: distance * Math.cos(towards),
    polarEast: distance * Math.sin(towards),
  };
  for (const [name, tolerance] of Object.entries(mount.tolerances))
    terms[name] = tolerance * library.gaussian(random);
  return terms;
}

/** So many hours of darkness (from, to), or fewer where the night is shorter; another day where there are none. */
export function drawSpan(library, random, site, hours = [1.5, 5]) {
  for (;;) {
    const noonMs = FIRST_DAY_MS + DAY_MS * Math.floor(DAYS * random()) - (site.longitude / 360) * DAY_MS;
    const dark = library.darkSpan(site, noonMs);
    if (dark === null || dark.toMs - dark.fromMs < 5_400_000) continue;
    const lengthMs = Math.min(dark.toMs - dark.fromMs, between(random, ...hours) * 3_600_000);
    const fromMs = between(random, dark.fromMs, dark.toMs - lengthMs);
    return { fromMs, toMs: fromMs + lengthMs };
  }
}

/** Sightings a night: as many short nights as long ones. */
export const drawCount = (random, least = 6, most = 60) => Math.round(logBetween(random, least, most));
