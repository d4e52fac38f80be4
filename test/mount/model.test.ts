import { describe, expect, it } from "vitest";
import { ARCMINUTE, DEGREE, TURN, wrapHalfTurn } from "../../src/angles.js";
import {
  BUILT_IN_COUNT,
  CONE,
  type CustomEffect,
  type CustomVariables,
  DECLINATION_ZERO,
  HOUR_ANGLE_ZERO,
  mountModel,
  normalStance,
  POLAR_ALTITUDE,
  POLAR_EAST,
  SQUARENESS,
  type Stance,
  TUBE_SAG,
} from "../../src/mount/model.js";
import { isOfCause, termNames, termPlace } from "../../src/mount/terms.js";
import { seededRandom } from "../../src/simulate/random.js";
import { horizonFromHourAngle } from "../../src/sky/horizon-frame.js";
import { cross, fromSpherical, length, rotate, scale, separation, type Vector } from "../../src/vectors.js";

const DECLINATION_BACKLASH = termPlace("declinationBacklash");
const DECLINATION_ECCENTRIC_COS = termPlace("declinationEccentricCos");
const DECLINATION_ECCENTRIC_SIN = termPlace("declinationEccentricSin");
const DECLINATION_SCALE = termPlace("declinationScale");
const HOUR_ANGLE_BACKLASH = termPlace("hourAngleBacklash");
const HOUR_ANGLE_ECCENTRIC_COS = termPlace("hourAngleEccentricCos");
const HOUR_ANGLE_ECCENTRIC_SIN = termPlace("hourAngleEccentricSin");
const HOUR_ANGLE_SCALE = termPlace("hourAngleScale");
const RING_SAG = termPlace("ringSag");
const TRUNNION_SAG = termPlace("trunnionSag");

const TERM_SIZES_ARCMIN = [
  600, -900, 40, -70, 20, -15, 5, 3, 2, 4, -3, 5, 2, 3, -4, 6, 3, 2, -1, 4, -3, 2, 3,
];

function coefficientsFrom(arcminutes: readonly number[]): Float64Array {
  return Float64Array.from(arcminutes, (value) => value * ARCMINUTE);
}

function randomCoefficients(random: () => number): Float64Array {
  return coefficientsFrom(TERM_SIZES_ARCMIN.map((size) => size * (2 * random() - 1)));
}

const LATITUDES_DEG = [-89, -60, -30, -0.001, 0, 0.001, 12, 46.1, 65, 89];

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
          progress: -random(),
        };
        const readingH = (2 * random() - 1) * Math.PI;
        // Within a step at the meridian two directions have one reading, or none has it.
        if (Math.abs(wrapHalfTurn(readingH - c[0]!)) < 20 * ARCMINUTE) {
          c[termPlace("hourAngleMeridianStep")] = 0;
          c[termPlace("declinationMeridianStep")] = 0;
        }
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
        const stance: Stance = {
          beyond: random() < 0.3,
          hourAngleApproach: 1,
          declinationApproach: -1,
          progress: -0.4,
        };
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

  it.each([
    [-30, 1.1, 0.6],
    [46.1, 1.1, 0.6],
    [46.1, -0.8, -0.3],
    [-52, -1.4, -0.9],
  ])(
    "has the first-order effects of each term: latitude %f°, hour angle %f, declination %f",
    (degrees, h, delta) => {
      // The table of first-order effects, derived by hand from the rotations; the rest as the terms are defined.
      const phi = degrees * DEGREE;
      const sigma = phi >= 0 ? 1 : -1;
      const model = mountModel(phi);
      const progress = -0.3;
      const west = Math.sign(h);
      const polarAltitude: [number, number] = [sigma * Math.sin(h) * Math.tan(delta), sigma * Math.cos(h)];
      const polarEast: [number, number] = [sigma * Math.cos(h) * Math.tan(delta), -sigma * Math.sin(h)];
      const table: Record<(typeof termNames)[number], [number, number]> = {
        hourAngleZero: [1, 0],
        declinationZero: [0, 1],
        polarAltitude,
        polarEast,
        cone: [1 / Math.cos(delta), 0],
        squareness: [Math.tan(delta), 0],
        tubeSag: [
          (-Math.cos(phi) * Math.sin(h)) / Math.cos(delta),
          Math.sin(phi) * Math.cos(delta) - Math.cos(phi) * Math.sin(delta) * Math.cos(h),
        ],
        ringSag: [0, Math.cos(h)],
        trunnionSag: [Math.cos(phi) * Math.cos(h) + Math.sin(phi) * Math.tan(delta), 0],
        hourAngleEccentricSin: [Math.sin(h), 0],
        hourAngleEccentricCos: [Math.cos(h), 0],
        declinationEccentricSin: [0, Math.sin(delta)],
        declinationEccentricCos: [0, Math.cos(delta)],
        hourAngleScale: [h, 0],
        declinationScale: [0, delta],
        // The whole play: half of it ahead, half of it behind.
        hourAngleBacklash: [0.5, 0],
        declinationBacklash: [0, -0.5],
        hourAngleMeridianStep: [west, 0],
        declinationMeridianStep: [0, west],
        hourAngleCreep: [progress, 0],
        declinationCreep: [0, progress],
        polarAltitudeRate: [progress * polarAltitude[0], progress * polarAltitude[1]],
        polarEastRate: [progress * polarEast[0], progress * polarEast[1]],
      };
      const out = new Float64Array(2);
      const partials = new Float64Array(2 * model.size);
      model.forward(
        new Float64Array(model.size),
        h,
        delta,
        { beyond: false, hourAngleApproach: 1, declinationApproach: -1, progress },
        out,
        partials,
      );
      expect(Object.keys(table)).toEqual([...termNames]);
      termNames.forEach((name, i) => {
        const [onH, onD] = table[name];
        expect(partials[i], name).toBeCloseTo(onH, 12);
        expect(partials[model.size + i], name).toBeCloseTo(onD, 12);
      });
    },
  );
});

/** Readings by vectors and rotations only: where a telescope of these axis angles looks, and where it must look. */
function missOfRotations(
  c: Float64Array,
  out: Float64Array,
  h: number,
  delta: number,
  latitude: number,
): number {
  const elevated = latitude >= 0 ? 1 : -1;
  const shaft = rotate(fromSpherical(0, 0), [0, 0, c[4]!]);
  const onD = rotate(shaft, [0, -out[1]!, 0]);
  const tube = rotate(rotate(rotate(onD, [-c[5]!, 0, 0]), [0, 0, -out[0]!]), [
    -elevated * c[3]!,
    elevated * c[2]!,
    0,
  ]);
  const star = fromSpherical(-h, delta);
  const zenith = fromSpherical(0, latitude);
  // The shaft stands above the star by atan(sag · sin z) in the vertical circle.
  const across = cross(star, zenith);
  const sine = length(across);
  const rise = sine === 0 ? 0 : Math.atan(c[6]! * sine);
  return separation(tube, sine === 0 ? star : rotate(star, scale(across, rise / sine)));
}

describe("the model where the usual nights do not go", () => {
  const unknownWay: Stance = { beyond: false, hourAngleApproach: 0, declinationApproach: 0 };

  it("keeps each term at the place of its name (exact identity)", () => {
    expect(
      [
        ["hourAngleZero", HOUR_ANGLE_ZERO],
        ["declinationZero", DECLINATION_ZERO],
        ["polarAltitude", POLAR_ALTITUDE],
        ["polarEast", POLAR_EAST],
        ["cone", CONE],
        ["squareness", SQUARENESS],
        ["tubeSag", TUBE_SAG],
        ["ringSag", RING_SAG],
        ["trunnionSag", TRUNNION_SAG],
        ["hourAngleEccentricSin", HOUR_ANGLE_ECCENTRIC_SIN],
        ["hourAngleEccentricCos", HOUR_ANGLE_ECCENTRIC_COS],
        ["declinationEccentricSin", DECLINATION_ECCENTRIC_SIN],
        ["declinationEccentricCos", DECLINATION_ECCENTRIC_COS],
        ["hourAngleScale", HOUR_ANGLE_SCALE],
        ["declinationScale", DECLINATION_SCALE],
        ["hourAngleBacklash", HOUR_ANGLE_BACKLASH],
        ["declinationBacklash", DECLINATION_BACKLASH],
        ["hourAngleMeridianStep", 17],
        ["declinationMeridianStep", 18],
        ["hourAngleCreep", 19],
        ["declinationCreep", 20],
        ["polarAltitudeRate", 21],
        ["polarEastRate", 22],
      ].map(([name, place]) => termNames[place as number] === name),
    ).toEqual(new Array(BUILT_IN_COUNT).fill(true));
  });

  it("follows the rotations with polar errors so small that series stand for them, and with errors of degrees", () => {
    const random = seededRandom(17);
    const out = new Float64Array(2);
    for (const size of [1e-9, 1e-6, 3e-5, 9.9e-5, 1.01e-4, 0.1]) {
      for (const latitudeDeg of [-30, 46.1]) {
        const latitude = latitudeDeg * DEGREE;
        const model = mountModel(latitude);
        for (let k = 0; k < 30; k++) {
          const c = new Float64Array(BUILT_IN_COUNT);
          for (let i = POLAR_ALTITUDE; i <= TUBE_SAG; i++) c[i] = size * (2 * random() - 1);
          const h = (2 * random() - 1) * 3;
          const delta = (2 * random() - 1) * 60 * DEGREE;
          model.forward(c, h, delta, unknownWay, out);
          expect(missOfRotations(c, out, h, delta, latitude)).toBeLessThan(2e-15);
          const back = model.inverse(c, out[0]!, out[1]!, unknownWay);
          expect(Math.abs(wrapHalfTurn(back.hourAngle - h))).toBeLessThan(4e-15);
          expect(Math.abs(back.declination - delta)).toBeLessThan(4e-15);
        }
      }
    }
  });

  it("gives partial derivatives that agree with differences for errors of degrees, and for polar errors of seconds", () => {
    const STEP = 1e-5;
    const random = seededRandom(19);
    for (const [polar, rest] of [
      [6e-5, 0.001],
      [0.1, 0.09],
    ] as const) {
      for (const latitudeDeg of [-30, 46.1]) {
        const model = mountModel(latitudeDeg * DEGREE);
        for (let k = 0; k < 20; k++) {
          const c = Float64Array.from({ length: model.size }, (_, i) =>
            i === POLAR_ALTITUDE || i === POLAR_EAST ? polar * (2 * random() - 1) : rest * (2 * random() - 1),
          );
          const h = (2 * random() - 1) * 2;
          const delta = (2 * random() - 1) * 40 * DEGREE;
          const stance: Stance = {
            beyond: k % 2 === 1,
            hourAngleApproach: 1,
            declinationApproach: -1,
            progress: -0.4,
          };
          // Whatever stood in the place for the derivatives before must not stay.
          const partials = new Float64Array(2 * model.size).fill(Number.NaN);
          model.forward(c, h, delta, stance, new Float64Array(2), partials);
          for (let i = 0; i < model.size; i++) {
            // Central differences of two steps, extrapolated: what is left is of the fourth order.
            const slope = (step: number): [number, number] => {
              const [plus, minus] = [step, -step].map((way) => {
                const moved = Float64Array.from(c);
                moved[i]! += way;
                const out = new Float64Array(2);
                model.forward(moved, h, delta, stance, out);
                return out;
              }) as [Float64Array, Float64Array];
              return [
                wrapHalfTurn(plus[0]! - minus[0]!) / (2 * step),
                wrapHalfTurn(plus[1]! - minus[1]!) / (2 * step),
              ];
            };
            const [fine, coarse] = [slope(10 * STEP), slope(20 * STEP)];
            for (const axis of [0, 1] as const) {
              const difference = (4 * fine[axis] - coarse[axis]) / 3;
              expect(Math.abs(difference - partials[axis * model.size + i]!)).toBeLessThan(3e-10);
            }
          }
        }
      }
    }
  });

  it("has no effect of a backlash, and no slope, where the last movement is not known", () => {
    const model = mountModel(0.8);
    const c = new Float64Array(model.size);
    c[HOUR_ANGLE_BACKLASH] = 0.01;
    c[DECLINATION_BACKLASH] = 0.01;
    const out = new Float64Array(2);
    const partials = new Float64Array(2 * model.size);
    model.forward(c, 0.5, 0.3, unknownWay, out, partials);
    expect(out[0]).toBeCloseTo(0.5, 15);
    expect(out[1]).toBeCloseTo(0.3, 15);
    expect(partials[HOUR_ANGLE_BACKLASH]).toBe(0);
    expect(partials[model.size + DECLINATION_BACKLASH]).toBe(0);
    const back = model.inverse(c, 0.5, 0.3, unknownWay);
    expect(back.hourAngle).toBeCloseTo(0.5, 15);
    expect(back.declination).toBeCloseTo(0.3, 15);
  });

  it("turns the tube on past the elevated pole, in either hemisphere (definition of D)", () => {
    const out = new Float64Array(2);
    for (const sign of [1, -1]) {
      const model = mountModel(sign * 0.8);
      const beyond: Stance = { ...unknownWay, beyond: true };
      for (const [declinationDeg, axisDeg] of [
        [80, 100],
        [10, 170],
        [-70, 250],
      ] as const) {
        model.forward(new Float64Array(model.size), 0.4, sign * declinationDeg * DEGREE, beyond, out);
        expect(out[1]! / DEGREE).toBeCloseTo(sign * axisDeg, 11);
        expect(out[0]).toBeCloseTo(0.4 - Math.PI, 12);
      }
    }
  });

  it("gives numbers on the mount's own pole, where no hour angle is defined: those of H = 0", () => {
    for (const sign of [1, -1]) {
      for (const beyond of [false, true]) {
        const model = mountModel(sign * 0.8);
        const c = new Float64Array(model.size);
        c[HOUR_ANGLE_ECCENTRIC_SIN] = 0.01;
        c[HOUR_ANGLE_ECCENTRIC_COS] = 0.02;
        c[RING_SAG] = 0.004;
        const out = new Float64Array(2);
        const partials = new Float64Array(2 * model.size);
        model.forwardVector(c, 0, 0, sign, { ...unknownWay, beyond }, out, partials);
        expect(Math.abs(wrapHalfTurn(out[0]! - 0.02))).toBeLessThan(1e-15);
        expect(out[1]).toBeCloseTo((sign * Math.PI) / 2 + 0.004, 15);
        for (const slope of partials) expect(Number.isFinite(slope)).toBe(true);
      }
    }
  });

  it("comes as near as it can to a star that a cone error keeps it from, and has no slopes there", () => {
    const model = mountModel(0.8);
    const c = new Float64Array(model.size);
    c[CONE] = 0.01;
    const out = new Float64Array(2);
    const partials = new Float64Array(2 * model.size);
    model.forward(c, 1, Math.PI / 2 - 0.002, unknownWay, out, partials);
    expect(out[1]).toBeCloseTo(Math.PI / 2, 12);
    for (const term of [POLAR_ALTITUDE, POLAR_EAST, CONE, SQUARENESS, TUBE_SAG]) {
      expect(Math.abs(partials[term]!)).toBe(0);
      expect(Math.abs(partials[model.size + term]!)).toBe(0);
    }
  });

  it("cuts slopes off within 3.4′ of the mount's pole, on either side of it, and never turns their sign", () => {
    const model = mountModel(0.8);
    const c = new Float64Array(model.size);
    for (const beyond of [false, true]) {
      const partials = new Float64Array(2 * model.size);
      const stance = { ...unknownWay, beyond };
      model.forward(c, 0.6, Math.PI / 2 - ARCMINUTE, stance, new Float64Array(2), partials);
      // The first-order effect σ cos H on D, times cos D over the cosine where slopes are cut off.
      const whole = Math.cos(beyond ? 0.6 - Math.PI : 0.6);
      const slope = partials[model.size + POLAR_ALTITUDE]!;
      expect(slope / whole).toBeGreaterThan(0.2);
      expect(slope / whole).toBeLessThan(0.4);
    }
  });

  it("looks to the zenith, where a sag has no direction", () => {
    const c = new Float64Array(BUILT_IN_COUNT);
    c[TUBE_SAG] = 0.003;
    const { hourAngle, declination, beyond } = mountModel(0).inverse(c, 0, 0, unknownWay);
    expect(Math.abs(hourAngle)).toBe(0);
    expect(Math.abs(declination)).toBe(0);
    expect(beyond).toBe(false);
  });

  it("takes a reading of a turn more or less for the same place, errors of scale or no", () => {
    for (const latitude of [0.8, -0.8]) {
      const model = mountModel(latitude);
      const c = new Float64Array(model.size);
      c[HOUR_ANGLE_SCALE] = 0.001;
      c[DECLINATION_SCALE] = -0.002;
      for (const d of [0.3, -0.9]) {
        const here = model.inverse(c, 1, d, unknownWay);
        for (const turns of [-2, -1, 1, 2]) {
          const there = model.inverse(c, 1 + turns * TURN, d + turns * TURN, unknownWay);
          expect(there.hourAngle).toBeCloseTo(here.hourAngle, 13);
          expect(there.declination).toBeCloseTo(here.declination, 13);
        }
      }
    }
  });
});

describe("a builder's own terms", () => {
  it("are given the star's direction: altitude and azimuth of ERFA's hd2ae", () => {
    // ERFA test suite t_erfa_c, hd2ae(1.1, 1.2, 0.3) (from memory).
    let given: CustomVariables | undefined;
    const model = mountModel(0.3, [
      {
        hourAngle: (variables) => {
          given = variables;
          return 0;
        },
        declination: () => 0,
      },
    ]);
    model.forward(new Float64Array(model.size), 1.1, 1.2, normalStance, new Float64Array(2));
    expect(given!.azimuth).toBeCloseTo(5.916889243730066, 13);
    expect(given!.altitude).toBeCloseTo(0.4472186304990486, 14);
    expect(given!.hourAngle).toBeCloseTo(1.1, 14);
    expect(given!.declination).toBeCloseTo(1.2, 14);
    expect(given!.latitude).toBe(0.3);
    // Rising, the azimuth is below half a turn, not negative.
    model.forward(new Float64Array(model.size), -1.1, 1.2, normalStance, new Float64Array(2));
    expect(given!.azimuth).toBeCloseTo(TURN - 5.916889243730066, 13);
    // Due north is 0, not a whole turn.
    model.forward(new Float64Array(model.size), 0, 1.2, normalStance, new Float64Array(2));
    expect(Math.abs(given!.azimuth)).toBe(0);
  });

  it("add up, each with its own coefficient and its own slopes, and are taken off again by the inverse", () => {
    const effects: CustomEffect[] = [
      { hourAngle: (v) => Math.sin(2 * v.hourAngle), declination: (v) => Math.cos(v.altitude) },
      { hourAngle: (v) => Math.cos(v.azimuth), declination: (v) => 1 + Math.sin(v.declination) },
    ];
    const model = mountModel(-30 * DEGREE, effects);
    expect(model.size).toBe(BUILT_IN_COUNT + 2);
    const random = seededRandom(23);
    const plain = mountModel(-30 * DEGREE);
    for (let k = 0; k < 50; k++) {
      const c = new Float64Array(model.size);
      c.set(randomCoefficients(random));
      c[BUILT_IN_COUNT] = 0.004;
      c[BUILT_IN_COUNT + 1] = -0.007;
      const h = (2 * random() - 1) * 2.5;
      const delta = (2 * random() - 1) * 60 * DEGREE;
      const out = new Float64Array(2);
      const without = new Float64Array(2);
      const partials = new Float64Array(2 * model.size);
      model.forward(c, h, delta, normalStance, out, partials);
      plain.forward(c, h, delta, normalStance, without);
      const at = horizonFromHourAngle(h, delta, -30 * DEGREE);
      const onH = [Math.sin(2 * h), Math.cos(at.azimuth)];
      const onD = [Math.cos(at.altitude), 1 + Math.sin(delta)];
      expect(out[0]! - without[0]!).toBeCloseTo(0.004 * onH[0]! - 0.007 * onH[1]!, 13);
      expect(out[1]! - without[1]!).toBeCloseTo(0.004 * onD[0]! - 0.007 * onD[1]!, 13);
      for (const own of [0, 1]) {
        expect(partials[BUILT_IN_COUNT + own]).toBeCloseTo(onH[own]!, 13);
        expect(partials[model.size + BUILT_IN_COUNT + own]).toBeCloseTo(onD[own]!, 13);
      }
      const back = model.inverse(c, out[0]!, out[1]!, normalStance);
      expect(Math.abs(wrapHalfTurn(back.hourAngle - h)) * Math.cos(delta)).toBeLessThan(1e-13);
      expect(Math.abs(back.declination - delta)).toBeLessThan(1e-13);
      expect(back.beyond).toBe(false);
    }
  });
});

it("knows which terms belong to a cause that acts on some nights only: no builder's own", () => {
  expect(isOfCause("hourAngleScale")).toBe(true);
  expect(isOfCause("polarEastRate")).toBe(true);
  expect(isOfCause("cone")).toBe(false);
  expect(isOfCause("customFork")).toBe(false);
});

describe("where the tube cannot be brought", () => {
  // Exact identity: the tube, at c from the plane across the declination shaft, and the shaft, at n from the equator of
  // the mount, come no nearer to the mount's own pole than |c + n| in the north and |c − n| in the south.
  const minute = Math.PI / 180 / 60;
  for (const north of [true, false]) {
    for (const [cone, squareness] of [
      [61, 8],
      [-40, 12],
      [30, 30],
      [0, 0],
    ] as const) {
      it(`cone ${cone}′ and squareness ${squareness}′ in the ${north ? "north" : "south"}`, () => {
        const model = mountModel(((north ? 1 : -1) * 50 * Math.PI) / 180);
        const coefficients = new Float64Array(model.size);
        coefficients[CONE] = cone * minute;
        coefficients[SQUARENESS] = squareness * minute;
        const kept = Math.abs(north ? cone + squareness : cone - squareness);
        for (const hourAngle of [-3, -1, 0, 2]) {
          const at = (fromPole: number): number =>
            model.shaftCosine(coefficients, hourAngle, (north ? 1 : -1) * (Math.PI / 2 - fromPole * minute));
          if (kept > 0) expect(at(kept - 0.01)).toBe(-1);
          if (kept > 0) expect(at(0)).toBe(-1);
          else expect(at(0)).toBeCloseTo(0, 12);
          expect(at(kept + 0.01)).toBeGreaterThan(0);
          expect(at(kept + 300)).toBeLessThan(0.15);
        }
        expect(model.shaftCosine(coefficients, 1, 0)).toBeCloseTo(1, 3);
      });
    }
  }
});
