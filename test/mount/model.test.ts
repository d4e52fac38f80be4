import { describe, expect, it } from "vitest";
import { ARCMINUTE, DEGREE, wrapHalfTurn } from "../../src/angles.js";
import { BUILT_IN_COUNT, mountModel, type Stance } from "../../src/mount/model.js";
import { termNames } from "../../src/mount/terms.js";
import { fromSpherical, rotate, separation, type Vector } from "../../src/vectors.js";
import { seededRandom } from "../support/random.js";

const TERM_SIZES_ARCMIN = [600, -900, 40, -70, 20, -15, 5, 3, 2, 4, -3, 5, 2, 3, -4, 6, 3];

function coefficientsFrom(arcminutes: readonly number[]): Float64Array {
  return Float64Array.from(arcminutes, (value) => value * ARCMINUTE);
}

function randomCoefficients(random: () => number): Float64Array {
  return coefficientsFrom(TERM_SIZES_ARCMIN.map((size) => size * (2 * random() - 1)));
}

const LATITUDES_DEG = [-89, -60, -29.37, -0.001, 0, 0.001, 12, 46.1, 65, 89];

describe("the rigorous mount model", () => {
  it("follows the rotations of design: against a plain rotation-matrix computation", () => {
    // The same chain written with vectors and rotations only (Rodrigues), and the axis angles found by a search
    // that knows nothing of the closed formulas.
    const random = seededRandom(11);
    const TOLERANCE_RAD = 1e-12;
    for (const latitudeDeg of LATITUDES_DEG) {
      const latitude = latitudeDeg * DEGREE;
      const elevated = latitude >= 0 ? 1 : -1;
      const model = mountModel(latitude);
      const out = new Float64Array(2);
      for (let k = 0; k < 200; k++) {
        const c = new Float64Array(BUILT_IN_COUNT);
        const all = randomCoefficients(random);
        for (let i = 2; i <= 6; i++) c[i] = all[i]!;
        const h = (2 * random() - 1) * Math.PI;
        const delta = (2 * random() - 1) * 85 * DEGREE;
        const beyond = random() < 0.3;
        model.forward(c, h, delta, { beyond, hourAngleApproach: 0, declinationApproach: 0 }, out);
        // Point the telescope at these axis angles and see where it looks.
        const shaft: Vector = [
          Math.cos(c[4]!) * Math.cos(out[1]!),
          Math.sin(c[4]!),
          Math.cos(c[4]!) * Math.sin(out[1]!),
        ];
        const onAxis = rotate(rotate(shaft, [-c[5]!, 0, 0]), [0, 0, -out[0]!]);
        const tube = rotate(onAxis, [-elevated * c[3]!, elevated * c[2]!, 0]);
        const star = fromSpherical(-h, delta);
        const up: Vector = [Math.cos(latitude), 0, Math.sin(latitude)];
        const rise = up[0] * star[0] + up[2] * star[2];
        const needed: Vector = [
          star[0] + c[6]! * (up[0] - rise * star[0]),
          star[1] - c[6]! * rise * star[1],
          star[2] + c[6]! * (up[2] - rise * star[2]),
        ];
        expect(separation(tube, needed)).toBeLessThan(TOLERANCE_RAD);
        expect(Math.cos(out[1]!) >= 0).toBe(!beyond);
      }
    }
  });

  it("closes from readings to direction to readings within 1e-9 rad on the sky", () => {
    const TOLERANCE_RAD = 1e-9;
    const random = seededRandom(5);
    const out = new Float64Array(2);
    let worst = 0;
    for (const latitudeDeg of LATITUDES_DEG) {
      const model = mountModel(latitudeDeg * DEGREE);
      for (let k = 0; k < 3000; k++) {
        const c = randomCoefficients(random);
        // A tenth of the readings crowd towards the mount's poles, down to 1e-6 rad.
        const near = k % 10 === 0;
        const distance = 10 ** (-6 + 5 * random());
        const d = near ? (random() < 0.5 ? 1 : -1) * (Math.PI / 2 - distance) : Math.asin(2 * random() - 1);
        if (near) {
          c[8] = 0; // trunnion sag and ring sag have no meaning within their own size of the pole
          c[7] = 0;
        } else if (Math.abs(d) > 89 * DEGREE) continue;
        const stance: Stance = {
          beyond: false,
          hourAngleApproach: random() < 0.5 ? 1 : -1,
          declinationApproach: random() < 0.5 ? 1 : -1,
        };
        const readingH = (2 * random() - 1) * Math.PI;
        const beyondPole = latitudeDeg >= 0 ? Math.PI : -Math.PI;
        // Past the pole that is not elevated the axis's angle starts anew, half a turn away.
        const readingD = (k % 3 === 0 ? beyondPole - d : d) + c[1]!;
        if (near && Math.sign(d) !== Math.sign(beyondPole)) continue;
        const direction = model.inverse(c, readingH, readingD, stance);
        model.forward(
          c,
          direction.hourAngle,
          direction.declination,
          { ...stance, beyond: direction.beyond },
          out,
        );
        const error = Math.hypot(
          wrapHalfTurn(out[0]! - readingH) * Math.cos(readingD - c[1]!),
          wrapHalfTurn(out[1]! - readingD),
        );
        if (Math.abs(wrapHalfTurn(readingH - c[0]!)) < 179 * DEGREE) worst = Math.max(worst, error);
      }
    }
    expect(worst).toBeLessThan(TOLERANCE_RAD);
  });

  it("gives partial derivatives that agree with differences", () => {
    const STEP = 1e-6;
    const RELATIVE = 2e-7; // second differences of a step of 1e-6, times sec² of the declination
    const random = seededRandom(3);
    for (const latitudeDeg of LATITUDES_DEG) {
      const effect = {
        hourAngle: () => 0.3,
        declination: (v: { hourAngle: number }) => Math.sin(v.hourAngle),
      };
      const model = mountModel(latitudeDeg * DEGREE, [effect]);
      const out = new Float64Array(2);
      const partials = new Float64Array(2 * model.size);
      for (let k = 0; k < 100; k++) {
        const c = new Float64Array(model.size);
        c.set(randomCoefficients(random));
        c[BUILT_IN_COUNT] = 0.001;
        const h = (2 * random() - 1) * 2.9;
        const delta = (2 * random() - 1) * 80 * DEGREE;
        const stance: Stance = { beyond: random() < 0.3, hourAngleApproach: 1, declinationApproach: -1 };
        model.forward(c, h, delta, stance, out, partials);
        const secant = 1 / Math.cos(out[1]! - c[1]!) ** 2;
        for (let i = 0; i < model.size; i++) {
          const plus = Float64Array.from(c);
          const minus = Float64Array.from(c);
          plus[i]! += STEP;
          minus[i]! -= STEP;
          const a = new Float64Array(2);
          const b = new Float64Array(2);
          model.forward(plus, h, delta, stance, a);
          model.forward(minus, h, delta, stance, b);
          if (Math.abs(a[0]! - b[0]!) > 1) continue; // the hour angle wrapped between the two
          expect(Math.abs((a[0]! - b[0]!) / (2 * STEP) - partials[i]!)).toBeLessThan(RELATIVE * secant * 10);
          expect(Math.abs((a[1]! - b[1]!) / (2 * STEP) - partials[model.size + i]!)).toBeLessThan(
            RELATIVE * secant * 10,
          );
        }
      }
    }
  });

  it("has the first-order effects of each term, in both hemispheres", () => {
    // The table of first-order effects, derived by hand from the rotations.
    for (const latitudeDeg of [-29.37, 46.1]) {
      const phi = latitudeDeg * DEGREE;
      const sigma = phi >= 0 ? 1 : -1;
      const model = mountModel(phi);
      const h = 1.1;
      const delta = 0.6;
      const table: Record<string, [number, number]> = {
        polarAltitude: [sigma * Math.sin(h) * Math.tan(delta), sigma * Math.cos(h)],
        polarEast: [sigma * Math.cos(h) * Math.tan(delta), -sigma * Math.sin(h)],
        cone: [1 / Math.cos(delta), 0],
        squareness: [Math.tan(delta), 0],
        tubeSag: [
          (-Math.cos(phi) * Math.sin(h)) / Math.cos(delta),
          Math.sin(phi) * Math.cos(delta) - Math.cos(phi) * Math.sin(delta) * Math.cos(h),
        ],
        ringSag: [0, Math.cos(h)],
        trunnionSag: [Math.cos(phi) * Math.cos(h) + Math.sin(phi) * Math.tan(delta), 0],
      };
      const out = new Float64Array(2);
      const partials = new Float64Array(2 * model.size);
      model.forward(
        new Float64Array(model.size),
        h,
        delta,
        { beyond: false, hourAngleApproach: 0, declinationApproach: 0 },
        out,
        partials,
      );
      for (const [name, [onH, onD]] of Object.entries(table)) {
        const i = termNames.indexOf(name as (typeof termNames)[number]);
        expect(partials[i]).toBeCloseTo(onH, 12);
        expect(partials[model.size + i]).toBeCloseTo(onD, 12);
      }
    }
  });
});
