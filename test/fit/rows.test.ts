/** The rows that the solver gets, held against the model called by itself, and their slopes against differences. */
import { describe, expect, it } from "vitest";
import { ARCMINUTE, DEGREE, wrapHalfTurn } from "../../src/angles.js";
import { type Bench, benchOf, stanceOf } from "../../src/fit/bench.js";
import { layOut } from "../../src/fit/columns.js";
import { type Rows, rowsOf } from "../../src/fit/rows.js";
import { type Fault, type Story, storyOf } from "../../src/fit/story.js";
import { type CustomEffect, mountModel } from "../../src/mount/model.js";
import { type TermName, termNames, turningTerms } from "../../src/mount/terms.js";
import type { ReducedNight } from "../../src/night/reduce.js";
import type { Sighting } from "../../src/night/sighting.js";
import { seededRandom } from "../../src/simulate/random.js";
import { exampleMount } from "../base/example-base.js";

const LATITUDE_DEG = -30;
const sighting = (more: Partial<Sighting>): Sighting =>
  ({
    side: "normal",
    hourAngleApproach: null,
    declinationApproach: null,
    zeroSet: "",
    tubeSet: "",
    use: true,
    ...more,
  }) as Sighting;

/** A night of made-up figures: two zero sets, two tube positions, either side, every approach. */
function nightOf(count: number): ReducedNight {
  const random = seededRandom(31);
  const column = (make: () => number) => Float64Array.from({ length: count }, make);
  return {
    mount: {
      ...exampleMount(LATITUDE_DEG, null),
      customTerms: [
        { name: "customFork", label: "fork", hourAngle: "sin(hourAngle)", declination: "0.5", tolerance: 4 },
      ],
    },
    count,
    sightings: Array.from({ length: count }, (_, i) =>
      sighting({
        row: i + 1,
        side: i % 3 === 2 ? "beyond" : "normal",
        hourAngleApproach: ([1, -1, null] as const)[i % 3]!,
        declinationApproach: ([-1, null, 1] as const)[(i >> 1) % 3]!,
        zeroSet: i < count / 2 ? "a" : "b",
        tubeSet: i % 2 === 0 ? "down" : "up",
      }),
    ),
    hourAngle: column(() => 4 * (random() - 0.5)),
    declination: column(() => 2 * (random() - 0.6)),
    altitude: column(() => 0.5),
    azimuth: column(() => 1),
    readingHourAngle: column(() => 6 * (random() - 0.5)),
    readingDeclination: column(() => 3 * (random() - 0.5)),
    hasHourAngle: new Uint8Array(count).fill(1),
    hasDeclination: new Uint8Array(count).fill(1),
    sigmaWest: column(() => (0.5 + random()) * ARCMINUTE),
    sigmaNorth: column(() => (0.5 + random()) * ARCMINUTE),
  };
}

const COUNT = 12;
const night = nightOf(COUNT);
const faults: Fault[] = [
  { kind: "excluded", place: 4 },
  { kind: "setting", axis: "hourAngle", factor: 2 },
  { kind: "setting", axis: "declination", factor: -0.5 },
];
const usualTerms: readonly TermName[] = ["hourAngleZero", "declinationZero", ...turningTerms];
const allTerms: readonly TermName[] = [
  ...usualTerms,
  "hourAngleEccentricSin",
  "hourAngleBacklash",
  "declinationBacklash",
  "customFork",
];

/** The classical rows of some terms: every column is a core column, the approaches as the rows say. */
function rowsFor(story: Story, terms: readonly TermName[], chosen?: Int32Array) {
  const bench: Bench = { ...benchOf(night, terms), stances: night.sightings.map(stanceOf) };
  const layout = layOut(bench, story);
  const rows: Rows = rowsOf(bench, story, layout, new Float64Array(layout.columns.length), chosen);
  return { bench, layout, rows };
}

/** What the mount's own term does, written by hand. */
const fork: CustomEffect = { hourAngle: (v) => Math.sin(v.hourAngle), declination: () => 0.5 };
const model = mountModel(LATITUDE_DEG * DEGREE, [fork]);

function setUp() {
  const story = storyOf(night, faults);
  const { layout, rows: problem } = rowsFor(story, allTerms);
  const random = seededRandom(37);
  const parameters = Float64Array.from({ length: problem.size }, () => 60 * ARCMINUTE * (2 * random() - 1));
  /** The coefficients of one sighting: its own zeros and cone. */
  const coefficientsOf = (i: number): Float64Array => {
    const c = new Float64Array(model.size);
    layout.columns.forEach((unknown, j) => {
      const wants =
        unknown.set === null ||
        unknown.set === night.sightings[i]![unknown.name === "cone" ? "tubeSet" : "zeroSet"];
      if (wants) c[unknown.place] = parameters[j]!;
    });
    return c;
  };
  return { story, layout, problem, parameters, coefficientsOf };
}

describe("the rows of a night", () => {
  it("are the readings less the model's, on the sky, in units of what is expected; then what is known beforehand", () => {
    const { layout, problem, parameters, coefficientsOf } = setUp();
    expect(problem.size).toBe(layout.columns.length);
    // Two zero sets on either axis and two cones: three unknowns more than terms.
    expect(problem.size).toBe(allTerms.length + 3);
    // In a classical fit nothing holds a term but half a turn, which keeps it finite.
    const priors = layout.columns;
    expect(priors.every(({ width, held }) => width === Math.PI && !held)).toBe(true);
    expect(problem.rows).toBe(2 * (COUNT - 1) + priors.length);
    expect([...problem.usedRows]).toEqual([0, 1, 2, 3, 5, 6, 7, 8, 9, 10, 11]);
    const width = problem.size + 1;
    const block = new Float64Array(problem.rows * width);
    problem.evaluate(parameters, 0, problem.rows, block, false);
    const out = new Float64Array(2);
    [...problem.usedRows].forEach((i, k) => {
      const { side, hourAngleApproach, declinationApproach } = night.sightings[i]!;
      const c = coefficientsOf(i);
      const stance = {
        beyond: side === "beyond",
        hourAngleApproach: hourAngleApproach ?? 0,
        declinationApproach: declinationApproach ?? 0,
      };
      expect(stanceOf(night.sightings[i]!)).toEqual(stance);
      model.forward(c, night.hourAngle[i]!, night.declination[i]!, stance, out);
      const cosD = Math.abs(Math.cos(out[1]! - c[termNames.indexOf("declinationZero")]!));
      const west = (wrapHalfTurn(2 * night.readingHourAngle[i]! - out[0]!) * cosD) / night.sigmaWest[i]!;
      const north = wrapHalfTurn(-0.5 * night.readingDeclination[i]! - out[1]!) / night.sigmaNorth[i]!;
      expect(block[2 * k * width + problem.size]).toBeCloseTo(west, 8);
      expect(block[(2 * k + 1) * width + problem.size]).toBeCloseTo(north, 8);
    });
    priors.forEach((unknown, k) => {
      const row = 2 * (COUNT - 1) + k;
      const value = parameters[k]! / unknown.width;
      expect(block[row * width + problem.size]).toBeCloseTo(value, 12);
    });
  });

  it("have slopes that agree with differences, whatever block they are asked for in", () => {
    const { problem, parameters } = setUp();
    const width = problem.size + 1;
    const whole = new Float64Array(problem.rows * width).fill(Number.NaN);
    problem.evaluate(parameters, 0, problem.rows, whole, true);
    const STEP = 1e-5;
    const residualsAt = (x: Float64Array): Float64Array => {
      const block = new Float64Array(problem.rows * width);
      problem.evaluate(x, 0, problem.rows, block, false);
      return Float64Array.from({ length: problem.rows }, (_, row) => block[row * width + problem.size]!);
    };
    for (let j = 0; j < problem.size; j++) {
      const slope = (step: number) => {
        const [more, less] = [step, -step].map((way) => {
          const moved = Float64Array.from(parameters);
          moved[j]! += way;
          return residualsAt(moved);
        }) as [Float64Array, Float64Array];
        return more.map((value, row) => (value - less[row]!) / (2 * step));
      };
      const [fine, coarse] = [slope(STEP), slope(2 * STEP)];
      for (let row = 0; row < problem.rows; row++) {
        const difference = (4 * fine[row]! - coarse[row]!) / 3;
        // Slopes are thousands to the radian: per standard deviation of an arcminute.
        expect(Math.abs(whole[row * width + j]! - difference)).toBeLessThan(
          2e-4 * (1 + Math.abs(difference)),
        );
      }
    }
    // The same in two blocks, the second beginning among the priors.
    const first = 2 * (COUNT - 1) + 2;
    for (const [from, count] of [
      [0, first],
      [first, problem.rows - first],
    ] as const) {
      const part = new Float64Array(count * width).fill(Number.NaN);
      problem.evaluate(parameters, from, count, part, true);
      expect([...part]).toEqual([...whole.subarray(from * width, (from + count) * width)]);
    }
  });

  it("compare a sighting with the model, its own star or another, and say where it has no zero of its own", () => {
    const { problem, parameters, coefficientsOf } = setUp();
    const out = new Float64Array(3);
    expect(problem.compare(parameters, 4, out)).toBe(true);
    // As if its own star were given once more.
    const again = new Float64Array(3);
    problem.compare(parameters, 4, again, undefined, {
      hourAngle: night.hourAngle[4]!,
      declination: night.declination[4]!,
    });
    again.forEach((value, k) => {
      expect(value).toBeCloseTo(out[k]!, 14);
    });
    const other = new Float64Array(3);
    problem.compare(parameters, 4, other, undefined, { hourAngle: 0.1, declination: -0.2 });
    const readings = new Float64Array(2);
    model.forward(coefficientsOf(4), 0.1, -0.2, stanceOf(night.sightings[4]!), readings);
    expect(other[0]).toBeCloseTo(wrapHalfTurn(2 * night.readingHourAngle[4]! - readings[0]!), 12);
    expect(other[1]).toBeCloseTo(wrapHalfTurn(-0.5 * night.readingDeclination[4]! - readings[1]!), 12);

    // Of the first zero set only sightings that are not used: no zero can be known for them.
    const second = storyOf(
      night,
      Array.from({ length: 6 }, (_, place): Fault => ({ kind: "excluded", place })),
    );
    const { rows: half } = rowsFor(second, allTerms);
    const values = new Float64Array(half.size);
    expect(half.compare(values, 2, out)).toBe(false);
    expect(half.compare(values, 8, out)).toBe(true);
    // Where no zero is asked for, none is missing; where that of one axis is, it can be.
    const asks = (terms: readonly TermName[], sighting: number): boolean => {
      const { rows: few } = rowsFor(second, terms);
      return few.compare(new Float64Array(few.size), sighting, out);
    };
    expect(asks(["polarAltitude", "polarEast"], 2)).toBe(true);
    for (const zero of ["hourAngleZero", "declinationZero"] as const) {
      expect(asks([zero, "polarAltitude"], 2)).toBe(false);
      expect(asks([zero, "polarAltitude"], 8)).toBe(true);
    }
  });

  it("are the same in a comparison, its slopes too, whichever terms there are", () => {
    const { story } = setUp();
    for (const terms of [
      ["cone", "polarAltitude", "hourAngleZero"],
      ["polarAltitude", "polarEast"],
      ["hourAngleZero", "tubeSag"],
      ["declinationZero", "ringSag"],
      allTerms,
    ] as const satisfies readonly (readonly TermName[])[]) {
      const { rows: few } = rowsFor(story, terms);
      const random = seededRandom(41);
      const x = Float64Array.from({ length: few.size }, () => 0.02 * (random() - 0.5));
      const width = few.size + 1;
      const block = new Float64Array(few.rows * width);
      few.evaluate(x, 0, few.rows, block, true);
      const plain = new Float64Array(few.rows * width);
      few.evaluate(x, 0, few.rows, plain, false);
      // The first unknown's slopes against differences, whichever it is.
      const [more, less] = [1e-5, -1e-5].map((step) => {
        const moved = new Float64Array(few.rows * width);
        few.evaluate(
          Float64Array.from(x, (value, j) => (j === 0 ? value + step : value)),
          0,
          few.rows,
          moved,
          false,
        );
        return moved;
      }) as [Float64Array, Float64Array];
      for (let row = 0; row < few.rows; row++) {
        const difference = (more[row * width + few.size]! - less[row * width + few.size]!) / 2e-5;
        expect(Math.abs(block[row * width]! - difference)).toBeLessThan(1e-3 * (1 + Math.abs(difference)));
      }
      [...few.usedRows].forEach((i, k) => {
        const out = new Float64Array(3);
        for (const seen of [
          undefined,
          { hourAngle: night.hourAngle[i]!, declination: night.declination[i]! },
        ]) {
          const slopes = new Float64Array(2 * few.size).fill(Number.NaN);
          few.compare(x, i, out, slopes, seen);
          for (const row of [0, 1]) {
            const at = (2 * k + row) * width;
            expect(block[at + few.size]).toBe(plain[at + few.size]);
            for (let j = 0; j < few.size; j++)
              expect(slopes[row * few.size + j]).toBeCloseTo(block[at + j]!, 9);
          }
          expect((out[0]! * out[2]!) / night.sigmaWest[i]!).toBeCloseTo(block[2 * k * width + few.size]!, 9);
          expect(out[1]! / night.sigmaNorth[i]!).toBeCloseTo(block[(2 * k + 1) * width + few.size]!, 9);
        }
      });
    }
  });

  it("are those of the sightings that are chosen, when some are", () => {
    const { story, problem, parameters } = setUp();
    const { rows: few } = rowsFor(story, allTerms, Int32Array.of(7, 1));
    const width = few.size + 1;
    expect(few.rows).toBe(4 + few.size);
    const block = new Float64Array(few.rows * width);
    few.evaluate(parameters, 0, few.rows, block, true);
    const whole = new Float64Array(problem.rows * width);
    problem.evaluate(parameters, 0, problem.rows, whole, true);
    // Row 7 is the seventh used one, as row 4 is not used.
    expect([...block.subarray(0, 2 * width)]).toEqual([...whole.subarray(12 * width, 14 * width)]);
    expect([...block.subarray(2 * width, 4 * width)]).toEqual([...whole.subarray(2 * width, 4 * width)]);
  });
});
