import { describe, expect, it } from "vitest";
import type { DriftFields } from "../../src/drift/fields.js";
import { makeDrifts, readDrifts } from "../../src/drift/file.js";
import { faultText, InputError } from "../../src/errors.js";

const CAMERA = { focalLengthMm: 1800, widthMm: 7.2, heightMm: 5.4, pixelUm: 8.6 };

function faultsOf(work: () => unknown) {
  try {
    work();
  } catch (problem) {
    if (problem instanceof InputError) return problem.faults;
    throw problem;
  }
  return [];
}

describe("a drift file", () => {
  it("is read: stars, coordinates and hour angles, arcseconds and pixels", () => {
    const text = [
      "\uFEFF# an evening",
      "time,star,raDeg,decDeg,hourAngleDeg,declinationDeg,minutes,driftNorthArcsec,driftNorthPixels,uncertaintyArcsec,note",
      "2026-03-14T19:22:10Z,canopus,,,,,10,-12.5,,2,by eye",
      '2026-03-14T21:22:10+02:00,,95.98,-52.69,,,8,,-20,,"camera, binned"',
      "",
      ",,,,-75,-10,5.5,3,,,",
    ].join("\r\n");
    const drifts = readDrifts(text, { camera: CAMERA, file: "drift.csv" });
    expect(drifts).toHaveLength(3);
    expect(drifts[0]).toMatchObject({
      row: 1,
      line: 3,
      label: "Canopus",
      timeMs: Date.UTC(2026, 2, 14, 19, 22, 10),
      minutes: 10,
      northArcsec: -12.5,
      westArcsec: null,
      uncertaintyArcsec: 2,
      note: "by eye",
    });
    // 8.6 µm at 1800 mm: 0.98549″ (plain trigonometry).
    expect(drifts[1]!.northArcsec).toBeCloseTo(-20 * 0.98549, 3);
    expect(drifts[1]!.uncertaintyArcsec).toBeCloseTo(0.98549, 4);
    expect(drifts[1]!.note).toBe("camera, binned");
    expect(drifts[2]).toMatchObject({ hourAngleDeg: -75, declinationDeg: -10, timeMs: null, position: null });
    expect(drifts[2]!.uncertaintyArcsec).toBe(3);
  });

  it("reports every fault at once, with line, row and column", () => {
    const text = [
      "time,star,minutes,driftNorthArcsec,driftNorthPixels,uncertaintyArcsec",
      "2026-03-14T19:22:10,Canopis,ten,1,,2",
      "2026-03-14T19:22:10Z,Canopus,0,,,2",
      "2026-03-14T19:22:10Z,Canopus,5,1,2,-1",
      "2026-03-14T19:22:10Z,Canopus,5,,2,",
      "2026-03-14T19:22:10Z,Canopus,5",
    ].join("\n");
    const faults = faultsOf(() => readDrifts(text, { file: "drift.csv" }));
    expect(faults.map(({ code, line, row, column }) => [code, line, row, column])).toEqual([
      ["time-without-zone", 2, 1, "time"],
      ["unknown-star", 2, 1, "star"],
      ["not-a-number", 2, 1, "minutes"],
      ["out-of-range", 3, 2, "minutes"],
      ["missing-value", 3, 2, "driftNorthArcsec"],
      ["out-of-range", 4, 3, "uncertaintyArcsec"],
      ["two-units", 4, 3, "driftNorthPixels"],
      ["no-camera", 5, 4, "driftNorthPixels"],
      ["wrong-field-count", 6, 5, undefined],
    ]);
    expect(faults.every((fault) => fault.file === "drift.csv")).toBe(true);
    expect(faults[1]!.message).toContain("Canopus");
    expect(faultText(faults.find(({ row }) => row === 1)!)).toMatch(/^drift\.csv, line \d+, drift 1, /);
  });

  it("says what its header lacks or has too much", () => {
    const codes = (text: string) => faultsOf(() => readDrifts(text)).map((fault) => fault.code);
    expect(codes("")).toEqual(["empty-file"]);
    expect(codes("# nothing yet\n")).toEqual(["no-header"]);
    expect(codes("star|minutes|drift\n")).toEqual(["wrong-separator"]);
    expect(codes("\u0000\u0001binary")).toEqual(["not-text"]);
    expect(codes("time,star,minuts,driftNorthArcsec\n")).toEqual(["unknown-column", "missing-column"]);
    expect(codes("minutes,minutes,star,time,driftNorthArcsec\n")).toEqual(["repeated-column"]);
    expect(codes("star,minutes,driftNorthArcsec\nVega,5,3\n")).toEqual(["missing-column"]);
    expect(faultsOf(() => readDrifts("time,star,minuts,driftNorthArcsec\n"))[0]!.message).toContain(
      "minutes",
    );
  });

  it("knows a place given twice, half, or not at all", () => {
    const at = { minutes: 5, driftNorthArcsec: 1 };
    const codes = (fields: object) =>
      faultsOf(() => makeDrifts([{ ...at, ...fields }])).map((fault) => fault.code);
    expect(codes({})).toEqual(["missing-value"]);
    expect(codes({ star: "Vega", time: "2026-03-14T19:22:10Z", hourAngleDeg: 0, declinationDeg: 0 })).toEqual(
      ["several-places"],
    );
    expect(codes({ hourAngleDeg: 3 })).toEqual(["missing-value"]);
    expect(codes({ raDeg: 3, time: "2026-03-14T19:22:10Z" })).toEqual(["missing-value"]);
    expect(codes({ star: "Vega" })).toEqual(["missing-value"]);
    expect(codes({ hourAngleDeg: 0, declinationDeg: 0, colour: "red" })).toEqual(["unknown-column"]);
    expect(codes({ hourAngleDeg: 0, declinationDeg: 0, note: {} })).toEqual(["wrong-type"]);
    expect(codes({ hourAngleDeg: 0, declinationDeg: 0 })).toEqual([]);
  });

  it("takes every figure to the ends of its range and not beyond", () => {
    const good = { hourAngleDeg: 0, declinationDeg: 0, minutes: 5, driftNorthArcsec: 1 };
    const star = { raDeg: 10, decDeg: 20, time: "2026-03-14T19:22:10Z", minutes: 5, driftNorthArcsec: 1 };
    const codes = (fields: object) =>
      faultsOf(() => makeDrifts([fields as DriftFields], CAMERA)).map(
        (fault) => `${fault.code} ${fault.column}`,
      );
    for (const [base, column, inside, outside] of [
      [good, "minutes", [0.001, 360], [0, -1, 360.001]],
      [good, "hourAngleDeg", [-180, 180], [-180.001, 180.001]],
      [good, "declinationDeg", [-90, 90], [-90.001, 90.001]],
      [good, "driftNorthArcsec", [-36_000, 0, 36_000], [-36_001, 36_001]],
      [good, "driftWestArcsec", [-36_000, 0, 36_000], [-36_001, 36_001]],
      [good, "driftWestPixels", [-100_000, 100_000], [-100_001, 100_001]],
      [good, "uncertaintyArcsec", [0.001, 3600], [0, -1, 3600.1]],
      [star, "raDeg", [0, 359.999], [-0.001, 360]],
      [star, "decDeg", [-90, 90], [-90.001, 90.001]],
    ] as const) {
      for (const value of inside)
        expect(codes({ ...base, [column]: value }), `${column} ${value}`).toEqual([]);
      for (const value of outside)
        expect(codes({ ...base, [column]: value })).toContain(`out-of-range ${column}`);
    }
    expect(codes({ ...good, note: "x".repeat(2000) })).toEqual([]);
    expect(codes({ ...good, note: "x".repeat(2001) })).toEqual(["text-too-long note"]);
    expect(codes({ ...star, raDeg: undefined })).toEqual(["missing-value raDeg"]);
    expect(codes({ ...star, decDeg: undefined })).toEqual(["missing-value decDeg"]);
    expect(codes({ ...star, time: undefined })).toEqual(["missing-value time"]);
    expect(codes({ ...good, declinationDeg: undefined })).toEqual(["missing-value declinationDeg"]);
  });

  it("reads plain decimals only, as a night file does", () => {
    const row = (north: string) => `hourAngleDeg,declinationDeg,minutes,driftNorthArcsec\n-5,0,3,${north}\n`;
    for (const written of ["1e1", "0x10", "5e", "x5", "5x", "--5", "1.2.3", "."]) {
      expect(faultsOf(() => readDrifts(row(written))).map((fault) => fault.code)).toEqual(["not-a-number"]);
    }
    for (const [written, value] of [
      [".25", 0.25],
      ["+7.", 7],
      ["-0.125", -0.125],
    ] as const) {
      expect(readDrifts(row(written))[0]!.northArcsec).toBe(value);
    }
    // An hour angle says where the star stood; a time beside it is not used.
    const [timed] = makeDrifts([
      { hourAngleDeg: 1, declinationDeg: 2, time: "2026-03-14T19:22:10Z", minutes: 5, driftNorthArcsec: 1 },
    ]);
    expect([timed!.timeMs, timed!.hourAngleDeg]).toEqual([null, 1]);
  });

  it("keeps a drift westward alone, either unit, and the uncertainty that goes with it", () => {
    const at = { hourAngleDeg: -12.34567, declinationDeg: 7.5, minutes: 5 };
    const one = (fields: object, camera: typeof CAMERA | null = CAMERA) =>
      makeDrifts([{ ...at, ...fields }], camera)[0]!;
    expect(one({ driftWestArcsec: 4 })).toMatchObject({
      row: 1,
      line: null,
      label: "at −12.3457°, +7.5°",
      northArcsec: null,
      westArcsec: 4,
      uncertaintyArcsec: 3,
      timeMs: null,
    });
    // 8.6 µm at 1800 mm: 0.98549″ (plain trigonometry).
    const pixels = one({ driftWestPixels: 10 });
    expect(pixels.westArcsec).toBeCloseTo(9.8549, 3);
    expect(pixels.uncertaintyArcsec).toBeCloseTo(0.98549, 4);
    expect(one({ driftNorthPixels: -3, uncertaintyArcsec: 0.4 }).uncertaintyArcsec).toBe(0.4);
    // A program's small number is written without an exponent, and a typographic minus is a minus.
    expect(one({ driftNorthArcsec: -2e-7 }).northArcsec).toBe(-2e-7);
    expect(readDrifts("hourAngleDeg,declinationDeg,minutes,driftNorthArcsec\n−5,0,3,−.5\n")[0]).toMatchObject(
      {
        hourAngleDeg: -5,
        northArcsec: -0.5,
      },
    );
    const place = makeDrifts([
      { raDeg: 10.5, decDeg: -20, time: new Date("2026-03-14T19:22:10Z"), minutes: 5, driftNorthArcsec: 0 },
    ])[0]!;
    expect(place).toMatchObject({
      label: "RA +10.5° Dec −20°",
      timeMs: Date.UTC(2026, 2, 14, 19, 22, 10),
      position: { raDeg: 10.5, decDeg: -20 },
      northArcsec: 0,
    });
    expect(faultsOf(() => one({ driftWestPixels: 10 }, null)).map((fault) => fault.code)).toEqual([
      "no-camera",
    ]);
  });
});
