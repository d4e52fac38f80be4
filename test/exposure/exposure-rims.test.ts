/**
 * What an exposure shows, against the mirror of north and south, against mounts that have one cause only, and at its rims.
 */
import { describe, expect, it } from "vitest";
import { jackTurns } from "../../src/base/jack-turns.js";
import type { InputError } from "../../src/errors.js";
import { type ExposureTarget, exposure } from "../../src/exposure/exposure.js";
import { goodEnough } from "../../src/exposure/good-enough.js";
import { pointingPlace, pointingUncertaintyMap, scatterBeyond } from "../../src/exposure/good-enough-map.js";
import { exposureSky, longestOverMost } from "../../src/exposure/sky.js";
import { exposureStack } from "../../src/exposure/stack.js";
import { fitMount } from "../../src/fit/mount-fit.js";
import { parseMount } from "../../src/mount/mount-file.js";
import { fieldOfCamera } from "../../src/pointing/field.js";
import { skyPointAt } from "../../src/pointing/field-sky.js";
import type { MountStand } from "../../src/pointing/field-stand.js";
import { knownMount } from "../../src/pointing/known-mount.js";
import { simulateNight } from "../../src/simulate/simulate-night.js";
import { exampleBase } from "../base/example-base.js";

const field = fieldOfCamera({ focalLengthMm: 1800, widthMm: 7.2, heightMm: 5.4, pixelUm: 8.6 });
const AIR = { pressureHPa: 910, temperatureC: 12 };
const VACUUM = { pressureHPa: 0, temperatureC: 12 };
const target = (hourAngleDeg: number, declinationDeg: number): ExposureTarget => ({
  label: "a place",
  hourAngleDeg,
  declinationDeg,
});
const places = [
  [-55, 10],
  [-20, 42],
  [5, -15],
  [40, 60],
  [70, 25],
] as const;
const terms = { polarAltitude: 9, polarEast: -14, cone: 12, squareness: -7, tubeSag: 4, ringSag: 2 };

describe("seen in a mirror of north and south, on the other side of the equator", () => {
  // The elevated end, the east end and the droop are the same; northward readings and the north pole's side turn round.
  const mirrored = { ...terms, squareness: -terms.squareness, ringSag: -terms.ringSag };
  it.each(places)("hour angle %d°, declination %d°: north turns round and nothing else", (h, d) => {
    for (const more of [{}, { guided: true }, { beyond: true }]) {
      const options = { field, exposureS: 200, ...more };
      const north = exposure({ site: { latitude: 41, ...AIR }, terms }, target(h, d), options);
      const south = exposure({ site: { latitude: -41, ...AIR }, terms: mirrored }, target(h, -d), options);
      expect(south.drift.west).toBeCloseTo(north.drift.west, 7);
      expect(south.drift.north).toBeCloseTo(-north.drift.north, 7);
      expect(south.driftRate.west).toBeCloseTo(north.driftRate.west, 7);
      expect(south.driftRate.north).toBeCloseTo(-north.driftRate.north, 7);
      expect(south.fieldRotationArcmin).toBeCloseTo(-north.fieldRotationArcmin, 7);
      expect(south.smear.middle).toBeCloseTo(north.smear.middle, 7);
      expect(south.smear.rim).toBeCloseTo(north.smear.rim, 7);
      expect(south.longestS / north.longestS).toBeCloseTo(1, 3);
      for (const [cause, size] of Object.entries(north.causes))
        expect(south.causes[cause as keyof typeof south.causes], cause).toBeCloseTo(size, 7);
      expect(south.trails[0]!.north.map((value) => 0 - value)).toEqual(
        north.trails[0]!.north.map((value) => expect.closeTo(value, 7)),
      );
      expect(south.trails[0]!.east).toEqual(north.trails[0]!.east.map((value) => expect.closeTo(value, 7)));
    }
  });
});

it.each(places)("each cause at %d°, %d° is what a mount with that cause alone shows", (h, d) => {
  const ownMotion = { west: 20, north: -11 };
  const moving: ExposureTarget = { ...target(h, d), ownMotion };
  const drive = { rate: { errorPpm: -300 } as never, waves: [], peakToPeakArcsec: 0 };
  const options = { field, exposureS: 150 };
  const whole = exposure({ site: { latitude: 41, ...AIR }, terms }, moving, { ...options, drive });
  const only = (stand: MountStand, at: ExposureTarget = target(h, d), more: object = {}) =>
    exposure(stand, at, { ...options, ...more }).smear.rim;
  const { polarAltitude, polarEast, ...others } = terms;
  const site = { latitude: 41, ...VACUUM };
  expect(whole.causes.polarAxis).toBeCloseTo(only({ site, terms: { polarAltitude, polarEast } }), 9);
  expect(whole.causes.tubeAndAxes).toBeCloseTo(only({ site, terms: others }), 9);
  expect(whole.causes.refraction).toBeCloseTo(only({ site: { ...site, ...AIR }, terms: {} }), 9);
  expect(whole.causes.ownMotion).toBeCloseTo(only({ site, terms: {} }, moving), 9);
  expect(whole.causes.drive).toBeCloseTo(only({ site, terms: {} }, target(h, d), { drive }), 9);
  for (const size of Object.values(whole.causes)) expect(size).toBeGreaterThan(0);
  const none = exposure({ site, terms: {} }, target(h, d), options);
  expect(Object.values(none.causes).every((size) => size < 1e-6)).toBe(true);
});

it.each(places)("the rate at %d°, %d° is the drift of the first second, a minute long", (h, d) => {
  const first = exposure({ site: { latitude: 41, ...AIR }, terms }, target(h, d), { field, exposureS: 1 });
  expect(first.driftRate.west).toBeCloseTo(60 * first.drift.west, 9);
  expect(first.driftRate.north).toBeCloseTo(60 * first.drift.north, 9);
});

describe("the longest exposure", () => {
  const stand = { site: { latitude: -33, ...AIR }, terms };
  it.each([
    [0.3, -40],
    [2, 10],
    [15, 50],
    [80, -5],
  ])("for a smear of %f: at that length inside, a thousandth longer not", (smearLimit, h) => {
    const { longestS } = exposure(stand, target(h, -25), { field, smearLimit });
    const rim = (exposureS: number) =>
      exposure(stand, target(h, -25), { field, smearLimit, exposureS }).smear.rim;
    expect(rim(longestS)).toBeLessThanOrEqual(smearLimit);
    expect(rim(1.001 * longestS)).toBeGreaterThan(smearLimit);
  });

  it("without limits ends where the target sets, and is none below the horizon", () => {
    const perfect = { site: { latitude: 46, ...VACUUM }, terms: {} };
    // From 85° to 90° of hour angle at the equator: 5° at 15.041″ a second.
    const setting = exposure(perfect, target(85, 0), { field });
    expect(setting.longestEnds).toBe("limits");
    expect(setting.longestS).toBeGreaterThan((5 * 3600) / 15.0411 - 1);
    expect(setting.longestS).toBeLessThan((5 * 3600) / 15.041);
    expect(exposure(perfect, target(120, -30), { field })).toMatchObject({
      longestS: 0,
      longestEnds: "limits",
    });
  });
});

describe("a question at its rims", () => {
  const perfect = { site: { latitude: 46, ...VACUUM }, terms: {} };
  const faults = (options: object): string[] => {
    try {
      exposure(perfect, target(0, 0), { field, ...options });
    } catch (problem) {
      return (problem as InputError).faults.map(({ path }) => path!);
    }
    return [];
  };
  it.each([
    [{ exposureS: 14_400 }, []],
    [{ exposureS: 14_401 }, ["exposureS"]],
    [{ exposureS: 0 }, ["exposureS"]],
    [{ smearLimit: 0 }, ["smearLimit"]],
    [{ smearLimit: Number.POSITIVE_INFINITY }, ["smearLimit"]],
    [{ smearLimit: 0.01 }, []],
    [{ seeingArcsec: 2, smearLimit: -1 }, ["smearLimit"]],
    [{ seeingArcsec: 0 }, ["seeingArcsec"]],
    [{ seeingArcsec: 0.2 }, []],
    [{ seeingArcsec: 60 }, []],
    [{ seeingArcsec: 60.1 }, ["seeingArcsec"]],
  ])("%o", (options, expected) => {
    expect(faults(options)).toEqual(expected);
  });

  it.each([
    [{ exposureS: 1, count: 1 }, []],
    [{ exposureS: 1, count: 0 }, ["count"]],
    [{ exposureS: 1, count: 2, pauseS: 0 }, []],
    [{ exposureS: 1, count: 2, pauseS: -1 }, ["pauseS"]],
    [{ exposureS: 1, count: 2, readNoiseE: 0, skyE: 1 }, []],
    [{ exposureS: 1, count: 2, readNoiseE: -1, skyE: 0 }, ["readNoiseE", "skyE"]],
    // Pauses lie between: three exposures have two.
    [{ exposureS: 4000, count: 3, pauseS: 1200 }, []],
    [{ exposureS: 4000, count: 3, pauseS: 1201 }, ["count"]],
  ])("a stack of %o", (options, expected) => {
    let found: string[] = [];
    try {
      exposureStack(perfect, target(0, 0), { field, ...options });
    } catch (problem) {
      found = (problem as InputError).faults.map(({ path }) => path!);
    }
    expect(found).toEqual(expected);
  });
});

describe("a stack", () => {
  const stand = { site: { latitude: -33, ...AIR }, terms };
  it("walks and turns as one exposure of its whole length", () => {
    for (const more of [{}, { guided: true }]) {
      const stack = exposureStack(stand, target(-30, -50), {
        field,
        exposureS: 50,
        count: 5,
        pauseS: 10,
        ...more,
      });
      expect(stack.totalS).toBe(290);
      const whole = exposure(stand, target(-30, -50), { field, exposureS: 290, ...more });
      expect(stack.rotationDeg * 60).toBeCloseTo(whole.fieldRotationArcmin, 2);
      if (more.guided) continue;
      expect(stack.walk.west).toBeCloseTo(whole.drift.west, 6);
      expect(stack.walk.north).toBeCloseTo(whole.drift.north, 6);
      expect(stack.path.at(-1)).toMatchObject(stack.walk);
    }
  });

  it("has in common what neither the walk nor the turn carries out of the frame", () => {
    // Near the pole, by an axis far off, the frame turns by more than it walks.
    const off = { ...stand, terms: { ...terms, polarEast: 60 } };
    const stack = exposureStack(off, target(-30, -80), { field, exposureS: 60, count: 30, guided: true });
    expect(Math.abs(stack.rotationDeg)).toBeGreaterThan(0.3);
    const [width, height] = [3600 * field.widthDeg, 3600 * field.heightDeg];
    // A frame that walks by so much, and turns about its middle: the corners go half the other side times the turn.
    const turn = Math.abs(Math.sin((stack.rotationDeg * Math.PI) / 180)) / 2;
    const left = (side: number, walk: number, other: number) => 1 - (Math.abs(walk) + turn * other) / side;
    // Walk and turn go one way all the time here: their spread is what they come to.
    expect(stack.common).toBeCloseTo(
      left(width, stack.walk.west, height) * left(height, stack.walk.north, width),
      3,
    );
    expect(stack.readNoisePart).toBeNull();
    expect(stack.shortestS).toBeNull();
  });
});

describe("how good it is", () => {
  const mount = parseMount({
    name: "invented",
    site: { latitude: 47, longitude: 9, pressureHPa: 950, temperatureC: 5 },
    readings: {
      hourAngle: { as: "counts", perTurn: 20_000 },
      declination: { as: "counts", perTurn: 10_000 },
    },
    limits: { altitudeDeg: 18 },
    camera: { focalLengthMm: 1800, widthMm: 7.2, heightMm: 5.4, pixelUm: 8.6 },
  });
  const fit = fitMount(
    simulateNight({
      seed: 6,
      mount,
      terms: { polarAltitude: 5, polarEast: 8, cone: 6, hourAngleZero: 20, declinationZero: -30 },
      targets: 20,
      fromMs: Date.UTC(2026, 2, 14, 19),
      toMs: Date.UTC(2026, 2, 14, 23),
    }),
  );

  it("over the sky: rings from the lowest altitude to the zenith, each figure that of its place", () => {
    const map = pointingUncertaintyMap(fit, { field, stepDeg: 24 });
    expect(map.altitudesDeg[0]).toBe(15);
    expect(map.altitudesDeg.at(-1)).toBe(90);
    map.altitudesDeg.slice(1).forEach((altitude, k) => {
      expect(altitude - map.altitudesDeg[k]!).toBeCloseTo(25, 9);
    });
    expect(map.azimuthsDeg).toHaveLength(15);
    const known = knownMount(fit);
    const rad = Math.PI / 180;
    map.altitudesDeg.forEach((altitude, ring) => {
      map.azimuthsDeg.forEach((azimuth, k) => {
        // From the horizon to hour angle and declination by the rotation about the east–west line.
        const [sinA, cosA] = [Math.sin(altitude * rad), Math.cos(altitude * rad)];
        const north = cosA * Math.cos(azimuth * rad);
        const east = cosA * Math.sin(azimuth * rad);
        const x = Math.cos(47 * rad) * sinA - Math.sin(47 * rad) * north;
        const z = Math.sin(47 * rad) * sinA + Math.cos(47 * rad) * north;
        const place = pointingPlace(
          known,
          skyPointAt(Math.atan2(-east, x) / rad, Math.asin(Math.min(1, z)) / rad, 47),
        );
        expect(map.arcmin[ring]![k]).toBeCloseTo(place.together, 6);
        expect(map.within95Arcmin[ring]![k]).toBeCloseTo(place.within95, 6);
        expect(place.together).toBeCloseTo(Math.hypot(place.west, place.north), 9);
        // A step of 1.08′ on the hour angle, 2.16′ on the declination, even within it.
        const steps = [1.08 * Math.cos(place.declinationDeg * rad), 2.16].map((step) => step / Math.sqrt(12));
        expect(place.west).toBeCloseTo(Math.hypot(place.modelWest, steps[0]!), 9);
        expect(place.north).toBeCloseTo(Math.hypot(place.modelNorth, steps[1]!), 9);
      });
    });
    const sorted = map.places.map(({ within95 }) => within95).sort((a, b) => a - b);
    expect(map.medianWithin95).toBe(sorted[Math.floor(sorted.length / 2)]);
    const half = map.halfFieldArcmin!;
    expect(map.partInside).toBe(sorted.filter((radius) => radius <= half).length / sorted.length);
    const loose = pointingUncertaintyMap(fit, { stepDeg: 24, scatterArcmin: 3 });
    // What no term explains is part of the 3′: together they are no less than the 3′ both ways.
    expect(loose.worst.west).toBeGreaterThan(3);
    expect(loose.halfFieldArcmin).toBeNull();
    expect(loose.partInside).toBeNull();
  });

  it("scatter counts from a chance below one in twenty on", () => {
    const skyRms = { found: 2, expected: 1 };
    expect(scatterBeyond({ skyRms, chiSquare: { probability: 0.05 } })).toBe(0);
    expect(scatterBeyond({ skyRms, chiSquare: { probability: 0.0499 } })).toBeGreaterThan(1);
    expect(scatterBeyond({ skyRms: { found: 1, expected: 2 }, chiSquare: { probability: 0.01 } })).toBe(0);
  });

  it("over the sky: nine tenths and half of the places allow what is said, with the axis as it is and on the pole", () => {
    const answer = goodEnough(fit, { exposureS: 45, smearLimit: 2, stepDeg: 20 });
    const { holding } = answer;
    const share = (stand: MountStand, seconds: number): number => {
      const sky = exposureSky(stand, { field, exposureS: 45, stepDeg: 20, limits: mount.limits });
      return sky.places.filter(({ longestS }) => longestS >= seconds).length / sky.places.length;
    };
    const known = Object.fromEntries(fit.terms.map(({ name, value }) => [name, value]));
    const stand = (more: object): MountStand => ({ site: mount.site, terms: { ...known, ...more } });
    for (const [at, figures] of [
      [stand({}), holding.now],
      [stand({ polarAltitude: 0, polarEast: 0 }), holding.best],
    ] as const) {
      expect(Math.abs(share(at, figures.mostS) - 0.9)).toBeLessThan(0.03);
      const sky = exposureSky(at, { field, exposureS: 45, stepDeg: 20, limits: mount.limits });
      expect(longestOverMost(sky)).toBeCloseTo(figures.mostS, 3);
      expect(sky.worst.smear).toBeCloseTo(figures.worstSmear, 6);
      expect(sky.partInside).toBe(figures.partInside);
    }
    expect(holding.best.mostS).toBeGreaterThan(holding.now.mostS);
    expect(holding.after).toBeNull();
  });

  it("says what the advice says where one is given, and reckons with where its turns end", () => {
    const based = { ...mount, base: exampleBase() };
    const turns = jackTurns({ ...fit, mount: based });
    expect(turns.verdict).toBe("turn");
    const { verdict, holding } = goodEnough(fit, { turns, stepDeg: 20 });
    expect(verdict).toBe("turn");
    expect(holding.after!.mostS).toBeGreaterThan(holding.now.mostS);
    expect(holding.after!.mostS).toBeLessThanOrEqual(1.02 * holding.best.mostS);
    const stop = { ...turns, recommended: false, verdict: "stop" as const, reasons: ["Stop here."] };
    expect(goodEnough(fit, { turns: stop, stepDeg: 20 })).toMatchObject({
      verdict: "stop",
      holding: { after: null },
    });
  });

  it("on a German mount the tube is turned over the pole east of the meridian, unless it is said not to be", () => {
    const german = { ...fit, mount: { ...mount, kind: "german" as const } };
    const smear = (h: number, more: object = {}) =>
      exposure(german, target(h, 30), { field, exposureS: 300, ...more }).smear.rim;
    for (const [h, beyond] of [
      [-40, true],
      [40, false],
    ] as const) {
      expect(smear(h)).toBe(smear(h, { beyond }));
      expect(smear(h)).not.toBeCloseTo(smear(h, { beyond: !beyond }), 3);
    }
  });

  it("tells the drive's rate with its sense", () => {
    const drive = (errorPpm: number) => ({ rate: { errorPpm } as never, waves: [], peakToPeakArcsec: 3 });
    const told = (errorPpm: number) =>
      goodEnough(fit, { drive: drive(errorPpm), stepDeg: 30 }).assumptions.join(" ");
    expect(told(-250)).toContain("250 ppm too slow");
    expect(told(250)).toContain("250 ppm too fast");
    expect(
      goodEnough(fit, { drive: drive(250), guided: true, stepDeg: 30 }).assumptions.join(" "),
    ).not.toContain("ppm");
  });
});
