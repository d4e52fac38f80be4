import { expect, it } from "vitest";
import { ARCSECOND, DEGREE } from "../src/angles.js";
import {
  cross,
  dot,
  fromSpherical,
  rotate,
  scale,
  separation,
  toSpherical,
  unit,
  type Vector,
} from "../src/vectors.js";

const X: Vector = [1, 0, 0];
const Y: Vector = [0, 1, 0];
const Z: Vector = [0, 0, 1];

it("brings a vector of any length to one (exact: 3-4-5 and 1-2-2 triangles)", () => {
  const [x, y, z] = unit([3, 0, 4]);
  expect(x).toBeCloseTo(3 / 5, 15);
  expect(y).toBe(0);
  expect(z).toBeCloseTo(4 / 5, 15);
  expect(unit([0.25, -0.5, 0.5])[1]).toBeCloseTo(-2 / 3, 15);
});

it("rotates by the right hand: X about Z goes to Y (definition)", () => {
  for (const [about, from, to] of [
    [Z, X, Y],
    [X, Y, Z],
    [Y, Z, X],
  ] as const) {
    expect(cross(about, from)).toEqual(to);
    const turned = rotate(from, scale(about, Math.PI / 2));
    expect(separation(turned, to)).toBeLessThan(1e-15);
  }
});

it("rotates by angles of every size: X about Z by ε has the components cos ε and sin ε (definition)", () => {
  // Series are used below 1e-9; both sides of it, and the place itself.
  for (const angle of [0, 1e-300, 1e-12, 9e-10, 1e-9, 1.9e-9, 2e-9, 3e-9, 1e-6, 1e-3, 1, 3]) {
    const [x, y, z] = rotate(X, [0, 0, angle]);
    expect(Math.abs(x - Math.cos(angle))).toBeLessThan(3e-16);
    expect(Math.abs(y - Math.sin(angle))).toBeLessThanOrEqual(3e-16 * angle);
    expect(z).toBe(0);
  }
});

it("measures small separations and those near half a turn to their last digits", () => {
  // An arccosine of the scalar product would lose both: cos 0.001″ is 1 in a double.
  const small = 0.001 * ARCSECOND;
  expect(separation(X, rotate(X, [0, 0, small])) / small).toBeCloseTo(1, 12);
  expect((Math.PI - separation(scale(X, -1), rotate(X, [0, 0, small]))) / small).toBeCloseTo(1, 6);
  expect(separation([2, 0, 0], [0, 0.1, 0])).toBe(Math.PI / 2);
});

it("takes longitude and latitude to a vector and back, Meeus's example of a separation between", () => {
  // Meeus, Astronomical Algorithms, 2nd ed., example 17.a, page 110 (from memory): Arcturus and Spica, 32.7930°.
  const arcturus = fromSpherical(213.9154 * DEGREE, 19.1825 * DEGREE);
  const spica = fromSpherical(201.2983 * DEGREE, -11.1614 * DEGREE);
  expect(separation(arcturus, spica) / DEGREE).toBeCloseTo(32.793, 4);
  expect(dot(arcturus, spica)).toBeCloseTo(0.840633, 6);
  const back = toSpherical(spica);
  expect(back.longitude / DEGREE).toBeCloseTo(201.2983 - 360, 12);
  expect(back.latitude / DEGREE).toBeCloseTo(-11.1614, 12);
});
