/** Encoders on rollers and belts: steps a turn that are wrong by any ratio. Simulated; common practice, no source. */
import { describe, expect, it } from "vitest";
import { fitMount } from "../../src/fit/mount-fit.js";
import { parseMount } from "../../src/mount/mount-file.js";
import { simulateNight } from "../../src/simulate/simulate-night.js";

function mountAt(latitude: number, perTurn: { hourAngle: number; declination: number }) {
  return parseMount({
    name: "Invented mount with rollers",
    site: { latitude, longitude: 20 },
    readings: {
      hourAngle: { as: "counts", perTurn: perTurn.hourAngle, sense: -1 },
      declination: { as: "counts", perTurn: perTurn.declination },
    },
  });
}

const TRUE_STEPS = { hourAngle: 28_313, declination: 10_000 };

function noteOf(latitude: number, axis: "hourAngle" | "declination", ratio: number, seed: number) {
  const night = simulateNight({
    seed,
    mount: mountAt(latitude, TRUE_STEPS),
    targets: 20,
    fromMs: Date.parse("2026-03-14T19:00Z"),
    toMs: Date.parse("2026-03-14T22:00Z"),
    terms: { polarAltitude: 30, polarEast: -45, cone: 9, hourAngleZero: 900, declinationZero: -300 },
  });
  const written = Math.round(TRUE_STEPS[axis] * ratio);
  const mount = mountAt(latitude, { ...TRUE_STEPS, [axis]: written });
  const fit = fitMount({ mount, sightings: night.sightings });
  return { fit, message: fit.notes.find(({ code }) => code === "sense-reversed")?.message ?? "" };
}

describe("steps a turn that are wrong by any ratio", () => {
  it.each([
    [-30, "hourAngle", 1.07],
    [51.5, "hourAngle", 0.62],
    [51.5, "declination", 3],
    [-30, "declination", 0.93],
    [35, "hourAngle", 7.3],
  ] as const)("at %d°, %s, %d times the truth: told to half a percent", (latitude, axis, ratio) => {
    const { fit, message } = noteOf(latitude, axis, ratio, 40);
    expect(fit.sound).toBe(false);
    const steps = Number(/has about (\d+) steps a turn/.exec(message)?.[1]);
    expect(Math.abs(steps / TRUE_STEPS[axis] - 1)).toBeLessThan(0.005);
    expect(fit.notes.find(({ code }) => code === "sense-reversed")!.remedy).toContain(
      "count them over a full turn",
    );
  });
});
