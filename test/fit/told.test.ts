/**
 * What a fit says of mistakes: which rows, which way, how much, and what to write instead, against simulated truth on both
 * sides of the equator.
 */
import { describe, expect, it } from "vitest";
import { causeNotes, fitQualityNotes } from "../../src/fit/cause-notes.js";
import type { MountFit, Note, TermEstimate } from "../../src/fit/fit-result.js";
import { horizonNotes } from "../../src/fit/horizon-notes.js";
import { fitMount } from "../../src/fit/mount-fit.js";
import type { Posterior } from "../../src/fit/posterior.js";
import { correlationOf, entanglements } from "../../src/fit/separability.js";
import { circumstanceNotes } from "../../src/fit/sighting-notes.js";
import { parseMount } from "../../src/mount/mount-file.js";
import { type CauseName, type TermName, termNames, termRecords } from "../../src/mount/terms.js";
import { type ReducedNight, reduceNight } from "../../src/night/reduce.js";
import type { Sighting } from "../../src/night/sighting.js";
import type { SimulatedFault, SimulationOptions } from "../../src/simulate/options.js";
import { simulateNight } from "../../src/simulate/simulate-night.js";
import { parseTime } from "../../src/sky/time.js";

const DEGREE = Math.PI / 180;
const truth = { polarAltitude: 30, polarEast: -40, cone: 8, hourAngleZero: 12, declinationZero: -9 };

function simulated(
  latitude: number,
  faults: readonly SimulatedFault[],
  more: Partial<SimulationOptions> = {},
) {
  return simulateNight({
    seed: 8,
    mount: parseMount({
      name: "invented",
      site: { latitude, longitude: 62 },
      readings: {
        hourAngle: { as: "counts", perTurn: 20_000 },
        declination: { as: "counts", perTurn: 30_000, sense: -1 },
      },
      limits: { altitudeDeg: 20 },
    }),
    terms: truth,
    targets: 20,
    fromMs: parseTime("2026-03-14T15:00Z"),
    toMs: parseTime("2026-03-14T20:00Z"),
    faults,
    ...more,
  });
}
const notesOf = (fit: MountFit, code: string): Note[] => fit.notes.filter((note) => note.code === code);
const told = (
  latitude: number,
  code: string,
  faults: readonly SimulatedFault[],
  more: Partial<SimulationOptions> = {},
) => notesOf(fitMount(simulated(latitude, faults, more)), code);

describe.each([-38, 44])("at latitude %i", (latitude) => {
  it.each([
    [
      120,
      0,
      /off by 1[12]\d\.\d′ west and [0-3]\.\d′ (north|south)/,
      /declination fits: the hour-angle reading is wrong, or the time by \d+\.\d minutes/,
    ],
    [-120, 0, /off by 1[12]\d\.\d′ east and [0-3]\.\d′ (north|south)/, /declination fits/],
    [
      0,
      120,
      /off by [0-3]\.\d′ (west|east) and 1[12]\d\.\d′ north/,
      /hour angle fits: the declination reading is wrong/,
    ],
    [0, -120, /off by [0-3]\.\d′ (west|east) and 1[12]\d\.\d′ south/, /hour angle fits/],
    [100, -70, /off by (9|10)\d\.\d′ west and [67]\d\.\d′ south/, /times its uncertainty\.$/],
  ] as const)("a row off by %i′ west, %i′ north", (west, north, off, hint) => {
    // Places without a star, which the readings could be of none; far from the pole, where west is west.
    const clean = simulated(latitude, [], { choice: "pictures" });
    const { row } = clean.truth.sightings.find(({ declinationDeg }) => Math.abs(declinationDeg) < 35)!;
    const [note, ...others] = told(latitude, "outlier", [{ kind: "outlier", row, west, north }], {
      choice: "pictures",
    });
    expect(others).toEqual([]);
    expect(note!.row).toBe(row);
    expect(note!.message).toMatch(off);
    expect(note!.message).toMatch(hint);
  });

  it("a misidentified star is told by the name of the one that was sighted", () => {
    let right = 0;
    for (let seed = 1; seed <= 4; seed++) {
      const night = simulated(latitude, [{ kind: "misnamed", row: 9, instead: "any" }], { seed });
      const { star, written } = night.truth.sightings[8]!;
      if (star === written) continue;
      const fit = fitMount(night);
      const [note] = notesOf(fit, "misnamed-star");
      expect(note!.message).toContain(`Row 9 says ${written}`);
      expect(note!.message).toContain(star);
      const residual = fit.residuals.find(({ row }) => row === 9)!;
      expect(residual.standing).toBe("set aside");
      if (residual.likelyStar === star) right++;
    }
    expect(right).toBeGreaterThanOrEqual(3);
  });

  it.each([
    [40, 0],
    [-40, 0],
    [0, 50],
    [0, -50],
    [200, -300],
  ])("zeros that moved by %i′ and %i′ are told with their sense", (hourAngle, declination) => {
    const fit = fitMount(simulated(latitude, [{ kind: "zeros-moved", row: 11, hourAngle, declination }]));
    const [note] = notesOf(fit, "zeros-moved");
    expect(note).toMatchObject({ row: 11, rows: [10, 11] });
    const sizeOf = (name: string): number | null => {
      const match = new RegExp(`${name} zero by ([+−])([\\d.]+)([′°])`).exec(note!.message);
      if (match === null) return null;
      return (match[1] === "−" ? -1 : 1) * Number(match[2]) * (match[3] === "°" ? 60 : 1);
    };
    for (const [name, size] of [
      ["hour-angle", hourAngle],
      ["declination", declination],
    ] as const) {
      if (size === 0) expect(sizeOf(name)).toBeNull();
      else expect(Math.abs(sizeOf(name)! - size)).toBeLessThan(6);
    }
    // As uncertain as the difference of the zeros of both sides, which go together.
    for (const [label, name] of [
      ["hour-angle", "hourAngleZero"],
      ["declination", "declinationZero"],
    ] as const) {
      const said = new RegExp(`${label} zero by [^(]+\\(± ([\\d.]+)′\\)`).exec(note!.message);
      const [i, j] = fit.terms.flatMap((term, place) => (term.name === name ? [place] : []));
      expect(said !== null).toBe(j !== undefined);
      if (said === null) continue;
      const variance = fit.covariance[i!]![i!]! + fit.covariance[j!]![j!]! - 2 * fit.covariance[i!]![j!]!;
      expect(Math.abs(Number(said[1]) - Math.sqrt(variance))).toBeLessThan(0.051);
    }
    // The zeros in force stand at each row.
    const zeroAt = (row: number) => fit.residuals.find((one) => one.row === row)!;
    expect(Math.abs(zeroAt(11).hourAngleZero! - zeroAt(10).hourAngleZero! - hourAngle)).toBeLessThan(6);
    expect(Math.abs(zeroAt(11).declinationZero! - zeroAt(10).declinationZero! - declination)).toBeLessThan(6);
  });

  it.each([1, -1, 2, -3.5])("a clock that is changed by %f hours on the way", (hours) => {
    const fit = fitMount(simulated(latitude, [{ kind: "clock", hours, row: 12 }]));
    const [note] = notesOf(fit, "clock-step");
    expect(note).toMatchObject({ row: 12, rows: [11, 12] });
    expect(fit.sound).toBe(false);
    const size = `${Math.abs(hours)} hour${Math.abs(hours) === 1 ? "" : "s"}`;
    expect(note!.message).toContain(`${size} too ${hours > 0 ? "late" : "early"} against those before`);
    expect(note!.remedy).toContain(`from row 12 on ${size} ${hours > 0 ? "earlier" : "later"}`);
    expect(note!.remedy).toContain(`those before it ${size} ${hours > 0 ? "later" : "earlier"}`);
    // Which part is right no star tells: the hour-angle zero is that of either.
    for (const { name, value, uncertainty } of fit.terms.filter((term) => term.name !== "hourAngleZero"))
      expect(Math.abs(value - (truth[name as keyof typeof truth] ?? 0)) / uncertainty, name).toBeLessThan(4);
  });

  it.each([
    ["hourAngle", -1, ["hour-angle encoder counts the other way", "readings.hourAngle.sense to -1"]],
    ["declination", -1, ["declination encoder counts the other way", "readings.declination.sense to 1"]],
    [
      "hourAngle",
      2,
      ["hour-angle encoder has 20000 steps a turn, not 40000", "readings.hourAngle.perTurn to 20000"],
    ],
    [
      "declination",
      0.25,
      ["declination encoder has 30000 steps a turn, not 7500", "declination.perTurn to 30000"],
    ],
  ] as const)("a setting of the %s, %f times the truth", (axis, factor, [finding, remedy]) => {
    const fault: SimulatedFault =
      factor === -1 ? { kind: "sense-reversed", axis } : { kind: "wrong-steps", axis, factor };
    const [note] = told(latitude, "sense-reversed", [fault]);
    expect(note!.message).toContain(finding);
    expect(note!.remedy).toContain(remedy);
    expect(note!.message).toContain("20 sightings fit");
  });

  it.each([
    ["latitude-sign", "site-sign", `Set site.latitude to ${latitude} and fit again.`],
    [
      "site-exchanged",
      "site-sign",
      `Set site.latitude to ${latitude} and site.longitude to 62, then fit again.`,
    ],
    ["longitude-sign", "clock-zone", "Set site.longitude to 62 and fit again."],
  ] as const)("%s", (kind, code, remedy) => {
    const fit = fitMount(simulated(latitude, [{ kind }]));
    const [note] = notesOf(fit, code);
    expect(`${note!.message} ${note!.remedy}`).toContain(remedy);
    expect(fit.sound).toBe(false);
    expect(Math.abs(fit.pole.east.value - truth.polarEast) / fit.pole.east.uncertainty).toBeLessThan(4);
  });
});

it("the star that is proposed tells the term as well as is promised, once it is sighted", () => {
  let tried = 0;
  for (const latitude of [-38, 44]) {
    const night = simulated(latitude, [], { choice: "equator", targets: 12 });
    const fit = fitMount(night);
    for (const note of notesOf(fit, "not-separable")) {
      const match = /^Sight (.+): the (.+) would then be known to ([\d.]+)′/.exec(note.remedy);
      if (match === null) continue;
      const [, star, label, promised] = match;
      const again = simulateNight({
        seed: 31,
        mount: night.mount,
        terms: truth,
        targets: [{ star: star!, timeMs: fit.meanTimeMs! }],
      });
      const more: Sighting = { ...again.sightings[0]!, row: 13 };
      const better = fitMount({ mount: night.mount, sightings: [...night.sightings, more] });
      const of = (one: MountFit): number => one.terms.find((term) => term.label === label)!.uncertainty;
      expect(of(better) / of(fit)).toBeLessThan(0.95);
      // Promised to first order, at the scale of the errors that the night then shows.
      expect(of(better) / Number(promised)).toBeGreaterThan(0.7);
      expect(of(better) / Number(promised)).toBeLessThan(1.3);
      tried++;
    }
  }
  expect(tried).toBeGreaterThan(1);
});

describe("pairs of terms", () => {
  const term = (name: string, standing: TermEstimate["standing"]) => ({ name, standing }) as TermEstimate;
  const covariance = [
    [4, 3.9, -0.99, 0],
    [3.9, 4, 0, 0],
    [-0.99, 0, 0.25, 0],
    [0, 0, 0, 0],
  ];
  it("correlate from −1 to 1, and by nothing where there is no variance", () => {
    expect(correlationOf(covariance, 0, 1)).toBeCloseTo(0.975, 12);
    expect(correlationOf(covariance, 0, 2)).toBeCloseTo(-0.99, 12);
    expect(correlationOf(covariance, 1, 1)).toBe(1);
    expect(correlationOf(covariance, 0, 3)).toBe(0);
  });
  it("are told from 0.95 on with either sign, the worst first, unless both are measured", () => {
    const terms = ["a", "b", "c", "d"].map((name) => term(name, "tolerance only"));
    const pairs = entanglements({ terms, covariance }).map(({ first, second }) => [first, second]);
    expect(pairs).toEqual([
      [0, 2],
      [0, 1],
    ]);
    const measured = [term("a", "measured"), term("b", "measured"), ...terms.slice(2)];
    expect(entanglements({ terms: measured, covariance }).map(({ second }) => second)).toEqual([2]);
  });
});

describe("a night's circumstances", () => {
  const night = (altitudesDeg: readonly number[], latitude = 44): ReducedNight => {
    const { mount, sightings } = simulated(latitude, [], { targets: altitudesDeg.length });
    const reduced = reduceNight({ mount, sightings });
    return { ...reduced, altitude: Float64Array.from(altitudesDeg, (degrees) => degrees * DEGREE) };
  };
  it("low stars are those below ten degrees that were up", () => {
    const rows = circumstanceNotes(night([9.9, 10.1, -0.9, -1.1, 50, 30]), new Uint8Array(6).fill(1))
      .filter(({ code }) => code === "low-star")
      .map(({ row }) => row);
    expect(rows).toEqual([1, 3]);
  });
  it.each([
    [1, "Only 1 sighting counts.", "Sight 5 more"],
    [5, "Only 5 sightings count.", "Sight 1 more"],
  ])("%i used", (count, message, remedy) => {
    const used = Uint8Array.from({ length: 6 }, (_, i) => (i < count ? 1 : 0));
    const [note] = circumstanceNotes(night([40, 40, 40, 40, 40, 40]), used);
    expect(note).toMatchObject({ code: "few-sightings" });
    expect(note!.message).toContain(message);
    expect(note!.remedy).toContain(remedy);
    expect(circumstanceNotes(night([40, 40, 40, 40, 40, 40]), new Uint8Array(6).fill(1))).toEqual([]);
  });
  it("stars below the horizon: one is a slip, two of few or a part of many are the site or the clock", () => {
    const at = (below: number, count: number) =>
      horizonNotes(night(Array.from({ length: count }, (_, i) => (i < below ? -5.25 : 30))));
    const one = at(1, 8);
    expect(one.sound).toBe(true);
    expect(one.notes).toMatchObject([{ code: "below-horizon", row: 1 }]);
    expect(one.notes[0]!.message).toContain("5.3° below the horizon");
    expect(at(2, 8)).toMatchObject({ sound: false, notes: [{ rows: [1, 2] }] });
    expect(at(2, 8).notes[0]!.message).toContain("2 of the 8 stars");
    expect(at(2, 13).sound).toBe(false);
    // Fifteen in a hundred.
    expect(at(2, 14)).toMatchObject({ sound: true, notes: [{ row: 1 }, { row: 2 }] });
    expect(at(3, 20).sound).toBe(false);
    expect(at(0, 8)).toEqual({ sound: true, notes: [] });
    expect(horizonNotes(night([-0.9, -1.1, 30, 30])).notes).toHaveLength(1);
  });
});

describe("how well a night fits", () => {
  const good = {
    skyRms: { found: 1.234, expected: 1.111 },
    chiSquare: { value: 30, degreesOfFreedom: 30, probability: 0.5 },
    residue: { probability: 0.1, amplitudeArcmin: 0.3 },
    errorScale: { value: 1.1, uncertainty: 0.1 },
    sightings: { read: 20, used: 20, setAside: 0 },
    priors: true,
  };
  type Given = Parameters<typeof fitQualityNotes>[0];
  const codes = (more: Partial<Given>) => fitQualityNotes({ ...good, ...more }).map(({ code }) => code);
  it.each([
    [{}, []],
    [{ residue: { probability: 0.97, amplitudeArcmin: 0.3 } }, ["smooth-residue"]],
    [{ errorScale: { value: 2, uncertainty: 0.2 } }, ["poor-fit"]],
    // Two as likely as one and a half: not told.
    [{ errorScale: { value: 2, uncertainty: 0.7 } }, []],
    [{ errorScale: { value: 2, uncertainty: 0.2 }, priors: false }, []],
    [{ chiSquare: { value: 90, degreesOfFreedom: 30, probability: 1e-7 } }, ["poor-fit"]],
    [{ chiSquare: { value: 90, degreesOfFreedom: 30, probability: 1e-7 }, priors: false }, ["poor-fit"]],
    // Of 30 degrees of freedom 6 and less come once in many millions.
    [{ chiSquare: { value: 6, degreesOfFreedom: 30, probability: 1 } }, ["errors-too-small"]],
    [{ chiSquare: { value: 25, degreesOfFreedom: 30, probability: 0.7 } }, []],
    [{ chiSquare: { value: 0, degreesOfFreedom: 0, probability: 1 } }, []],
    [
      {
        chiSquare: { value: 90, degreesOfFreedom: 30, probability: 1e-7 },
        sightings: { read: 2, used: 2, setAside: 0 },
      },
      [],
    ],
  ] as [Partial<Given>, string[]][])("%o", (more, expected) => {
    expect(codes(more)).toEqual(expected);
  });
  it("is said with the figures", () => {
    const [smooth] = fitQualityNotes({ ...good, residue: { probability: 0.97, amplitudeArcmin: 0.344 } });
    expect(smooth!.message).toContain("some 0.3′");
    expect(smooth!.message).toContain("97 %");
    const [fine] = fitQualityNotes({ ...good, residue: { probability: 0.9999, amplitudeArcmin: 0.124 } });
    expect(fine!.message).toContain("some 0.12′");
    expect(fine!.message).toContain("over 99 %");
    const [poor] = fitQualityNotes({ ...good, errorScale: { value: 3, uncertainty: 0.2 } });
    expect(poor!.message).toContain("fit to 1.23′, expected 1.11′");
  });
});

describe("causes", () => {
  const causeOf = ({ name }: { name: TermName }): CauseName | null =>
    termRecords[name as keyof typeof termRecords]?.cause ?? null;
  const terms = termNames.map((name): TermEstimate => {
    const { label, unit } = termRecords[name];
    return { name, label, unit, value: -2.04, uncertainty: 0.31 } as TermEstimate;
  });
  const all = [...new Set(termNames.flatMap((name) => termRecords[name].cause ?? []))];
  const notes = (probability: number) =>
    causeNotes({ acts: new Map(all.map((name) => [name, probability])) } as Posterior, terms, causeOf);
  it("are told each with its own terms, their unit and how likely it is", () => {
    const sure = notes(0.97);
    expect(sure).toHaveLength(all.length);
    sure.forEach(({ message }, k) => {
      expect(message).toContain("The readings say that");
      expect(message).toContain("(there or not: 97 %)");
      for (const term of terms) {
        const unit = term.unit === "arcmin" ? "′" : "′ a radian";
        const own = causeOf(term) === all[k];
        expect(message.includes(`${term.label} −2.0 ± 0.3${unit}`), term.name).toBe(own);
      }
    });
    expect(notes(0.3)).toEqual([]);
    const likely = notes(0.7);
    expect(likely.every(({ message }) => message.includes("The readings suggest that"))).toBe(true);
    // What is common on encoders is told only when it is sure.
    expect(likely.some(({ code }) => code === "added-term")).toBe(false);
    expect(new Set(likely.map(({ code }) => code))).toEqual(
      new Set(["play", "meridian-step", "creeping", "settling"]),
    );
  });
});
