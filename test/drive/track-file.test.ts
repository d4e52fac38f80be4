import { describe, expect, it } from "vitest";
import { makeTrack, readTrack } from "../../src/drive/track-file.js";
import { InputError } from "../../src/errors.js";
import { firstMount } from "../../src/mount/first-mount.js";
import { parseMount } from "../../src/mount/mount-file.js";

const camera = { focalLengthMm: 1800, widthMm: 7.2, heightMm: 5.4, pixelUm: 8.6 };
const mount = parseMount({ ...firstMount, camera });

const codes = (text: string, on = mount) => {
  try {
    readTrack(text, on, "track.csv");
  } catch (problem) {
    if (problem instanceof InputError)
      return problem.faults.map(({ code, line, row, rowOf, column }) => [code, line, row, rowOf, column]);
    throw problem;
  }
  return [];
};

describe("a track", () => {
  it("carries its star down, until coordinates or another star take its place", () => {
    const track = readTrack(
      [
        "time,star,raDeg,decDeg,westArcsec,northArcsec,segment,side",
        "2026-03-14T19:22:10Z,Canopus,,,3.2,-0.4,,",
        "2026-03-14T19:22:20Z,,,,3.4,,again,",
        "2026-03-14T19:22:30Z,,95.5,-50,0,0,,beyond",
        "2026-03-14T19:22:40Z,,,,0.5,0,,",
        "2026-03-14T19:22:50Z,Sirius,,,0.5,0,third,",
      ].join("\n"),
      mount,
    );
    expect(track.map(({ label, segment, beyond }) => [label, segment, beyond])).toEqual([
      ["Canopus", "", false],
      ["Canopus", "again", false],
      ["RA 95.5000° Dec −50.0000°", "again", true],
      ["RA 95.5000° Dec −50.0000°", "again", false],
      ["Sirius", "third", false],
    ]);
    expect(track[1]).toMatchObject({ row: 2, line: 3, westArcsec: 3.4, northArcsec: null, readings: null });
    expect(track[3]!.position).toEqual({ raDeg: 95.5, decDeg: -50 });
  });

  it("may be in pixels or in readings", () => {
    const pixels = readTrack("time;star;westPixels\n2026-03-14T19:22:10Z;Canopus;-2,5\n", mount);
    // 8.6 µm at 1800 mm: 0.98549″ (plain trigonometry).
    expect(pixels[0]!.westArcsec).toBeCloseTo(-2.5 * 0.98549, 3);
    const read = readTrack("time,star,hourAngle,declination\n2026-03-14T19:22:10Z,Canopus,1877,\n", mount);
    expect(read[0]!.readings).toEqual({ hourAngle: 1877, declination: null });
  });

  it("says all that is wrong, in which moment", () => {
    expect(codes("time,star\n")).toEqual([["missing-column", 1, undefined, undefined, undefined]]);
    expect(
      codes(
        [
          "time,star,westArcsec,westPixels",
          ",,1,",
          "2026-03-14T19:22:10Z,Canopus,1,2",
          "2026-03-14T19:22:20Z,,,",
          "2026-03-14T19:22:30,,x,",
        ].join("\n"),
      ),
    ).toEqual([
      ["missing-value", 2, 1, "moment", "time"],
      ["missing-value", 2, 1, "moment", "star"],
      ["several-courses", 3, 2, "moment", "westPixels"],
      ["missing-value", 4, 3, "moment", "westArcsec"],
      ["time-without-zone", 5, 4, "moment", "time"],
      ["not-a-number", 5, 4, "moment", "westArcsec"],
    ]);
    expect(
      codes("time,star,westPixels\n2026-03-14T19:22:10Z,Canopus,2\n", { ...mount, camera: null }),
    ).toEqual([["no-camera", 2, 1, "moment", "westPixels"]]);
  });

  it("is the same from a program", () => {
    const [first] = makeTrack(
      [{ time: new Date(Date.UTC(2026, 2, 14, 20)), star: "Canopus", westArcsec: 1e-7, northArcsec: 2 }],
      mount,
    );
    expect(first).toMatchObject({ westArcsec: 1e-7, northArcsec: 2, label: "Canopus", line: null });
    expect(() => makeTrack([{ time: "2026-03-14T20:00:00Z", star: "Canopus" }], mount)).toThrow(InputError);
  });
});
