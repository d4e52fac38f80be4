// Whole jobs at the base from 60′, gains 0.7 to 1.3, 10 000-step encoders, 24 sightings, 0.7′ of centring: turns counted
// over three rounds, and one round under a star. Also whether turns, rounds and exposure of a night say the same, and how
// often an advised round left the axis worse by more than its stated uncertainty.
// Run after a build: node test/study/base-rounds.mjs [--jobs 50] [--seed 1]
import { parseArgs } from "node:util";
import { builtLibrary } from "./library.mjs";

const { values } = parseArgs({
  options: { jobs: { type: "string", default: "50" }, seed: { type: "string", default: "1" } },
});
const dist = process.env.POLEWRIGHT_DIST ?? new URL("../../dist/", import.meta.url).href;
const more = await Promise.all(
  [
    "base/rounds.js",
    "base/axis-motion.js",
    "base/gains.js",
    "base/under-star.js",
    "fit/bench.js",
    "mount/model.js",
    "mount/terms.js",
    "mount/readings.js",
    "sky/observe.js",
    "sky/sky-frame.js",
    "sky/time.js",
    "sky/horizon-frame.js",
    "exposure/good-enough.js",
  ].map((path) => import(new URL(path, dist).href)),
);
const library = Object.assign(await builtLibrary(), ...more);
const ARCMINUTE = Math.PI / 180 / 60;
const START_ARCMIN = 60;
const ROUNDS = 3;
const random = library.seededRandom(Number(values.seed));
const between = (from, to) => from + (to - from) * random();
const gaussian = () => library.gaussian(random);

const mountAt = (latitude, bolts) =>
  library.parseMount({
    name: "Study",
    site: { latitude, longitude: 18, heightM: 500 },
    readings: {
      hourAngle: { as: "counts", perTurn: 10_000 },
      declination: { as: "counts", perTurn: 10_000, sense: -1 },
    },
    limits: { altitudeDeg: 15 },
    base: {
      jacks: [
        ["north-east", 600, 800],
        ["north-west", -600, 800],
        ["south-west", -600, -800],
        ["south-east", 600, -800],
      ].map(([name, eastMm, northMm]) => ({ name, eastMm, northMm })),
      pitchMm: 2,
      clockwise: "raises",
      raiseLeftMm: 150,
      lowerLeftMm: 10,
      tiltLimitDeg: 5,
      ...(bolts ? { azimuthBolts: { end: "south", leverMm: 1500, pitchMm: 1.5 } } : {}),
    },
    camera: { focalLengthMm: 1800, widthMm: 7.2, heightMm: 5.4, pixelUm: 8.6 },
  });

function sighted(mount, terms, place, day) {
  const night = library.simulateNight({
    seed: 1 + Math.floor(random() * 2 ** 31),
    mount,
    terms: { ...terms, polarAltitude: place.altitude, polarEast: place.east },
    targets: 24,
    fromMs: Date.UTC(2026, 2, day, 19 - mount.site.longitude / 15),
    toMs: Date.UTC(2026, 2, day + 1, 1),
  });
  return library.fitMount(night);
}

/** Brings the star to the middle, two means at a time, and says how the base then stands. */
function underStar(mount, terms, place, under, isTilt) {
  const { latitude } = mount.site;
  const reading = under.readings[Math.floor(between(1, 28))];
  const timeMs = library.parseTime(reading.time);
  const model = library.modelOfMount(mount);
  const coefficients = new Float64Array(model.size);
  const all = { ...terms, polarAltitude: place.altitude, polarEast: place.east };
  library.termNames.forEach((name, index) => {
    coefficients[index] = (all[name] ?? 0) * ARCMINUTE;
  });
  const { siderealTime } = library.skyFrame(timeMs, mount.site);
  const angle = (value, axis) =>
    library.readingAngle(Math.round(value), mount.readings[axis], { siderealTime });
  const tube = library.hourAngleVector(
    model.inverse(
      coefficients,
      angle(reading.hourAngle, "hourAngle"),
      angle(reading.declination, "declination"),
      library.normalStance,
    ),
  );
  const star = library.hourAngleVector(library.observe(library.findStar(under.star), timeMs, mount.site));
  const motion = (up, over) => ({
    ...library.stillBase,
    slopeNorth: up,
    slopeEast: isTilt ? over : 0,
    turn: isTilt ? 0 : over,
  });
  const seen = [0.7 * gaussian(), 0.7 * gaussian()];
  const off = (up, over) => {
    const { west, north } = library.inField(
      library.carriedBy(place, motion(up, over), latitude).forth(tube),
      star,
    );
    return [west - seen[0], north - seen[1]];
  };
  let [up, over] = [0, 0];
  for (let round = 0; round < 8; round++) {
    const now = off(up, over);
    const a = off(up + 1e-6, over).map((value, k) => (value - now[k]) / 1e-6);
    const b = off(up, over + 1e-6).map((value, k) => (value - now[k]) / 1e-6);
    const determinant = a[0] * b[1] - a[1] * b[0];
    [up, over] = [
      up - (now[0] * b[1] - now[1] * b[0]) / determinant,
      over - (a[0] * now[1] - a[1] * now[0]) / determinant,
    ];
  }
  return library.moveAxis(place, motion(up, over), latitude);
}

const counted = Array.from({ length: ROUNDS }, () => []);
const starred = [];
const tally = { nights: 0, disagree: 0, advised: 0, worse: 0, noStar: 0 };
for (let job = 0; job < Number(values.jobs); job++) {
  const latitude = [-29.4, 51.5, -52, 35, -41, 44][job % 6];
  const isTilt = job % 3 === 0;
  const mount = mountAt(latitude, !isTilt);
  const terms = {
    hourAngleZero: between(-200, 200),
    declinationZero: between(-90, 90),
    cone: 10 * gaussian(),
    squareness: 8 * gaussian(),
    tubeSag: 3 * gaussian(),
  };
  const bearing = between(0, 2 * Math.PI);
  const start = { altitude: START_ARCMIN * Math.cos(bearing), east: START_ARCMIN * Math.sin(bearing) };
  const gains = { jacks: between(0.7, 1.3), tilt: between(0.7, 1.3), bolts: between(0.7, 1.3) };
  const sure = Object.fromEntries(
    Object.entries(gains).map(([by, value]) => [by, { value, uncertainty: 0 }]),
  );
  let place = start;
  const fits = [];
  const made = [];
  for (let round = 0; round < ROUNDS; round++) {
    const fit = sighted(mount, terms, place, 10 + round);
    fits.push(fit);
    const result = library.rounds(
      fits,
      made.flatMap((turns, index) =>
        turns.map((turn) => ({ ...turn, round: index + 1, line: null, note: "" })),
      ),
    );
    const alone = library.jackTurns(fit);
    const verdicts = new Set([result.verdict, alone.verdict, library.goodEnough(fit).verdict]);
    tally.nights += 1;
    if (verdicts.size > 1) tally.disagree += 1;
    if (round === 0) {
      if (alone.underStar === null) tally.noStar += 1;
      else {
        const after = underStar(mount, terms, place, alone.underStar, isTilt);
        starred.push(Math.hypot(after.altitude, after.east));
      }
    }
    const turns = result.next?.recommended ? library.turnsOfAdvice(result.next) : [];
    made.push(turns);
    if (turns.length > 0) {
      // A hand is off by up to half a smallest turn.
      const byHand = turns.map((turn) =>
        turn.mm === null ? { ...turn, turns: Math.max(0, turn.turns + between(-1 / 16, 1 / 16)) } : turn,
      );
      const before = Math.hypot(place.altitude, place.east);
      const effect = library.effectOfTurns(mount.base, byHand, latitude);
      place = library.moveAxis(
        place,
        library.expectedMotion(effect, { altitude: sure, east: sure }),
        latitude,
      );
      const { altitude, east } = result.next.afterUncertainty;
      tally.advised += 1;
      if (Math.hypot(place.altitude, place.east) > before + Math.hypot(altitude, east)) tally.worse += 1;
    }
    counted[round].push(Math.hypot(place.altitude, place.east));
  }
}
const share = (list, part) =>
  [...list].sort((a, b) => a - b)[Math.min(list.length - 1, Math.floor(part * list.length))];
const line = (name, list) =>
  `| ${name} | ${share(list, 0.5).toFixed(1)} | ${share(list, 0.95).toFixed(1)} | ${Math.max(...list).toFixed(1)} |`;
console.log(
  `| from ${START_ARCMIN}′, ${values.jobs} jobs | median | 95 % below | worst |\n|---|---|---|---|`,
);
for (const [round, list] of counted.entries()) console.log(line(`counted, round ${round + 1}`, list));
console.log(line("under a star, round 1", starred));
console.log(
  `\n${tally.advised} advised rounds, ${tally.worse} left the axis worse by more than the stated uncertainty; ${tally.nights} nights, ${tally.disagree} with verdicts that differ; ${tally.noStar} without a star.`,
);
