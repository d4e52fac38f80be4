/**
 * What lies far off, and where a zero would jump, in closed form, against what a fit without that sighting, or with that jump,
 * really gives (leave-one-out and added-variable formulas: Cook and Weisberg 1982). A sign turned round in one fails here.
 */
import { describe, expect, it } from "vitest";
import { ARCMINUTE } from "../../src/angles.js";
import { benchOf } from "../../src/fit/bench.js";
import { fitStory, type Outcome } from "../../src/fit/outcome.js";
import { type Fault, storyOf } from "../../src/fit/story.js";
import { comparer, suspicionOf } from "../../src/fit/suspicion.js";
import { parseMount } from "../../src/mount/mount-file.js";
import type { TermName } from "../../src/mount/terms.js";
import { reduceNight } from "../../src/night/reduce.js";
import type { SimulatedFault } from "../../src/simulate/options.js";
import { simulateNight } from "../../src/simulate/simulate-night.js";
import { parseTime } from "../../src/sky/time.js";

const mount = parseMount({
  name: "invented",
  site: { latitude: 41, longitude: -3 },
  readings: { hourAngle: { as: "counts", perTurn: 36_000 }, declination: { as: "counts", perTurn: 36_000 } },
  limits: { altitudeDeg: 20 },
});
const night = simulateNight({
  seed: 8,
  mount,
  terms: { polarAltitude: 20, polarEast: -12, cone: 8, hourAngleZero: 40, declinationZero: -25 },
  targets: 12,
  fromMs: parseTime("2026-03-14T20:00Z"),
  toMs: parseTime("2026-03-15T01:00Z"),
});
/** The classical fit: linear to a few parts in a thousand, and nothing besides to be there or not. */
const terms: readonly TermName[] = [
  "hourAngleZero",
  "declinationZero",
  "polarAltitude",
  "polarEast",
  "cone",
  "squareness",
];
const bench = benchOf(reduceNight(night), terms);
const fitted = (...faults: Fault[]): Outcome => fitStory(bench, storyOf(bench.night, faults), null);
const whole = fitted();
/** The likeliest scale of the errors, squared: distances and gains count in its units, χ² in those of the file. */
const NOISE = whole.posterior.likeliest.scale ** 2;

/** What is not linear in a night of 20′ errors, with the rounding of a price: of 1 part. */
const CLOSE = 0.02;

describe("a used sighting's distance is that from the fit without it", () => {
  it.each(night.sightings.map((_, place) => [place] as const))("place %i", (place) => {
    const without = fitted({ kind: "excluded", place });
    const predicted = comparer(without)(place);
    const left = suspicionOf(whole);
    expect(left.distanceSquared[place]! / predicted.distanceSquared).toBeGreaterThan(1 - CLOSE);
    expect(left.distanceSquared[place]! / predicted.distanceSquared).toBeLessThan(1 + CLOSE);
    // And both are the χ² that the fit loses with it.
    const lost = (whole.chiSquare - without.chiSquare) / NOISE;
    expect(Math.abs(left.distanceSquared[place]! - lost)).toBeLessThan(CLOSE * (1 + lost));
    // A sighting left out is farther off than it looks.
    expect(predicted.uncertainty).toBeGreaterThan(0.05);
  });
});

describe("a jump's gain and size are those of the fit with it", () => {
  const places = night.sightings.map((_, place) => place).slice(2, -1);
  it.each(places.map((place) => [place] as const))("place %i", (place) => {
    for (const [axes, gains, sizes, columns] of [
      [
        "hourAngle",
        suspicionOf(whole).jumpGainHourAngle,
        suspicionOf(whole).jumpSizeHourAngle,
        "hourAngleZero",
      ],
      [
        "declination",
        suspicionOf(whole).jumpGainDeclination,
        suspicionOf(whole).jumpSizeDeclination,
        "declinationZero",
      ],
    ] as const) {
      const jumped = fitted({ kind: "jump", axes, place });
      const gained = (whole.chiSquare - jumped.chiSquare) / NOISE;
      expect(Math.abs(gains[place]! - gained)).toBeLessThan(CLOSE * (1 + gained));
      const zeros = jumped.layout[columns];
      const size = jumped.parameters[zeros[place]!]! - jumped.parameters[zeros[place - 1]!]!;
      expect(Math.abs(sizes[place]! - size) / ARCMINUTE).toBeLessThan(
        CLOSE * (1 + Math.abs(size) / ARCMINUTE),
      );
    }
  });
});

describe("with a smooth residue, whose rows go together", () => {
  const smooth = { smoothField: { rms: 0.5, lengthRad: 0.8 } };
  const fine = parseMount({
    name: "invented",
    site: { latitude: -33, longitude: 20 },
    readings: {
      hourAngle: { as: "counts", perTurn: 2 ** 22 },
      declination: { as: "counts", perTurn: 2 ** 22 },
    },
    centringArcmin: 0.08,
    limits: { altitudeDeg: 20 },
  });
  const PLACE = 21;
  const outcomeOf = (fault: SimulatedFault): Outcome => {
    const pictures = simulateNight({
      seed: 2,
      mount: fine,
      terms: { polarAltitude: 20, polarEast: -12 },
      targets: 50,
      choice: "pictures",
      fromMs: parseTime("2026-03-14T19:00Z"),
      toMs: parseTime("2026-03-14T23:00Z"),
      disturbance: smooth,
      faults: [fault],
    });
    const full = benchOf(reduceNight(pictures), null);
    return fitStory(full, storyOf(full.night, []), null);
  };

  it.each([
    [0.8, -0.8],
    [-0.8, 0.8],
  ])("a jump by %d′ and %d′ has its size", (hourAngle, declination) => {
    const outcome = outcomeOf({ kind: "zeros-moved", row: PLACE + 1, hourAngle, declination });
    expect(outcome.posterior.likeliest.amplitude).toBeGreaterThan(0);
    const { jumpSizeHourAngle, jumpSizeDeclination, jumpGainHourAngle, jumpGainDeclination } =
      suspicionOf(outcome);
    // The fit without the jump takes a part of it for creep and residue; what the rows say of a jump is most of it.
    expect(jumpSizeHourAngle[PLACE]! / ARCMINUTE / hourAngle).toBeGreaterThan(0.5);
    expect(jumpSizeHourAngle[PLACE]! / ARCMINUTE / hourAngle).toBeLessThan(1.5);
    expect(jumpSizeDeclination[PLACE]! / ARCMINUTE / declination).toBeGreaterThan(0.5);
    expect(jumpSizeDeclination[PLACE]! / ARCMINUTE / declination).toBeLessThan(1.5);
    for (const gains of [jumpGainHourAngle, jumpGainDeclination])
      expect(gains.indexOf(Math.max(...gains))).toBe(PLACE);
  });

  it("a sighting that is off lies farthest", () => {
    const outcome = outcomeOf({ kind: "outlier", row: PLACE + 1, west: 2, north: -2 });
    const { distanceSquared } = suspicionOf(outcome);
    expect(distanceSquared.indexOf(Math.max(...distanceSquared))).toBe(PLACE);
  });
});
