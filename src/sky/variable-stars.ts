/**
 * How faint the catalogue's variable stars become: what is planned at its brightest may not be seen at all.
 *
 * Visual magnitude at minimum, of every star of the catalogue that changes by 0.4 or more. Figures of the General Catalogue of
 * Variable Stars (Samus and others 2017), from memory, to 0.1; the fading of α Orionis in 2020 included.
 */
import type { Star } from "./star.js";

const faintest: ReadonlyMap<number, number> = new Map([
  [4427, 3.0], // γ Cas
  [5348, 4.4], // ζ Phe
  [10826, 10.1], // Mira
  [14354, 4.0], // ρ Per
  [14576, 3.4], // Algol
  [17851, 5.5], // Pleione
  [18724, 3.9], // λ Tau
  [23416, 3.8], // ε Aur
  [27989, 1.6], // Betelgeuse
  [29655, 3.9], // η Gem
  [32759, 4.0], // κ CMa
  [34088, 4.2], // ζ Gem
  [65835, 10.9], // R Hya
  [67472, 3.5], // μ Cen
  [78401, 2.4], // δ Sco
  [84345, 4.0], // α Her
  [92420, 4.4], // β Lyr
  [97629, 14.2], // χ Cyg
  [113881, 2.8], // β Peg
]);

/** Whether a star's light changes so much that an observer must know it. */
export function isVariable(star: Star): boolean {
  return faintest.has(star.hip);
}

/**
 * The faintest that a star becomes, visual magnitude; of a star that does not vary its magnitude.
 *
 * @example
 * ```ts
 * faintestMagnitude(findStar("Mira")); // 10.1
 * ```
 */
export function faintestMagnitude(star: Star): number {
  return Math.max(star.vMag, faintest.get(star.hip) ?? star.vMag);
}
