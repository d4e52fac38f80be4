/**
 * The way to a target against geometry done by hand: on a German mount the shaft stands at the hour angle with the tube on its
 * normal side, twelve hours from it beyond, and the tube turned over has the declination shaft past the elevated pole.
 */
import { describe, expect, it } from "vitest";
import { DEGREE, HOUR } from "../../src/angles.js";
import type { Mount } from "../../src/mount/mount.js";
import type { Side } from "../../src/night/sighting.js";
import { type AxisMove, moveTo } from "../../src/pointing/axis-move.js";
import { knownMount, predictReadings } from "../../src/pointing/known-mount.js";
import { sunWatch } from "../../src/pointing/sun-safety.js";
import { hourAngleVector } from "../../src/sky/horizon-frame.js";
import { nowhereSchool } from "../support/nowhere-school-evening.js";

const SIDEREAL = 1.2;
const NIGHT = sunWatch(Date.UTC(2026, 2, 14, 20), nowhereSchool.site);
const AXES = {
  counts: { as: "counts", perTurn: 36_000, sense: 1, smallest: 1 },
  degrees: { as: "degrees", perTurn: 360, sense: 1, smallest: 0.1 },
} as const;

function german(latitude: number, as: "counts" | "degrees"): Mount {
  return {
    ...nowhereSchool,
    kind: "german",
    site: { ...nowhereSchool.site, latitude },
    readings: { hourAngle: AXES[as], declination: AXES[as] },
  };
}

/** A place on the sky, hours and degrees, with the side of the tube. */
type Place = readonly [hours: number, degrees: number, side: Side];

function move(mount: Mount, from: Place, to: Place, sun = NIGHT): AxisMove {
  const zeros = { hourAngleZero: 700, declinationZero: -400 };
  const terms = (["hourAngleZero", "declinationZero"] as const).map((name) => ({
    name,
    value: zeros[name],
    uncertainty: 0.1,
    set: null,
  }));
  const known = knownMount({
    mount,
    terms,
    covariance: [
      [0.01, 0],
      [0, 0.01],
    ],
  } as never);
  const at = ([hours, degrees]: Place) => ({ hourAngle: hours * HOUR, declination: degrees * DEGREE });
  const present = predictReadings(known, at(from), SIDEREAL, from[2]);
  return moveTo(known, at(to), to[2], SIDEREAL, { ...present, side: from[2] }, sun);
}

describe("the way of a German mount", () => {
  for (const as of ["counts", "degrees"] as const) {
    it.each([
      // Normal to normal: as on the sky.
      [-35, [1, -20, "normal"], [3, -50, "normal"], 30, -30, "30.0° west, 30.0° south"],
      // Beyond to beyond: westward as on the sky; the declination shaft turns the other way round.
      [-35, [-3, -11, "beyond"], [-4, -63, "beyond"], -15, 52, "15.0° east, 52.0° south"],
      [46, [-3, 11, "beyond"], [-4, 63, "beyond"], -15, -52, "15.0° east, 52.0° north"],
      // Turning over, with the counterweight below: the shaft from 1 h to 11 h, over the pole by the sum of both polar distances.
      [-35, [1, -20, "normal"], [-1, -50, "beyond"], 150, -110, "150.0° west, 110.0° over the pole"],
      [46, [1, 20, "normal"], [-1, 50, "beyond"], 150, 110, "150.0° west, 110.0° over the pole"],
      // And back.
      [-35, [-1, -50, "beyond"], [1, -20, "normal"], -150, 110, "150.0° east, 110.0° over the pole"],
      [46, [-5, 10, "beyond"], [5, 10, "normal"], -30, -160, "30.0° east, 160.0° over the pole"],
    ] as const)(`latitude %d, ${as}: from %j to %j`, (latitude, from, to, west, north, text) => {
      const found = move(german(latitude, as), from, to);
      expect(found.hourAngleDeg).toBeCloseTo(west, 6);
      expect(found.declinationDeg).toBeCloseTo(north, 6);
      expect(found.text).toBe(text);
      expect(found.caution).toBeNull();
    });
  }

  it("is warned of by day where the tube sweeps over the Sun while it is turned over", () => {
    // The Sun high in the east; both ends are far from it, and so is all between them on the sky.
    const sun = {
      ...NIGHT,
      up: true,
      altitudeDeg: 30,
      direction: hourAngleVector({ hourAngle: -4 * HOUR, declination: -20 * DEGREE }),
    };
    const mount = german(-35, "counts");
    expect(move(mount, [0.5, -20, "normal"], [-1, -20, "beyond"], sun).caution).toMatch(/of the Sun/);
    expect(move(mount, [0.5, -20, "normal"], [2, -20, "normal"], sun).caution).toBeNull();
  });
});

it("other mounts go by the meridian, never under the pole", () => {
  const mount = { ...german(-35, "counts"), kind: "split-ring" as Mount["kind"] };
  const found = move(mount, [-11, -80, "normal"], [11, -80, "normal"]);
  expect(found.hourAngleDeg).toBeCloseTo(330, 6);
});
