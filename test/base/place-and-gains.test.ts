/**
 * What is followed from night to night, held against all nights at once: one joint normal distribution of everything that is
 * not known (the place, the gains, how they change, the terms that every night shares, the floor, each night's errors), and
 * what the nights say of it (Rasmussen and Williams 2006, appendix A.2). No steps from night to night.
 */
import { describe, expect, it } from "vitest";
import { inverse, Matrix } from "#matrices";
import { adjustersOf, waysOf } from "../../src/base/adjusters/adjusters.js";
import { moveAxis } from "../../src/base/axis-motion.js";
import { expectedMotion } from "../../src/base/gains.js";
import {
  beginning,
  carried,
  chiSquare,
  corrected,
  excitedGains,
  gainPlace,
  gainsOf,
  type Knowledge,
  logLikelihood,
  noiseOf,
  placeNow,
  reversed,
  startedAgain,
  surpriseOf,
  together,
} from "../../src/base/place-and-gains.js";
import type { RoundGiven } from "../../src/base/rounds-result.js";
import { effectOfTurns, type TurnMade } from "../../src/base/turns-made.js";
import { exampleBase, southBolts } from "./example-base.js";

const LATITUDE = -35;
const base = exampleBase({ azimuthBolts: southBolts });
const ways = waysOf(adjustersOf(base, LATITUDE));
const SETTLING = 0.3;
const BEFORE = { value: 1, uncertainty: 0.2 };
/** How much a gain may change from one round to the next, as the module says. */
const GAIN_CHANGES = 0.01;

const night = (altitude: number, east: number, covariance: number, part: number): RoundGiven => ({
  pole: {
    altitude: { value: altitude, uncertainty: 0.6 },
    east: { value: east, uncertainty: 0.5 },
    covariance,
  },
  sound: true,
  meanTimeMs: null,
  turnsMade: [],
  shared: [
    { term: "cone", tolerance: 10, altitude: 0.02 * part, east: -0.03 * part },
    { term: "ringSag", tolerance: 3, altitude: 0.1, east: 0.02 * part },
  ],
});
const nights = [night(-17, 12, 0.1, 1), night(-3, 5, -0.08, -0.5), night(1.2, -0.6, 0.05, 1)];
const turn = (adjuster: string, turns: number, direction: TurnMade["direction"]): TurnMade => ({
  adjuster,
  turns,
  direction,
  mm: null,
});
const turned: readonly (readonly TurnMade[])[] = [
  // South of the equator raising the south side raises the axis.
  [
    turn("south-east", 3.5, "clockwise"),
    turn("south-west", 3.5, "clockwise"),
    turn("azimuth bolts", 2.5, "west"),
  ],
  [
    turn("south-east", 1, "clockwise"),
    turn("south-west", 1.25, "clockwise"),
    turn("azimuth bolts", 2, "west"),
  ],
];

/** All that is known after each night, step by step. */
function followed(): Knowledge[] {
  const terms = ["cone", "ringSag"];
  const out = [beginning({ ways, terms }, nights[0]!, BEFORE, [10, 3])];
  turned.forEach((turns, k) => {
    const noise = noiseOf(base, turns, LATITUDE, SETTLING);
    const before = out[k]!;
    out.push(
      corrected(carried(before, effectOfTurns(base, turns, LATITUDE), LATITUDE, noise), nights[k + 1]!),
    );
  });
  return out;
}

/** The same from one joint distribution: first guesses, a covariance, linear observations of it. */
function atOnce(steps: readonly Knowledge[]) {
  const gains = ways.length;
  // The place at first, the gains, the two terms; then for each round the gains' changes and the floor's.
  const PLACE = 0;
  const GAIN = 2;
  const TERM = 2 + gains;
  const ROUND = TERM + 2;
  const perRound = gains + 2;
  const size = ROUND + turned.length * perRound;
  const mean = new Array<number>(size).fill(0);
  const covariance = Matrix.zeros(size, size);
  const set = (i: number, j: number, value: number) => {
    covariance.set(i, j, value);
    covariance.set(j, i, value);
  };
  for (const k of [0, 1]) set(PLACE + k, PLACE + k, 1e5);
  for (let k = 0; k < gains; k++) {
    mean[GAIN + k] = BEFORE.value;
    set(GAIN + k, GAIN + k, BEFORE.uncertainty ** 2);
  }
  set(TERM, TERM, 10 ** 2);
  set(TERM + 1, TERM + 1, 3 ** 2);
  turned.forEach((turns, r) => {
    const at = ROUND + r * perRound;
    const effect = effectOfTurns(base, turns, LATITUDE);
    for (const index of excitedGains(steps[r]!, effect))
      set(at + index - 2, at + index - 2, GAIN_CHANGES ** 2);
    const noise = noiseOf(base, turns, LATITUDE, SETTLING);
    set(at + gains, at + gains, noise.get(0, 0));
    set(at + gains + 1, at + gains + 1, noise.get(1, 1));
    set(at + gains, at + gains + 1, noise.get(0, 1));
  });
  // The place after each round as a constant and a row over everything.
  let constant: [number, number] = [0, 0];
  let rows = Matrix.zeros(2, size);
  rows.set(0, PLACE, 1);
  rows.set(1, PLACE + 1, 1);
  const observed: { row: Matrix; left: [number, number]; noise: Matrix }[] = [];
  const observe = ({ pole, shared }: RoundGiven) => {
    const row = rows.clone();
    let noise = new Matrix([
      [pole.altitude.uncertainty ** 2, pole.covariance],
      [pole.covariance, pole.east.uncertainty ** 2],
    ]);
    shared!.forEach(({ altitude, east, tolerance }, k) => {
      row.set(0, TERM + k, row.get(0, TERM + k) + altitude);
      row.set(1, TERM + k, row.get(1, TERM + k) + east);
      const part = Matrix.columnVector([altitude, east]);
      noise = Matrix.sub(noise, part.mmul(part.transpose()).mul(tolerance ** 2));
    });
    observed.push({
      row,
      left: [pole.altitude.value - constant[0], pole.east.value - constant[1]],
      noise,
    });
  };
  observe(nights[0]!);
  turned.forEach((turns, r) => {
    const effect = effectOfTurns(base, turns, LATITUDE);
    const from = steps[r]!.state;
    const place = (state: readonly number[]): [number, number] => {
      const moved = moveAxis(
        { altitude: state[0]!, east: state[1]! },
        expectedMotion(effect, gainsOf(steps[r]!, state, null)),
        LATITUDE,
      );
      return [moved.altitude, moved.east];
    };
    const small = 1e-4;
    const slope = (index: number): [number, number] => {
      const at = (by: number) => place(from.map((value, k) => (k === index ? value + by : value)));
      const [plus, minus] = [at(small), at(-small)];
      return [(plus[0] - minus[0]) / (2 * small), (plus[1] - minus[1]) / (2 * small)];
    };
    const there = place(from);
    const [byAltitude, byEast] = [slope(0), slope(1)];
    const next = Matrix.zeros(2, size);
    const nextConstant: [number, number] = [there[0], there[1]];
    for (const k of [0, 1] as const) {
      nextConstant[k] += byAltitude[k] * (constant[0] - from[0]!) + byEast[k] * (constant[1] - from[1]!);
      for (let j = 0; j < size; j++)
        next.set(k, j, byAltitude[k] * rows.get(0, j) + byEast[k] * rows.get(1, j));
    }
    for (let g = 0; g < gains; g++) {
      const per = slope(2 + g);
      for (const k of [0, 1] as const) {
        nextConstant[k] -= per[k] * from[2 + g]!;
        next.set(k, GAIN + g, next.get(k, GAIN + g) + per[k]);
        for (let past = 0; past <= r; past++) {
          const change = ROUND + past * perRound + g;
          next.set(k, change, next.get(k, change) + per[k]);
        }
      }
    }
    const floor = ROUND + r * perRound + gains;
    next.set(0, floor, 1);
    next.set(1, floor + 1, 1);
    rows = next;
    constant = nextConstant;
    observe(nights[r + 1]!);
  });
  const G = new Matrix(observed.flatMap(({ row }) => row.to2DArray()));
  const N = Matrix.zeros(2 * observed.length, 2 * observed.length);
  observed.forEach(({ noise }, k) => {
    for (const i of [0, 1]) for (const j of [0, 1]) N.set(2 * k + i, 2 * k + j, noise.get(i, j));
  });
  const first = Matrix.columnVector(mean);
  const y = Matrix.columnVector(observed.flatMap(({ left }) => left));
  const spread = Matrix.add(G.mmul(covariance).mmul(G.transpose()), N);
  const weight = covariance.mmul(G.transpose()).mmul(inverse(spread));
  const value = Matrix.add(first, weight.mmul(Matrix.sub(y, G.mmul(first))));
  const left = Matrix.sub(covariance, weight.mmul(G).mmul(covariance));
  // What is asked: the place now, the gains now, the terms.
  const wanted = Matrix.zeros(2 + gains + 2, size);
  for (const k of [0, 1]) for (let j = 0; j < size; j++) wanted.set(k, j, rows.get(k, j));
  for (let g = 0; g < gains; g++) {
    wanted.set(2 + g, GAIN + g, 1);
    turned.forEach((_, r) => {
      wanted.set(2 + g, ROUND + r * perRound + g, 1);
    });
  }
  for (const k of [0, 1]) wanted.set(2 + gains + k, TERM + k, 1);
  const state = wanted.mmul(value).to1DArray();
  return {
    state: state.map((one, k) => (k < 2 ? one + constant[k]! : one)),
    covariance: wanted.mmul(left).mmul(wanted.transpose()),
  };
}

it("three nights and two rounds: the place, the gains and the terms as of all nights at once", () => {
  const steps = followed();
  const known = steps.at(-1)!;
  const expected = atOnce(steps);
  const sigma = (index: number): number => Math.sqrt(expected.covariance.get(index, index));
  known.state.forEach((value, i) => {
    // The first place is taken as known to 300′ beforehand: that changes its uncertainty by parts in a hundred thousand.
    expect(Math.abs(value - expected.state[i]!) / sigma(i)).toBeLessThan(1e-3);
    known.state.forEach((_, j) => {
      const off = known.covariance.get(i, j) - expected.covariance.get(i, j);
      expect(Math.abs(off) / (sigma(i) * sigma(j))).toBeLessThan(1e-3);
    });
  });
  // The rounds have taught what was turned, and nothing of what was not.
  for (const [axis, by, learned] of [
    ["altitude", "jacks", true],
    ["east", "bolts", true],
    ["east", "slide", false],
  ] as const)
    expect(sigma(gainPlace(known, axis, by)) < 0.15).toBe(learned);
});

it("what a night surprises by is told by the chance of its pole", () => {
  const before = carried(
    followed()[0]!,
    effectOfTurns(base, turned[0]!, LATITUDE),
    LATITUDE,
    noiseOf(base, turned[0]!, LATITUDE, SETTLING),
  );
  const surprise = surpriseOf(before, nights[1]!);
  const [a, b, c] = [surprise.spread.get(0, 0), surprise.spread.get(1, 1), surprise.spread.get(0, 1)];
  const [u, v] = surprise.off;
  const square = (b * u * u - 2 * c * u * v + a * v * v) / (a * b - c * c);
  expect(chiSquare(surprise.off, surprise.spread)).toBeCloseTo(square, 9);
  expect(logLikelihood(surprise, Number.POSITIVE_INFINITY)).toBeCloseTo(
    -0.5 * (square + Math.log(a * b - c * c)),
    9,
  );
  expect(logLikelihood(surprise, square / 2)).toBeCloseTo(-0.5 * (square / 2 + Math.log(a * b - c * c)), 9);
  // The night tells the place again, whatever was thought before: and the gains stay as they were.
  const again = startedAgain(before, nights[1]!);
  expect(again.state.slice(2)).toEqual(before.state.slice(2));
  const { rows } = { rows: nights[1]!.shared! };
  expect(again.state[0]).toBeCloseTo(
    -3 - rows.reduce((sum, one, k) => sum + one.altitude * before.state.at(k - 2)!, 0),
    9,
  );
  expect(again.state[1]).toBeCloseTo(
    5 - rows.reduce((sum, one, k) => sum + one.east * before.state.at(k - 2)!, 0),
    9,
  );
});

describe("what is known", () => {
  const [known] = followed().slice(-1) as [Knowledge];
  it("turned round in some gains: their values, and what they share with everything else", () => {
    const index = gainPlace(known, "east", "bolts");
    const other = reversed(known, [index]);
    other.state.forEach((value, i) => {
      expect(value).toBe(i === index ? -known.state[i]! : known.state[i]);
      other.state.forEach((_, j) => {
        const sign = (i === index) !== (j === index) ? -1 : 1;
        expect(other.covariance.get(i, j)).toBeCloseTo(sign * known.covariance.get(i, j), 12);
      });
    });
  });

  it("in two courses, taken together by their odds: also how far they lie apart", () => {
    const shifted = {
      ...known,
      state: known.state.map((value, i) => value + (i === 0 ? 3 : i === 1 ? -1 : 0)),
    };
    const both = together([
      { known, odds: 0.75 },
      { known: shifted, odds: 0.25 },
    ]);
    expect(both.state[0]).toBeCloseTo(known.state[0]! + 0.75, 12);
    expect(both.state[1]).toBeCloseTo(known.state[1]! - 0.25, 12);
    // Two places three apart by odds of 3 to 1: a variance of 0.75 · 0.25 · 9.
    expect(both.covariance.get(0, 0)).toBeCloseTo(known.covariance.get(0, 0) + 0.1875 * 9, 12);
    expect(both.covariance.get(0, 1)).toBeCloseTo(known.covariance.get(0, 1) - 0.1875 * 3, 12);
  });

  it("of the place: its distance is as uncertain as along the line to the pole", () => {
    const { altitude, east, distance, covariance } = placeNow(known);
    const angle = Math.atan2(east.value, altitude.value);
    const along =
      (Math.cos(angle) * altitude.uncertainty) ** 2 +
      (Math.sin(angle) * east.uncertainty) ** 2 +
      Math.sin(2 * angle) * covariance;
    expect(distance.value).toBeCloseTo(Math.hypot(altitude.value, east.value), 12);
    expect(distance.uncertainty).toBeCloseTo(Math.sqrt(along), 12);
  });
});
