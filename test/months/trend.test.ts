import { describe, expect, it } from "vitest";
import { changePoint, chiSquareAbout, senSlope } from "../../src/months/trend.js";

describe("values over time", () => {
  it("Sen's slope is SciPy's theilslopes, one bad value among them", () => {
    const times = [0, 0.7, 1.5, 2.1, 3.4, 4.0, 5.2, 6.1];
    const values = [1.0, 1.9, 2.6, 9.0, 4.1, 4.9, 6.0, 7.2];
    const dated = times.map((time, i) => ({ time, value: values[i]!, sigma: 1 }));
    expect(senSlope(dated)).toBeCloseTo(0.9682692307692308, 12);
    expect(senSlope(dated.slice(0, 1))).toBeNull();
  });

  it("the cumulative sums alarm as in Montgomery's table of the tabular CUSUM (Introduction to Statistical Quality Control, from memory)", () => {
    // Mean 10, σ 1, reference 0.5, decision 5: alarm at reading 29, the shift began at reading 23.
    const readings = [
      9.45, 7.99, 9.29, 11.66, 12.16, 10.18, 8.04, 11.46, 9.2, 10.34, 9.03, 11.47, 10.51, 9.4, 10.08, 9.37,
      10.62, 10.31, 8.52, 10.84, 10.9, 9.33, 12.29, 11.5, 10.6, 11.08, 10.38, 11.62, 11.31, 10.52,
    ];
    const known = { time: -1, value: 10, sigma: 1e-4 };
    const dated = [known, ...readings.map((value, time) => ({ time, value, sigma: 1 }))];
    expect(changePoint(dated)).toBe(23);
    expect(changePoint(dated.slice(0, 29))).toBeNull();
  });

  it("χ² about columns is that of weighted least squares", () => {
    const dated = [0, 1, 2, 3].map((time) => ({
      time,
      value: 2 + 3 * time + (time === 2 ? 1 : 0),
      sigma: 0.5,
    }));
    const columns = [dated.map(() => 1), dated.map((one) => one.time)];
    // A unit spike at the third of four times leaves 1 − h, h its leverage: 1/4 + (t − t̄)² / Σ(t − t̄)².
    const hat = 1 - (1 / 4 + 0.5 ** 2 / 5);
    expect(chiSquareAbout(dated, columns)).toBeCloseTo(hat / 0.25, 10);
  });
});
