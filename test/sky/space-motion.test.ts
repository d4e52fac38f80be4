import { expect, it } from "vitest";
import { ARCSECOND, DEGREE } from "../../src/angles.js";
import { directionFromEarth } from "../../src/sky/space-motion.js";

const MILLIARCSECOND = ARCSECOND / 1000;

it("gives ERFA's pmpx: motion, foreshortening, parallax and light travel together (ERFA test suite, from memory)", () => {
  // pmpx(1.234, 0.789, 1e-5, -2e-5, 1e-2″, 10 km/s, 8.75 years, (0.9, 0.4, 0.1) au), there to 1e-12.
  const found = directionFromEarth(
    {
      raDeg: 1.234 / DEGREE,
      decDeg: 0.789 / DEGREE,
      pmRaCosDecMasYr: (1e-5 * Math.cos(0.789)) / MILLIARCSECOND,
      pmDecMasYr: -2e-5 / MILLIARCSECOND,
      parallaxMas: 10,
      radialVelocityKmS: 10,
    },
    8.75,
    [0.9, 0.4, 0.1],
  );
  [0.232813762396031, 0.6651097085397855, 0.709525776589636].forEach((value, k) => {
    expect(found[k]).toBeCloseTo(value, 12);
  });
});

it("sees each cause alone: parallax, motion eastward, motion northward (first order, by hand)", () => {
  // A star in the direction X; the Earth one astronomical unit towards Y and two towards Z.
  const at = { raDeg: 0, decDeg: 0 };
  const seen = (more: object) => directionFromEarth({ ...at, ...more }, 10, [0, 1, 2]);
  expect(seen({})).toEqual([1, 0, 0]);
  const near = seen({ parallaxMas: 1000 });
  expect(near[1] / ARCSECOND).toBeCloseTo(-1, 9);
  expect(near[2] / ARCSECOND).toBeCloseTo(-2, 9);
  const eastward = seen({ pmRaCosDecMasYr: 500 });
  expect(eastward[1] / ARCSECOND).toBeCloseTo(5, 8);
  expect(eastward[2]).toBe(0);
  const northward = seen({ pmDecMasYr: 500 });
  expect(northward[1]).toBe(0);
  expect(northward[2] / ARCSECOND).toBeCloseTo(5, 8);
  // A parallax below nothing, as catalogues measure of the farthest stars, is none.
  expect(seen({ parallaxMas: -3 })).toEqual([1, 0, 0]);
});
