/**
 * Every cause that acts on some nights only, with either sign, south and north of the equator, on both sides of the pole:
 * found with its sign and size, told by its own note and no other's. Held against simulated truth.
 */
import { describe, expect, it } from "vitest";
import type { MountFit } from "../../src/fit/fit-result.js";
import { fitMount } from "../../src/fit/mount-fit.js";
import { parseMount } from "../../src/mount/mount-file.js";
import type { TermName } from "../../src/mount/terms.js";
import type { SimulationOptions } from "../../src/simulate/options.js";
import { simulateNight } from "../../src/simulate/simulate-night.js";
import { parseTime } from "../../src/sky/time.js";

/** A value further than this from the truth, in its own uncertainties, comes once in two thousand times. */
const SIGMAS = 3.5;

type Terms = Partial<Record<TermName, number>>;

/** What acts, as it is simulated: each of these is many times as large as the errors. */
const acting: readonly [string, (sign: number) => Partial<SimulationOptions> & { truth: Terms }][] = [
  [
    "added-term",
    (sign) => {
      const terms = { hourAngleEccentricSin: 3 * sign, hourAngleEccentricCos: -4 * sign };
      return { terms, truth: terms };
    },
  ],
  [
    "added-term",
    (sign) => {
      const terms = { declinationEccentricSin: 5 * sign, declinationEccentricCos: -5 * sign };
      return { terms, truth: terms };
    },
  ],
  ["added-term", (sign) => ({ terms: { hourAngleScale: 6 * sign }, truth: { hourAngleScale: 6 * sign } })],
  [
    "added-term",
    (sign) => ({ terms: { declinationScale: 9 * sign }, truth: { declinationScale: 9 * sign } }),
  ],
  [
    "play",
    (sign) => {
      const terms = { hourAngleBacklash: 3 * sign, declinationBacklash: -4 * sign };
      return { terms, truth: terms, approach: "written" };
    },
  ],
  [
    "play",
    (sign) => {
      const terms = { hourAngleBacklash: 3 * sign, declinationBacklash: -4 * sign };
      return { terms, truth: terms, approach: "by-order" };
    },
  ],
  [
    "meridian-step",
    (sign) => ({
      disturbance: { meridianStep: { hourAngle: 2 * sign, declination: -2 * sign } },
      truth: { hourAngleMeridianStep: 2 * sign, declinationMeridianStep: -2 * sign },
    }),
  ],
  [
    "creeping",
    (sign) => ({
      disturbance: { creep: { hourAngle: 7 * sign, declination: -5 * sign } },
      truth: { hourAngleCreep: 7 * sign, declinationCreep: -5 * sign },
    }),
  ],
  [
    "settling",
    (sign) => ({
      disturbance: { settling: { altitude: -4 * sign, east: 3 * sign } },
      truth: { polarAltitudeRate: -4 * sign, polarEastRate: 3 * sign },
    }),
  ],
];
const ofCauses = ["added-term", "play", "meridian-step", "creeping", "settling", "smooth-residue"];

const mountAt = (latitude: number) =>
  parseMount({
    name: "invented",
    site: { latitude, longitude: 20 },
    readings: {
      hourAngle: { as: "counts", perTurn: 2 ** 17, sense: -1 },
      declination: { as: "counts", perTurn: 2 ** 18 },
    },
    centringArcmin: 0.15,
    timingS: 0.2,
    limits: { altitudeDeg: 20 },
  });
const axis: Terms = { polarAltitude: -14, polarEast: 9, cone: 6, hourAngleZero: 40, declinationZero: -25 };

function fitWith(latitude: number, more: Partial<SimulationOptions>): MountFit {
  return fitMount(
    simulateNight({
      seed: 3,
      mount: mountAt(latitude),
      targets: 36,
      fromMs: parseTime("2026-03-14T18:00Z"),
      toMs: parseTime("2026-03-15T02:00Z"),
      ...more,
      terms: { ...axis, ...more.terms },
    }),
  );
}

function closeTo(fit: MountFit, truth: Terms): void {
  for (const { name, value, uncertainty } of fit.terms) {
    const off = Math.abs(value - (truth[name] ?? 0)) / uncertainty;
    expect(off, `${name}: ${value} ± ${uncertainty}`).toBeLessThan(SIGMAS);
  }
}

describe.each([-33, 52])("at latitude %i", (latitude) => {
  it("a night in which nothing acts tells of nothing", () => {
    const fit = fitWith(latitude, {});
    expect(fit.notes.map(({ code }) => code)).toEqual([]);
    closeTo(fit, axis);
    for (const { probability } of fit.terms) expect(probability ?? 0).toBeLessThan(0.5);
  });

  describe.each(acting)("%s, case %#", (code, simulated) => {
    // Turned over at the meridian a tube never takes its axis across it; and which way it then goes round no order tells.
    const turned =
      simulated(1).disturbance?.meridianStep === undefined && simulated(1).approach !== "by-order";
    it.each([
      [1, "never"],
      [-1, "never"],
      ...(turned
        ? ([
            [1, "east"],
            [-1, "west"],
          ] as const)
        : []),
    ] as const)("sign %i, tube beyond the pole: %s", (sign, beyond) => {
      const { truth, ...more } = simulated(sign);
      const fit = fitWith(latitude, { beyond, ...more });
      const told = fit.notes.filter((note) => ofCauses.includes(note.code));
      expect(new Set(told.map((note) => note.code))).toEqual(new Set([code]));
      expect(fit.sound).toBe(true);
      closeTo(fit, { ...axis, ...truth });
      for (const [name, value] of Object.entries(truth)) {
        const term = fit.terms.find((one) => one.name === name)!;
        expect(term.probability, name).toBeGreaterThan(0.8);
        expect(Math.sign(term.value), name).toBe(Math.sign(value));
        // The note gives the value as the fit has it.
        const { message } = told.find((note) => note.message.includes(term.label))!;
        expect(message).toContain(`${term.label} ${value < 0 ? "−" : ""}`);
        expect(message).not.toContain(`${term.label} ${value < 0 ? "+" : "−"}`);
      }
    });
  });
});
