/**
 * The nearest of the known words, for messages that end in "did you mean …".
 */

/** Longer words than this are not compared: nobody mistypes a name of that length. */
const LONGEST_WORD = 60;

/** What is compared: small letters and figures only, so that case, spaces and hyphens do not matter. */
export function plainWord(word: string): string {
  return word
    .slice(0, 4 * LONGEST_WORD)
    .toLowerCase()
    .replace(/[^\p{L}\p{N}]/gu, "");
}

/**
 * Finds the known word that a mistyped one is most likely meant for.
 *
 * @param word - what was written
 * @param known - the words that are allowed
 * @returns the nearest known word, or null when none is near enough (a third of its letters may differ)
 * @example
 * ```ts
 * didYouMean("lattitude", ["latitude", "longitude"]) // "latitude"
 * ```
 */
export function didYouMean(word: string, known: readonly string[]): string | null {
  const written = plainWord(word);
  if (written === "" || written.length > LONGEST_WORD) return null;
  let nearest: string | null = null;
  let least = Number.POSITIVE_INFINITY;
  for (const candidate of known) {
    const allowed = plainWord(candidate);
    const slips = typingSlips(written, allowed);
    if (slips < least && slips <= Math.max(1, Math.floor(allowed.length / 3)) && slips < allowed.length) {
      nearest = candidate;
      least = slips;
    }
  }
  return nearest;
}

/**
 * Letters added, dropped, changed or swapped with their neighbour between two words
 * (the optimal string alignment distance; Damerau, Communications of the ACM 7 (1964) 171, from memory).
 */
function typingSlips(a: string, b: string): number {
  let beforeLast: number[] = [];
  let last = Array.from({ length: b.length + 1 }, (_, j) => j);
  for (let i = 1; i <= a.length; i++) {
    const row = [i];
    for (let j = 1; j <= b.length; j++) {
      const changed = last[j - 1]! + (a[i - 1] === b[j - 1] ? 0 : 1);
      let slips = Math.min(changed, last[j]! + 1, row[j - 1]! + 1);
      if (i > 1 && j > 1 && a[i - 1] === b[j - 2] && a[i - 2] === b[j - 1]) {
        slips = Math.min(slips, beforeLast[j - 2]! + 1);
      }
      row.push(slips);
    }
    beforeLast = last;
    last = row;
  }
  return last[b.length]!;
}
