import { describe, expect, it } from "vitest";
import { solveDrift } from "../../src/drift/drift.js";
import { makeDrifts } from "../../src/drift/file.js";
import { drive } from "../../src/drive/drive.js";
import { readingFromAngle } from "../../src/mount/readings.js";
import { trackingMount } from "../../src/pointing/field-stand.js";
import { trackTarget } from "../../src/pointing/field-track.js";
import type { MountStanding } from "../../src/pointing/known-mount.js";
import { observe } from "../../src/sky/observe.js";
import { airlessMount, madeCourse, OMEGA_ARCSEC } from "./made-course.js";

const ARCSEC = (180 * 3600) / Math.PI;
const mount = airlessMount();

/** An axis and sags known all but exactly. */
function exactStanding(of = mount, altitude = 0, east = 0, sigma = 0.01): MountStanding {
  const names = ["polarAltitude", "polarEast", "tubeSag", "ringSag", "trunnionSag"] as const;
  return {
    mount: of,
    terms: names.map((name, k) => ({ name, set: null, value: k === 0 ? altitude : k === 1 ? east : 0 })),
    covariance: names.map((_, i) => names.map((__, k) => (i === k ? sigma ** 2 : 0))),
  };
}

describe("rate and periodic error of a course with known errors", () => {
  it("finds them within their uncertainties, negative where the drive is too slow", () => {
    const track = madeCourse({
      seed: 1,
      declinationDeg: -40,
      errorPpm: -420,
      waves: [{ periodS: 478.7, amplitude: 8, phase: 1 }],
      scatter: 0.8,
      wander: { size: 0.8, memoryS: 60 },
    });
    const found = drive(track, mount, { standing: exactStanding() });
    expect(Math.abs(found.rate!.errorPpm + 420)).toBeLessThan(3 * found.rate!.uncertaintyPpm);
    expect(found.rate!.uncertaintyPpm).toBeLessThan(40);
    // Too slow: the star goes west, by 902.46″ a minute for the whole rate (design figure: Ω · 60).
    expect(found.rate!.westArcsecPerMinute).toBeCloseTo(-found.rate!.errorPpm * 1e-6 * 60 * OMEGA_ARCSEC, 6);
    expect(found.rate!.westArcsecPerMinute).toBeGreaterThan(0);
    expect(found.periodic).toHaveLength(1);
    const [wave] = found.periodic;
    expect(Math.abs(wave!.amplitudeArcsec - 8)).toBeLessThan(3 * wave!.uncertaintyArcsec);
    expect(Math.abs(wave!.periodS - 478.7)).toBeLessThan(3 * wave!.periodUncertaintyS);
    expect(wave!.falseAlarm).toBeLessThan(1e-6);
    expect(wave!.part).toBeNull();
    expect(Math.abs(found.peakToPeakArcsec - 16)).toBeLessThan(1.5);
  });

  it("names the part, of stated and of derived periods, and its second harmonic", () => {
    const geared = airlessMount({
      drive: {
        parts: [{ name: "belt", periodS: 97 }],
        rollerDiameterMm: 50,
        ringDiameterMm: 900,
        wormTeeth: 10,
      },
    });
    const track = madeCourse({
      seed: 5,
      minutes: 180,
      errorPpm: 200,
      waves: [
        { periodS: 478.7, amplitude: 6 },
        { periodS: 239.3, amplitude: 3, phase: 2 },
        { periodS: 97, amplitude: 2, phase: 0.5 },
      ],
    });
    const found = drive(track, geared, { standing: exactStanding(geared) });
    const seen = found.periodic.filter((one) => one.seen).map((one) => [one.part, one.harmonic]);
    expect(seen).toEqual([
      ["worm", 1],
      ["worm", 2],
      ["belt", 1],
    ]);
    // 86164.1 s · 50 / 900 and a tenth of it (the example of a mount file).
    expect(found.parts.find((part) => part.name === "roller")!.periodS).toBeCloseTo(4786.89, 1);
    expect(found.parts.find((part) => part.name === "worm")!.periodS).toBeCloseTo(478.69, 1);
  });

  it("covers the truth under noise that remembers, gaps and unequal steps; seldom sees a period in noise alone", () => {
    let inside = 0;
    let falsely = 0;
    const COURSES = 40;
    for (let seed = 0; seed < COURSES; seed++) {
      const memoryS = [20, 60, 200, 500][seed % 4]!;
      const track = madeCourse({
        seed: 100 + seed,
        minutes: 70,
        stepS: 30,
        errorPpm: 300,
        scatter: 1,
        wander: { size: 2, memoryS },
      }).filter((_, i) => i < 50 || i > 80);
      const found = drive(track, mount, { standing: exactStanding() });
      if (Math.abs(found.rate!.errorPpm - 300) < 2 * found.rate!.uncertaintyPpm) inside += 1;
      if (found.periodic.length > 0) falsely += 1;
    }
    // 95 % of 40 is 38; 34 or fewer would come once in 50 times. A line through white noise has fewer than 20.
    expect(inside).toBeGreaterThanOrEqual(35);
    expect(falsely).toBeLessThanOrEqual(3);
  });

  it("does not claim a rate finer than a slow part allows", () => {
    const slow = airlessMount({ drive: { rollerDiameterMm: 50, ringDiameterMm: 900 } });
    const track = madeCourse({
      seed: 9,
      minutes: 25,
      waves: [{ periodS: 4786.9, amplitude: 12, phase: 0.2 }],
    });
    const found = drive(track, slow, { standing: exactStanding(slow) });
    expect(Math.abs(found.rate!.errorPpm)).toBeLessThan(2 * found.rate!.uncertaintyPpm);
    expect(found.rate!.fromSlowPartsPpm).toBeGreaterThan(0.9 * found.rate!.uncertaintyPpm);
    expect(found.notes.map((note) => note.code)).toContain("slow-part");
    expect(found.remedy!.verdict).toBe("not-known-yet");
  });

  it("owns up that an axis and sags never measured hide the rate, and says what this star shows", () => {
    const far = drive(madeCourse({ seed: 3, declinationDeg: -55, minutes: 30, errorPpm: -500 }), mount);
    expect(far.rate!.uncertaintyPpm).toBeGreaterThan(2000);
    expect(far.notes.map((note) => note.code)).toContain("axis-unknown");
    expect(Math.abs(far.rate!.herePpm.value + 500)).toBeLessThan(3 * far.rate!.herePpm.uncertainty);
    expect(far.rate!.herePpm.uncertainty).toBeLessThan(60);
    expect(far.remedy!.verdict).toBe("step-rate-only");
    // The builder of a stiff tube, with a star near the equator, knows at once.
    const stiff = airlessMount({ tolerances: { tubeSag: 0.1, ringSag: 0.1, trunnionSag: 0.1 } });
    const near = drive(madeCourse({ seed: 3, declinationDeg: 0, minutes: 60, errorPpm: -500 }), stiff);
    expect(near.rate!.uncertaintyPpm).toBeLessThan(100);
    expect(near.remedy!.verdict).toBe("correct");
  });
});

describe("what befalls a course", () => {
  it("finds a bump and a misread picture, and keeps the rate", () => {
    const track = madeCourse({
      seed: 11,
      errorPpm: 150,
      waves: [{ periodS: 600, amplitude: 5 }],
      change: (point) => {
        if (point.index >= 120) {
          point.west += 40;
          point.north -= 25;
        }
        if (point.index === 60) point.west -= 90;
      },
    });
    const found = drive(track, mount, { standing: exactStanding() });
    expect(found.bumps.map((bump) => bump.row)).toEqual([121]);
    expect(found.moments.used).toBe(found.moments.read - 1);
    expect(found.notes.map((note) => note.code)).toEqual(expect.arrayContaining(["bumped", "misread"]));
    expect(Math.abs(found.rate!.errorPpm - 150)).toBeLessThan(3 * found.rate!.uncertaintyPpm);
  });

  it("finds the play that is taken up after a reversal", () => {
    const PLAY_S = 34;
    const track = madeCourse({
      seed: 12,
      stepS: 5,
      minutes: 40,
      scatter: 0.5,
      segmentOf: (seconds) => (seconds < 1200 ? "a" : "b"),
      change: (point) => {
        // After the reversal at 1200 s the axis stands for 34 s and the star runs west at the full rate.
        if (point.seconds >= 1200) point.west += OMEGA_ARCSEC * Math.min(point.seconds - 1200, PLAY_S);
      },
    });
    const found = drive(track, mount, { standing: exactStanding() });
    expect(found.play).toHaveLength(1);
    // Told from the first moment of the stretch, which comes up to a step and a third after the reversal.
    expect(found.play[0]!.seconds).toBeGreaterThan(PLAY_S - 7);
    expect(found.play[0]!.seconds).toBeLessThan(PLAY_S + 1);
    expect(Math.abs(found.rate!.errorPpm)).toBeLessThan(3 * found.rate!.uncertaintyPpm);
  });

  it("tells nothing false of a quiet course", () => {
    const found = drive(madeCourse({ seed: 13, waves: [{ periodS: 300, amplitude: 10 }] }), mount, {
      standing: exactStanding(),
    });
    expect([found.bumps, found.play, found.moments.read - found.moments.used]).toEqual([[], [], 0]);
  });

  it("refuses what cannot be used, all at once", () => {
    const track = madeCourse({ seed: 14 });
    expect(() => drive(track.slice(0, 5), mount)).toThrowError(/too few moments/);
    const below = track.map((point) => ({
      ...point,
      position: { raDeg: point.position.raDeg + 180, decDeg: 40 },
    }));
    const twice = below.map((point, i) => (i === 7 ? { ...point, timeMs: below[6]!.timeMs } : point));
    expect(() => drive(twice, mount)).toThrowError(/same time[\s\S]*below the horizon/);
  });
});

describe("a course of readings", () => {
  it("tells the rate as a course of pictures does", () => {
    const fine = airlessMount({
      readings: {
        hourAngle: { as: "counts", perTurn: 400_000, sense: -1 },
        declination: { as: "counts", perTurn: 400_000 },
      },
    });
    const points = madeCourse({ seed: 21, declinationDeg: -20, errorPpm: 800, scatter: 0 }, fine);
    const track = points.map((point) => {
      // The shafts have gone further than the star by what it stands east.
      const seen = observe(point.position, point.timeMs, fine.site);
      const hourAngle = seen.hourAngle - point.westArcsec! / Math.cos(seen.declination) / ARCSEC + 0.3;
      return {
        ...point,
        westArcsec: null,
        northArcsec: null,
        readings: {
          hourAngle: Math.round(readingFromAngle(hourAngle, fine.readings.hourAngle)),
          declination: Math.round(readingFromAngle(seen.declination, fine.readings.declination)),
        },
      };
    });
    const found = drive(track, fine, { standing: exactStanding(fine) });
    expect(Math.abs(found.rate!.errorPpm - 800)).toBeLessThan(3 * found.rate!.uncertaintyPpm);
    expect(found.rate!.uncertaintyPpm).toBeLessThan(40);
  });
});

describe("the axis's part of the drift", () => {
  it("agrees with what the drift command makes of the same star", () => {
    const airy = airlessMount({ site: { latitude: -30, longitude: 20, heightM: 900 } });
    const terms = { polarAltitude: 14, polarEast: -22 };
    const base = madeCourse({ seed: 31, declinationDeg: -35, minutes: 60, scatter: 0 }, airy);
    const start = observe(base[0]!.position, base[0]!.timeMs, airy.site);
    const run = trackTarget(trackingMount({ site: airy.site, terms }), start);
    const noise = madeCourse({ seed: 32, declinationDeg: -35, minutes: 60, scatter: 0.3 }, airy);
    const track = base.map((point, i) => {
      const place = run.placesAt((point.timeMs - base[0]!.timeMs) / 1000)[0]!;
      return {
        ...point,
        westArcsec: -place.east * ARCSEC + noise[i]!.westArcsec!,
        northArcsec: place.north * ARCSEC + noise[i]!.northArcsec!,
      };
    });
    const found = drive(track, airy);
    const last = track.at(-1)!;
    const drifts = makeDrifts([
      {
        time: new Date(base[0]!.timeMs),
        raDeg: base[0]!.position.raDeg,
        decDeg: base[0]!.position.decDeg,
        minutes: (last.timeMs - base[0]!.timeMs) / 60_000,
        driftNorthArcsec: run.placesAt((last.timeMs - base[0]!.timeMs) / 1000)[0]!.north * ARCSEC,
        uncertaintyArcsec: 0.3,
      },
    ]);
    const other = solveDrift(drifts, airy);
    // One star tells one combination well: there both must agree, and with the truth.
    const { altitude, east } = other.best;
    const mine = altitude * found.polar!.altitude.value + east * found.polar!.east.value;
    expect(Math.abs(mine - other.best.value)).toBeLessThan(2.5);
    expect(Math.abs(mine - (altitude * terms.polarAltitude + east * terms.polarEast))).toBeLessThan(2.5);
    // With the axis known, nothing is left for the drive.
    const known = drive(track, airy, { standing: exactStanding(airy, 14, -22) });
    expect(known.polar!.sigmas).toBeLessThan(3);
    expect(Math.abs(known.rate!.errorPpm)).toBeLessThan(3 * known.rate!.uncertaintyPpm);
    expect(known.rate!.uncertaintyPpm).toBeLessThan(30);
    // And with a wrong axis it is said.
    expect(
      drive(track, airy, { standing: exactStanding(airy, -10, 20) }).notes.map((note) => note.code),
    ).toContain("polar-disagrees");
  });
});

describe("what to change", () => {
  it("a drive with the step rate or the roller that is told runs right", () => {
    const geared = airlessMount({
      drive: {
        rollerDiameterMm: 50,
        ringDiameterMm: 900,
        stepRateHz: 102.4,
        stepsPerTurn: 3200,
        reduction: 2757,
      },
    });
    const errorPpm = -900;
    const found = drive(madeCourse({ seed: 41, minutes: 150, errorPpm }), geared, {
      standing: exactStanding(geared),
    });
    expect(found.remedy!.verdict).toBe("correct");
    const way = (means: string) => found.remedy!.ways.find((one) => one.means === means)!;
    // A ring is turned by roller diameter over ring diameter: rate ∝ d, ∝ step rate, ∝ 1 / reduction.
    const ppmAfter = (factor: number) => ((1 + errorPpm * 1e-6) * factor - 1) * 1e6;
    const within = 3 * found.rate!.uncertaintyPpm;
    expect(Math.abs(ppmAfter(way("roller").sidereal / 50))).toBeLessThan(within);
    expect(Math.abs(ppmAfter(way("step rate").sidereal / 102.4))).toBeLessThan(within);
    expect(Math.abs(ppmAfter(2757 / way("ratio").sidereal))).toBeLessThan(within);
    expect(way("roller").sidereal).toBeGreaterThan(50);
    expect(way("ratio").sidereal).toBeLessThan(2757);
    // No air: the mean best rate is the sidereal one.
    expect(way("roller").meanBest).toBeCloseTo(way("roller").sidereal, 4);
    expect(found.notes.map((note) => note.code)).toContain("stated-gearing");
  });
});
