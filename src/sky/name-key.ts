/**
 * Names as a builder types them, compared without regard to case, accents, spaces, underscores and hyphens.
 */

/** Nothing to take away but case: most names, and much the quickest way through. */
const PLAIN = /^[A-Za-z0-9]*$/;

/**
 * What is left of a name when case, accents, spaces and punctuation are taken away; superscript and subscript
 * numbers become plain ones.
 *
 * @example
 * ```ts
 * nameKey("Boötes"); // "bootes"
 * nameKey("α¹_Cen"); // "α1cen"
 * ```
 */
export function nameKey(text: string): string {
  if (PLAIN.test(text)) return text.toLowerCase();
  return text
    .normalize("NFKD")
    .toLowerCase()
    .replace(/ς/g, "σ")
    .replace(/[^\p{Letter}\p{Number}]/gu, "");
}

/**
 * The edit distance of two words: letters put in, left out, changed, or two neighbours swapped (optimal string
 * alignment). Gives `limit + 1` as soon as the distance must exceed `limit`.
 */
function editDistance(a: string, b: string, limit: number): number {
  if (Math.abs(a.length - b.length) > limit) return limit + 1;
  let beforeLast: number[] = [];
  let last = Array.from({ length: b.length + 1 }, (_, column) => column);
  for (let row = 1; row <= a.length; row++) {
    const current = [row];
    let least = row;
    for (let column = 1; column <= b.length; column++) {
      const same = a[row - 1] === b[column - 1];
      let cost = Math.min(last[column]! + 1, current[column - 1]! + 1, last[column - 1]! + (same ? 0 : 1));
      const swapped = row > 1 && column > 1 && a[row - 1] === b[column - 2] && a[row - 2] === b[column - 1];
      if (swapped) cost = Math.min(cost, beforeLast[column - 2]! + 1);
      current.push(cost);
      least = Math.min(least, cost);
    }
    if (least > limit) return limit + 1;
    beforeLast = last;
    last = current;
  }
  return Math.min(last[b.length]!, limit + 1);
}

/** A word that is looked for, and what it stands for. */
export interface NamedKey<T> {
  readonly key: string;
  readonly value: T;
}

/**
 * What was probably meant: values whose keys begin with the key that was typed (three letters or more), then those
 * within a third of its length (and at least one) of edits, nearest first, each value once.
 *
 * @param typed - a key made by {@link nameKey}
 * @param count - the most that are given
 */
export function nearestNames<T>(typed: string, keys: Iterable<NamedKey<T>>, count: number): T[] {
  const limit = Math.max(1, Math.floor(typed.length / 3));
  const distances = new Map<T, number>();
  if (typed.length === 0) return [];
  for (const { key, value } of keys) {
    const begins = typed.length >= 3 && key.startsWith(typed);
    const distance = begins ? 0.5 : editDistance(typed, key, limit);
    if (distance <= limit && distance < (distances.get(value) ?? Number.POSITIVE_INFINITY))
      distances.set(value, distance);
  }
  return [...distances]
    .sort((a, b) => a[1] - b[1])
    .slice(0, Math.max(0, count))
    .map(([value]) => value);
}
