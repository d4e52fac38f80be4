/**
 * Sightings that lack a reading: one blank counts with the other alone, and solved pictures whose declination axis was locked
 * (a group) tell the axis without any encoder. Held against simulated truth and against the same night with the reading in.
 */
import { describe, expect, it } from "vitest";
import { ARCMINUTE, DEGREE } from "../../src/angles.js";
import type { MountFit } from "../../src/fit/fit-result.js";
import { fitMount } from "../../src/fit/mount-fit.js";
import { mountModel, normalStance, POLAR_ALTITUDE, POLAR_EAST } from "../../src/mount/model.js";
import { parseMount } from "../../src/mount/mount-file.js";
import type { Sighting } from "../../src/night/sighting.js";
import type { SimulationOptions } from "../../src/simulate/options.js";
import { gaussian, seededRandom } from "../../src/simulate/random.js";
import { simulateNight } from "../../src/simulate/simulate-night.js";
import { observe } from "../../src/sky/observe.js";
import { parseTime } from "../../src/sky/time.js";

/** A value further than this from the truth, in its own uncertainties, comes once in two thousand times. */
const SIGMAS = 3.5;
const truth = { polarAltitude: 31, polarEast: -24, cone: 5, hourAngleZero: 40, declinationZero: -25 };

function simulated(latitude: number, more: Partial<SimulationOptions> = {}) {
  return simulateNight({
    seed: 6,
    mount: parseMount({
      name: "invented",
      site: { latitude, longitude: -3 },
      readings: {
        hourAngle: { as: "counts", perTurn: 20_000 },
        declination: { as: "counts", perTurn: 20_000, sense: -1 },
      },
      limits: { altitudeDeg: 20 },
    }),
    terms: truth,
    targets: 24,
    fromMs: parseTime("2026-03-14T20:00Z"),
    toMs: parseTime("2026-03-15T02:00Z"),
    ...more,
  });
}

function poleNear(fit: MountFit, altitude: number, east: number): void {
  expect(Math.abs(fit.pole.altitude.value - altitude) / fit.pole.altitude.uncertainty).toBeLessThan(SIGMAS);
  expect(Math.abs(fit.pole.east.value - east) / fit.pole.east.uncertainty).toBeLessThan(SIGMAS);
}
const termOf = (fit: MountFit, name: string) => fit.terms.find((term) => term.name === name);

describe.each([-41, 41])("a blank reading, latitude %i", (latitude) => {
  const { mount, sightings } = simulated(latitude);
  const without = (axis: "hourAngle" | "declination", blank: (row: number) => boolean): Sighting[] =>
    sightings.map((sighting) => (blank(sighting.row) ? { ...sighting, [axis]: null } : sighting));
  const full = fitMount({ mount, sightings });

  it.each(["hourAngle", "declination"] as const)("%s: the other counts alone", (axis) => {
    const fit = fitMount({ mount, sightings: without(axis, (row) => row === 5) });
    expect(fit.sightings).toEqual({ read: 24, used: 24, setAside: 0 });
    expect(fit.chiSquare.degreesOfFreedom).toBe(full.chiSquare.degreesOfFreedom - 1);
    expect(fit.sound).toBe(true);
    const residual = fit.residuals[4]!;
    const [blank, other] = axis === "hourAngle" ? (["west", "north"] as const) : (["north", "west"] as const);
    expect(residual[blank]).toBe(0);
    expect(Math.abs(residual[other])).toBeGreaterThan(0);
    expect(residual.distance).toBeCloseTo(Math.abs(residual[other]), 12);
    expect(fit.residuals.filter(({ west, north }) => west === 0 || north === 0)).toHaveLength(1);
    poleNear(fit, truth.polarAltitude, truth.polarEast);
  });

  it.each(["hourAngle", "declination"] as const)(
    "%s on half the rows: as a reading that may be off by anything would count",
    (axis) => {
      const blank = (row: number): boolean => row % 2 === 0;
      const fit = fitMount({ mount, sightings: without(axis, blank) });
      const uncertain = (name: string): number =>
        termOf(fit, name)!.uncertainty / termOf(full, name)!.uncertainty;
      // Half the rows of an axis: its own zero is less certain by some √2, nothing more certain.
      expect(uncertain(`${axis}Zero`)).toBeGreaterThan(1.1);
      expect(uncertain("polarAltitude")).toBeGreaterThan(1);
      expect(uncertain("polarEast")).toBeGreaterThan(1);
      poleNear(fit, truth.polarAltitude, truth.polarEast);
      // A figure in the blank's place, whatever it is, would have been found out.
      const wrong = sightings.map((sighting) =>
        sighting.row === 6 ? { ...sighting, [axis]: sighting[axis]! + 700 } : sighting,
      );
      expect(fitMount({ mount, sightings: wrong }).sightings.setAside).toBe(1);
    },
  );

  it("an axis of which nothing is read is held by what was known before", () => {
    const fit = fitMount({ mount, sightings: without("hourAngle", () => true) });
    // Declinations alone tell the axis: altitude and east from their run with the hour angle.
    poleNear(fit, truth.polarAltitude, truth.polarEast);
    expect(fit.pole.altitude.uncertainty).toBeLessThan(10);
    expect(fit.pole.east.uncertainty).toBeLessThan(10);
    expect(fit.chiSquare.degreesOfFreedom).toBeLessThan(24);
    for (const { west } of fit.residuals) expect(west).toBe(0);
  });

  it("a group beside a reading locks nothing", () => {
    const values = (rows: readonly Sighting[]) =>
      fitMount({ mount, sightings: rows }).terms.map(({ name, value, uncertainty }) => [
        name,
        value,
        uncertainty,
      ]);
    const grouped = (rows: readonly Sighting[]) =>
      rows.map((one): Sighting => ({ ...one, group: `setting ${one.row % 3}` }));
    for (const rows of [
      sightings,
      without("hourAngle", (row) => row === 5),
      without("declination", (row) => row % 4 === 0),
    ])
      expect(values(grouped(rows))).toEqual(values(rows));
  });

  it("a jump or a wrong star is seen on the axis that was read", () => {
    const night = simulated(latitude, {
      faults: [{ kind: "zeros-moved", row: 13, hourAngle: 0, declination: 60 }],
    });
    const blank = night.sightings.map((one) => (one.row % 2 === 0 ? { ...one, hourAngle: null } : one));
    const fit = fitMount({ mount: night.mount, sightings: blank });
    const note = fit.notes.find(({ code }) => code === "zeros-moved")!;
    expect(note.row).toBe(13);
    expect(note.message).toMatch(/declination zero by \+(5[6-9]|6[0-4])\.\d′/);
    expect(note.message).not.toContain("hour-angle zero");
    poleNear(fit, truth.polarAltitude, truth.polarEast);
  });
});

describe.each([-52, -12, 33])("pictures with the declination axis locked, latitude %i", (latitude) => {
  const mount = parseMount({
    name: "invented",
    site: { latitude, longitude: -3 },
    readings: {
      hourAngle: { as: "counts", perTurn: 20_000 },
      declination: { as: "counts", perTurn: 20_000 },
    },
    centringArcmin: 0.1,
    timingS: 0,
    limits: { altitudeDeg: 20 },
  });
  const model = mountModel(latitude * DEGREE);

  /** Solved pictures with the axis locked at some declinations: each where the model's own declination axis stands there. */
  function locked(settings: readonly number[], altitude: number, east: number): MountFit {
    const { sightings } = simulated(latitude, { mount, targets: 42, choice: "pictures" });
    const coefficients = new Float64Array(model.size);
    coefficients[POLAR_ALTITUDE] = altitude * ARCMINUTE;
    coefficients[POLAR_EAST] = east * ARCMINUTE;
    const random = seededRandom(9);
    const pictures = sightings.map((sighting, i): Sighting => {
      const setting = settings[i % settings.length]!;
      const readings = new Float64Array(2);
      let { position } = sighting;
      // Declination and reading go nearly together: a few steps settle to far less than the errors.
      for (let step = 0; step < 6; step++) {
        const { hourAngle, declination } = observe(position, sighting.timeMs, mount.site);
        model.forward(coefficients, hourAngle, declination, normalStance, readings);
        position = { ...position, decDeg: position.decDeg + setting - readings[1]! / DEGREE };
      }
      const decDeg = position.decDeg + (mount.centringArcmin / 60) * gaussian(random);
      const group = `setting ${i % settings.length}`;
      return { ...sighting, hourAngle: null, declination: null, group, position: { ...position, decDeg } };
    });
    return fitMount({ mount, sightings: pictures });
  }

  it.each([
    [40, -25],
    [-30, 35],
  ])("tell the axis by themselves: %i′ in altitude, %i′ in the east", (altitude, east) => {
    const way = latitude < 0 ? -1 : 1;
    const fit = locked([15 * way, 30 * way, -5 * way], altitude, east);
    expect(fit.sound).toBe(true);
    expect(fit.sightings.setAside).toBe(0);
    poleNear(fit, altitude, east);
    // A ring that sags by the cosine of the hour angle looks like an error in altitude: of that 3′ are allowed for.
    expect(fit.pole.altitude.uncertainty).toBeLessThan(4);
    expect(fit.pole.east.uncertainty).toBeLessThan(1);
    // Where the axis was locked is no term of the mount.
    expect(fit.terms.every(({ set }) => set === null)).toBe(true);
  });
});
