import { describe, expect, it } from "vitest";
import { compareDrift, sigmasOf } from "../../src/drift/compare.js";
import { type DriftOptions, solveDrift, solveDriftFully } from "../../src/drift/drift.js";
import type { DriftFields } from "../../src/drift/fields.js";
import { makeDrifts } from "../../src/drift/file.js";
import { knownSags, sagsWithPole } from "../../src/drift/sags.js";
import { InputError } from "../../src/errors.js";
import type { PoleError } from "../../src/fit/fit-result.js";
import { parseMount } from "../../src/mount/mount-file.js";
import type { TermName } from "../../src/mount/terms.js";
import type { MountStanding } from "../../src/pointing/known-mount.js";
import { gaussian, seededRandom } from "../../src/simulate/random.js";
import { findStar } from "../../src/sky/find-star.js";
import { observe } from "../../src/sky/observe.js";
import type { Site } from "../../src/sky/site.js";
import { parseTime } from "../../src/sky/time.js";
import { plainDrift } from "../support/plain-rotations.js";

const VACUUM_SITE = (latitude: number): Site => ({
  latitude,
  longitude: 20,
  heightM: 1000,
  pressureHPa: 0,
  temperatureC: 12,
  dut1S: 0,
});
const NO_SAGS = {
  tolerances: { tubeSag: 0.0001, ringSag: 0.0001, trunnionSag: 0.0001 },
} satisfies DriftOptions;
const LATITUDES_DEG = [-60, -30, -5, 5, 46.1, 65];

/** Drifts of a truth, from plain rotation matrices. */
function seenDrifts(
  latitude: number,
  pole: { altitude: number; east: number },
  places: readonly (readonly [number, number])[],
  more: Partial<DriftFields> = {},
): DriftFields[] {
  return places.map(([hourAngleDeg, declinationDeg]) => ({
    hourAngleDeg,
    declinationDeg,
    minutes: 10,
    driftNorthArcsec: plainDrift(latitude, pole, hourAngleDeg, declinationDeg, 10).north,
    uncertaintyArcsec: 1,
    ...more,
  }));
}

function codesOf(work: () => unknown): string[] {
  try {
    work();
  } catch (problem) {
    if (problem instanceof InputError) return problem.faults.map((fault) => fault.code);
    throw problem;
  }
  return [];
}

describe("the axis from drifts", () => {
  it("is found back from plain rotation matrices, in both hemispheres, errors up to two degrees", () => {
    // The wide prior of ten degrees pulls by (σ / 600′)², far below this.
    const TOLERANCE_ARCMIN = 0.001;
    const random = seededRandom(3);
    for (const latitude of LATITUDES_DEG) {
      for (let k = 0; k < 5; k++) {
        const pole = { altitude: 240 * (random() - 0.5), east: 240 * (random() - 0.5) };
        const places = [
          [5, 0],
          [-70, Math.sign(latitude) * 10],
        ] as const;
        const { pole: found, tells } = solveDrift(
          makeDrifts(seenDrifts(latitude, pole, places)),
          VACUUM_SITE(latitude),
          NO_SAGS,
        );
        expect(Math.abs(found.altitude.value - pole.altitude)).toBeLessThan(TOLERANCE_ARCMIN);
        expect(Math.abs(found.east.value - pole.east)).toBeLessThan(TOLERANCE_ARCMIN);
        expect(found.distance.value).toBeCloseTo(Math.hypot(pole.altitude, pole.east), 2);
        expect(tells).toBe("both errors");
      }
    }
  });

  it("follows the table of common practice in the north, mirrored in the south", () => {
    // Common practice, north: a meridian star drifting south, axis too far east; an eastern star drifting south, too low.
    for (const [latitude, sign] of [
      [46, -1],
      [-46, 1],
    ] as const) {
      const meridian = { hourAngleDeg: 0, declinationDeg: 0, minutes: 5 };
      const eastern = { hourAngleDeg: -75, declinationDeg: 0, minutes: 5 };
      const solved = (meridianDrift: number, easternDrift: number) =>
        solveDrift(
          makeDrifts([
            { ...meridian, driftNorthArcsec: meridianDrift },
            { ...eastern, driftNorthArcsec: easternDrift },
          ]),
          VACUUM_SITE(latitude),
        ).pole;
      // 10′ times 0.2625″ a minute times 5 minutes.
      expect(solved(sign * 13.1, sign * 13.1 * Math.cos((75 * Math.PI) / 180)).east.value).toBeCloseTo(10, 0);
      expect(solved(0, sign * 13.1).altitude.value).toBeLessThan(-9);
    }
  });

  it("has the uncertainty of the propagated errors: one arcminute drifts 0.2625″ a minute (published)", () => {
    // A star on the meridian and one six hours off, ten minutes each, 1″: 1 / 2.625 = 0.381′ each.
    const drifts = makeDrifts(
      seenDrifts(46, { altitude: 0, east: 0 }, [
        [-1.25, 0],
        [-88.7, 30],
      ]),
    );
    const { pole, fromDriftsAlone } = solveDrift(drifts, VACUUM_SITE(46), NO_SAGS);
    expect(pole.altitude.uncertainty).toBeCloseTo(0.381, 2);
    expect(pole.east.uncertainty).toBeCloseTo(0.381, 2);
    expect(fromDriftsAlone.altitude).toBeCloseTo(pole.altitude.uncertainty, 3);
    expect(fromDriftsAlone.east).toBeCloseTo(pole.east.uncertainty, 3);
    expect(pole.azimuth.uncertainty).toBeCloseTo(pole.east.uncertainty / Math.cos((46 * Math.PI) / 180), 6);
  });

  it("holds the truth in its 95 % interval as often as it says", () => {
    // 600 seeded evenings: binomial 95 % ± 2.7 % is three of its standard deviations (√(0.95·0.05/600) = 0.9 %).
    const NIGHTS = 600;
    const random = seededRandom(20);
    let altitudeInside = 0;
    let eastInside = 0;
    const site = VACUUM_SITE(-30);
    for (let night = 0; night < NIGHTS; night++) {
      const pole = { altitude: 15 * gaussian(random), east: 15 * gaussian(random) };
      const fields = seenDrifts(
        -30,
        pole,
        Array.from({ length: 3 }, () => [150 * (random() - 0.5), 60 * (random() - 0.5) - 20] as const),
        { uncertaintyArcsec: 2 },
      ).map((one) => ({ ...one, driftNorthArcsec: one.driftNorthArcsec! + 2 * gaussian(random) }));
      const { pole: found } = solveDrift(makeDrifts(fields), site, NO_SAGS);
      if (Math.abs(found.altitude.value - pole.altitude) < 1.96 * found.altitude.uncertainty)
        altitudeInside++;
      if (Math.abs(found.east.value - pole.east) < 1.96 * found.east.uncertainty) eastInside++;
    }
    for (const inside of [altitudeInside, eastInside]) {
      expect(inside / NIGHTS).toBeGreaterThan(0.923);
      expect(inside / NIGHTS).toBeLessThan(0.985);
    }
  });

  it("says of one star that it tells one combination only, and which star would tell the other", () => {
    const result = solveDrift(
      makeDrifts(seenDrifts(46, { altitude: 5, east: 8 }, [[-1.25, 0]])),
      VACUUM_SITE(46),
      NO_SAGS,
    );
    expect(result.tells).toBe("one way only");
    expect(result.pole.east.value).toBeCloseTo(8, 1);
    expect(result.pole.east.uncertainty).toBeLessThan(1);
    expect(result.pole.altitude.uncertainty).toBeGreaterThan(300);
    expect(result.best.uncertainty).toBeLessThan(1);
    expect(result.notes.map((note) => note.code)).toContain("one-way-only");
    expect(result.notes[0]!.remedy).toContain("five to six hours east or west");
  });

  it("allows for the air: an aligned mount's drifts by refraction alone are no axis error", () => {
    const site = { ...VACUUM_SITE(46), pressureHPa: 1010, temperatureC: 10 };
    // Where refraction puts the stars comes from the observed direction of a star at two times, not from the tracking.
    const seen = (star: string, time: string, minutes: number): DriftFields => {
      const position = findStar(star);
      const from = observe(position, parseTime(time), site);
      const to = observe(position, parseTime(time) + 60_000 * minutes, site);
      return {
        star,
        time,
        minutes,
        driftNorthArcsec: ((to.declination - from.declination) * 180 * 3600) / Math.PI,
        uncertaintyArcsec: 0.5,
      };
    };
    const drifts = makeDrifts([
      seen("Regulus", "2026-03-14T17:00:00Z", 20),
      seen("Procyon", "2026-03-14T19:00:00Z", 20),
      seen("Aldebaran", "2026-03-14T20:30:00Z", 20),
    ]);
    const without = solveDrift(drifts, { ...site, pressureHPa: 0 }, NO_SAGS);
    const allowed = solveDrift(drifts, site, NO_SAGS);
    // The refracted pole at 46° stands about 0.9′ higher (README figure: refraction 56″ at 46° altitude).
    expect(Math.abs(without.pole.altitude.value)).toBeGreaterThan(0.4);
    expect(allowed.pole.distance.value).toBeLessThan(0.05);
    expect(Math.abs(allowed.residuals[0]!.north!.refraction)).toBeGreaterThan(0.5);
  });

  it("finds the error of the drive's rate from drifts westward", () => {
    const pole = { altitude: 12, east: -7 };
    const places = [
      [2, 0],
      [-60, -20],
      [50, -40],
    ] as const;
    const RATE = 1.7;
    const fields = places.map(([hourAngleDeg, declinationDeg]) => {
      const { north, west } = plainDrift(-30, pole, hourAngleDeg, declinationDeg, 8);
      return {
        hourAngleDeg,
        declinationDeg,
        minutes: 8,
        driftNorthArcsec: north,
        driftWestArcsec: west - RATE * 8 * Math.cos((declinationDeg * Math.PI) / 180),
        uncertaintyArcsec: 1,
      };
    });
    const found = solveDrift(makeDrifts(fields), VACUUM_SITE(-30), NO_SAGS);
    expect(found.driveRate!.value).toBeCloseTo(RATE, 2);
    expect(found.pole.altitude.value).toBeCloseTo(12, 2);
    expect(found.pole.east.value).toBeCloseTo(-7, 2);
    const asked = solveDrift(makeDrifts(fields), VACUUM_SITE(-30), { ...NO_SAGS, driveRate: "sidereal" });
    expect(asked.driveRate).toBeNull();
    expect(asked.notes.map((note) => note.code)).toContain("poor-fit");
  });

  it("counts what sags may have done: with the usual tolerances it is less sure than the drifts alone", () => {
    const drifts = makeDrifts(
      seenDrifts(-30, { altitude: 5, east: 8 }, [
        [0, 0],
        [-70, -30],
        [60, 10],
      ]),
    );
    const found = solveDrift(drifts, VACUUM_SITE(-30));
    expect(found.sagsFrom).toBe("tolerances");
    // A ring sag of 3′ (the usual tolerance) drifts as an altitude error of 3′ does.
    expect(found.pole.altitude.uncertainty).toBeGreaterThan(2.5);
    expect(found.fromDriftsAlone.altitude).toBeLessThan(0.6);
  });

  it("scales its uncertainties up when the drifts do not fit together, and says so", () => {
    const fields = seenDrifts(46, { altitude: 5, east: 8 }, [
      [0, 0],
      [-70, 20],
      [60, 10],
      [-30, 40],
    ]);
    fields[3] = { ...fields[3]!, driftNorthArcsec: fields[3]!.driftNorthArcsec! + 25 };
    const found = solveDrift(makeDrifts(fields), VACUUM_SITE(46), NO_SAGS);
    expect(found.scaledBy).toBeGreaterThan(3);
    expect(found.notes.map((note) => note.code)).toContain("poor-fit");
    // Never down.
    const good = solveDrift(
      makeDrifts(
        seenDrifts(46, { altitude: 5, east: 8 }, [
          [0, 0],
          [-70, 20],
          [60, 10],
        ]),
      ),
      VACUUM_SITE(46),
    );
    expect(good.scaledBy).toBe(1);
  });

  it("says when it does not settle: a wild drift of two minutes beside a quiet one of twelve", () => {
    const wild = makeDrifts([
      { hourAngleDeg: -15, declinationDeg: -52, minutes: 2, driftNorthArcsec: -127, driftWestArcsec: 38 },
      { hourAngleDeg: -18, declinationDeg: -16, minutes: 12, driftNorthArcsec: 12 },
    ]);
    const codes = (drifts: typeof wild): string[] =>
      solveDrift(drifts, VACUUM_SITE(-30)).notes.map(({ code }) => code);
    expect(codes(wild)).toContain("not-converged");
    expect(codes(wild.slice(1))).not.toContain("not-converged");
  });

  it("refuses no drifts and stars below the horizon, and notes low ones", () => {
    expect(codesOf(() => solveDrift([], VACUUM_SITE(46)))).toEqual(["no-drifts"]);
    const below = makeDrifts([{ hourAngleDeg: 170, declinationDeg: -10, minutes: 5, driftNorthArcsec: 3 }]);
    expect(codesOf(() => solveDrift(below, VACUUM_SITE(46)))).toEqual(["star-below-horizon"]);
    const low = makeDrifts([{ hourAngleDeg: 70, declinationDeg: 0, minutes: 5, driftNorthArcsec: 3 }]);
    expect(solveDrift(low, VACUUM_SITE(46)).notes.map((note) => note.code)).toContain("low-star");
  });
});

describe("drifts held against the sightings' fit", () => {
  const mount = parseMount({
    name: "Nowhere School 40 cm (invented)",
    site: { latitude: -30, longitude: 20, heightM: 1000, pressureHPa: 0, temperatureC: 12 },
    kind: "split-ring",
    readings: {
      hourAngle: { as: "counts", perTurn: 16384, sense: 1 },
      declination: { as: "counts", perTurn: 16384, sense: -1 },
    },
  });
  const names: TermName[] = ["polarAltitude", "polarEast", "tubeSag", "ringSag", "trunnionSag"];
  const fitWith = (values: readonly number[], sigmas: readonly number[], correlation = 0): MountStanding => ({
    mount,
    terms: names.map((name, k) => ({ name, set: null, value: values[k]! })),
    covariance: names.map((_, i) =>
      names.map((__, j) =>
        i === j
          ? sigmas[i]! ** 2
          : (i === 0 && j === 3) || (i === 3 && j === 0)
            ? correlation * sigmas[i]! * sigmas[j]!
            : 0,
      ),
    ),
  });
  const pole = { altitude: 6, east: -4 };
  const drifts = makeDrifts(
    seenDrifts(-30, pole, [
      [0, 0],
      [-70, -30],
      [60, 10],
    ]),
  );

  it("agree with a fit that says the same, and disagree with one that does not", () => {
    const small = [0.5, 0.4, 0.0001, 0.0001, 0.0001];
    const same = compareDrift(drifts, fitWith([6.3, -4.2, 0, 0, 0], small)).comparison;
    expect(same.agrees).toBe(true);
    expect(same.telling).toBe(true);
    expect(same.altitude.value).toBeCloseTo(-0.3, 2);
    expect(same.altitude.sightings.uncertainty).toBeCloseTo(0.5, 12);
    const other = compareDrift(drifts, fitWith([12, -4, 0, 0, 0], small)).comparison;
    expect(other.agrees).toBe(false);
    expect(other.sigmas).toBeGreaterThan(6);
    expect(other.altitude.sigmas).toBeGreaterThan(other.east.sigmas);
  });

  it("allow for what both take from the same sag", () => {
    // In the south a ring sag acts on declinations as a negative altitude error does (−cos h against cos h), so
    // sightings at all hour angles leave their difference known and their sum not: both errors of altitude, the fit's and
    // the drifts', then go the same way, and their difference is known far better than either.
    const sigmas = [3, 0.4, 0.0001, 3, 0.0001];
    const found = compareDrift(drifts, fitWith([6, -4, 0, 0, 0], sigmas, 0.98)).comparison;
    expect(found.altitude.drift.uncertainty).toBeGreaterThan(2.5);
    expect(found.altitude.uncertainty).toBeLessThan(1.2);
  });

  it("give σ as the normal distribution has it", () => {
    // Abramowitz and Stegun, table 26.1: 0.3173 → 1, 0.0455 → 2, 0.0027 → 3.
    expect(sigmasOf(0.317311)).toBeCloseTo(1, 4);
    expect(sigmasOf(0.0455003)).toBeCloseTo(2, 4);
    expect(sigmasOf(0.0026998)).toBeCloseTo(3, 4);
  });
});

describe("drifts taken apart", () => {
  const names: TermName[] = ["polarAltitude", "polarEast", "tubeSag", "ringSag", "trunnionSag"];
  const mountAt = (latitude: number) =>
    parseMount({
      name: "Nowhere School 40 cm (invented)",
      site: { latitude, longitude: 20, heightM: 1000, pressureHPa: 0, temperatureC: 12 },
      kind: "split-ring",
      readings: {
        hourAngle: { as: "counts", perTurn: 16384, sense: 1 },
        declination: { as: "counts", perTurn: 16384, sense: -1 },
      },
    });
  const fitOf = (
    latitude: number,
    values: readonly number[],
    covariance: readonly number[][],
  ): MountStanding => ({
    mount: mountAt(latitude),
    terms: names.map((name, k) => ({ name, set: null, value: values[k]! })),
    covariance,
  });
  const apart = (sigmas: readonly number[]): number[][] =>
    sigmas.map((sigma, i) => sigmas.map((_, j) => (i === j ? sigma * sigma : 0)));
  const places = [
    [2, 0],
    [-60, -20],
    [50, -40],
    [20, 30],
  ] as const;
  /** With drifts westward of a drive that runs too fast. */
  const both = (latitude: number, pole: { altitude: number; east: number }, rate: number): DriftFields[] =>
    places.map(([hourAngleDeg, declinationDeg]) => {
      const { north, west } = plainDrift(latitude, pole, hourAngleDeg, declinationDeg, 8);
      return {
        hourAngleDeg,
        declinationDeg,
        minutes: 8,
        driftNorthArcsec: north,
        driftWestArcsec: west - rate * 8 * Math.cos((declinationDeg * Math.PI) / 180),
        uncertaintyArcsec: 1.5,
      };
    });

  it("add up to what was seen, and the axis and the drive did what plain rotations say", () => {
    const pole = { altitude: 12, east: -7 };
    const RATE = 1.7;
    const fields = both(-30, pole, RATE);
    const { residuals, chiSquare, driveRate } = solveDrift(makeDrifts(fields), VACUUM_SITE(-30), NO_SAGS);
    residuals.forEach((residual, k) => {
      const { hourAngleDeg, declinationDeg } = fields[k]!;
      expect([residual.place.hourAngleDeg, residual.minutes]).toEqual([hourAngleDeg, 8]);
      const plain = plainDrift(-30, pole, hourAngleDeg!, declinationDeg!, 8);
      const slip = -RATE * 8 * Math.cos((declinationDeg! * Math.PI) / 180);
      for (const [parts, seen, axis, rate] of [
        [residual.north!, fields[k]!.driftNorthArcsec!, plain.north, 0],
        [residual.west!, fields[k]!.driftWestArcsec!, plain.west, slip],
      ] as const) {
        expect(parts.seen).toBe(seen);
        expect(parts.expected).toBe(1.5);
        const sum = parts.refraction + parts.sags + parts.driveRate + parts.axis + parts.residual;
        expect(sum).toBeCloseTo(seen, 9);
        expect(parts.refraction).toBeCloseTo(0, 9);
        expect(Math.abs(parts.sags)).toBeLessThan(0.01);
        expect(Math.abs(parts.axis - axis)).toBeLessThan(0.05);
        expect(Math.abs(parts.driveRate - rate)).toBeLessThan(0.05);
        expect(Math.abs(parts.residual)).toBeLessThan(0.01);
      }
    });
    // Eight numbers seen, three found.
    expect(chiSquare.degreesOfFreedom).toBe(5);
    expect(chiSquare.probability).toBeCloseTo(1, 3);
    // Four westward drifts of eight minutes: σ / (8 √Σ cos²δ), the axis apart, is the least it can be.
    expect(driveRate!.uncertainty).toBeGreaterThan(1.5 / 8 / 2);
    expect(driveRate!.uncertainty).toBeLessThan(3 * (1.5 / 8 / 2));
  });

  it("are as sure as without sags where these are known, with a free drive too", () => {
    // Near the pole the axis carries stars westward as well, much as a wrong rate does.
    const near = [
      [-60, -60],
      [-20, -65],
      [10, -70],
    ] as const;
    const pole = { altitude: 3, east: 2 };
    const fields = near.map(([hourAngleDeg, declinationDeg]) => {
      const { north, west } = plainDrift(-40, pole, hourAngleDeg, declinationDeg, 8);
      return { hourAngleDeg, declinationDeg, minutes: 8, driftNorthArcsec: north, driftWestArcsec: west };
    });
    const solve = (driveRate: "free" | "sidereal") =>
      solveDrift(makeDrifts(fields), VACUUM_SITE(-40), { ...NO_SAGS, driveRate });
    const free = solve("free");
    const known = solve("sidereal");
    for (const { pole: found, fromDriftsAlone } of [free, known]) {
      // The wide prior of ten degrees narrows by (σ / 600′)² / 2 only.
      expect(fromDriftsAlone.altitude / found.altitude.uncertainty).toBeCloseTo(1, 3);
      expect(fromDriftsAlone.east / found.east.uncertainty).toBeCloseTo(1, 3);
    }
    // "Alone" means as if every sag were known, also where they are not.
    const sagging = solveDrift(makeDrifts(fields), VACUUM_SITE(-40), { driveRate: "sidereal" });
    expect(sagging.fromDriftsAlone.altitude / known.pole.altitude.uncertainty).toBeCloseTo(1, 3);
    expect(sagging.fromDriftsAlone.east / known.pole.east.uncertainty).toBeCloseTo(1, 3);
    // Not knowing the rate must cost something here, or this would test nothing.
    expect(free.pole.altitude.uncertainty).toBeGreaterThan(1.05 * known.pole.altitude.uncertainty);
    expect(free.chiSquare.degreesOfFreedom).toBe(3);
    expect(known.chiSquare.degreesOfFreedom).toBe(4);
  });

  it("that do not fit together are taken as much less sure as larger stated errors would make them (identity)", () => {
    // Northward only, for each way has a scale of its own.
    const fields = both(-30, { altitude: 5, east: 8 }, 0.4).map(({ driftWestArcsec: _, ...one }) => one);
    fields[1] = { ...fields[1]!, driftNorthArcsec: fields[1]!.driftNorthArcsec! + 20 };
    fields[2] = { ...fields[2]!, driftNorthArcsec: fields[2]!.driftNorthArcsec! - 15 };
    const poor = solveDrift(makeDrifts(fields), VACUUM_SITE(-30), NO_SAGS);
    const { value, degreesOfFreedom } = poor.chiSquare;
    expect(degreesOfFreedom).toBeGreaterThan(0);
    expect(poor.scaledBy).toBeCloseTo(Math.sqrt(value / degreesOfFreedom), 2);
    const wide = solveDrift(
      makeDrifts(fields.map((one) => ({ ...one, uncertaintyArcsec: 1.5 * poor.scaledBy }))),
      VACUUM_SITE(-30),
      NO_SAGS,
    );
    expect(wide.scaledBy).toBe(1);
    // The priors do not grow with the errors: some ten-thousandths.
    expect(wide.chiSquare.value).toBeCloseTo(degreesOfFreedom, 2);
    const pairs = [
      [poor.pole.altitude.uncertainty, wide.pole.altitude.uncertainty],
      [poor.pole.east.uncertainty, wide.pole.east.uncertainty],
      [poor.pole.covariance, wide.pole.covariance],
      [poor.fromDriftsAlone.altitude, wide.fromDriftsAlone.altitude],
      [poor.fromDriftsAlone.east, wide.fromDriftsAlone.east],
    ] as const;
    for (const [scaled, stated] of pairs) expect(scaled / stated).toBeCloseTo(1, 3);
  });

  it("weigh each drift by its own uncertainty", () => {
    // Two stars on the meridian that contradict each other: the mean by the weights of 1 and 1/9 (textbook).
    const at = { hourAngleDeg: 0, declinationDeg: 0, minutes: 10 };
    const drifts = makeDrifts([
      { ...at, driftNorthArcsec: 26, uncertaintyArcsec: 1 },
      { ...at, driftNorthArcsec: 36, uncertaintyArcsec: 3 },
    ]);
    const { pole, residuals, chiSquare } = solveDrift(drifts, VACUUM_SITE(46), NO_SAGS);
    expect(residuals[0]!.north!.residual).toBeCloseTo(-1, 2);
    expect(residuals[1]!.north!.residual).toBeCloseTo(9, 2);
    expect(residuals[1]!.north!.expected).toBe(3);
    expect(chiSquare.value).toBeCloseTo(10, 2);
    // Two numbers for two unknowns leave no freedom, though they tell of one way only.
    expect([chiSquare.degreesOfFreedom, chiSquare.probability]).toEqual([0, 1]);
    expect(Math.abs(pole.east.value)).toBeGreaterThan(5);
    const one = solveDrift(makeDrifts([{ ...at, driftNorthArcsec: 26 }]), VACUUM_SITE(46), NO_SAGS);
    expect([one.chiSquare.degreesOfFreedom, one.chiSquare.probability]).toEqual([0, 1]);
  });

  it("tell nothing when they are far too rough, and say so", () => {
    const rough = makeDrifts([
      { hourAngleDeg: 0, declinationDeg: 0, minutes: 0.1, driftNorthArcsec: 0, uncertaintyArcsec: 60 },
    ]);
    const { tells, notes } = solveDrift(rough, VACUUM_SITE(46), NO_SAGS);
    expect(tells).toBe("nothing");
    expect(notes[0]!.message).toContain("next to nothing");
    const sharp = makeDrifts([{ hourAngleDeg: 0, declinationDeg: 0, minutes: 10, driftNorthArcsec: 0 }]);
    expect(solveDrift(sharp, VACUUM_SITE(46), NO_SAGS).notes[0]!.message).toContain("only one combination");
  });

  it("leave the distance as unsure as the less sure error where the axis stands at the pole itself", () => {
    const still = makeDrifts(
      seenDrifts(-40, { altitude: 0, east: 0 }, [
        [-20, 0],
        [-40, -10],
      ]).map((one) => ({ ...one, driftNorthArcsec: 0 })),
    );
    const { pole } = solveDrift(still, VACUUM_SITE(-40), NO_SAGS);
    expect(pole.distance.value).toBeLessThan(1e-9);
    expect(pole.distance.uncertainty).toBe(Math.max(pole.altitude.uncertainty, pole.east.uncertainty));
    expect(pole.altitude.uncertainty).not.toBeCloseTo(pole.east.uncertainty, 2);
  });

  it("of a star and a time are placed where it was seen", () => {
    const [drift] = makeDrifts([
      { star: "Canopus", time: "2026-03-14T19:22:10Z", minutes: 5, driftNorthArcsec: 1 },
    ]);
    const site = { ...VACUUM_SITE(-30), pressureHPa: 900 };
    const { place } = solveDrift([drift!], site).residuals[0]!;
    const seen = observe(findStar("Canopus"), parseTime("2026-03-14T19:22:10Z"), site);
    expect(place.altitudeDeg).toBeCloseTo((seen.altitude * 180) / Math.PI, 10);
    expect(place.azimuthDeg).toBeCloseTo((seen.azimuth * 180) / Math.PI, 10);
    expect(place.hourAngleDeg).toBeCloseTo((seen.hourAngle * 180) / Math.PI, 10);
    expect(place.declinationDeg).toBeCloseTo((seen.declination * 180) / Math.PI, 10);
  });

  it("know best and worst the two axes of the ellipse of uncertainty (exact identities)", () => {
    const { pole, best, worst } = solveDrift(
      makeDrifts(
        seenDrifts(46, { altitude: 5, east: 8 }, [
          [-20, 0],
          [-50, 10],
        ]),
      ),
      VACUUM_SITE(46),
      NO_SAGS,
    );
    const a = pole.altitude.uncertainty ** 2;
    const e = pole.east.uncertainty ** 2;
    for (const way of [best, worst]) {
      expect(way.altitude ** 2 + way.east ** 2).toBeCloseTo(1, 12);
      const variance =
        way.altitude ** 2 * a + 2 * way.altitude * way.east * pole.covariance + way.east ** 2 * e;
      expect(way.uncertainty ** 2 / variance).toBeCloseTo(1, 9);
      expect(way.value).toBeCloseTo(way.altitude * pole.altitude.value + way.east * pole.east.value, 12);
    }
    expect(best.altitude * worst.altitude + best.east * worst.east).toBeCloseTo(0, 12);
    expect((best.uncertainty ** 2 + worst.uncertainty ** 2) / (a + e)).toBeCloseTo(1, 9);
    expect(best.uncertainty).toBeLessThan(Math.min(pole.altitude.uncertainty, pole.east.uncertainty));
    // The distance's own variance, by propagation along its direction.
    const [da, de] = [pole.altitude.value / pole.distance.value, pole.east.value / pole.distance.value];
    expect(pole.distance.uncertainty ** 2).toBeCloseTo(
      da * da * a + 2 * da * de * pole.covariance + de * de * e,
      9,
    );
  });

  it("leave to the axis what a known ring sag does not do: as an altitude error in the north, its opposite in the south", () => {
    // A ring sag adds its cos h to the declination's reading; an altitude error adds ± cos h (DEVELOPERS.md, the model).
    const RING = 4;
    for (const [latitude, expected] of [
      [46, 10 - RING],
      [-46, 10 + RING],
    ] as const) {
      const tight = apart([600, 600, 0.0001, 0.0001, 0.0001]);
      const fields = seenDrifts(latitude, { altitude: 10, east: -6 }, [
        [0, 0],
        [-70, latitude > 0 ? 20 : -20],
        [60, 10],
      ]);
      const found = solveDrift(makeDrifts(fields), mountAt(latitude), {
        fit: fitOf(latitude, [0, 0, 0, RING, 0], tight),
      });
      expect(found.sagsFrom).toBe("fit");
      expect(Math.abs(found.pole.altitude.value - expected)).toBeLessThan(0.05);
      expect(Math.abs(found.pole.east.value + 6)).toBeLessThan(0.05);
      const like = plainDrift(
        latitude,
        { altitude: 10 - expected, east: 0 },
        -70,
        fields[1]!.declinationDeg!,
        10,
      );
      expect(Math.abs(found.residuals[1]!.north!.sags - like.north)).toBeLessThan(0.1);
    }
  });

  it("move with what was taken for each sag as they say they do", () => {
    const covariance = apart([1, 1, 3, 2, 2.5]);
    covariance[2]![3] = 4;
    covariance[3]![2] = 4;
    covariance[3]![4] = -1.5;
    covariance[4]![3] = -1.5;
    const drifts = makeDrifts(both(-30, { altitude: 6, east: -4 }, 0.5));
    const at = (sags: readonly number[]) => {
      const fit = fitOf(-30, [0, 0, ...sags], covariance);
      return solveDriftFully(drifts, fit.mount, { fit });
    };
    const middle = at([1, -1, 0.5]);
    [0, 1, 2].forEach((sag) => {
      const [more, less] = [1, -1].map((step) =>
        at([1, -1, 0.5].map((value, k) => value + (k === sag ? step : 0))),
      ) as [ReturnType<typeof at>, ReturnType<typeof at>];
      const slope = (of: (pole: PoleError) => number) => (of(more.result.pole) - of(less.result.pole)) / 2;
      expect(Math.abs(slope((pole) => pole.altitude.value) - middle.sagGain[0]![sag]!)).toBeLessThan(1e-3);
      expect(Math.abs(slope((pole) => pole.east.value) - middle.sagGain[1]![sag]!)).toBeLessThan(1e-3);
    });
  });

  it("are held against a fit by χ² of the difference, correlations and all (textbook, two by two)", () => {
    const covariance = apart([2, 1.5, 0.0001, 0.0001, 0.0001]);
    covariance[0]![1] = 1.8;
    covariance[1]![0] = 1.8;
    const drifts = makeDrifts(
      seenDrifts(-30, { altitude: 6, east: -4 }, [
        [-20, 0],
        [-60, -30],
      ]),
    );
    const { result, comparison } = compareDrift(drifts, fitOf(-30, [9, -5, 0, 0, 0], covariance));
    const [a, e] = [result.pole.altitude, result.pole.east];
    const aa = a.uncertainty ** 2 + 4;
    const ee = e.uncertainty ** 2 + 2.25;
    const ae = result.pole.covariance + 1.8;
    const [x, y] = [a.value - 9, e.value + 5];
    const square = (x * x * ee - 2 * x * y * ae + y * y * aa) / (aa * ee - ae * ae);
    expect(comparison.chiSquare.value).toBeCloseTo(square, 4);
    expect(comparison.chiSquare.probability).toBeCloseTo(Math.exp(-square / 2), 6);
    expect(comparison.altitude.uncertainty).toBeCloseTo(Math.sqrt(aa), 5);
    expect(comparison.east.uncertainty).toBeCloseTo(Math.sqrt(ee), 5);
    expect(comparison.east.sigmas).toBeCloseTo(Math.abs(y) / Math.sqrt(ee), 4);
    expect(comparison.east.sightings).toEqual({ value: -5, uncertainty: 1.5 });
    expect(comparison.telling).toBe(true);
    expect(comparison.chiSquare.degreesOfFreedom).toBe(2);
    // Known to little more than 10′ only, agreeing means nothing.
    for (const sigmas of [
      [10.4, 1],
      [1, 10.4],
    ]) {
      const vague = fitOf(-30, [9, -5, 0, 0, 0], apart([...sigmas, 0.0001, 0.0001, 0.0001]));
      expect(compareDrift(drifts, vague).comparison.telling).toBe(false);
    }
    // A fit that does not hold an error takes it as none.
    const whole = fitOf(-30, [9, -5, 0, 0, 0], covariance);
    const eastOnly = {
      ...whole,
      terms: whole.terms.slice(1),
      covariance: covariance.slice(1).map((row) => row.slice(1)),
    };
    const { altitude } = compareDrift(drifts, eastOnly).comparison;
    expect(altitude.sightings).toEqual({ value: 0, uncertainty: 0 });
    expect(altitude.value).toBeCloseTo(a.value, 6);
    expect(altitude.uncertainty).toBeCloseTo(a.uncertainty, 6);
  });

  it("say that one drift westward tells the drive's rate only, unless the rate is known", () => {
    const fields = seenDrifts(46, { altitude: 5, east: 8 }, [
      [0, 0],
      [-70, 20],
    ]);
    fields[1] = {
      ...fields[1]!,
      driftWestArcsec: plainDrift(46, { altitude: 5, east: 8 }, -70, 20, 10).west,
    };
    const codes = (options: DriftOptions) =>
      solveDrift(makeDrifts(fields), VACUUM_SITE(46), { ...NO_SAGS, ...options }).notes.map(
        (note) => note.code,
      );
    expect(codes({})).toEqual(["west-not-used"]);
    expect(codes({ driveRate: "sidereal" })).toEqual([]);
  });

  it("send the builder to the star that tells the rest", () => {
    const remedy = (hourAngleDeg: number) =>
      solveDrift(
        makeDrifts(seenDrifts(46, { altitude: 0, east: 0 }, [[hourAngleDeg, 20]])),
        VACUUM_SITE(46),
        NO_SAGS,
      ).notes.find((note) => note.code === "one-way-only")!.remedy;
    // A quarter of the sky from the star that was timed (its drift is altitude · sin h + east · cos h).
    expect(remedy(-89)).toContain("near the meridian");
    expect(remedy(-46.25)).toContain("about 3 hours west");
    expect(remedy(43.75)).toContain("about 3 hours east");
    expect(remedy(-31.25)).toContain("about 4 hours west");
    expect(remedy(-1.25)).toContain("five to six hours east or west");
  });
});

describe("what is known of the sags", () => {
  const tolerances = { tubeSag: 5, ringSag: 3, trunnionSag: 2 };
  const standing = (names: TermName[], values: readonly number[], covariance: readonly number[][]) =>
    ({
      terms: names.map((name, k) => ({ name, set: null, value: values[k]! })),
      covariance,
    }) as unknown as MountStanding;

  it("is the tolerances without a fit, and for what a fit does not hold", () => {
    const { values, whitening } = knownSags(null, tolerances);
    expect(values).toEqual([0, 0, 0]);
    whitening.forEach((row, i) => {
      row.forEach((weight, j) => {
        expect(weight).toBeCloseTo(i === j ? 1 / [5, 3, 2][i]! : 0, 14);
      });
    });
    const part = knownSags(
      standing(
        ["cone", "ringSag"],
        [9, 1.5],
        [
          [4, 1],
          [1, 0.25],
        ],
      ),
      tolerances,
    );
    expect(part.values).toEqual([0, 1.5, 0]);
    expect([0, 1, 2].map((k) => part.whitening[k]![k])).toEqual([0.2, 2, 0.5]);
  });

  it("whitens the fit's covariance: W C Wᵀ = 1 (exact identity)", () => {
    const covariance = [
      [9, 2, 7, 1],
      [2, 4, 1, -1],
      [7, 1, 8, 0.5],
      [1, -1, 0.5, 2],
    ];
    const fit = standing(["polarEast", "ringSag", "tubeSag", "trunnionSag"], [1, 2, 3, 4], covariance);
    const { values, whitening } = knownSags(fit, tolerances);
    expect(values).toEqual([3, 2, 4]);
    const sags = [2, 1, 3].map((i) => [2, 1, 3].map((j) => covariance[i]![j]!));
    for (let i = 0; i < 3; i++) {
      for (let j = 0; j < 3; j++) {
        let sum = 0;
        for (let k = 0; k < 3; k++)
          for (let l = 0; l < 3; l++) sum += whitening[i]![k]! * sags[k]![l]! * whitening[j]![l]!;
        expect(sum).toBeCloseTo(i === j ? 1 : 0, 12);
      }
    }
    expect(sagsWithPole(fit)).toEqual([
      [0, 7],
      [0, 2],
      [0, 1],
    ]);
    // A fit without sags knows nothing of them together with the pole.
    expect(sagsWithPole(standing(["polarAltitude"], [1], [[4]]))).toEqual([
      [0, 0],
      [0, 0],
      [0, 0],
    ]);
  });

  it("takes each by itself where a shortened covariance is none, and none as known better than 0.0001′", () => {
    const covariance = [
      [4, 5, 0],
      [5, 4, 0],
      [0, 0, 0],
    ];
    const { values, whitening } = knownSags(
      standing(["tubeSag", "ringSag", "trunnionSag"], [7, 8, 9], covariance),
      tolerances,
    );
    expect(values).toEqual([7, 8, 9]);
    whitening.forEach((row, i) => {
      row.forEach((weight, j) => {
        expect(weight).toBeCloseTo(i === j ? [0.5, 0.5, 1e4][i]! : 0, 8);
      });
    });
  });
});
