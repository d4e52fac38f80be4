/** The median round the circle, against the plain one and against turns of the circle itself. */
import { describe, expect, it } from "vitest";
import { wrapHalfTurn } from "../../src/angles.js";
import { circularMedian } from "../../src/fit/circular.js";
import { seededRandom } from "../../src/simulate/random.js";

function plainMedian(values: readonly number[]): number {
  const sorted = [...values].sort((a, b) => a - b);
  const count = sorted.length;
  return (sorted[Math.floor((count - 1) / 2)]! + sorted[Math.floor(count / 2)]!) / 2;
}

describe("the circular median", () => {
  it.each([1, 2, 3, 8, 31, 32, 33, 64, 65, 200])(
    "of %i values on less than half the circle is the plain one, wherever the circle begins",
    (count) => {
      const random = seededRandom(count);
      const values = Array.from({ length: count }, () => 2.8 * (random() - 0.5));
      for (const turn of [0, 1, 3, Math.PI, -2.9, 40]) {
        const median = circularMedian(values.map((value) => value + turn));
        expect(median).toBeGreaterThan(-Math.PI);
        expect(median).toBeLessThanOrEqual(Math.PI);
        expect(Math.abs(wrapHalfTurn(median - turn - plainMedian(values)))).toBeLessThan(1e-12);
      }
    },
  );

  it.each([9, 40, 150])("of %i values stays among the most, where two in five stand anywhere", (count) => {
    for (let seed = 1; seed <= 20; seed++) {
      const random = seededRandom(seed);
      const middle = 2 * Math.PI * (random() - 0.5);
      const values = Array.from({ length: count }, (_, i) =>
        i % 5 < 2 ? 2 * Math.PI * random() : middle + 0.02 * (random() - 0.5),
      );
      expect(Math.abs(wrapHalfTurn(circularMedian(values) - middle))).toBeLessThanOrEqual(0.0101);
    }
  });
});
