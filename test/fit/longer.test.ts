/**
 * Long nights are calculated otherwise than short ones: jumps by passes instead of row by row, the residue from its functions
 * and then from cells of the sky, the place of the fit from a few rows. One sighting more must not show it.
 */
import { describe, expect, it } from "vitest";
import { benchOf } from "../../src/fit/bench.js";
import { fitStory, type Outcome } from "../../src/fit/outcome.js";
import { storyOf } from "../../src/fit/story.js";
import { suspicionOf } from "../../src/fit/suspicion.js";
import { parseMount } from "../../src/mount/mount-file.js";
import { reduceNight } from "../../src/night/reduce.js";
import { simulateNight } from "../../src/simulate/simulate-night.js";
import { parseTime } from "../../src/sky/time.js";

const COUNT = 820;
const mount = parseMount({
  name: "invented",
  site: { latitude: -33, longitude: 20 },
  readings: {
    hourAngle: { as: "counts", perTurn: 2 ** 22 },
    declination: { as: "counts", perTurn: 2 ** 22, sense: -1 },
  },
  centringArcmin: 0.3,
  limits: { altitudeDeg: 20 },
});
const night = simulateNight({
  seed: 12,
  mount,
  terms: { polarAltitude: 20, polarEast: -12, cone: 8, hourAngleZero: 40, declinationZero: -25 },
  targets: COUNT,
  choice: "pictures",
  fromMs: parseTime("2026-03-14T18:00Z"),
  toMs: parseTime("2026-03-15T03:00Z"),
  disturbance: { smoothField: { rms: 0.3, lengthRad: 0.8 }, creep: { hourAngle: 2, declination: -3 } },
});
/** So many sightings, the last of them centred so badly that it says nothing. */
const fitOf = (count: number, idle: boolean): Outcome => {
  const own = night.sightings.slice(0, count);
  const last = own.at(-1)!;
  const sightings = idle ? [...own, { ...last, row: count + 1, centringArcmin: 1e5 }] : own;
  const bench = benchOf(reduceNight({ mount, sightings }), null);
  return fitStory(bench, storyOf(bench.night, []), null);
};

/**
 * Counts at which the way changes, and how near both ways must come: of an uncertainty, and parts of it. That there is a row
 * more counts a little where the scale of the errors is open; cells, a tenth of a radian wide, lose most.
 */
describe.each([
  [44, 0.06, 0.05],
  [120, 0.06, 0.05],
  [600, 0.4, 0.2],
  [799, 0.06, 0.05],
])("%i sightings and one that says nothing", (count, value, part) => {
  const [short, long] = [fitOf(count, false), fitOf(count, true)];

  it("have the same values, uncertainties, residue and price", () => {
    const all = short.layout.columns.length;
    short.layout.columns.forEach(({ name }, j) => {
      const [sigma, other] = [short, long].map(({ covariance }) => Math.sqrt(covariance[j * all + j]!)) as [
        number,
        number,
      ];
      const off = Math.abs(long.parameters[j]! - short.parameters[j]!) / sigma;
      expect(off, name).toBeLessThan(value);
      expect(Math.abs(other / sigma - 1), name).toBeLessThan(part);
    });
    const [a, b] = [short.posterior, long.posterior];
    expect(Math.abs(a.residue.probability - b.residue.probability)).toBeLessThan(0.03);
    expect(Math.abs(a.residue.amplitudeArcmin - b.residue.amplitudeArcmin)).toBeLessThan(0.005);
    expect(Math.abs(a.errorScale.value - b.errorScale.value)).toBeLessThan(0.01);
    expect(Math.abs(long.chiSquare / short.chiSquare - 1)).toBeLessThan(0.001);
    expect(Math.abs(long.rowsPrice - short.rowsPrice)).toBeLessThan(1);
  });

  // From 120 sightings on a jump is looked for without the residue: that is another figure.
  if (count === 120) return;
  it("have the same distances and jumps", () => {
    const [a, b] = [suspicionOf(short), suspicionOf(long)];
    for (const key of [
      "deltaHourAngle",
      "deltaDeclination",
      "distanceSquared",
      "absorbedWest",
      "absorbedNorth",
      "jumpGainHourAngle",
      "jumpGainDeclination",
      "jumpSizeHourAngle",
      "jumpSizeDeclination",
    ] as const) {
      const size = Math.max(...a[key].map(Math.abs));
      // Next to an end a jump is hardly another column than the zero.
      for (let i = 8; i < count - 8; i++)
        expect(Math.abs(a[key][i]! - b[key][i]!) / size, `${key} ${i}`).toBeLessThan(part);
    }
  });
});
