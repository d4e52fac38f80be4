import { describe, expect, it } from "vitest";
import { makeTrack, readTrack } from "../../src/drive/track-file.js";
import { InputError } from "../../src/errors.js";
import { airlessMount } from "./made-course.js";

const camera = { focalLengthMm: 1800, widthMm: 7.2, heightMm: 5.4, pixelUm: 8.6 };
const mount = airlessMount({ camera });

function faultsOf(work: () => unknown): string[] {
  try {
    work();
  } catch (problem) {
    if (problem instanceof InputError)
      return problem.faults.map((fault) => `${fault.line} ${fault.column} ${fault.code}`);
    throw problem;
  }
  return [];
}

describe("the track file", () => {
  it("carries the star, the segment and the side down, and turns pixels into arcseconds", () => {
    const track = readTrack(
      [
        "# a course",
        "time,star,westPixels,northPixels,segment,side,uncertaintyArcsec",
        "2026-03-14T20:00:00Z,Procyon,0,0,1,beyond,0.5",
        "2026-03-14T20:00:30Z,,10,-2,,,",
        "2026-03-14T20:10:00Z,,0,0,2,normal,",
      ].join("\n"),
      mount,
    );
    expect(track.map((point) => [point.label, point.segment, point.beyond, point.uncertaintyArcsec])).toEqual(
      [
        ["Procyon", "1", true, 0.5],
        ["Procyon", "1", true, 0.5],
        ["Procyon", "2", false, 0.5],
      ],
    );
    // A pixel of 8.6 µm at 1800 mm is 0.98548″ (206 264.806 · 0.0086 / 1800).
    expect(track[1]!.westArcsec).toBeCloseTo(9.8548, 3);
    expect(track[1]!.northArcsec).toBeCloseTo(-1.97096, 4);
  });

  it("reads a course of readings", () => {
    const [first] = readTrack(
      "time,star,hourAngle,declination\n2026-03-14T20:00:00Z,Procyon,-120,310\n",
      mount,
    );
    expect(first!.readings).toEqual({ hourAngle: -120, declination: 310 });
    expect(first!.westArcsec).toBeNull();
  });

  it("tells every fault with its line and column", () => {
    const text = [
      "time,star,westArcsec,westPixels,northArcsec,hourAngle",
      "2026-03-14T20:00:00,Procyon,0,,0,",
      "2026-03-14T20:00:30Z,Procion,0,,0,",
      "2026-03-14T20:01:00Z,Procyon,1,1,0,",
      "2026-03-14T20:01:30Z,Procyon,,,,",
      "2026-03-14T20:02:00Z,Procyon,1,,,55",
    ].join("\n");
    expect(faultsOf(() => readTrack(text, mount))).toEqual([
      "2 time time-without-zone",
      "3 star unknown-star",
      "4 westPixels two-units",
      "5 westArcsec missing-value",
      "6 hourAngle readings-and-way",
    ]);
    expect(
      faultsOf(() => readTrack("time,star,westPixels\n2026-03-14T20:00:00Z,Procyon,0\n", airlessMount())),
    ).toEqual(["2 westPixels no-camera"]);
    expect(faultsOf(() => readTrack("time,westArcsec\n2026-03-14T20:00:00Z,0\n", mount))[0]).toContain(
      "missing-column",
    );
  });

  it("takes the same from a program", () => {
    const track = makeTrack(
      [
        {
          time: new Date(Date.UTC(2026, 2, 14, 20)),
          raDeg: 10,
          decDeg: -5,
          westArcsec: 1e-7,
          northArcsec: 2,
        },
      ],
      mount,
    );
    expect(track[0]).toMatchObject({ westArcsec: 1e-7, northArcsec: 2, label: "RA 10°, Dec −5°" });
    expect(() => makeTrack([{ time: "2026-03-14T20:00:00Z", raDeg: 10, decDeg: -5 }], mount)).toThrow(
      InputError,
    );
  });
});
