/** The fit of a night against simulated truth (src/simulate): terms, notes, rows, both hemispheres. */
import { AngleBetween, Body, Equator, Observer, Spherical, VectorFromSphere } from "astronomy-engine";
import { describe, expect, it } from "vitest";
import { benchOf } from "../../src/fit/bench.js";
import { clockNote } from "../../src/fit/faults/clock.js";
import type { MountFit } from "../../src/fit/fit-result.js";
import { coefficientsOf } from "../../src/fit/fitted-model.js";
import { fitMount } from "../../src/fit/mount-fit.js";
import { fitStory } from "../../src/fit/outcome.js";
import { type FaultOf, storyOf } from "../../src/fit/story.js";
import type { Mount } from "../../src/mount/mount.js";
import { type TermName, termNames } from "../../src/mount/terms.js";
import { reduceNight } from "../../src/night/reduce.js";
import type { SimulatedFault, SimulationOptions } from "../../src/simulate/options.js";
import { simulateNight } from "../../src/simulate/simulate-night.js";
import { findStar } from "../../src/sky/find-star.js";
import { exampleBase, exampleMount } from "../base/example-base.js";

const TERMS: Partial<Record<TermName, number>> = {
  hourAngleZero: 3456.7,
  declinationZero: -2100.3,
  polarAltitude: 34,
  polarEast: -51,
  cone: 14,
  squareness: -9,
  tubeSag: 4,
  ringSag: -2,
  trunnionSag: 1,
};
/** A value further than this from the truth, in its own uncertainties, comes once in two thousand times. */
const SIGMAS = 3.5;

function withSteps(mount: Mount, perTurn: number): Mount {
  const { hourAngle, declination } = mount.readings;
  return {
    ...mount,
    readings: {
      hourAngle: { ...hourAngle, as: "counts", perTurn, smallest: 1 },
      declination: { ...declination, as: "counts", perTurn, smallest: 1, sense: -1 },
    },
  };
}

function atLongitude(longitude: number): Mount {
  const mount = withSteps(exampleMount(-30, exampleBase({})), 16_384);
  return { ...mount, site: { ...mount.site, longitude } };
}

function simulated(latitude: number, perTurn: number, options: Partial<SimulationOptions> = {}) {
  return simulateNight({
    seed: 42,
    mount: withSteps(exampleMount(latitude, exampleBase({})), perTurn),
    terms: TERMS,
    targets: 24,
    fromMs: Date.UTC(2026, 2, 14, 19),
    toMs: Date.UTC(2026, 2, 15, 1),
    ...options,
  });
}

function fitted(latitude: number, perTurn: number, options: Partial<SimulationOptions> = {}): MountFit {
  const { mount, sightings } = simulated(latitude, perTurn, options);
  return fitMount({ mount, sightings });
}

const codes = (fit: MountFit): string[] => fit.notes.map((note) => note.code);

describe("a clean night", () => {
  for (const latitude of [-54, -30, -3, 12, 46.1, 64])
    for (const perTurn of [10_000, 2 ** 23]) {
      it(`at latitude ${latitude} with ${perTurn} steps a turn gives every term within its uncertainty`, () => {
        const fit = fitted(latitude, perTurn);
        expect(fit.sound).toBe(true);
        expect(fit.sightings).toEqual({ read: 24, used: 24, setAside: 0 });
        for (const term of fit.terms) {
          const off = Math.abs(term.value - (TERMS[term.name] ?? 0)) / term.uncertainty;
          expect(off, `${term.name} off by ${off} of its uncertainties`).toBeLessThan(SIGMAS);
        }
        expect(fit.skyRms.found / fit.skyRms.expected).toBeGreaterThan(0.6);
        expect(fit.skyRms.found / fit.skyRms.expected).toBeLessThan(1.5);
      });
    }

  it("without noise gives back the terms that were put in, by the classical fit", () => {
    const { mount, sightings } = simulated(-30, 2 ** 30, { noise: 0 });
    const terms = Object.keys(TERMS) as TermName[];
    const fit = fitMount({ mount, sightings }, { terms });
    // Steps of a 2^30 encoder are 2e-5′; the sky of simulation and of fit are the same code.
    for (const term of fit.terms) expect(Math.abs(term.value - (TERMS[term.name] ?? 0))).toBeLessThan(0.002);
    expect(fit.priors).toBe(false);
  });

  it("keeps a term that was not asked for out of a classical fit", () => {
    const { mount, sightings } = simulated(46.1, 10_000);
    const terms: TermName[] = ["hourAngleZero", "declinationZero", "polarAltitude", "polarEast", "cone"];
    expect(fitMount({ mount, sightings }, { terms }).terms.map((term) => term.name)).toEqual(terms);
    expect(() => fitMount({ mount, sightings }, { terms: ["cones" as TermName] })).toThrow(/no such term/i);
  });
});

describe("what the fit catches", () => {
  const cases: readonly [string, readonly SimulatedFault[], string, number | null, boolean][] = [
    ["a misnamed star", [{ kind: "misnamed", row: 7, instead: "any" }], "misnamed-star", 7, true],
    ["a neighbour's name", [{ kind: "misnamed", row: 12, instead: "neighbour" }], "misnamed-star", 12, true],
    ["a mistyped reading", [{ kind: "outlier", row: 5, west: 90, north: 0 }], "outlier", 5, true],
    [
      "a slipped clutch",
      [{ kind: "zeros-moved", row: 11, hourAngle: 137, declination: 0 }],
      "zeros-moved",
      11,
      true,
    ],
    [
      "a power failure",
      [{ kind: "zeros-moved", row: 15, hourAngle: -2800, declination: 4000 }],
      "zeros-moved",
      15,
      true,
    ],
    [
      "a reversed hour-angle encoder",
      [{ kind: "sense-reversed", axis: "hourAngle" }],
      "sense-reversed",
      null,
      false,
    ],
    [
      "a reversed declination encoder",
      [{ kind: "sense-reversed", axis: "declination" }],
      "sense-reversed",
      null,
      false,
    ],
    [
      "half the steps",
      [{ kind: "wrong-steps", axis: "hourAngle", factor: 2 }],
      "sense-reversed",
      null,
      false,
    ],
    [
      "four times the steps",
      [{ kind: "wrong-steps", axis: "declination", factor: 0.25 }],
      "sense-reversed",
      null,
      false,
    ],
  ];
  for (const latitude of [-30, 48.2])
    it.each(cases)(`%s, latitude ${latitude}`, (_, faults, code, row, sound) => {
      const fit = fitted(latitude, 16_384, { faults });
      const note = fit.notes.find((one) => one.code === code);
      expect(note, `notes were ${codes(fit)}`).toBeDefined();
      expect(note!.row).toBe(row);
      expect(note!.remedy).not.toBe("");
      expect(fit.sound).toBe(sound);
      // Mended or set aside, the terms are as true as on a clean night.
      for (const term of fit.terms) {
        if (term.name.endsWith("Zero")) continue;
        expect(Math.abs(term.value - (TERMS[term.name] ?? 0)) / term.uncertainty, term.name).toBeLessThan(
          SIGMAS,
        );
      }
    });

  for (const faults of [
    [{ kind: "clock", hours: 2 }],
    [{ kind: "clock", hours: -5.5 }],
    [{ kind: "longitude-sign" }],
  ] as SimulatedFault[][]) {
    it(`a wrong clock or longitude: ${JSON.stringify(faults[0])}`, () => {
      const fit = fitted(-30, 16_384, {
        faults,
        terms: { ...TERMS, hourAngleZero: 14, declinationZero: -22 },
      });
      expect(codes(fit)).toContain("clock-zone");
      expect(fit.sound).toBe(false);
      expect(Math.abs(fit.pole.east.value - TERMS.polarEast!) / fit.pole.east.uncertainty).toBeLessThan(
        SIGMAS,
      );
    });
  }

  it("exchanged columns, with nothing else to mend, whatever the senses", () => {
    const { mount, sightings } = simulated(-30, 16_384);
    const exchanged = sightings.map((sighting) => ({
      ...sighting,
      hourAngle: sighting.declination,
      declination: sighting.hourAngle,
    }));
    const fit = fitMount({ mount, sightings: exchanged });
    const note = fit.notes.find((one) => one.code === "columns-exchanged");
    expect(note?.remedy).toMatch(/exchange the columns/i);
    expect(note?.remedy).not.toContain("sense");
    expect(fit.sound).toBe(false);
    for (const term of fit.terms)
      expect(Math.abs(term.value - (TERMS[term.name] ?? 0)) / term.uncertainty, term.name).toBeLessThan(
        SIGMAS,
      );
  });

  it("leaves the clock alone when told to trust it", () => {
    const { mount, sightings } = simulated(-30, 16_384, {
      faults: [{ kind: "clock", hours: 2 }],
      terms: { ...TERMS, hourAngleZero: 14, declinationZero: -22 },
    });
    expect(codes(fitMount({ mount, sightings }, { trustClock: true }))).not.toContain("clock-zone");
  });

  describe("the remedy for a clock", () => {
    /** The remedy where the times are so many hours late, each written with one of the zones in turn. */
    function clockNoteOf(
      hours: number,
      zones: readonly string[],
      zero = 14,
    ): { message: string; remedy: string } {
      const { mount, sightings } = simulated(-30, 16_384, {
        faults: [{ kind: "clock", hours }],
        terms: { ...TERMS, hourAngleZero: zero, declinationZero: -22 },
      });
      const zoned = sightings.map((sighting, i) => {
        const zone = zones[i % zones.length]!;
        if (zone === "Z") return sighting;
        const sign = zone.startsWith("-") ? -1 : 1;
        const ms = sign * (Number(zone.slice(1, 3)) * 60 + Number(zone.slice(4))) * 60_000;
        return { ...sighting, time: new Date(sighting.timeMs + ms).toISOString().replace("Z", zone) };
      });
      const note = fitMount({ mount, sightings: zoned }).notes.find(({ code }) => code === "clock-zone");
      return note ?? { message: "", remedy: "" };
    }

    it.each([
      [2, "Z", "+02:00 instead of Z"],
      [-2.5, "Z", "-02:30 instead of Z"],
      [-2.5, "+02:00", "-00:30 instead of +02:00"],
      [2, "-02:00", "Z instead of -02:00"],
      [1, "+05:45", "+06:45 instead of +05:45"],
    ])("%f hours off with %s: %s", (hours, zone, words) => {
      const { message, remedy } = clockNoteOf(hours, [zone]);
      expect(remedy).toContain(`Write the times with their zone (for instance ${words}) and fit again.`);
      expect(message).toContain(
        zone === "Z" ? "as when local time is entered as UTC" : "another zone than the clock's",
      );
    });

    it("only says by how much where the times carry several zones, or the zone would be none", () => {
      expect(clockNoteOf(-2.5, ["+02:00", "+01:00"]).remedy).toMatch(/^Write every time 2.5 hours later/);
      // No zone lies further west than twelve hours, none further east than fourteen.
      expect(clockNoteOf(-4, ["-09:00"]).remedy).toMatch(/^Write every time 4 hours later/);
      expect(clockNoteOf(4, ["+12:00"]).remedy).toMatch(/^Write every time 4 hours earlier/);
    });

    it("writes the zero with a true minus and few decimals", () => {
      expect(clockNoteOf(2, ["Z"]).message).toMatch(/ as −(29|30)\.\d° \(−\d\.\d\d hours\)/);
    });

    it("says about where the zeros are not near what it makes of nothing", () => {
      const { mount, sightings } = simulated(-30, 16_384, {
        faults: [{ kind: "clock", hours: 2 }],
        terms: { ...TERMS, hourAngleZero: 20, declinationZero: 190 },
      });
      const note = fitMount({ mount, sightings }).notes.find(({ code }) => code === "clock-zone")!;
      expect(note.message).toContain("that is about 2 hours");
      expect(note.message).toContain("about 2 hours too late");
      expect(note.remedy).toContain("zone (about +02:00 instead of Z)");
    });

    it.each([
      // Twice this longitude is 2.0 hours, what a wrong zone could be too: the stars cannot tell which.
      [15, true],
      // 2.4 hours is 1.5° from two and a half: with zeros this near nothing, no zone.
      [20, false],
    ])("the longitude's sign at %f°, and a wrong clock besides: %s", (longitude, both) => {
      const { mount, sightings } = simulated(-30, 16_384, {
        mount: atLongitude(longitude),
        terms: { ...TERMS, hourAngleZero: 4, declinationZero: -6 },
      });
      const wrong = { ...mount, site: { ...mount.site, longitude: -longitude } };
      const note = fitMount({ mount: wrong, sightings }).notes.find(({ code }) => code === "clock-zone")!;
      expect(`${note.message} ${note.remedy}`).toContain(`Set site.longitude to ${longitude} and fit again.`);
      expect(note.remedy.includes("It could equally be that")).toBe(both);
      expect(/about 2 hours too (late|early)|that is 2 hours/.test(`${note.message} ${note.remedy}`)).toBe(
        both,
      );
    });

    it("explains the mended night anew: no term that only the wrong altitudes had called for", () => {
      // With this longitude's sign wrong, many stars stand below the horizon, and refraction bends them at random.
      for (let seed = 1; seed <= 5; seed++) {
        const { mount, sightings } = simulated(-30, 16_384, {
          seed,
          mount: atLongitude(-75),
          terms: { hourAngleZero: 4, declinationZero: -6, polarEast: 20 },
          targets: 14,
          fromMs: Date.UTC(2026, 2, 15),
          toMs: Date.UTC(2026, 2, 15, 4),
        });
        const right = fitMount({ mount, sightings });
        const wrong = fitMount({ mount: { ...mount, site: { ...mount.site, longitude: 75 } }, sightings });
        expect(codes(right)).toEqual([]);
        expect(codes(wrong)).toEqual(["clock-zone"]);
        expect(wrong.terms.map((term) => term.name)).toEqual(right.terms.map((term) => term.name));
        expect(wrong.notes[0]!.remedy).toContain("Set site.longitude to -75");
      }
    });

    it("takes in a term that the mended night does call for", () => {
      const { mount, sightings } = simulated(-30, 16_384, {
        mount: atLongitude(-75),
        terms: { ...TERMS, hourAngleZero: 4, declinationZero: -6, hourAngleEccentricSin: 15 },
        fromMs: Date.UTC(2026, 2, 15),
        toMs: Date.UTC(2026, 2, 15, 6),
      });
      const fit = fitMount({ mount: { ...mount, site: { ...mount.site, longitude: 75 } }, sightings });
      expect(codes(fit)).toContain("clock-zone");
      const added = fit.terms.find((term) => term.name === "hourAngleEccentricSin")!;
      expect(Math.abs(added.value - 15)).toBeLessThan(SIGMAS * added.uncertainty);
    });

    it("does not reckon from zeros that stand anywhere", () => {
      const root = benchOf(reduceNight(simulated(-30, 16_384)), null);
      const outcome = fitStory(root, storyOf(root.night, []), null);
      const note = (fault: FaultOf<"clock"> | FaultOf<"site">) =>
        clockNote(fault, { root, outcome, asEntered: outcome, rivals: [] }, true);
      const time = note({ kind: "clock", hours: -2.5 });
      expect(time.message).toMatch(/agree best if the times entered are about 2.5 hours too early/);
      expect(time.message).not.toContain("near nothing");
      expect(time.remedy).toContain("(about -02:30 instead of Z)");
      expect(note({ kind: "site", site: "longitude-sign" }).message).toContain(
        "if site.longitude has the wrong sign",
      );
    });
  });

  describe("zeros that are not among the terms", () => {
    const terms: TermName[] = ["polarEast", "polarAltitude"];

    it("are told first as held at 0, and no single sighting is blamed", () => {
      const { mount, sightings } = simulated(-30, 16_384, { targets: 12 });
      const fit = fitMount({ mount, sightings }, { terms });
      expect(fit.notes[0]).toMatchObject({ code: "zeros-held", row: null });
      expect(fit.notes[0]!.message).toContain(
        "hour-angle zero and the declination zero are not among the terms",
      );
      expect(fit.sightings).toEqual({ read: 12, used: 12, setAside: 0 });
      expect(codes(fit)).not.toContain("outlier");
      // What comes out is no axis to turn by.
      expect(fit.sound).toBe(false);
    });

    it("one of them alone is named alone; with both fitted there is no such note", () => {
      const { mount, sightings } = simulated(-30, 16_384, { targets: 12 });
      const one = fitMount({ mount, sightings }, { terms: [...terms, "hourAngleZero"] });
      expect(one.notes[0]!.message).toMatch(/^The declination zero is not among the terms/);
      const both = fitMount({ mount, sightings }, { terms: [...terms, "hourAngleZero", "declinationZero"] });
      expect(codes(both)).not.toContain("zeros-held");
    });

    it("that truly are 0 leave the fit sound", () => {
      const { mount, sightings } = simulated(-30, 16_384, {
        targets: 12,
        terms: { polarAltitude: 34, polarEast: -51 },
      });
      expect(fitMount({ mount, sightings }, { terms }).sound).toBe(true);
    });
  });

  it("says which terms an equatorial strip cannot tell apart", () => {
    const fit = fitted(46.1, 16_384, { choice: "equator" });
    expect(codes(fit)).toContain("not-separable");
    expect(fit.terms.find((term) => term.name === "cone")!.standing).toBe("tolerance only");
  });
});

describe("little to go by", () => {
  it.each([0, 1, 2, 3])("%i sightings", (targets) => {
    const { mount, sightings } = simulated(-30, 16_384, { targets: Math.max(targets, 1) });
    const fit = fitMount({ mount, sightings: sightings.slice(0, targets) });
    expect(codes(fit)).toContain("few-sightings");
    for (const term of fit.terms) {
      expect(Number.isFinite(term.value)).toBe(true);
      expect(Number.isFinite(term.uncertainty)).toBe(true);
    }
  });

  it("six sightings give an honest answer", () => {
    for (let seed = 1; seed <= 20; seed++) {
      const fit = fitted(48.2, 16_384, { targets: 6, seed });
      for (const term of fit.terms) {
        expect(
          Math.abs(term.value - (TERMS[term.name] ?? 0)) / term.uncertainty,
          `${term.name} ${seed}`,
        ).toBeLessThan(
          4.5, // the worst of 180 values
        );
      }
    }
  });
});

it("covers an eccentricity as the sightings tell it, whichever cause they could equally be explained by", () => {
  let worst = 0;
  for (let seed = 1; seed <= 20; seed++) {
    const fit = fitted(46.1, 2 ** 20, {
      seed,
      targets: 14,
      terms: { ...TERMS, hourAngleEccentricSin: 9, hourAngleEccentricCos: 3 },
    });
    const term = fit.terms.find(({ name }) => name === "hourAngleEccentricSin")!;
    expect(term.probability).toBeGreaterThan(0);
    worst = Math.max(worst, Math.abs(fit.pole.east.value - TERMS.polarEast!) / fit.pole.east.uncertainty);
  }
  // The worst of twenty.
  expect(worst).toBeLessThan(SIGMAS);
});

it.each([
  [-30, 15],
  [-30, 33],
  [46.1, 33],
])(
  "latitude %d, seed %i: a scale that looks like a mistaken star or two is taken for a scale",
  (latitude, seed) => {
    const fit = fitted(latitude, 16_384, { seed, targets: 12, terms: { ...TERMS, hourAngleScale: 8 } });
    expect(fit.sightings.setAside).toBe(0);
    const scale = fit.terms.find(({ name }) => name === "hourAngleScale")!;
    expect(Math.abs(scale.value - 8) / scale.uncertainty).toBeLessThan(SIGMAS);
  },
);

it("warns of every sighting within 30° of the Sun, and of no other", () => {
  // 23 August, by day: the Sun is near Regulus. The distance is held against astronomy-engine's own positions.
  for (const latitude of [-30, 46.1]) {
    const fromMs = Date.UTC(2026, 7, 23, latitude < 0 ? 7 : 5);
    const { mount, sightings } = simulated(latitude, 16_384, {
      fromMs,
      toMs: fromMs + 10 * 3_600_000,
      targets: 60,
    });
    const fit = fitMount({ mount, sightings });
    const warned = new Map(
      fit.notes
        .filter((note) => note.code === "near-sun")
        .map((note) => [note.row, Number(/(\d+)° from the Sun/.exec(note.message)![1])]),
    );
    const observer = new Observer(mount.site.latitude, mount.site.longitude, mount.site.heightM);
    let near = 0;
    for (const { row, star, timeMs } of sightings) {
      const sun = Equator(Body.Sun, new Date(timeMs), observer, false, true).vec;
      const { raDeg, decDeg } = findStar(star);
      const place = VectorFromSphere(new Spherical(decDeg, raDeg, 1), new Date(timeMs));
      const apart = AngleBetween(place, sun);
      if (apart < 30) near++;
      // Refraction of a low star and the interpolation of the Sun: together less than 0.7°.
      if (apart < 29.3) expect(Math.abs(warned.get(row)! - apart), star).toBeLessThan(1.2);
      if (apart > 30.7) expect(warned.has(row), star).toBe(false);
    }
    expect(near).toBeGreaterThanOrEqual(3);
  }
});

it("keeps declared zero sets and tube positions apart", () => {
  const { mount, sightings } = simulated(-30, 16_384);
  const moved = sightings.map((sighting, i) => ({
    ...sighting,
    zeroSet: i < 12 ? "evening" : "midnight",
    hourAngle: sighting.hourAngle + (i < 12 ? 0 : 1000),
    tubeSet: i < 8 ? "a" : "b",
  }));
  const fit = fitMount({ mount, sightings: moved });
  const zeros = fit.terms.filter((term) => term.name === "hourAngleZero");
  expect(zeros.map((term) => term.set)).toEqual(["evening", "midnight"]);
  const expected = (1000 * 21_600) / 16_384;
  expect(Math.abs(zeros[1]!.value - zeros[0]!.value - expected)).toBeLessThan(5);
  expect(fit.terms.filter((term) => term.name === "cone").map((term) => term.set)).toEqual(["a", "b"]);
  // The coefficients in force are those of the sets asked for, else the last; a name that is not there is no zero of 0.
  const radians = 10_800 / Math.PI;
  const zero = termNames.indexOf("hourAngleZero");
  expect(coefficientsOf(fit)[zero]! * radians).toBeCloseTo(zeros[1]!.value, 9);
  expect(coefficientsOf(fit, { zeroSet: "evening" })[zero]! * radians).toBeCloseTo(zeros[0]!.value, 9);
  expect(() => coefficientsOf(fit, { zeroSet: "morning" })).toThrow(/evening, midnight/);
});

describe("a long night that does not tell plainly as it stands", () => {
  const COUNT = 240;
  const every = (step: number, fault: (row: number) => SimulatedFault): SimulatedFault[] =>
    Array.from({ length: Math.floor((COUNT - 1) / step) }, (_, k) => fault(1 + (k + 1) * step));
  const night = (faults: readonly SimulatedFault[], more: Partial<SimulationOptions> = {}) =>
    simulated(-30, 16_384, { targets: COUNT, faults, ...more });
  const nearTruth = (fit: MountFit): void => {
    for (const name of ["polarAltitude", "polarEast"] as const) {
      const term = fit.terms.find((one) => one.name === name)!;
      expect(Math.abs(term.value - TERMS[name]!)).toBeLessThan(SIGMAS * term.uncertainty);
    }
  };

  it.each([
    ["steps of one axis", [{ kind: "wrong-steps", axis: "hourAngle", factor: 2 }], "perTurn"],
    ["the sense of the other", [{ kind: "sense-reversed", axis: "declination" }], "sense"],
  ] as [string, SimulatedFault[], string][])(
    "wrong settings, %s: found, not taken for a term",
    (_, faults, remedy) => {
      const fit = fitMount(night(faults));
      expect(fit.sound).toBe(false);
      expect(codes(fit)).toEqual(["sense-reversed"]);
      expect(fit.notes[0]!.remedy).toContain(remedy);
      expect(fit.sightings.used).toBe(COUNT);
      nearTruth(fit);
    },
  );

  it("a wrong clock", () => {
    const fit = fitMount(
      night([{ kind: "clock", hours: 5 }], { terms: { ...TERMS, hourAngleZero: 4, declinationZero: -6 } }),
    );
    expect(codes(fit)).toEqual(["clock-zone"]);
    expect(fit.notes[0]!.remedy).toContain("+05:00 instead of Z");
    expect(fit.sound).toBe(false);
    nearTruth(fit);
  });

  it("every sixth sighting wrong", () => {
    const fit = fitMount(
      night(every(6, (row) => ({ kind: "outlier", row, west: 60 + (row % 50), north: -40 }))),
    );
    expect(fit.sightings.setAside).toBe(39);
    expect(new Set(codes(fit))).toEqual(new Set(["outlier"]));
    nearTruth(fit);
  });

  it("zeros that moved four times", () => {
    const fit = fitMount(
      night(every(48, (row) => ({ kind: "zeros-moved", row, hourAngle: 300, declination: -200 }))),
    );
    expect(fit.notes.map(({ code, row }) => `${code} ${row}`)).toEqual(
      [49, 97, 145, 193].map((row) => `zeros-moved ${row}`),
    );
    nearTruth(fit);
  });

  it("wrong settings and an encoder whose zeros are other ones every two dozen sightings", () => {
    const { mount, sightings } = night([{ kind: "sense-reversed", axis: "hourAngle" }], { targets: 144 });
    const switched = sightings.map((sighting, i) => {
      const set = Math.floor(i / 24);
      return { ...sighting, zeroSet: `on ${set}`, hourAngle: sighting.hourAngle + 500 * (set % 4) };
    });
    const fit = fitMount({ mount, sightings: switched });
    expect(codes(fit)).toEqual(["sense-reversed"]);
    nearTruth(fit);
  });

  it("zeros that wander without end are no clean night, and do not take for ever", () => {
    const fit = fitMount(
      night(every(8, (row) => ({ kind: "zeros-moved", row, hourAngle: 9, declination: 0 }))),
    );
    expect(codes(fit).length).toBeGreaterThan(0);
  });
});
