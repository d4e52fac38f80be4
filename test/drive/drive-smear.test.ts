import { describe, expect, it } from "vitest";
import { driveSmear, longestWithin, peakToPeak } from "../../src/drive/drive-smear.js";

const wave = { periodS: 480, amplitudeArcsec: 10, cosine: 6, sine: 8 };

describe("what the drive's errors smear", () => {
  it("a sine smears 2 A sin(π T / P) at the worst beginning, until half a turn", () => {
    for (const seconds of [3, 10, 60, 150, 239]) {
      const expected = 20 * Math.sin((Math.PI * seconds) / 480);
      expect(driveSmear([wave], 0, seconds)).toBeGreaterThan(0.985 * expected);
      expect(driveSmear([wave], 0, seconds)).toBeLessThan(1.005 * expected + 0.01);
    }
    expect(driveSmear([wave], 0, 1000)).toBeCloseTo(20, 0);
    expect(peakToPeak([wave])).toBeCloseTo(20, 0);
  });

  it("a rate alone smears in proportion, and either sign alike", () => {
    expect(driveSmear([], 1000, 60)).toBeCloseTo(0.90246, 4);
    expect(driveSmear([], -1000, 60)).toBeCloseTo(0.90246, 4);
    // The steepest of the sine and the rate add up.
    const steep = driveSmear([wave], 5000, 5);
    expect(steep).toBeCloseTo(5 * ((20 * Math.PI) / 480 + 0.0752), 1);
  });

  it("the longest exposure is where the smear passes the limit", () => {
    const longest = longestWithin([wave], 0, 2);
    expect(driveSmear([wave], 0, longest)).toBeCloseTo(2, 2);
    expect(longestWithin([], 0, 2)).toBe(4 * 3600);
    expect(longestWithin([], 1000, 0.90246)).toBeCloseTo(60, 0);
  });
});
