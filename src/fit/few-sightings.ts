/**
 * A few of a long night's sightings, to try on them what would take long on all.
 */
import { reduceNight } from "../night/reduce.js";
import type { Explanation } from "./explanation.js";
import { type Workbench, workbench } from "./mount-problem.js";

/** So many tell settings and clock as plainly as a short night does. */
const FEW = 60;

/** A night of few sightings and the explanation that its search begins with. */
export interface FewSightings {
  readonly bench: Workbench;
  readonly base: Explanation;
}

/**
 * Few of a night's sightings, evenly over it. Where there are several zero sets or tube positions, from the sets with most
 * sightings: one of a set alone tells nothing but its zeros.
 *
 * @param base - only the sightings that it uses are taken
 */
export function fewSightings(bench: Workbench, base: Explanation): FewSightings {
  const { mount, sightings } = bench.night;
  const sets = new Map<string, number[]>();
  sightings.forEach((sighting, row) => {
    if (!base.used[row]) return;
    const key = JSON.stringify([sighting.zeroSet, sighting.tubeSet]);
    const rows = sets.get(key);
    if (rows === undefined) sets.set(key, [row]);
    else rows.push(row);
  });
  const rows: number[] = [];
  for (const set of [...sets.values()].sort((a, b) => b.length - a.length)) {
    if (rows.length >= FEW) break;
    for (const row of set) rows.push(row);
  }
  rows.sort((a, b) => a - b);
  const taken = Math.min(FEW, rows.length);
  const few = Array.from(
    { length: taken },
    (_, k) => sightings[rows[Math.floor(((k + 0.5) * rows.length) / taken)]!]!,
  );
  return {
    bench: workbench(reduceNight({ mount, sightings: few })),
    base: { ...base, used: new Uint8Array(taken).fill(1), hourAngleBreaks: [], declinationBreaks: [] },
  };
}
