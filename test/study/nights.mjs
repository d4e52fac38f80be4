// Sites, mounts, errors and spans of time drawn for the study, everything from one seed.

import { darkSpan } from "./darkness.mjs";

const DAY_MS = 86_400_000;
const FIRST_DAY_MS = Date.UTC(2024, 0, 1, 12);
const DAYS = 2500;

export const between = (random, low, high) => low + (high - low) * random();
export const logBetween = (random, low, high) => Math.exp(between(random, Math.log(low), Math.log(high)));
export const pick = (random, list) => list[Math.floor(random() * list.length)];
export const whole = (random, low, high) => low + Math.floor(random() * (high - low + 1));
export const sign = (random) => (random() < 0.5 ? -1 : 1);

export const axes = ["hourAngle", "declination"];

/** 1σ of what a builder knows of his work, arcminutes: the mount file's defaults, and what the truth is drawn from. */
export const tolerances = { cone: 20, squareness: 15, tubeSag: 5, ringSag: 3, trunnionSag: 2 };

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

/** Degrees by which a longitude must differ from its mirror image for its sign to matter, where that is asked for. */
const MIRROR_DEG = 20;
/** No site lies nearer to a pole where latitude and longitude are to be exchanged, degrees. */
const EXCHANGEABLE_DEG = 85;

/**
 * A mount as its file says.
 *
 * @param kind the kind of night (night-kinds.mjs)
 * @param needs `mirrored`: the longitude's sign matters; `exchangeable`: the longitude could be a latitude
 */
export function drawMount(library, random, kind, { mirrored = false, exchangeable = false } = {}) {
  const longitude = () => {
    for (;;) {
      const degrees = between(random, -180, 180);
      const apart = Math.abs(2 * degrees - 360 * Math.round((2 * degrees) / 360));
      if ((!exchangeable || Math.abs(degrees) < EXCHANGEABLE_DEG) && (!mirrored || apart > MIRROR_DEG))
        return degrees;
    }
  };
  const axis = () => ({
    as: "counts",
    perTurn: Math.round(logBetween(random, ...kind.perTurn)),
    sense: sign(random),
  });
  return library.parseMount({
    name: "Invented, for the study",
    site: {
      latitude: sign(random) * between(random, ...kind.latitude),
      longitude: longitude(),
      heightM: 500,
      pressureHPa: between(random, 750, 1030),
      temperatureC: between(random, -10, 25),
    },
    readings: { hourAngle: axis(), declination: axis() },
    centringArcmin: kind.centringArcmin,
    tolerances,
    limits: { altitudeDeg: kind.lowestDeg, hourAngleHours: pick(random, kind.hourAngles) },
    base,
  });
}

/** Zeros anywhere in the turn. */
export const anyZeros = (random) => ({
  hourAngleZero: between(random, -10_800, 10_800),
  declinationZero: between(random, -10_800, 10_800),
});
/** Zeros that somebody set by hand or on a star. */
export const modestZeros = (random) => ({
  hourAngleZero: between(random, -30, 30),
  declinationZero: between(random, -30, 30),
});

/** The axis off by 2′ to so many arcminutes in any direction, zeros anywhere, the rest from the tolerances. */
export function drawTerms(library, random, widestArcmin) {
  const { altitude, east } = towards(random, logBetween(random, 2, widestArcmin));
  const held = Object.entries(tolerances).map(([name, size]) => [name, size * library.gaussian(random)]);
  return {
    ...anyZeros(random),
    polarAltitude: altitude,
    polarEast: east,
    ...Object.fromEntries(held),
  };
}

/** So much in any direction. */
export function towards(random, size) {
  const angle = between(random, 0, 2 * Math.PI);
  return { altitude: size * Math.cos(angle), east: size * Math.sin(angle) };
}

/** So many hours of darkness (from, to), or fewer where the night is shorter; another day where there are none. */
export function drawSpan(library, random, site, hours) {
  for (;;) {
    const noonMs = FIRST_DAY_MS + DAY_MS * Math.floor(DAYS * random()) - (site.longitude / 360) * DAY_MS;
    const dark = darkSpan(library, site, noonMs);
    if (dark === null || dark.toMs - dark.fromMs < 5_400_000) continue;
    const lengthMs = Math.min(dark.toMs - dark.fromMs, between(random, ...hours) * 3_600_000);
    const fromMs = between(random, dark.fromMs, dark.toMs - lengthMs);
    return { fromMs, toMs: fromMs + lengthMs };
  }
}
