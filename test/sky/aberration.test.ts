import { expect, it } from "vitest";
import { aberrated, withoutAberration } from "../../src/sky/aberration.js";
import { dot, fromSpherical, length, scale, separation } from "../../src/vectors.js";

it("is Einstein's formula at any speed: cos θ′ = (cos θ + β) / (1 + β cos θ) (1905, § 7)", () => {
  const forward = fromSpherical(0.7, -0.4);
  for (const beta of [1e-4, 0.1, 0.6, 0.99]) {
    const velocity = scale(forward, beta);
    for (const star of [fromSpherical(0.7, 1.1), fromSpherical(-2, 0.3), fromSpherical(3, -1.4)]) {
      const seen = aberrated(star, velocity);
      const cosine = dot(star, forward);
      expect(length(seen)).toBeCloseTo(1, 14);
      expect(dot(seen, forward)).toBeCloseTo((cosine + beta) / (1 + beta * cosine), 14);
      expect(separation(withoutAberration(seen, velocity), star)).toBeLessThan(1e-13);
    }
  }
});

it("is ERFA's ab, to the Sun's potential, which is left out here (ERFA test suite, from memory)", () => {
  const seen = aberrated(
    [-0.7632196854673795, -0.6086945398306038, -0.21676408580639883],
    [2.1044018893653786e-5, -8.910892330442932e-5, -3.863371479771657e-5],
  );
  [-0.7631631094219556, -0.6087553082505591, -0.2167926269368471].forEach((value, k) => {
    expect(Math.abs(seen[k]! - value)).toBeLessThan(3e-12);
  });
});
