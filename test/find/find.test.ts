import { Body, DefineStar, MakeTime, Observer, SearchAltitude, SearchRiseSet } from "astronomy-engine";
import { describe, expect, test } from "vitest";
import { ARCMINUTE, DEGREE, HOUR } from "../../src/angles.js";
import { InputError } from "../../src/errors.js";
import { classList } from "../../src/find/class-list.js";
import { findTargets } from "../../src/find/find.js";
import { coordinatesFromText, targetNamed, targetsNamed } from "../../src/find/target.js";
import { riseAndSet } from "../../src/find/times.js";
import { fitMount } from "../../src/fit/mount-fit.js";
import type { Limits, Mount } from "../../src/mount/mount.js";
import { readingAngle } from "../../src/mount/readings.js";
import { unfoldedDeclination } from "../../src/night/reduce.js";
import { planStars } from "../../src/plan/plan.js";
import { type KnownMount, knownMount, predictReadings, stanceOf } from "../../src/pointing/known-mount.js";
import { findReport } from "../../src/report/find-report.js";
import { reportText } from "../../src/report/text.js";
import { simulateNight } from "../../src/simulate/simulate-night.js";
import { deepSkyObjects } from "../../src/sky/deep-sky.js";
import { findStar } from "../../src/sky/find-star.js";
import { hourAngleVector } from "../../src/sky/horizon-frame.js";
import { observe } from "../../src/sky/observe.js";
import type { Site } from "../../src/sky/site.js";
import { skyFrame } from "../../src/sky/sky-frame.js";
import { skyOverNight } from "../../src/sky/sky-over-night.js";
import { parseTime } from "../../src/sky/time.js";
import { separation } from "../../src/vectors.js";
import { nowhereSchool } from "../support/nowhere-school-evening.js";

const evening = parseTime("2026-03-14T18:30:00Z");
const free: Limits = { altitudeDeg: 0, hourAngleHours: [-12, 12], declinationDeg: [-90, 90], horizon: [] };
const airless = (site: Site): Site => ({ ...site, pressureHPa: 0 });
const skyAt = (timeMs: number, site: Site) => skyOverNight(timeMs, timeMs + 86_400_000, site);

function faults(action: () => unknown) {
  try {
    action();
  } catch (problem) {
    if (problem instanceof InputError) return problem.faults;
    throw problem;
  }
  return [];
}

const truth = {
  hourAngleZero: 812,
  declinationZero: -455,
  polarAltitude: 34,
  polarEast: -49,
  cone: 22,
  squareness: -16,
  tubeSag: 5,
};

function fitOf(mount: Mount, seed: number, noise = 1) {
  const plan = planStars(mount, evening, { stars: 12 });
  const targets = plan.stars.map((star) => ({ star: `HIP ${star.hip}`, timeMs: star.timeMs }));
  const { sightings } = simulateNight({ seed, mount, terms: truth, targets, noise });
  return fitMount({ mount, sightings }, { catches: false });
}

describe("rise, set and transit", () => {
  const site: Site = {
    latitude: -30,
    longitude: 20,
    heightM: 0,
    pressureHPa: 1010,
    temperatureC: 10,
    dut1S: 0,
  };
  const observer = new Observer(site.latitude, site.longitude, 0);

  test("planets and stars cross an altitude when astronomy-engine's search says", () => {
    // Without air, as SearchAltitude; a flat profile at 10°. A second of time is 15″ at most.
    const TOLERANCE_MS = 1500;
    const limits: Limits = { ...free, horizon: [[0, 10]] };
    const sky = skyAt(evening, airless(site));
    const compare = (body: Body, name: string) => {
      const times = riseAndSet(targetNamed(name), sky, limits, evening);
      const rise = SearchAltitude(body, observer, +1, MakeTime(new Date(evening)), 1, 10)!.date.getTime();
      const set = SearchAltitude(body, observer, -1, MakeTime(new Date(evening)), 1, 10)!.date.getTime();
      expect(Math.abs(times.risesMs! - rise)).toBeLessThan(TOLERANCE_MS);
      expect(Math.abs(times.setsMs! - set)).toBeLessThan(TOLERANCE_MS);
    };
    for (const body of [
      Body.Mercury,
      Body.Venus,
      Body.Mars,
      Body.Jupiter,
      Body.Saturn,
      Body.Uranus,
      Body.Neptune,
      Body.Moon,
    ]) {
      compare(body, body);
    }
    for (const name of ["Canopus", "Spica", "Regulus", "Sirius"]) {
      const star = findStar(name);
      // Proper motion since J2000.0 by hand: astronomy-engine's stars stand still (Sirius has gone 35″).
      const YEARS = 26.2;
      const east = (star.pmRaCosDecMasYr * YEARS) / 3.6e6 / Math.cos(star.decDeg * DEGREE);
      const north = (star.pmDecMasYr * YEARS) / 3.6e6;
      DefineStar(Body.Star1, (star.raDeg + east) / 15, star.decDeg + north, 1000);
      compare(Body.Star1, name);
    }
  });

  test("over a free horizon with air, near astronomy-engine's rise and set", () => {
    // That takes 34′ of refraction for everyone; this takes the site's air, some arcminutes more or less: up to 30 s.
    const TOLERANCE_MS = 30_000;
    const sky = skyAt(evening, site);
    for (const body of [Body.Jupiter, Body.Saturn, Body.Mars]) {
      const times = riseAndSet(targetNamed(body), sky, free, evening);
      const rise = SearchRiseSet(body, observer, +1, new Date(evening), 1)!.date.getTime();
      const set = SearchRiseSet(body, observer, -1, new Date(evening), 1)!.date.getTime();
      expect(Math.abs(times.risesMs! - rise)).toBeLessThan(TOLERANCE_MS);
      expect(Math.abs(times.setsMs! - set)).toBeLessThan(TOLERANCE_MS);
    }
  });

  test("Venus at Boston on 1988 March 20 as in Meeus, Astronomical Algorithms, example 15.a", () => {
    // From memory: rising 12h25m, setting 2h55m (UT), given to the minute, with 34′ of refraction.
    const TOLERANCE_MS = 60_000;
    const boston: Site = { ...site, latitude: 42.3333, longitude: -71.0833 };
    const start = parseTime("1988-03-20T00:00:00Z");
    const sky = skyAt(start, boston);
    const venus = targetNamed("Venus");
    const { risesMs, setsMs } = riseAndSet(venus, sky, free, start);
    expect(Math.abs(risesMs! - parseTime("1988-03-20T12:25:00Z"))).toBeLessThan(TOLERANCE_MS);
    expect(Math.abs(setsMs! - parseTime("1988-03-20T02:55:00Z"))).toBeLessThan(TOLERANCE_MS);
  });

  test("what never rises or never sets has no time for it", () => {
    const sky = skyAt(evening, site);
    expect(riseAndSet(targetNamed("Polaris"), sky, free, evening)).toEqual({
      up: false,
      risesMs: null,
      setsMs: null,
    });
    expect(riseAndSet(targetNamed("σ Oct"), sky, free, evening)).toEqual({
      up: true,
      risesMs: null,
      setsMs: null,
    });
  });

  test("a wall in the profile hides what stands behind it", () => {
    const wall: Limits = {
      ...free,
      horizon: [
        [0, 0],
        [260, 0],
        [261, 60],
        [340, 60],
        [341, 0],
      ],
    };
    const sky = skyAt(evening, site);
    const open = riseAndSet(targetNamed("Sirius"), sky, free, evening);
    const behind = riseAndSet(targetNamed("Sirius"), sky, wall, evening);
    expect(behind.setsMs!).toBeLessThan(open.setsMs! - 3_600_000);
    const direction = targetNamed("Sirius").observe(skyFrame(behind.setsMs!, site));
    expect(direction.azimuth / DEGREE).toBeGreaterThan(260);
    expect(direction.azimuth / DEGREE).toBeLessThan(341);
  });
});

describe("names and coordinates", () => {
  test("stars, Messier's objects, planets, the Moon and coordinates are distinguished", () => {
    expect(targetNamed("alpha Cen").kind).toBe("star");
    expect(targetNamed("m42").label).toBe("M 42 (Orion Nebula)");
    expect(targetNamed("jupiter").kind).toBe("planet");
    expect(targetNamed("the Moon").kind).toBe("Moon");
    for (const object of deepSkyObjects())
      expect(targetNamed(object.messier === null ? object.designation : `M ${object.messier}`).label).toBe(
        object.label,
      );
    expect(targetNamed("05h35m17s -05d23m").kind).toBe("coordinates");
  });

  test("coordinates are read in hours and degrees, or in degrees", () => {
    const expected = { raDeg: 15 * (5 + 35 / 60 + 17 / 3600), decDeg: -(5 + 23 / 60) };
    for (const text of ["05h35m17s -05d23m", "5:35:17 -5:23", "05h35m17s, −05°23′", "5h35m17s -5d23m0s"]) {
      const place = coordinatesFromText(text)!;
      expect(place.raDeg).toBeCloseTo(expected.raDeg, 10);
      expect(place.decDeg).toBeCloseTo(expected.decDeg, 10);
    }
    expect(coordinatesFromText("83.82 -5.39")).toEqual({ raDeg: 83.82, decDeg: -5.39 });
    expect(coordinatesFromText("83.82°, +5.39°")).toEqual({ raDeg: 83.82, decDeg: 5.39 });
    // The sign of −0° is kept.
    expect(coordinatesFromText("00h10m -00d30m")!.decDeg).toBe(-0.5);
    expect(coordinatesFromText("M 42")).toBeNull();
    expect(coordinatesFromText("71683")).toBeNull();
  });

  test("every target that is not known is a fault of its own, with its place; the others are found", () => {
    const { targets, faults: found } = targetsNamed(["Canopus", "Canopsu", "M 111", "25h00m 10d", "10.5 95"]);
    expect(targets.map(({ label }) => label)).toEqual(["Canopus"]);
    expect(found.map((fault) => [fault.path, fault.code])).toEqual([
      ["target 2", "unknown-object"],
      ["target 3", "unknown-object"],
      ["target 4", "coordinates-out-of-range"],
      ["target 5", "coordinates-out-of-range"],
    ]);
    expect(found[0]!.message).toContain("Canopus");
    expect(faults(() => targetsNamed(["Canopsu", "M 111"])).map(({ code }) => code)).toEqual([
      "unknown-object",
      "unknown-object",
    ]);
  });
});

/** A declination circle in degrees. */
const DIAL = { as: "degrees", perTurn: 360, sense: 1, smallest: 0.1 } as const;

/** Where the telescope points, from its readings: the way back from `predictReadings`. */
function pointingOf(
  { mount, model, coefficients }: KnownMount,
  readings: { readonly hourAngle: number; readonly declination: number },
  siderealTime: number,
  side: "normal" | "beyond" = "normal",
) {
  return model.inverse(
    coefficients,
    readingAngle(readings.hourAngle, mount.readings.hourAngle, { siderealTime }),
    unfoldedDeclination(readingAngle(readings.declination, mount.readings.declination), side, mount),
    stanceOf(side),
  );
}

describe("readings", () => {
  test("predicted ones lead back to the target through the rigorous model, all over the sky", () => {
    const fit = fitOf(nowhereSchool, 3);
    const known = knownMount(fit);
    const { siderealTime } = skyFrame(evening, nowhereSchool.site);
    const TOLERANCE_ARCSEC = 1e-6;
    for (let h = -6; h <= 6; h += 0.7) {
      for (let d = -85; d <= 60; d += 7) {
        const direction = { hourAngle: h * HOUR, declination: d * DEGREE };
        const back = pointingOf(known, predictReadings(known, direction, siderealTime), siderealTime);
        const off = separation(hourAngleVector(direction), hourAngleVector(back)) / (ARCMINUTE / 60);
        expect(off).toBeLessThan(TOLERANCE_ARCSEC);
      }
    }
  });

  test("a German mount's readings beyond the pole lead back too, and so do dials", () => {
    const mount: Mount = {
      ...nowhereSchool,
      kind: "german",
      readings: {
        hourAngle: { as: "rightAscension", perTurn: 24, sense: 1, smallest: 1 / 240 },
        declination: { as: "counts", perTurn: 36_000, sense: 1, smallest: 1 },
      },
    };
    const fit = {
      mount,
      terms: fitOf(nowhereSchool, 3).terms,
      covariance: fitOf(nowhereSchool, 3).covariance,
    };
    const known = knownMount(fit);
    const { siderealTime } = skyFrame(evening, mount.site);
    const direction = { hourAngle: -2 * HOUR, declination: -40 * DEGREE };
    const there = predictReadings(known, direction, siderealTime, "beyond");
    const back = pointingOf(known, there, siderealTime, "beyond");
    expect(separation(hourAngleVector(direction), hourAngleVector(back)) / ARCMINUTE).toBeLessThan(1e-6);
    const dials = { ...mount, readings: { ...mount.readings, declination: DIAL } };
    const shown = knownMount({ ...fit, mount: dials });
    const folded = predictReadings(shown, direction, siderealTime, "beyond");
    const again = pointingOf(shown, folded, siderealTime, "beyond");
    expect(separation(hourAngleVector(direction), hourAngleVector(again)) / ARCMINUTE).toBeLessThan(1e-6);
    expect(there.hourAngle).toBeGreaterThanOrEqual(0);
    expect(there.hourAngle).toBeLessThan(24);
  });

  test("are where a perfect observer finds the star", () => {
    const fit = fitOf(nowhereSchool, 4);
    const names = ["Sirius", "Canopus", "Regulus", "Aldebaran", "Miaplacidus"];
    const finding = findTargets(nowhereSchool, fit, evening + 3_600_000, names);
    const { sightings } = simulateNight({
      seed: 1,
      mount: nowhereSchool,
      terms: truth,
      noise: 0,
      targets: names.map((star) => ({ star, timeMs: evening + 3_600_000 })),
    });
    const count = (360 * 60) / 16384;
    sightings.forEach((sighting, index) => {
      const { predicted, declinationDeg } = finding.found[index]!;
      const west = (sighting.hourAngle - predicted!.hourAngle) * count * Math.cos(declinationDeg * DEGREE);
      const north = (sighting.declination - predicted!.declination) * count;
      // Three times the model's uncertainty, and half a count each way for the true reading's own rounding.
      expect(Math.hypot(west, north)).toBeLessThan(3 * predicted!.uncertaintyArcmin! + 0.71 * count);
      expect(predicted!.uncertaintyArcmin!).toBeLessThan(2);
    });
  });

  test("the way from here is in the axes' units and words", () => {
    const fit = fitOf(nowhereSchool, 4);
    const [here] = findTargets(nowhereSchool, fit, evening, ["Sirius"]).found;
    const present = {
      hourAngle: Math.round(here!.predicted!.hourAngle),
      declination: Math.round(here!.predicted!.declination),
    };
    const [there] = findTargets(nowhereSchool, fit, evening, ["Canopus"], { present }).found;
    const { move, predicted } = there!;
    expect(move!.hourAngleReading).toBeCloseTo(predicted!.hourAngle - present.hourAngle, 6);
    expect(move!.declinationReading).toBeCloseTo(predicted!.declination - present.declination, 6);
    // Declination counts fall northward: Canopus is further south, so more counts, and the words say south.
    expect(move!.declinationReading).toBeGreaterThan(0);
    expect(move!.text).toMatch(/^\d+\.\d° west, 36\.\d° south$/);
    // A counter that has gone once round more: the same way.
    const round = { ...present, hourAngle: present.hourAngle + 16384 };
    const again = findTargets(nowhereSchool, fit, evening, ["Canopus"], { present: round }).found[0]!;
    expect(again.move!.hourAngleDeg).toBeCloseTo(move!.hourAngleDeg, 6);
  });

  test("are compared with the camera's field", () => {
    const fit = fitOf(nowhereSchool, 4);
    const [found] = findTargets(nowhereSchool, fit, evening, ["M 42"]).found;
    // 5.4 mm at 1800 mm: half of 10.3′.
    expect(found!.field!.halfFieldArcmin).toBeCloseTo(5.157, 2);
    expect(found!.field!.inField).toBe(true);
    const long = { ...nowhereSchool, camera: { ...nowhereSchool.camera!, focalLengthMm: 12_000 } };
    expect(findTargets(long, fit, evening, ["M 42"]).found[0]!.field!.inField).toBe(false);
  });

  test("without a fit hold but for the zeros, and say so", () => {
    const finding = findTargets(nowhereSchool, null, evening, ["Canopus"]);
    expect(finding.zerosKnown).toBe(false);
    expect(finding.found[0]!.predicted!.uncertaintyArcmin).toBeNull();
    expect(finding.found[0]!.field).toBeNull();
    expect(finding.notes.map((note) => note.code)).toEqual(["zeros-unknown"]);
    // With all terms nil the hour angle alone makes the reading; frames interpolated over the night differ by 0.01″.
    const seen = observe(findStar("Canopus"), evening, nowhereSchool.site);
    expect(finding.found[0]!.predicted!.hourAngle).toBeCloseTo((seen.hourAngle * 16384) / (2 * Math.PI), 4);
  });
});

describe("what may not be pointed at", () => {
  const noon = parseTime("2026-03-14T11:00:00Z");

  test("the Sun is refused by every name", () => {
    for (const name of ["Sun", "the sun", " SUN ", "Sol"]) {
      expect(faults(() => targetNamed(name)).map((fault) => fault.code)).toEqual(["sun-refused"]);
    }
  });

  test("nothing within 30° of the Sun gets readings, at night and by day", () => {
    // Venus is 16° from the Sun that evening.
    for (const [timeMs, daylight] of [
      [evening, false],
      [noon, false],
      [noon, true],
    ] as const) {
      const [venus] = findTargets(nowhereSchool, null, timeMs, ["Venus"], { daylight }).found;
      expect(venus!.sunDeg).toBeLessThan(30);
      expect(venus!.refused!.code).toBe("near-sun");
      expect(venus!.predicted).toBeNull();
    }
    // The Sun's own place given as coordinates is no way round.
    const text = "353.6 -2.8";
    expect(findTargets(nowhereSchool, null, noon, [text], { daylight: true }).found[0]!.refused!.code).toBe(
      "near-sun",
    );
  });

  test("by day nothing gets readings unless daylight is asked for", () => {
    const asked = findTargets(nowhereSchool, null, noon, ["Achernar"], { daylight: true }).found[0]!;
    const unasked = findTargets(nowhereSchool, null, noon, ["Achernar"]);
    expect(asked.predicted).not.toBeNull();
    expect(unasked.found[0]!.refused!.code).toBe("sun-up");
    expect(unasked.notes[0]!.remedy).toMatch(/never look at the sun/i);
    expect(reportText(findReport(unasked))).toMatch(/^! The Sun is up. Never look at the Sun/m);
  });

  test("a way past the Sun is warned of by day", () => {
    const present = { hourAngle: 5000, declination: 100 };
    const [found] = findTargets(nowhereSchool, null, noon, ["Achernar"], { daylight: true, present }).found;
    const other = findTargets(nowhereSchool, null, noon, ["Fomalhaut"], {
      daylight: true,
      present: { hourAngle: -4000, declination: 100 },
    }).found[0]!;
    expect(
      [found!.move?.caution, other.move?.caution].some((caution) => caution?.includes("of the Sun")),
    ).toBe(true);
    const night = findTargets(nowhereSchool, null, evening, ["Achernar"], { present }).found[0]!;
    expect(night.move!.caution).toBeNull();
  });

  test("what is down has no readings, what breaks a limit says which", () => {
    const finding = findTargets(nowhereSchool, null, evening, ["Polaris", "Capella"]);
    expect(finding.found[0]!.refused!.code).toBe("below-horizon");
    expect(finding.found[0]!.up).toBe(false);
    expect(finding.found[1]!.limits.join(" ")).toContain("altitude");
  });
});

describe("times", () => {
  test("outside the years that are covered are refused, near their ends too", () => {
    for (const timeMs of [Number.NaN, -1e15, 1e15, parseTime("2100-12-31T23:00:00Z")]) {
      expect(
        faults(() => findTargets(nowhereSchool, null, timeMs, ["Canopus"])).map((fault) => fault.code),
      ).toEqual(["time-out-of-range"]);
    }
    const late = faults(() =>
      findTargets(nowhereSchool, null, parseTime("2100-12-31T23:00:00Z"), ["Canopus"]),
    );
    expect(late[0]!.found).toBe("2100-12-31T23:00:00Z");
    expect(
      findTargets(nowhereSchool, null, parseTime("2100-12-30T20:00:00Z"), ["Canopus"]).found.length,
    ).toBe(1);
    expect(
      findTargets(nowhereSchool, null, parseTime("1900-01-01T20:00:00Z"), ["Canopus"]).found.length,
    ).toBe(1);
  });
});

test("refuses a star so near to the mount's own pole that a cone error keeps the tube from it", () => {
  const mount = {
    ...nowhereSchool,
    site: { ...nowhereSchool.site, latitude: 58 },
    limits: {
      ...nowhereSchool.limits,
      altitudeDeg: 10,
      declinationDeg: [-90, 90] as const,
      hourAngleHours: [-12, 12] as const,
      horizon: [],
    },
  };
  const at = parseTime("2026-03-14T22:00:00Z");
  const standing = (cone: number) => ({
    mount,
    terms: [
      { name: "cone" as const, set: null, value: cone },
      { name: "trunnionSag" as const, set: null, value: 1 },
    ],
    covariance: [
      [0.01, 0],
      [0, 0.01],
    ],
  });
  // Polaris stood 0.62° from the pole in 2026 (precession; common knowledge, and test/sky).
  const [near] = findTargets(mount, standing(70), at, ["Polaris"]).found;
  expect(near!.refused?.code).toBe("out-of-reach");
  expect(near!.refused?.message).toContain("70′");
  expect(near!.predicted).toBeNull();
  const [far] = findTargets(mount, standing(20), at, ["Polaris"]).found;
  expect(far!.refused).toBeNull();
  const list = classList(mount, standing(70), at, at + 3_600_000, ["Polaris", "Kochab"]);
  expect(list.entries.map((entry) => entry.target)).toEqual(["Kochab"]);
  expect(list.notShown[0]!.why).toContain("70′");
});
