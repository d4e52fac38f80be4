import { describe, expect, test } from "vitest";
import { jackTurns } from "../../src/base/jack-turns.js";
import { rounds } from "../../src/base/rounds.js";
import { turnedRows } from "../../src/base/turned-file.js";
import { applyTurns } from "../../src/base/turns-made.js";
import type { MountFit } from "../../src/fit/fit-result.js";
import { fitMount } from "../../src/fit/mount-fit.js";
import { simulateNight } from "../../src/simulate/simulate-night.js";
import { exampleBase, exampleMount, southBolts } from "./example-base.js";

/** What 24 sightings leave open (0.4′ and 0.3′, 1σ) at three sigma, and the rounding of the turns, arcminutes. */
const LEFT_ARCMIN = 2.2;
/** The shift between two fits' hour-angle zeros must be the one foretold within so many of its own 1σ. */
const ZERO_SIGMAS = 3.5;

/** A night of an invented school's telescope whose axis and hour-angle zero stand off by so much. */
function nightOf(
  latitude: number,
  seed: number,
  altitude: number,
  east: number,
  zero: number,
  bolts: boolean,
): MountFit {
  const base = exampleBase(bolts ? { azimuthBolts: southBolts } : {});
  const { mount, sightings } = simulateNight({
    seed,
    mount: exampleMount(latitude, base),
    terms: { polarAltitude: altitude, polarEast: east, hourAngleZero: zero, declinationZero: 80, cone: 6 },
    targets: 24,
    fromMs: Date.UTC(2026, 2, 14, 19),
    toMs: Date.UTC(2026, 2, 15, 1),
  });
  return fitMount({ mount, sightings });
}

const zeroOf = (fit: MountFit) => fit.terms.find((term) => term.name === "hourAngleZero")!;

describe("sight, fit, turn by an exact rotation, sight again", () => {
  for (const bolts of [false, true]) {
    for (const latitude of [-30, 48.2]) {
      test(`latitude ${latitude}, ${bolts ? "bolts" : "tilt"}: the second fit finds the axis at the pole and the zero where it was foretold`, () => {
        const start = { altitude: 34.2, east: -26.5 };
        const first = nightOf(latitude, 5, start.altitude, start.east, 140, bolts);
        expect(first.sound).toBe(true);
        const advice = jackTurns(first);
        expect(advice.recommended).toBe(true);
        const moved = applyTurns(first.mount.base!, advice, first.mount.site, start);
        expect(Math.hypot(moved.altitude, moved.east)).toBeLessThan(LEFT_ARCMIN);
        const second = nightOf(latitude, 6, moved.altitude, moved.east, 140 + moved.hourAngleZero, bolts);
        expect(Math.hypot(second.pole.altitude.value, second.pole.east.value)).toBeLessThan(2 * LEFT_ARCMIN);
        const [before, now] = [zeroOf(first), zeroOf(second)];
        const sigma = Math.hypot(before.uncertainty, now.uncertainty, first.pole.east.uncertainty);
        expect(Math.abs(now.value - before.value - advice.hourAngleZeroShift)).toBeLessThan(
          ZERO_SIGMAS * sigma,
        );
        expect(Math.abs(advice.hourAngleZeroShift)).toBeGreaterThan(ZERO_SIGMAS * sigma);
        const learned = rounds([first, second], turnedRows(advice, 1));
        for (const gain of learned.gains.filter((one) => one.learned)) {
          expect(Math.abs(gain.value - 1)).toBeLessThan(4 * gain.uncertainty);
        }
        expect(learned.notes.every((note) => note.code === "gain-learned")).toBe(true);
      });
    }
  }
});
