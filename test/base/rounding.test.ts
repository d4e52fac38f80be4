import { describe, expect, test } from "vitest";
import { ARCMINUTE, DEGREE } from "../../src/angles.js";
import { jackFrame } from "../../src/base/jack-frame.js";
import { equalWithin, roundTurns } from "../../src/base/round-turns.js";
import { orderOfTurning } from "../../src/base/turning-order.js";
import type { Jack } from "../../src/mount/mount.js";
import { seededRandom } from "../../src/simulate/random.js";
import { fourJacks, jack, sixJacks, threeJacks } from "./example-base.js";

/** Differences below this are rounding of double precision, arcminutes. */
const SAME_ARCMIN = 1e-9;

/**
 * A second writing for rectangles: best plane and warp of four corner jacks by hand (½ sums and differences), all whole
 * steps within a wide range tried.
 */
function bruteForce(
  stepMm: number,
  real: readonly number[],
  warpLimitMm: number,
  latitudeDeg: number,
  low: number,
  high: number,
): number {
  const sine = Math.abs(Math.sin(latitudeDeg * DEGREE));
  const around = real.map((rise) => {
    const middle = Math.round(rise / stepMm);
    return Array.from({ length: 11 }, (_, index) => (middle - 5 + index) * stepMm).filter(
      (rise) => rise >= low - 1e-9 && rise <= high + 1e-9,
    );
  });
  const slopes = (ne: number, nw: number, sw: number, se: number) => ({
    north: (ne + nw - sw - se) / (2 * 1600),
    east: (ne + se - nw - sw) / (2 * 1200),
  });
  const wanted = slopes(real[0]!, real[1]!, real[2]!, real[3]!);
  let best = Number.POSITIVE_INFINITY;
  for (const ne of around[0]!) {
    for (const nw of around[1]!) {
      for (const sw of around[2]!) {
        for (const se of around[3]!) {
          if (Math.abs(ne - nw + sw - se) > warpLimitMm + 1e-9) continue;
          const got = slopes(ne, nw, sw, se);
          best = Math.min(
            best,
            Math.hypot(got.north - wanted.north, sine * (got.east - wanted.east)) / ARCMINUTE,
          );
        }
      }
    }
  }
  return best;
}

describe("rounding against brute force over eleven places a jack", () => {
  for (const [warpLimitMm, stepMm] of [
    [0.3, 0.25],
    [0, 0.25],
    [0.1, 0.25],
    [0.6, 0.25],
    [0.3, 0.5],
  ] as const) {
    test(`warp limit ${warpLimitMm} mm, steps of ${stepMm} mm`, () => {
      const random = seededRandom(Math.round(1000 * warpLimitMm + stepMm * 7));
      const frame = jackFrame(fourJacks())!;
      for (let trial = 0; trial < 25; trial++) {
        const latitude = 10 + 60 * random();
        const slopeEast = (random() - 0.5) * 0.01;
        const slopeNorth = (random() - 0.5) * 0.01;
        const tilted = frame.risesOf({ mean: 0, slopeEast, slopeNorth });
        const realMm = tilted.map((rise) => rise - Math.min(...tilted));
        const task = {
          jacks: {
            frame,
            screws: realMm.map(() => ({ stepMm, lowestMm: -10, highestMm: 30 })),
            realMm,
            perSlopeEast: [0, -Math.sin(latitude * DEGREE)] as const,
            perSlopeNorth: [1, 0] as const,
            warpLimitMm,
          },
          others: [],
        };
        const best = bruteForce(stepMm, realMm, warpLimitMm, latitude, -10, 30);
        const strict = roundTurns({ ...task, equalWithinArcmin: 0 })!;
        expect(Math.abs(strict.leftArcmin - best)).toBeLessThan(SAME_ARCMIN);
        const easy = roundTurns({ ...task, equalWithinArcmin: 0.1 })!;
        expect(easy.leftArcmin).toBeLessThanOrEqual(best + 0.1 + SAME_ARCMIN);
        const lowering = (steps: readonly number[]): number =>
          steps.reduce((sum, step) => sum + Math.max(0, -step), 0);
        expect(lowering(easy.jackSteps)).toBeLessThanOrEqual(lowering(strict.jackSteps));
      }
    });
  }

  test("one other screw goes where it makes up best for the jacks", () => {
    const other = { stepMm: 0.2, lowestMm: -1, highestMm: 1, realMm: 0.55, perMm: [0, 0.001] as const };
    const alone = roundTurns({ jacks: null, others: [other], equalWithinArcmin: 0 })!;
    expect(alone.otherSteps).toEqual([3]);
    expect(alone.leftArcmin).toBeCloseTo((0.05 * 0.001) / ARCMINUTE, 9);
    const beyond = roundTurns({ jacks: null, others: [{ ...other, realMm: 4 }], equalWithinArcmin: 0 })!;
    expect(beyond.otherSteps).toEqual([5]);
    const below = roundTurns({ jacks: null, others: [{ ...other, realMm: -4 }], equalWithinArcmin: 0 })!;
    expect(below.otherSteps).toEqual([-5]);
    expect(below.jackSteps).toEqual([]);
    expect(roundTurns({ jacks: null, others: [], equalWithinArcmin: 0 })).toEqual({
      jackSteps: [],
      otherSteps: [],
      leftArcmin: 0,
    });
  });
});

describe("rounding jacks with other screws, and what comes first among equals", () => {
  /** All whole steps within three of the real ones, each with what it leaves of altitude and east, by half sums by hand. */
  function* allNear(stepMm: number, realMm: readonly number[], sine: number) {
    const near = realMm.map((rise) =>
      [-3, -2, -1, 0, 1, 2, 3, 4]
        .map((more) => Math.floor(rise / stepMm) + more)
        .filter((step) => Math.abs(step - rise / stepMm) <= 3 + 1e-9),
    );
    const slopes = ([ne, nw, sw, se]: readonly number[]) => ({
      north: (ne! + nw! - sw! - se!) / (2 * 1600),
      east: (ne! + se! - nw! - sw!) / (2 * 1200),
    });
    const wanted = slopes(realMm);
    for (const ne of near[0]!)
      for (const nw of near[1]!)
        for (const sw of near[2]!)
          for (const se of near[3]!) {
            const steps = [ne, nw, sw, se];
            const got = slopes(steps.map((step) => step * stepMm));
            yield {
              steps,
              altitude: got.north - wanted.north,
              east: -sine * (got.east - wanted.east),
              twist: Math.abs(ne - nw + sw - se) * stepMm,
            };
          }
  }
  const SINE = 0.6;
  const taskOf = (realMm: readonly number[], stepMm: number, warpLimitMm: number) => ({
    frame: jackFrame(fourJacks())!,
    screws: realMm.map(() => ({ stepMm, lowestMm: -10, highestMm: 30 })),
    realMm,
    perSlopeEast: [0, -SINE] as const,
    perSlopeNorth: [1, 0] as const,
    warpLimitMm,
  });
  const REAL = [6.13, 20.31, 13.72, -0.44];
  // Two screws whose effects stand at right angles, turned by 0.4 on the sky: each then rounds by itself.
  const [C, S] = [Math.cos(0.4), Math.sin(0.4)];
  const first = {
    stepMm: 0.3,
    lowestMm: -1.2,
    highestMm: 1.2,
    realMm: 0.44,
    perMm: [9e-4 * C, 9e-4 * S] as const,
  };
  const second = {
    stepMm: 0.2,
    lowestMm: -1,
    highestMm: 1,
    realMm: -0.31,
    perMm: [-7e-4 * S, 7e-4 * C] as const,
  };

  // The real places of the jacks, how many times the travel, and where the other screws should go from there.
  const CASES: readonly (readonly [readonly number[], number, readonly number[]])[] = [
    [REAL, 1, [0, 0]],
    [REAL, 9, [3.17, -2.74]],
    [[0.21, 3.36, 11.2, 7.9], 9, [-4.29, 5.03]],
    [[12.04, 12.4, 12.31, 11.77], 9, [6.66, 0.58]],
  ];
  for (const [name, screws] of [
    ["one other screw", [first]],
    ["two other screws", [first, second]],
  ] as const) {
    test.each(CASES)(`${name}: as little is left as by brute force, case %#`, (real, wide, moves) => {
      const others = screws.map((screw, index) => ({
        ...screw,
        lowestMm: wide * screw.lowestMm,
        highestMm: wide * screw.highestMm,
        realMm: screw.realMm + moves[index]!,
      }));
      let best = Number.POSITIVE_INFINITY;
      for (const { altitude, east, twist } of allNear(0.5, real, SINE)) {
        if (twist > 0.6 + 1e-9) continue;
        // Along each screw's effect the nearest whole step inside its travel; across one alone all is left.
        const along = [altitude * C + east * S, -altitude * S + east * C];
        const left = along.map((part, index) => {
          const screw = others[index];
          if (screw === undefined) return part;
          const size = Math.hypot(...screw.perMm);
          const place = Math.round((screw.realMm - part / size) / screw.stepMm) * screw.stepMm;
          const inside = Math.max(screw.lowestMm, Math.min(screw.highestMm, place));
          return part + (inside - screw.realMm) * size;
        });
        best = Math.min(best, Math.hypot(...left) / ARCMINUTE);
      }
      const found = roundTurns({ jacks: taskOf(real, 0.5, 0.6), others, equalWithinArcmin: 0 })!;
      expect(Math.abs(found.leftArcmin - best)).toBeLessThan(SAME_ARCMIN);
      expect(found.otherSteps).toHaveLength(others.length);
      // What it says is left is what its own steps leave.
      const chosen = [...allNear(0.5, real, SINE)].find(({ steps }) =>
        steps.every((step, index) => step === found.jackSteps[index]),
      )!;
      const moved = others.map((screw, index) => found.otherSteps[index]! * screw.stepMm - screw.realMm);
      const axis = [0, 1].map((way) =>
        others.reduce(
          (sum, screw, index) => sum + screw.perMm[way]! * moved[index]!,
          way === 0 ? chosen.altitude : chosen.east,
        ),
      );
      expect(Math.hypot(...axis) / ARCMINUTE).toBeCloseTo(best, 9);
    });
  }

  test("where all are as good, the one that lowers least, then twists least, then turns least", () => {
    const found = roundTurns({ jacks: taskOf(REAL, 0.25, 0.6), others: [], equalWithinArcmin: 1e6 })!;
    let best: readonly number[] = [Number.POSITIVE_INFINITY];
    let steps: readonly number[] = [];
    for (const trial of allNear(0.25, REAL, SINE)) {
      if (trial.twist > 0.6 + 1e-9) continue;
      const lowered = trial.steps.reduce((sum, step) => sum + Math.max(0, -step), 0);
      const turned = trial.steps.reduce((sum, step) => sum + Math.abs(step), 0);
      const rank = [lowered, trial.twist, turned, Math.hypot(trial.altitude, trial.east)];
      const place = rank.findIndex((value, index) => Math.abs(value - (best[index] ?? 0)) > 1e-9);
      if (place >= 0 && rank[place]! < best[place]!) {
        best = rank;
        steps = trial.steps;
      }
    }
    expect(found.jackSteps).toEqual(steps);
  });

  test("of those that turn equally, the one that leaves least", () => {
    const stepMm = 0.25;
    const frame = jackFrame(threeJacks())!;
    const screws = threeJacks().map(() => ({ stepMm, lowestMm: -10, highestMm: 30 }));
    // One step of either southern jack is better than none or both; that of the jack further behind a little more so.
    for (const [southWest, southEast] of [
      [0.6, 0.55],
      [0.55, 0.6],
    ] as const) {
      const rounded = roundTurns({
        jacks: {
          frame,
          screws,
          realMm: [0, southWest * stepMm, southEast * stepMm],
          perSlopeEast: [0, -0.1],
          perSlopeNorth: [1, 0],
          warpLimitMm: 0.3,
        },
        others: [],
        equalWithinArcmin: 0.05,
      })!;
      expect(rounded.jackSteps).toEqual(southWest > southEast ? [0, 1, 0] : [0, 0, 1]);
    }
  });

  test("jacks that move both errors at once are rounded for both", () => {
    const jacks = {
      ...taskOf(REAL, 0.5, 0.6),
      perSlopeEast: [0.3, -0.5] as const,
      perSlopeNorth: [0.8, 0.4] as const,
    };
    let best = Number.POSITIVE_INFINITY;
    for (const { altitude: north, east: scaled, twist } of allNear(0.5, REAL, SINE)) {
      if (twist > 0.6 + 1e-9) continue;
      const east = scaled / -SINE;
      best = Math.min(best, Math.hypot(0.3 * east + 0.8 * north, -0.5 * east + 0.4 * north) / ARCMINUTE);
    }
    const found = roundTurns({ jacks, others: [], equalWithinArcmin: 0 })!;
    expect(Math.abs(found.leftArcmin - best)).toBeLessThan(SAME_ARCMIN);
    expect(found.otherSteps).toEqual([]);
  });

  test("nothing, where the travel or the frame's twist lets no whole steps near", () => {
    const jacks = taskOf(REAL, 0.25, 0.6);
    const short = { ...jacks, screws: jacks.screws.map((screw) => ({ ...screw, highestMm: 15 })) };
    expect(roundTurns({ jacks: short, others: [], equalWithinArcmin: 0 })).toBeNull();
    const twisted = taskOf([10, 0, 10, 0], 0.25, 0.6);
    expect(roundTurns({ jacks: twisted, others: [], equalWithinArcmin: 0 })).toBeNull();
    // A travel of just whole steps may be used to its end.
    const just = taskOf([3, 3, 3, 3], 0.1, 0.6);
    const ends = { ...just, screws: just.screws.map(() => ({ stepMm: 0.1, lowestMm: 3, highestMm: 3 })) };
    expect(roundTurns({ jacks: ends, others: [], equalWithinArcmin: 0 })!.jackSteps).toEqual([
      30, 30, 30, 30,
    ]);
  });

  test("six jacks are rounded as well, and what is left is their plane's", () => {
    const frame = jackFrame(sixJacks())!;
    const realMm = frame.risesOf({ mean: 8, slopeEast: 0.0031, slopeNorth: -0.0047 });
    const found = roundTurns({
      jacks: { ...taskOf(realMm, 0.25, 0.4), frame },
      others: [],
      equalWithinArcmin: 0,
    })!;
    const rises = found.jackSteps.map((step) => 0.25 * step);
    const plane = frame.planeOf(rises);
    const left = Math.hypot(plane.slopeNorth + 0.0047, SINE * (plane.slopeEast - 0.0031)) / ARCMINUTE;
    expect(found.leftArcmin).toBeCloseTo(left, 9);
    // Rounding each to the nearest step leaves no less.
    const nearest = frame.planeOf(realMm.map((rise) => Math.round(rise / 0.25) * 0.25));
    expect(left).toBeLessThanOrEqual(
      Math.hypot(nearest.slopeNorth + 0.0047, SINE * (nearest.slopeEast - 0.0031)) / ARCMINUTE,
    );
    expect(frame.warpOf(rises)).toBeLessThanOrEqual(0.4 + 1e-9);
  });
});

test("a quarter of the uncertainty costs three in a hundred of the error to be expected", () => {
  const within = equalWithin(0.4, 0.3);
  expect(Math.hypot(0.5, within) / 0.5).toBeLessThan(1.032);
  expect(equalWithin(0, 0)).toBeGreaterThan(0);
});

describe("the jacks' plane", () => {
  test("warp of a rectangle is |NE − NW + SW − SE|, of three feet nothing", () => {
    const random = seededRandom(3);
    const frame = jackFrame(fourJacks())!;
    for (let trial = 0; trial < 50; trial++) {
      const rises = [random(), random(), random(), random()];
      const [ne, nw, sw, se] = rises as [number, number, number, number];
      expect(frame.warpOf(rises)).toBeCloseTo(Math.abs(ne - nw + sw - se), 9);
    }
    expect(jackFrame(threeJacks())!.warpOf([1, 5, -2])).toBe(0);
  });
  test("warp of any four feet is the distance of a foot from the plane of the other three, by determinants", () => {
    const random = seededRandom(4);
    for (let trial = 0; trial < 50; trial++) {
      const feet = Array.from({ length: 4 }, (_, index) =>
        jack(
          `${index}`,
          Math.cos((Math.PI / 2) * (index + 0.6 * random())) * 700,
          Math.sin((Math.PI / 2) * (index + 0.6 * random())) * 900,
        ),
      );
      const rises = feet.map(() => random());
      let most = 0;
      for (let out = 0; out < 4; out++) {
        const [a, b, c] = [0, 1, 2, 3].filter((index) => index !== out) as [number, number, number];
        const at = (index: number) => [feet[index]!.eastMm, feet[index]!.northMm, rises[index]!] as const;
        const [pa, pb, pc, po] = [at(a), at(b), at(c), at(out)];
        const area = (pb[0] - pa[0]) * (pc[1] - pa[1]) - (pc[0] - pa[0]) * (pb[1] - pa[1]);
        const u = ((po[0] - pa[0]) * (pc[1] - pa[1]) - (pc[0] - pa[0]) * (po[1] - pa[1])) / area;
        const v = ((pb[0] - pa[0]) * (po[1] - pa[1]) - (po[0] - pa[0]) * (pb[1] - pa[1])) / area;
        const plane = pa[2] + u * (pb[2] - pa[2]) + v * (pc[2] - pa[2]);
        most = Math.max(most, Math.abs(po[2] - plane));
      }
      expect(jackFrame(feet)!.warpOf(rises)).toBeCloseTo(most, 8);
    }
  });
  test("feet in one line, or fewer than three, carry no plane", () => {
    expect(jackFrame([jack("a", 0, 0), jack("b", 100, 100), jack("c", 300, 300)])).toBeNull();
    expect(jackFrame([jack("a", 0, 0), jack("b", 100, 100)])).toBeNull();
    expect(jackFrame([])).toBeNull();
    expect(jackFrame([jack("a", 5, 7), jack("b", 5, 7), jack("c", 5, 7)])).toBeNull();
  });
  test("a foot without which the others carry no plane is never out of it (exact: a T)", () => {
    const t = jackFrame([
      jack("west", -500, 0),
      jack("middle", 0, 0),
      jack("east", 500, 0),
      jack("north", 0, 800),
    ])!;
    const [west, middle, , north] = t.outOfPlanePerMm;
    for (const share of north!) expect(share).toBe(0);
    // The middle one against the ends; an end against the line through the other two.
    [-0.5, 1, -0.5, 0].forEach((share, index) => {
      expect(middle![index]).toBeCloseTo(share, 9);
      expect(west![index]).toBeCloseTo([1, -2, 1, 0][index]!, 9);
    });
    expect(t.warpOf([0, 1, 0, 5])).toBeCloseTo(2, 9);
    for (const shares of jackFrame(threeJacks())!.outOfPlanePerMm) expect(shares).toEqual([0, 0, 0]);
  });
  test("rises and plane are inverse to each other", () => {
    const frame = jackFrame(sixJacks())!;
    const plane = { mean: 3, slopeEast: 0.002, slopeNorth: -0.001 };
    const back = frame.planeOf(frame.risesOf(plane));
    expect(back.mean).toBeCloseTo(3, 9);
    expect(back.slopeEast).toBeCloseTo(0.002, 12);
    expect(back.slopeNorth).toBeCloseTo(-0.001, 12);
  });
});

test("the frame's extents are those of its places, from the middle of the jacks", () => {
  const frame = jackFrame(
    threeJacks().map((one) => ({ ...one, eastMm: one.eastMm + 50, northMm: one.northMm - 70 })),
  )!;
  expect(frame.northExtent).toBeCloseTo(1400, 9);
  expect(frame.eastExtent).toBeCloseTo(1100, 9);
  expect(frame.places[0]!.east).toBeCloseTo(0, 9);
  expect(frame.places[0]!.north).toBeCloseTo(900 + 100 / 3, 9);
});

describe("the order of turning", () => {
  test("goes round the feet by half turns, sunwise from the south, where the frame gives enough", () => {
    const jacks = fourJacks();
    const steps = orderOfTurning(jacks, jackFrame(jacks)!, [2, 2, 2, 2], 10);
    const round = ["south-west", "north-west", "north-east", "south-east"];
    expect(steps.map((step) => jacks[step.jack]!.name)).toEqual([...round, ...round]);
    for (const step of steps) expect([step.turns, step.riseMm]).toEqual([0.5, 1]);
  });
  test("turns first what is to be raised, and who is furthest behind its share", () => {
    const jacks = fourJacks();
    const steps = orderOfTurning(jacks, jackFrame(jacks)!, [4, 1, -1, 2], 10);
    const names = steps.map((step) => `${jacks[step.jack]!.name} ${step.riseMm}`);
    // Shares after a half turn each of 1 mm: a quarter, all, all, a half.
    expect(names.slice(0, 4)).toEqual(["north-west 1", "north-east 1", "south-east 1", "south-west -1"]);
    expect(names.slice(4)).toEqual(["north-east 1", "south-east 1", "north-east 1", "north-east 1"]);
  });
  test("lets a jack go by less than its smallest turn where the frame gives less than that", () => {
    // An eighth of a turn of 2 mm is 0.25 mm: a twist of as much, where 0.1 mm is allowed.
    const jacks = fourJacks();
    const steps = orderOfTurning(jacks, jackFrame(jacks)!, [0.25, 0.25, 0.25, 0.25], 0.1);
    const done = [0, 0, 0, 0];
    for (const step of steps) {
      expect(step.turns).toBeLessThan(0.125);
      // By halves: a quarter of an eighth, or a whole number of them.
      expect((step.turns / 0.03125) % 1).toBeCloseTo(0, 9);
      done[step.jack]! += step.riseMm;
      expect(Math.abs(done[0]! - done[1]! + done[2]! - done[3]!)).toBeLessThanOrEqual(0.1 + 1e-6);
    }
    for (const rise of done) expect(rise).toBeCloseTo(0.25, 9);
  });
  const sets: readonly (readonly [string, Jack[]])[] = [
    ["three", threeJacks()],
    ["four", fourJacks()],
    ["six", sixJacks()],
    [
      "four of different threads",
      [
        jack("a", 500, 700, { pitchMm: 1.75 }),
        jack("b", -650, 820),
        jack("c", -400, -900, { pitchMm: 3, smallestTurn: 0.0625 }),
        jack("d", 620, -760),
      ],
    ],
  ];
  for (const [name, jacks] of sets) {
    for (const warpLimitMm of [0.15, 0.3, 1]) {
      test(`${name} jacks, limit ${warpLimitMm} mm: sums to the whole, and no foot ever leaves the plane of the others`, () => {
        const random = seededRandom(11 + Math.round(100 * warpLimitMm) + jacks.length);
        const frame = jackFrame(jacks)!;
        for (let trial = 0; trial < 30; trial++) {
          const tilted = frame.risesOf({
            mean: 20 * (random() - 0.3),
            slopeEast: (random() - 0.5) * 0.02,
            slopeNorth: (random() - 0.5) * 0.02,
          });
          // Some twist at the end, inside the limit.
          const rises = tilted.map((rise, index) =>
            index === trial % jacks.length ? rise + 0.5 * warpLimitMm : rise,
          );
          if (frame.warpOf(rises) > warpLimitMm) continue;
          const steps = orderOfTurning(jacks, frame, rises, warpLimitMm);
          const done = rises.map(() => 0);
          for (const step of steps) {
            expect(step.turns).toBeGreaterThan(0);
            expect(step.turns).toBeLessThanOrEqual(0.5 + 1e-9);
            expect(Math.sign(step.riseMm)).toBe(Math.sign(rises[step.jack]!));
            done[step.jack]! += step.riseMm;
            expect(frame.warpOf(done)).toBeLessThanOrEqual(warpLimitMm + 1e-6);
          }
          done.forEach((rise, index) => {
            expect(rise).toBeCloseTo(rises[index]!, 6);
          });
        }
      });
    }
  }
  test("whole smallest turns where the limit lets them", () => {
    const jacks = fourJacks();
    const steps = orderOfTurning(jacks, jackFrame(jacks)!, [6.5, 20.25, 13.75, 0], 0.3);
    for (const step of steps) expect((step.turns / 0.125) % 1).toBeCloseTo(0, 9);
  });
  test("after a part of a smallest turn, whole ones again wherever the limit lets one jack make them", () => {
    const jacks = [
      jack("a", 500, 700, { smallestTurn: 0.25 }),
      jack("b", -650, 820),
      jack("c", -400, -900, { pitchMm: 3, smallestTurn: 0.25 }),
      jack("d", 620, -760),
    ];
    const frame = jackFrame(jacks)!;
    const units = jacks.map(({ pitchMm, smallestTurn }) => pitchMm * smallestTurn);
    const isWhole = (number: number): boolean => Math.abs(number - Math.round(number)) < 1e-6;
    const random = seededRandom(23);
    let mended = 0;
    for (let trial = 0; trial < 200; trial++) {
      const warpLimitMm = 0.2 + 0.3 * random();
      const plane = { mean: 3, slopeEast: (random() - 0.5) * 0.01, slopeNorth: (random() - 0.5) * 0.01 };
      const rises = frame.risesOf(plane).map((rise, i) => units[i]! * Math.round(rise / units[i]!));
      if (frame.warpOf(rises) > warpLimitMm) continue;
      const done = rises.map(() => 0);
      let halved = false;
      for (const { jack: turned, turns, riseMm } of orderOfTurning(jacks, frame, rises, warpLimitMm)) {
        const canTurnWhole = rises.some((rise, i) => {
          const next = done.map((now, j) => (j === i ? now + Math.sign(rise - now) * units[i]! : now));
          return Math.abs(rise - done[i]!) > 1e-9 && frame.warpOf(next) <= warpLimitMm;
        });
        const whole = isWhole(turns / jacks[turned]!.smallestTurn);
        if (done.every((rise, i) => isWhole(rise / units[i]!)) && canTurnWhole) {
          expect(whole, `trial ${trial}`).toBe(true);
          if (halved) mended++;
        }
        halved ||= !whole;
        done[turned]! += riseMm;
      }
    }
    expect(mended).toBeGreaterThan(10);
  });
  test("a twist that the rises themselves make beyond the limit is refused", () => {
    const jacks = fourJacks();
    expect(() => orderOfTurning(jacks, jackFrame(jacks)!, [3, 0, 0, 0], 0.3)).toThrow(
      /No order of turning keeps every foot within 0\.3 mm/,
    );
  });
});
