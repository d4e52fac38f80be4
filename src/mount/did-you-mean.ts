import { type NamedKey, nameKey, nearestNames } from "../sky/name-key.js";

/** Longer words than this are not compared: nobody mistypes a key of that length. */
const LONGEST_WORD = 60;

/**
 * The known word that a mistyped one is most likely meant for: keys of the mount file, columns of the night file.
 *
 * @param word - what was written
 * @param known - the words that are allowed
 * @returns the nearest known word, or null when none is near enough
 * @example
 * ```ts
 * didYouMean("lattitude", ["latitude", "longitude"]) // "latitude"
 * ```
 */
export function didYouMean(word: string, known: readonly string[]): string | null {
  if (word.length > LONGEST_WORD) return null;
  const keys = known.map((value): NamedKey<string> => ({ key: nameKey(value), value }));
  return nearestNames(nameKey(word), keys, 1)[0] ?? null;
}
