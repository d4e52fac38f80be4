import { describe, expect, test } from "vitest";
import { ARCMINUTE, DEGREE } from "../../src/angles.js";
import { jackFrame } from "../../src/base/jack-frame.js";
import { equalWithin, roundTurns } from "../../src/base/round-turns.js";
import { orderOfTurning } from "../../src/base/turning-order.js";
import type { Jack } from "../../src/mount/mount.js";
import { seededRandom } from "../support/random.js";
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

describe("the order of turning", () => {
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
  test("a twist that the rises themselves make beyond the limit is refused", () => {
    const jacks = fourJacks();
    expect(() => orderOfTurning(jacks, jackFrame(jacks)!, [3, 0, 0, 0], 0.3)).toThrow(
      /No order of turning keeps every foot within 0\.3 mm/,
    );
  });
});
