/** Turning under a camera, against a true mount whose base is turned by exact rotations with gains of its own. */
import { readFileSync } from "node:fs";
import { fileURLToPath } from "node:url";
import { describe, expect, it } from "vitest";
import { DEGREE } from "../../src/angles.js";
import {
  type BaseMotion,
  carriedBy,
  movedPlace,
  stillBase,
  sumOfMotions,
} from "../../src/base/axis-motion.js";
import { effectOfTurns, turnsOfAdvice } from "../../src/base/turns-made.js";
import { openNightFolder } from "../../src/files/night-folder.js";
import { fitMount } from "../../src/fit/mount-fit.js";
import type { SolvedPicture } from "../../src/sight/fits-sighting.js";
import { BaseWatch } from "../../src/sight/watch.js";
import { seededRandom } from "../../src/simulate/random.js";
import { add, cross, fromSpherical, scale, toSpherical, unit, type Vector } from "../../src/vectors.js";
import { icrsFromObserved } from "../support/sky.js";

const folder = fileURLToPath(new URL("../../data/first-light", import.meta.url));
const { mount, night } = openNightFolder(folder);
const { site } = mount;
const fit = fitMount(night);
const START_MS = Date.UTC(2026, 2, 14, 21);
const PIXEL = 1 / 3600;

/** A picture by a tube whose centre and horizontal are these directions of the hour-angle frame. */
function picture(centre: Vector, along: Vector, timeMs: number): SolvedPicture {
  const up = cross(centre, along);
  const sky = {
    width: 1000,
    height: 800,
    at(x: number, y: number) {
      const seen = add(
        add(centre, along, Math.tan((x - 500.5) * PIXEL * DEGREE)),
        up,
        Math.tan((y - 400.5) * PIXEL * DEGREE),
      );
      const { longitude, latitude } = toSpherical(unit(seen));
      // In that frame, Y east, hour angles go the other way round.
      return icrsFromObserved({ hourAngle: -longitude, declination: latitude }, timeMs, site);
    },
  };
  return {
    file: `${timeMs}.fits`,
    timeMs,
    centre: sky.at(500.5, 400.5),
    sky,
    hourAngle: null,
    declination: null,
  };
}

const CENTRE = unit(fromSpherical(0.5, -0.4));
const ALONG = unit(cross([0, 0, 1], CENTRE));

describe("turning under a camera", () => {
  it.each([0.7, 0.85, 1, 1.15, 1.3])("brings the axis where the night says, with gains about %s", (gain) => {
    const random = seededRandom(Math.round(gain * 100));
    const before = { altitude: fit.pole.altitude.value + 0.3, east: fit.pole.east.value - 0.2 };
    const watch = new BaseWatch(fit);
    let base: BaseMotion = stillBase;
    let timeMs = START_MS;
    for (let n = 0; n < 8; n++) {
      const { forth } = carriedBy(before, base, site.latitude);
      const shown = watch.see(picture(forth(CENTRE), forth(ALONG), timeMs));
      if (typeof shown === "string") throw new Error(shown);
      // What the picture shows is what really happened: only the night's own error is left.
      const real = movedPlace(before, base, site.latitude);
      expect(shown.now.altitude - real.altitude).toBeCloseTo(-0.3, 1);
      expect(shown.now.east - real.east).toBeCloseTo(0.2, 1);
      if (!shown.advice.recommended) break;
      const { whole } = effectOfTurns(mount.base!, turnsOfAdvice(shown.advice), site.latitude);
      const part = gain * (0.95 + 0.1 * random());
      base = sumOfMotions([
        base,
        {
          slopeEast: part * whole.slopeEast,
          slopeNorth: part * whole.slopeNorth,
          turn: part * whole.turn,
          bearingEast: part * whole.bearingEast,
          bearingUp: part * whole.bearingUp,
        },
      ]);
      timeMs += 180_000;
    }
    const left = movedPlace(before, base, site.latitude);
    const { altitude, east } = fit.pole;
    // The night's own error (put in above), the finest turn, and 0.2′.
    expect(Math.abs(left.altitude - 0.3)).toBeLessThan(altitude.uncertainty + 0.2);
    expect(Math.abs(left.east + 0.2)).toBeLessThan(east.uncertainty + 0.2);
  });

  it("leaves out a picture from which the tube was moved", () => {
    const watch = new BaseWatch(fit);
    watch.see(picture(CENTRE, ALONG, START_MS));
    const elsewhere = unit(add(CENTRE, scale(ALONG, 0.2), 1));
    const along = unit(add(ALONG, scale(CENTRE, -0.2), 1));
    expect(watch.see(picture(elsewhere, along, START_MS + 60_000))).toMatch(/The tube has moved by 11\.\d°/);
    expect(watch.see(picture(CENTRE, ALONG, START_MS + 120_000))).toMatchObject({
      turned: { altitude: expect.closeTo(0, 2), east: expect.closeTo(0, 2) },
    });
  });

  it("stands on the night of the demonstration", () => {
    expect(fit.sound).toBe(true);
    expect(readFileSync(`${folder}/truth.json`, "utf8")).toContain("polarAltitude");
  });
});
