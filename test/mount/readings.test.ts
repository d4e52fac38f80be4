import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { TURN, wrapHalfTurn } from "../../src/angles.js";
import { InputError, PolewrightError } from "../../src/errors.js";
import type { AxisReadings } from "../../src/mount/mount.js";
import {
  formatReading,
  readingAngle,
  readingFromAngle,
  readingFromNumber,
  readingFromText,
} from "../../src/mount/readings.js";

const SEED = 3121;
/** A few roundings of a double at a full turn, radians. */
const ROUNDING = 1e-13;

const counts: AxisReadings = { as: "counts", perTurn: 16384, sense: -1, smallest: 1 };
const degrees: AxisReadings = { as: "degrees", perTurn: 360, sense: 1, smallest: 1 / 60 };
const hours: AxisReadings = { as: "hours", perTurn: 24, sense: -1, smallest: 1 / 3600 };
const rightAscension: AxisReadings = { as: "rightAscension", perTurn: 24, sense: 1, smallest: 1 / 3600 };

function codeOf(read: () => unknown): string {
  try {
    read();
  } catch (problem) {
    if (problem instanceof PolewrightError) return problem.code;
    throw problem;
  }
  return "none";
}

describe("reading what was written", () => {
  it.each<[string, AxisReadings, number]>([
    ["3121", counts, 3121],
    ["-1591", counts, -1591],
    ["−1591", counts, -1591],
    ["+12", counts, 12],
    ["12.0", counts, 12],
    ["-0", counts, 0],
    ["12.582", degrees, 12.582],
    ["-12:34:56.7", degrees, -(12 + 34 / 60 + 56.7 / 3600)],
    ["-0:30", degrees, -0.5],
    ["−0°30′", degrees, -0.5],
    ["-00:00:36", degrees, -0.01],
    ["12°34′56″", degrees, 12 + 34 / 60 + 56 / 3600],
    ["12d34m56s", degrees, 12 + 34 / 60 + 56 / 3600],
    ["12° 34' 56\"", degrees, 12 + 34 / 60 + 56 / 3600],
    ["12 34 56", degrees, 12 + 34 / 60 + 56 / 3600],
    ["12°34.5′", degrees, 12.575],
    ["12:34.5", degrees, 12.575],
    ["12.5°", degrees, 12.5],
    ["12h34m56s", hours, 12 + 34 / 60 + 56 / 3600],
    ["-3h15m", hours, -3.25],
    ["3.25h", hours, 3.25],
    ["23:59:59.9", rightAscension, 23 + 59 / 60 + 59.9 / 3600],
    ["360", degrees, 360],
    ["-360:00:00", degrees, -360],
    ["24:00:00", hours, 24],
    ["0", rightAscension, 0],
    ["-0", rightAscension, 0],
    ["1000000000000", counts, 1e12],
    [".5", degrees, 0.5],
    ["+5.", degrees, 5],
    ["3.25H", hours, 3.25],
    ["12D30M", degrees, 12.5],
    ["12 : 34 : 56", degrees, 12 + 34 / 60 + 56 / 3600],
    ["12h 34m 56s", hours, 12 + 34 / 60 + 56 / 3600],
    ["12°34'56.5''", degrees, 12 + 34 / 60 + 56.5 / 3600],
    ["12:59:59.99", degrees, 12 + 59 / 60 + 59.99 / 3600],
    ["0.0000000000000000000000000000000000000001".slice(0, 40), degrees, 0],
  ])("%s is read", (text, axis, value) => {
    expect(readingFromText(text, axis)).toBeCloseTo(value, 12);
    expect(Object.is(readingFromText(text, axis), -0)).toBe(false);
  });

  it("agrees with the published test values of ERFA's af2a and tf2a", () => {
    // ERFA test suite t_erfa_c, from memory and checked against python3-erfa 2.0: af2a("-", 45, 13, 27.2), tf2a("+", 4, 58, 20.2).
    expect(readingAngle(readingFromText("-45:13:27.2", degrees), degrees)).toBeCloseTo(
      -0.7893115794313645,
      13,
    );
    expect(readingAngle(readingFromText("4h58m20.2s", hours), { ...hours, sense: 1 })).toBeCloseTo(
      1.3017392781895374,
      13,
    );
  });

  it.each<[string, AxisReadings, string]>([
    ["", counts, "unreadable-reading"],
    ["abc", counts, "unreadable-reading"],
    ["1e5", counts, "unreadable-reading"],
    ["1,234", counts, "unreadable-reading"],
    ["1.234,5", degrees, "unreadable-reading"],
    ["12,5", degrees, "unreadable-reading"],
    ["3121.5", counts, "counts-not-whole"],
    ["12:34", counts, "wrong-unit"],
    ["12°", counts, "wrong-unit"],
    ["99999999999999", counts, "reading-out-of-range"],
    ["Infinity", counts, "unreadable-reading"],
    ["NaN", degrees, "unreadable-reading"],
    ["0x10", counts, "unreadable-reading"],
    ["12h34m", degrees, "wrong-unit"],
    ["12°34′", hours, "wrong-unit"],
    ["12d34m", rightAscension, "wrong-unit"],
    ["12:60", degrees, "unreadable-reading"],
    ["12:34:60", degrees, "unreadable-reading"],
    ["12:34.5:10", degrees, "unreadable-reading"],
    ["--12", degrees, "unreadable-reading"],
    ["12:-34", degrees, "unreadable-reading"],
    ["361", degrees, "reading-out-of-range"],
    ["24:00:01", hours, "reading-out-of-range"],
    ["24", rightAscension, "reading-out-of-range"],
    ["-1", rightAscension, "reading-out-of-range"],
    ["1".repeat(1_000_000), degrees, "unreadable-reading"],
    ["0.00000000000000000000000000000000000000001".slice(0, 41), degrees, "unreadable-reading"],
    ["-361", degrees, "reading-out-of-range"],
    ["1000000000001", counts, "reading-out-of-range"],
    ["-1000000000001", counts, "reading-out-of-range"],
    ["1234,5", counts, "unreadable-reading"],
    ["1 234,5", degrees, "unreadable-reading"],
    ["-1.5e+3", degrees, "unreadable-reading"],
    ["12°34.5′10″", degrees, "unreadable-reading"],
    ["12°34′60″", degrees, "unreadable-reading"],
    ["12°60′", degrees, "unreadable-reading"],
    ["12:345", degrees, "unreadable-reading"],
    ["12:34:567", degrees, "unreadable-reading"],
    ["12:34:56:7", degrees, "unreadable-reading"],
    ["12h34m56sx", hours, "unreadable-reading"],
    ["x12h34m56s", hours, "unreadable-reading"],
    ["x12.5", degrees, "unreadable-reading"],
    ["12.5x", degrees, "unreadable-reading"],
    ["x12:34", degrees, "unreadable-reading"],
    ["12.5h", degrees, "wrong-unit"],
    ["12.5°", rightAscension, "wrong-unit"],
    [".", counts, "unreadable-reading"],
  ])("%.20s is refused", (text, axis, code) => {
    expect(codeOf(() => readingFromText(text, axis))).toBe(code);
  });

  it("never reads a part of what was written, however many blanks stand round it or in it", () => {
    expect(readingFromText(`${" ".repeat(79)}12.345${" ".repeat(200)}`, degrees)).toBe(12.345);
    expect(codeOf(() => readingFromText(`12${" ".repeat(100)}7`, degrees))).toBe("unreadable-reading");
  });

  it("checks a number as it checks a text", () => {
    for (const axis of [counts, degrees, hours, rightAscension]) {
      for (const nothing of [Number.NaN, Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY]) {
        expect(codeOf(() => readingFromNumber(nothing, axis))).toBe("unreadable-reading");
      }
    }
    expect(codeOf(() => readingFromNumber(1.5, counts))).toBe("counts-not-whole");
    expect(codeOf(() => readingFromNumber(-1e-9, rightAscension))).toBe("reading-out-of-range");
    expect(Object.is(readingFromNumber(-0, rightAscension), 0)).toBe(true);
    expect(readingFromNumber(-360, degrees)).toBe(-360);
  });

  it("takes counts between counts where the mount file says so", () => {
    expect(readingFromText("3121.5", { ...counts, smallest: 0.5 })).toBe(3121.5);
  });

  it("never fails otherwise than with a fault, whatever is written", () => {
    const anything = fc.oneof(fc.string(), fc.stringMatching(/^[-+−]?[\d:.,°′″hdms' ]{1,12}$/));
    fc.assert(
      fc.property(anything, fc.constantFrom(counts, degrees, hours, rightAscension), (text, axis) => {
        try {
          expect(Number.isFinite(readingFromText(text, axis))).toBe(true);
        } catch (problem) {
          expect(problem).toBeInstanceOf(InputError);
        }
      }),
      { seed: SEED, numRuns: 5000 },
    );
  });
});

describe("readings and angles", () => {
  it("follow the sense: counts that grow eastward are negative westward", () => {
    expect(readingAngle(-4096, counts)).toBeCloseTo(Math.PI / 2, 14);
    expect(readingAngle(6, { ...hours, sense: 1 })).toBeCloseTo(Math.PI / 2, 14);
  });

  it("have no negative zero, whichever way an axis counts", () => {
    expect(Object.is(readingFromAngle(0, counts), 0)).toBe(true);
    expect(Object.is(readingFromAngle(-0, degrees), 0)).toBe(true);
  });

  it("take a right ascension from the sidereal time", () => {
    // Hour angle = sidereal time less right ascension: Meeus, Astronomical Algorithms, 2nd ed., p. 92.
    const hourAngle = readingAngle(5, rightAscension, { siderealTime: (7 / 24) * TURN });
    expect(hourAngle).toBeCloseTo((2 / 24) * TURN, 14);
    expect(codeOf(() => readingAngle(5, rightAscension))).toBe("sidereal-time-needed");
    expect(codeOf(() => readingFromAngle(1, rightAscension))).toBe("sidereal-time-needed");
  });

  it("are exact inverses", () => {
    const axis = fc.record({
      as: fc.constantFrom("counts", "degrees", "hours", "rightAscension"),
      perTurn: fc.constantFrom(360, 24, 8192, 10000, 16384.5),
      sense: fc.constantFrom(1, -1),
      smallest: fc.constantFrom(1, 0.25),
    }) as fc.Arbitrary<AxisReadings>;
    const angle = fc.double({ min: -TURN, max: TURN, noNaN: true });
    fc.assert(
      fc.property(axis, angle, angle, (how, start, siderealTime) => {
        const context = { siderealTime };
        const back = readingAngle(readingFromAngle(start, how, context), how, context);
        const apart = how.as === "rightAscension" ? wrapHalfTurn(back - start) : back - start;
        expect(Math.abs(apart)).toBeLessThan(ROUNDING);
      }),
      { seed: SEED, numRuns: 3000 },
    );
  });
});

describe("showing a reading", () => {
  it.each<[number, AxisReadings, string]>([
    [3121.4, counts, "3121"],
    [-0.4, counts, "0"],
    [3121.3, { ...counts, smallest: 0.5 }, "3121.5"],
    [-0.5, degrees, "-0:30:00"],
    [-0.004, { ...degrees, smallest: 0.25 }, "0:00"],
    // A tenth of a division of just one minute is shown in minutes.
    [5.01, { ...degrees, smallest: 10 / 60 }, "5:01"],
    [5.01, { ...degrees, smallest: 9.95 / 60 }, "5:00:36"],
    [-0.5, { ...degrees, smallest: 0.25 }, "-0:30"],
    [-45.8064, { ...degrees, smallest: 0.1 }, "-45.81"],
    [0.0001, { ...degrees, smallest: 0.1 }, "0.00"],
    [71.56, { ...hours, smallest: 0.01 }, "71.560"],
    [12.9999, { ...degrees, smallest: 1 }, "13:00"],
    [12 + 59 / 60 + 59.99 / 3600, { ...hours, smallest: 1 / 60 }, "13:00:00"],
    [23.9999999, rightAscension, "0:00:00.0"],
    [1.5, rightAscension, "1:30:00.0"],
    [-1.25, hours, "-1:15:00.0"],
    [1 / 3, { ...counts, smallest: 0.001 }, "0.333"],
    [12.123456789, { ...counts, smallest: 1e-8 }, "12.123457"],
    [-12.5, { ...degrees, smallest: 1 / 6 }, "-12:30"],
    [5 + 7 / 3600, { ...degrees, smallest: 1 / 60 }, "5:00:07"],
    [5 + 7.07 / 3600, { ...degrees, smallest: 1 / 36_000 }, "5:00:07.07"],
  ])("%d", (reading, axis, text) => {
    expect(formatReading(reading, axis)).toBe(text);
  });

  it("gives text that reads back to a twentieth of a division", () => {
    const axis = fc.constantFrom<AxisReadings>(
      { ...degrees, smallest: 1 },
      { ...degrees, smallest: 0.25 },
      degrees,
      hours,
      rightAscension,
      { ...hours, smallest: 1 / 60 },
    );
    fc.assert(
      fc.property(axis, fc.double({ min: 0, max: 0.9999, noNaN: true }), fc.boolean(), (how, part, minus) => {
        const reading = part * how.perTurn * (minus && how.as !== "rightAscension" ? -1 : 1);
        const back = readingFromText(formatReading(reading, how), how);
        // A display in whole minutes or seconds may be finer than a tenth of a division, never coarser.
        expect(Math.abs(back - reading)).toBeLessThanOrEqual(how.smallest / 20 + 1e-9);
      }),
      { seed: SEED, numRuns: 3000 },
    );
  });
});
