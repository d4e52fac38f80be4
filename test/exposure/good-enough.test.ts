import { describe, expect, it } from "vitest";
import { ARCMINUTE, DEGREE } from "../../src/angles.js";
import { jackTurns } from "../../src/base/jack-turns.js";
import type { InputError } from "../../src/errors.js";
import { goodEnough } from "../../src/exposure/good-enough.js";
import { pointingPlace, pointingUncertaintyMap, scatterBeyond } from "../../src/exposure/good-enough-map.js";
import { radiusHolding } from "../../src/exposure/good-enough-radius.js";
import { trueOrRefracted } from "../../src/exposure/true-or-refracted.js";
import type { MountFit } from "../../src/fit/fit-result.js";
import { fitMount } from "../../src/fit/mount-fit.js";
import { normalStance } from "../../src/mount/model.js";
import type { Mount } from "../../src/mount/mount.js";
import { parseMount } from "../../src/mount/mount-file.js";
import type { TermName } from "../../src/mount/terms.js";
import { fieldOfCamera, fieldOfEyepiece } from "../../src/pointing/field.js";
import { skyPointAt } from "../../src/pointing/field-sky.js";
import { knownMount } from "../../src/pointing/known-mount.js";
import { gaussian, seededRandom } from "../../src/simulate/random.js";
import { simulateNight } from "../../src/simulate/simulate-night.js";
import { nowhereFile } from "../support/nowhere-school-evening.js";

// Its limits are the usual ones, unless a test says otherwise.
const { limits: _, ...school40 } = nowhereFile;
const school = (more: object = {}): Mount => parseMount({ ...school40, ...more });

const FROM_MS = Date.UTC(2026, 2, 14, 18);

function nightFit(
  mount: Mount,
  terms: Partial<Record<TermName, number>>,
  sightings: number,
  seed = 4,
): MountFit {
  const { mount: written, sightings: rows } = simulateNight({
    seed,
    mount,
    terms: {
      hourAngleZero: 140,
      declinationZero: -90,
      cone: 8,
      squareness: -5,
      tubeSag: 1.5,
      ringSag: 0.8,
      ...terms,
    },
    targets: sightings,
    fromMs: FROM_MS,
    toMs: FROM_MS + 3 * 3_600_000,
  });
  return fitMount({ mount: written, sightings: rows });
}

describe("the radius that holds a part of all pointings", () => {
  it("is Rayleigh's for equal errors both ways, the normal's for one way", () => {
    // √(−2 ln 0.05) = 2.4477; 1.95996 (Abramowitz and Stegun, table 26.1).
    expect(radiusHolding(0.95, 1, 1)).toBeCloseTo(2.44775, 4);
    expect(radiusHolding(0.95, 4, 0)).toBeCloseTo(2 * 1.95996, 1);
    expect(radiusHolding(0.95, 0, 0)).toBe(0);
  });

  it("holds that part of seeded draws with unequal, correlated errors", () => {
    const random = seededRandom(12);
    const DRAWS = 40_000;
    // x = a, y = 0.6 a + 0.3 b.
    const radius = radiusHolding(0.95, 1, 0.36 + 0.09, 0.6);
    let inside = 0;
    for (let k = 0; k < DRAWS; k++) {
      const a = gaussian(random);
      const b = gaussian(random);
      if (Math.hypot(a, 0.6 * a + 0.3 * b) <= radius) inside++;
    }
    // Three binomial standard deviations: 3 √(0.95 · 0.05 / 40000) = 0.33 %.
    expect(Math.abs(inside / DRAWS - 0.95)).toBeLessThan(0.0033);
  });
});

describe("the map of pointing uncertainty", () => {
  const fit = nightFit(school(), { polarAltitude: 6, polarEast: -4 }, 16);

  it("holds 19 of 20 pointings of mounts drawn from the fit's covariance, through the exact model", () => {
    const known = knownMount(fit);
    const random = seededRandom(9);
    const DRAWS = 4000;
    const size = fit.terms.length;
    // Cholesky's factor, written out, so that draws have the covariance of the fit.
    const lower = Array.from({ length: size }, () => new Array<number>(size).fill(0));
    for (let i = 0; i < size; i++) {
      for (let j = 0; j <= i; j++) {
        let sum = fit.covariance[i]![j]!;
        for (let k = 0; k < j; k++) sum -= lower[i]![k]! * lower[j]![k]!;
        lower[i]![j] = i === j ? Math.sqrt(sum) : sum / lower[j]![j]!;
      }
    }
    const out = new Float64Array(2);
    const step = 360 / 16384;
    for (const [hours, declinationDeg] of [
      [-4, -40],
      [1, 10],
      [3, -75],
    ] as const) {
      const place = pointingPlace(known, skyPointAt(15 * hours, declinationDeg, -30));
      const h = 15 * hours * DEGREE;
      const d = declinationDeg * DEGREE;
      known.model.forward(known.coefficients, h, d, normalStance, out);
      let inside = 0;
      for (let draw = 0; draw < DRAWS; draw++) {
        const normals = Array.from({ length: size }, () => gaussian(random));
        const truth = Float64Array.from(known.coefficients);
        for (let i = 0; i < size; i++) {
          const change = normals.reduce((sum, value, k) => sum + lower[i]![k]! * value, 0);
          truth[known.places[i]!]! += change * ARCMINUTE;
        }
        // The axes stop anywhere within a step of what was asked for.
        const seen = known.model.inverse(
          truth,
          out[0]! + (random() - 0.5) * step * DEGREE,
          out[1]! + (random() - 0.5) * step * DEGREE,
          normalStance,
        );
        const west = (seen.hourAngle - h) * Math.cos(d);
        if (Math.hypot(west, seen.declination - d) <= place.within95 * ARCMINUTE) inside++;
      }
      // Four binomial standard deviations of 4000 draws are 1.4 %; steps are uniform, not normal: a little safer.
      expect(inside / DRAWS).toBeGreaterThan(0.936);
      expect(inside / DRAWS).toBeLessThan(0.972);
    }
  });

  it("is what the figure of the sky takes, and its worst place is the worst", () => {
    const map = pointingUncertaintyMap(fit, { field: fieldOfCamera(fit.mount.camera!) });
    expect(map.arcmin).toHaveLength(map.altitudesDeg.length);
    expect(map.arcmin.every((row) => row.length === map.azimuthsDeg.length)).toBe(true);
    expect(map.arcmin.flat().every((value) => value > 0 && value < 60)).toBe(true);
    expect(map.worst.within95).toBe(Math.max(...map.places.map((place) => place.within95)));
    // Half of 5.4 mm at 1800 mm: 5.157′.
    expect(map.halfFieldArcmin).toBeCloseTo(5.157, 3);
    expect(map.partInside).toBeGreaterThan(0.9);
  });

  it("counts scatter beyond the expected only when chance does not explain it", () => {
    expect(scatterBeyond({ skyRms: { found: 2, expected: 1 }, chiSquare: { probability: 0.2 } })).toBe(0);
    expect(
      scatterBeyond({ skyRms: { found: 2, expected: 1 }, chiSquare: { probability: 0.001 } }),
    ).toBeCloseTo(Math.sqrt(1.5), 12);
  });
});

describe("good enough?", () => {
  it("with the axis far out: one more round at the base, and the gain comes true on the next night", () => {
    const mount = school();
    const before = { polarAltitude: 14, polarEast: -19 };
    const fit = nightFit(mount, before, 22);
    const turns = jackTurns(fit);
    const asked = { exposureS: 30, smearLimit: 2, turns };
    const answer = goodEnough(fit, asked);
    expect(answer).toMatchObject({ verdict: "turn", by: "turns", goodEnough: false });
    expect(answer.cautions.length).toBeGreaterThan(4);
    expect(answer.sentence).toContain("after the turns");
    expect(answer.holding.after!.mostS).toBeGreaterThan(2 * answer.holding.now.mostS);
    // What the turns really do: the change they promise, applied to the truth.
    const after = {
      polarAltitude: before.polarAltitude + turns.after.altitude - fit.pole.altitude.value,
      polarEast: before.polarEast + turns.after.east - fit.pole.east.value,
    };
    const next = goodEnough(nightFit(mount, after, 22, 5), { exposureS: 30, smearLimit: 2 });
    expect(next).toMatchObject({ verdict: "stop", goodEnough: true });
    // The next night's sags and axis are known to about an arcminute: exposures agree to a third.
    expect(next.holding.now.mostS / answer.holding.after!.mostS).toBeGreaterThan(0.6);
    expect(next.holding.now.mostS / answer.holding.after!.mostS).toBeLessThan(1.6);
  });

  it("for a short exposure: good enough, though the axis is out and worth turning", () => {
    const answer = goodEnough(nightFit(school(), { polarAltitude: 14, polarEast: -19 }, 22), {
      exposureS: 2,
    });
    // The exposure asked for does not change what turns and rounds say of the same night.
    expect(answer).toMatchObject({ verdict: "turn", by: "turns", goodEnough: true });
    expect(answer.sentence).toMatch(/^It is good enough as it stands, and another round/);
  });

  it("guided, asks for less: only the picture's turning counts", () => {
    const fit = nightFit(school(), { polarAltitude: 14, polarEast: -19 }, 22);
    expect(goodEnough(fit, { exposureS: 120 }).goodEnough).toBe(false);
    expect(goodEnough(fit, { exposureS: 60, guided: true }).goodEnough).toBe(true);
  });

  it("with few sightings and a narrow field: more sightings, and about as many as said suffice", () => {
    const narrow = { camera: { focalLengthMm: 1800, widthMm: 3.6, heightMm: 2.7, pixelUm: 4 } };
    const fit = nightFit(school(narrow), { polarAltitude: 1, polarEast: 1 }, 6);
    const answer = goodEnough(fit, { exposureS: 1 });
    expect(answer).toMatchObject({ verdict: "stop", by: "sightings" });
    const missing = answer.finding.sightingsMissing!;
    expect(missing).toBeGreaterThan(2);
    expect(missing).toBeLessThan(150);
    // Twice as many leave chance and the choice of stars no excuse.
    const more = goodEnough(nightFit(school(narrow), { polarAltitude: 1, polarEast: 1 }, 6 + 2 * missing), {
      exposureS: 1,
    });
    expect(more.finding.worstWithin95).toBeLessThan(answer.finding.worstWithin95);
    expect(more.finding.enough).toBe(true);
  });

  it("with encoders coarser than the field: stop, for more sightings gain nothing", () => {
    const coarse = {
      readings: {
        hourAngle: { as: "counts", perTurn: 2000, sense: 1 },
        declination: { as: "counts", perTurn: 2000, sense: -1 },
      },
      camera: { focalLengthMm: 1800, widthMm: 3.6, heightMm: 2.7, pixelUm: 4 },
    };
    // A step of 10.8′, 3.1′ of standard deviation, against half a field of 2.6′.
    const answer = goodEnough(nightFit(school(coarse), {}, 20), { exposureS: 1 });
    expect(answer).toMatchObject({ verdict: "stop", goodEnough: false });
    expect(answer.finding.sightingsMissing).toBeNull();
    expect(answer.sentence).toContain("More sightings gain nothing");
  });

  it("asks for an unsound fit to be mended, and for a field where there is none", () => {
    const fit = nightFit(school(), {}, 16);
    expect(goodEnough({ ...fit, sound: false })).toMatchObject({
      verdict: "unsound",
      goodEnough: false,
      by: null,
    });
    const without = { ...fit, mount: { ...fit.mount, camera: null } };
    let codes: string[] = [];
    try {
      goodEnough(without);
    } catch (problem) {
      codes = (problem as InputError).faults.map((fault) => fault.code);
    }
    expect(codes).toEqual(["no-field"]);
    expect(goodEnough(without, { field: fieldOfEyepiece(0.8) }).holding.unit).toBe("arcsec");
  });

  it("serves the north as well", () => {
    const north = school({
      site: { latitude: 52, longitude: 5, heightM: 20, pressureHPa: 1010, temperatureC: 5 },
    });
    const fit = nightFit(north, { polarAltitude: -20, polarEast: 12 }, 18);
    const answer = goodEnough(fit, { exposureS: 30, turns: jackTurns(fit) });
    expect(answer).toMatchObject({ verdict: "turn", by: "turns" });
  });
});

describe("the true pole or the refracted one", () => {
  it("raises the axis by the refraction at the pole's altitude, and says what that changes", () => {
    const found = trueOrRefracted(school(), { field: fieldOfCamera(school().camera!), exposureS: 60 });
    // Nautical Almanac (from memory): 1.7′ at 30° and 1010 hPa, 10 °C; 900 hPa makes 1.53′ of it.
    expect(Math.abs(found.raisedArcmin - 1.7 * (900 / 1010) * (283 / 285))).toBeLessThan(0.06);
    expect(found.truePole.mostS).toBeGreaterThan(30);
    expect(found.refractedPole.mostS).toBeGreaterThan(30);
    expect(found.sentence).toContain("refracted");
    expect(["true", "refracted"]).toContain(found.better);
  });

  it("changes nothing without air", () => {
    const vacuum = school({
      site: { latitude: 52, longitude: 5, heightM: 20, pressureHPa: 0, temperatureC: 5 },
    });
    const found = trueOrRefracted(vacuum, { field: fieldOfCamera(vacuum.camera!) });
    expect(found.raisedArcmin).toBe(0);
    expect(found.better).toBe("true");
    expect(found.truePole.mostS).toBe(found.refractedPole.mostS);
  });
});
