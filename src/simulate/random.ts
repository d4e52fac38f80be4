/**
 * Seeded random numbers: the same night from the same seed, on every machine.
 */

/**
 * A generator of uniform numbers in [0, 1) from a seed: the 32-bit mixing generator known as mulberry32
 * (public domain, T. Ettinger 2017).
 */
export function seededRandom(seed: number): () => number {
  let state = seed >>> 0;
  return () => {
    state = (state + 0x6d2b79f5) >>> 0;
    let mixed = state;
    mixed = Math.imul(mixed ^ (mixed >>> 15), mixed | 1);
    mixed ^= mixed + Math.imul(mixed ^ (mixed >>> 7), mixed | 61);
    return ((mixed ^ (mixed >>> 14)) >>> 0) / 4294967296;
  };
}

/** A standard normal number from a uniform generator (Box and Muller 1958). */
export function gaussian(random: () => number): number {
  return Math.sqrt(-2 * Math.log(1 - random())) * Math.cos(2 * Math.PI * random());
}

/**
 * A number of Student's distribution, scaled to a standard deviation of 1 (Student 1908).
 *
 * @param freedom - degrees of freedom, a whole number from 3
 */
export function studentT(random: () => number, freedom: number): number {
  let squares = 0;
  for (let k = 0; k < freedom; k++) squares += gaussian(random) ** 2;
  return gaussian(random) * Math.sqrt((freedom - 2) / squares);
}
