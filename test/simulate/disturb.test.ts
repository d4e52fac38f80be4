/**
 * What a simulated night holds beside its terms: against closed forms and tables.
 */
import { describe, expect, it } from "vitest";
import { ARCMINUTE, DEGREE, wrapHalfTurn } from "../../src/angles.js";
import { parseMount } from "../../src/mount/mount-file.js";
import { readingAngle } from "../../src/mount/readings.js";
import { disturber } from "../../src/simulate/disturb.js";
import type { SimulationOptions } from "../../src/simulate/options.js";
import { gaussian, seededRandom, studentT } from "../../src/simulate/random.js";
import { simulateNight } from "../../src/simulate/simulate-night.js";
import { parseTime } from "../../src/sky/time.js";
import { dot, type Vector } from "../../src/vectors.js";

const mount = parseMount({
  name: "invented",
  site: { latitude: -30, longitude: 20 },
  readings: {
    hourAngle: { as: "counts", perTurn: 2 ** 26 },
    declination: { as: "counts", perTurn: 2 ** 26, sense: -1 },
  },
  limits: { altitudeDeg: 20 },
});
const plain: SimulationOptions = {
  seed: 5,
  mount,
  terms: { polarAltitude: 20, polarEast: -35, cone: 10, hourAngleZero: 12, declinationZero: -40 },
  targets: 40,
  fromMs: parseTime("2026-03-14T18:30Z"),
  toMs: parseTime("2026-03-14T23:30Z"),
  noise: 0,
};
/** Two encoders of 2²⁶ steps differ by rounding alone: 0.0002′ and twice that. */
const STEP_ARCMIN = 0.0005;

/** By how much the readings of a night are above those of the plain one, arcminutes, row by row. */
function shifts(more: Partial<SimulationOptions>, less: Partial<SimulationOptions> = {}) {
  const [a, b] = [simulateNight({ ...plain, ...more }), simulateNight({ ...plain, ...less })];
  const firstMs = b.sightings[0]!.timeMs;
  const lastMs = b.sightings.at(-1)!.timeMs;
  return a.sightings.map((sighting, k) => {
    const off = (axis: "hourAngle" | "declination") =>
      wrapHalfTurn(
        readingAngle(sighting[axis], mount.readings[axis]) -
          readingAngle(b.sightings[k]![axis], mount.readings[axis]),
      ) / ARCMINUTE;
    return {
      hourAngle: off("hourAngle"),
      declination: off("declination"),
      share: (b.sightings[k]!.timeMs - firstMs) / (lastMs - firstMs),
      seen: b.truth.sightings[k]!,
    };
  });
}

describe("a disturbed night", () => {
  it("has zeros that creep evenly in time and are the stated ones at the last sighting", () => {
    for (const row of shifts({ disturbance: { creep: { hourAngle: 10, declination: -4 } } })) {
      expect(Math.abs(row.hourAngle - 10 * (row.share - 1))).toBeLessThan(STEP_ARCMIN);
      expect(Math.abs(row.declination + 4 * (row.share - 1))).toBeLessThan(STEP_ARCMIN);
    }
  });

  it("has an axis that settles to the stated one at the last sighting", () => {
    const rows = shifts(
      { disturbance: { settling: { altitude: 6, east: -3 } } },
      // Where the axis stood at the first sighting.
      { terms: { ...plain.terms, polarAltitude: 14, polarEast: -32 } },
    );
    expect(Math.abs(rows[0]!.hourAngle)).toBeLessThan(STEP_ARCMIN);
    expect(Math.abs(rows[0]!.declination)).toBeLessThan(STEP_ARCMIN);
    const settled = shifts({ disturbance: { settling: { altitude: 6, east: -3 } } }).at(-1)!;
    expect(Math.abs(settled.hourAngle)).toBeLessThan(STEP_ARCMIN);
    expect(Math.abs(settled.declination)).toBeLessThan(STEP_ARCMIN);
    // In between the change of the declination is σ cos h · altitude − σ sin h · east to first order (the model's table).
    for (const { share, declination, seen } of shifts({
      disturbance: { settling: { altitude: 6, east: -3 } },
    })) {
      const h = seen.hourAngleDeg * DEGREE;
      const first = -(Math.cos(h) * 6 - Math.sin(h) * -3) * (share - 1);
      // The next order: settling (6.7′) times the axis's own error (up to 42′), by the tangent near the pole.
      const second = ((6.7 * 42) / 3438) * (1 + Math.abs(Math.tan(seen.declinationDeg * DEGREE)));
      expect(Math.abs(declination - first)).toBeLessThan(second);
    }
  });

  it("has a step where the axis crosses the meridian", () => {
    for (const row of shifts({ disturbance: { meridianStep: { hourAngle: 1.5, declination: -2 } } })) {
      if (Math.abs(row.seen.hourAngleDeg) < 3) continue;
      const side = Math.sign(row.seen.hourAngleDeg);
      expect(Math.abs(row.hourAngle - 1.5 * side)).toBeLessThan(STEP_ARCMIN);
      expect(Math.abs(row.declination + 2 * side)).toBeLessThan(STEP_ARCMIN);
    }
  });

  it("has a second harmonic of the stated amplitude", () => {
    const rows = shifts({ disturbance: { secondHarmonic: { hourAngle: 3, declination: 0 } } });
    expect(Math.max(...rows.map((row) => Math.abs(row.declination)))).toBeLessThan(STEP_ARCMIN);
    // Least squares of sine and cosine of twice the hour angle; the axis is up to 2° beside the sky: 0.07 of 3.
    let [ss, sc, cc, ys, yc] = [0, 0, 0, 0, 0];
    for (const { hourAngle, seen } of rows) {
      const [s, c] = [Math.sin(2 * seen.hourAngleDeg * DEGREE), Math.cos(2 * seen.hourAngleDeg * DEGREE)];
      ss += s * s;
      sc += s * c;
      cc += c * c;
      ys += hourAngle * s;
      yc += hourAngle * c;
    }
    const determinant = ss * cc - sc * sc;
    const amplitude = Math.hypot(ys * cc - yc * sc, yc * ss - ys * sc) / determinant;
    expect(Math.abs(amplitude - 3)).toBeLessThan(0.1);
  });

  it("leaves the stars and the chance errors as they are without it", () => {
    const disturbed = simulateNight({
      ...plain,
      noise: 1,
      disturbance: { smoothField: { rms: 0.3, lengthRad: 0.8 } },
    });
    const undisturbed = simulateNight({ ...plain, noise: 1 });
    expect(disturbed.truth.sightings).toEqual(undisturbed.truth.sightings);
    expect(disturbed.csv).not.toBe(undisturbed.csv);
  });

  it("has play by the order in which the stars are taken", () => {
    const backlash = { ...plain.terms, hourAngleBacklash: 2, declinationBacklash: 6 };
    const rows = shifts({ terms: backlash, approach: "by-order" });
    const directions = simulateNight(plain).sightings;
    rows.forEach((row, k) => {
      if (k === 0) return;
      const moved = (axis: "hourAngle" | "declination") =>
        Math.sign(
          mount.readings[axis].sense * wrapHalfTurnOf(directions[k]![axis] - directions[k - 1]![axis]),
        );
      expect(Math.abs(row.hourAngle - moved("hourAngle"))).toBeLessThan(STEP_ARCMIN);
      expect(Math.abs(row.declination - 3 * moved("declination"))).toBeLessThan(STEP_ARCMIN);
    });
  });

  it("is centred worse by the factor, and no worse timed", () => {
    const one = simulateNight({ ...plain, mount: { ...mount, timingS: 0 }, noise: 1 });
    const worse = simulateNight({
      ...plain,
      mount: { ...mount, timingS: 0 },
      noise: 1,
      disturbance: { centringFactor: 3 },
    });
    one.truth.sightings.forEach((sighting, k) => {
      expect(worse.truth.sightings[k]!.west).toBeCloseTo(3 * sighting.west, 9);
      expect(worse.truth.sightings[k]!.north).toBeCloseTo(3 * sighting.north, 9);
    });
  });
});

/** Readings of 2²⁶ steps a turn, less whole turns. */
function wrapHalfTurnOf(steps: number): number {
  return steps - 2 ** 26 * Math.round(steps / 2 ** 26);
}

describe("faults of clock and site", () => {
  it("may begin with a row", () => {
    const clock = simulateNight({ ...plain, faults: [{ kind: "clock", hours: -1, row: 17 }] });
    simulateNight(plain).sightings.forEach((sighting, k) => {
      expect(clock.sightings[k]!.timeMs - sighting.timeMs).toBe(k + 1 >= 17 ? -3_600_000 : 0);
      expect(clock.sightings[k]!.hourAngle).toBe(sighting.hourAngle);
    });
  });

  it("write the latitude with the other sign, or in the longitude's place", () => {
    const turned = simulateNight({ ...plain, faults: [{ kind: "latitude-sign" }] });
    expect(turned.mount.site.latitude).toBe(30);
    const exchanged = simulateNight({ ...plain, faults: [{ kind: "site-exchanged" }] });
    expect([exchanged.mount.site.latitude, exchanged.mount.site.longitude]).toEqual([20, -30]);
    // The readings are those of the true place.
    expect(turned.csv).toBe(simulateNight(plain).csv);
  });
});

describe("pictures", () => {
  it("are drawn over the sky within the limits and are given by coordinates", () => {
    const night = simulateNight({ ...plain, choice: "pictures", targets: 300 });
    expect(night.sightings.every(({ catalogueStar }) => catalogueStar === null)).toBe(true);
    const heights = night.truth.sightings.map(({ altitudeDeg }) => Math.sin(altitudeDeg * DEGREE));
    expect(Math.min(...heights)).toBeGreaterThan(Math.sin(20 * DEGREE));
    // Even over a cap, the sine of the altitude is even (Archimedes): its mean is the middle, its 1σ the width / √12.
    const middle = (1 + Math.sin(20 * DEGREE)) / 2;
    const mean = heights.reduce((sum, value) => sum + value, 0) / heights.length;
    expect(Math.abs(mean - middle)).toBeLessThan((4 * (1 - Math.sin(20 * DEGREE))) / Math.sqrt(12 * 300));
  });
});

describe("chance", () => {
  const random = seededRandom(2);

  it("has Student's distribution of the normal one's 1σ", () => {
    const count = 40_000;
    const values = Array.from({ length: count }, () => studentT(random, 4) * Math.SQRT2);
    // Tables of Student's t for 4 degrees of freedom: 2.132, 2.776, 4.604 leave 10, 5 and 1 % on both sides.
    for (const [limit, share] of [
      [2.132, 0.1],
      [2.776, 0.05],
      [4.604, 0.01],
    ] as const) {
      const beyond = values.filter((value) => Math.abs(value) > limit).length / count;
      expect(Math.abs(beyond - share)).toBeLessThan(4 * Math.sqrt((share * (1 - share)) / count));
    }
  });

  it("makes a smooth field of the stated rms that correlates by exp(−(1 − cos γ) / length²)", () => {
    const lengthRad = 0.8;
    const towards = (): Vector => {
      const [x, y, z] = [gaussian(random), gaussian(random), gaussian(random)];
      const length = Math.hypot(x, y, z);
      return [x / length, y / length, z / length];
    };
    const pairs = Array.from({ length: 8 }, () => [towards(), towards()] as const);
    const fields = Array.from({ length: 3000 }, (_, seed) =>
      disturber({ smoothField: { rms: 0.3, lengthRad } }, seed),
    );
    for (const [one, other] of pairs) {
      let [own, both] = [0, 0];
      for (const field of fields) {
        const [a, b] = [field.at(1, one), field.at(1, other)];
        own += (a.west ** 2 + a.north ** 2) / 2;
        both += (a.west * b.west + a.north * b.north) / 2;
      }
      const scale = fields.length * (0.3 * ARCMINUTE) ** 2;
      // A mean of 6000 products of normal numbers is known to 0.02 at most; 4σ.
      expect(Math.abs(own / scale - 1)).toBeLessThan(0.075);
      expect(Math.abs(both / scale - Math.exp((dot(one, other) - 1) / lengthRad ** 2))).toBeLessThan(0.075);
    }
  });
});
