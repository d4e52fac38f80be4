/**
 * What was acknowledged of a night: each sighting that was said to be on the disk, held against the file whenever it is
 * read again. An editor that saves an older buffer, or saves by renaming, takes rows away; none goes without a word.
 */
import type { Sighting } from "../night/sighting.js";
import type { SightingFields } from "../night/sighting-fields.js";

/** One acknowledged sighting. */
export interface Acknowledgement {
  readonly fields: SightingFields;
  /** As it stood in the night, with the labels in force. */
  readonly sighting: Sighting;
  /** As it was written. */
  readonly line: string;
  /** Whether its withdrawal was acknowledged too. */
  readonly withdrawn: boolean;
}

/** What the file no longer has as it was acknowledged. */
export interface Differences {
  readonly lost: readonly Acknowledgement[];
  /** Withdrawn, and in use again. */
  readonly revived: readonly Sighting[];
  /** Changed by hand: what was acknowledged, and what stands there now. */
  readonly changed: readonly { readonly was: Acknowledgement; readonly now: Sighting }[];
}

const readingsOf = ({ hourAngle, declination }: Sighting): string => `${hourAngle}|${declination}`;
const placeOf = ({ position }: Sighting): string => `${position.raDeg}|${position.decDeg}`;
/** What makes a sighting the same one, however it is spelt. */
export const identity = (sighting: Sighting): string =>
  `${sighting.timeMs}|${placeOf(sighting)}|${readingsOf(sighting)}`;

/** The memory of one program that enters sightings. */
export class Acknowledged {
  readonly #entries = new Map<string, Acknowledgement>();

  /** The latest one, if any. */
  get latest(): Acknowledgement | undefined {
    return [...this.#entries.values()].at(-1);
  }

  /** All lines, for a message when the file itself is gone. */
  get lines(): readonly string[] {
    return [...this.#entries.values()].filter(({ withdrawn }) => !withdrawn).map(({ line }) => line);
  }

  add(fields: SightingFields, sighting: Sighting, line: string): void {
    this.#entries.set(identity(sighting), { fields, sighting, line, withdrawn: false });
  }

  forget(sighting: Sighting): void {
    this.#entries.delete(identity(sighting));
  }

  withdraw(sighting: Sighting): void {
    const entry = this.#entries.get(identity(sighting));
    if (entry !== undefined) this.#entries.set(identity(sighting), { ...entry, withdrawn: true });
  }

  /** Takes a change by hand as what stands from now on. */
  accept({ was, now }: Differences["changed"][number]): void {
    this.#entries.delete(identity(was.sighting));
    this.#entries.set(identity(now), { ...was, sighting: now });
  }

  /** Holds what was acknowledged against the sightings of the file. */
  differences(sightings: readonly Sighting[]): Differences {
    const lost: Acknowledgement[] = [];
    const revived: Sighting[] = [];
    const changed: { was: Acknowledgement; now: Sighting }[] = [];
    if (this.#entries.size === 0) return { lost, revived, changed };
    const there = new Map<string, Sighting[]>();
    for (const sighting of sightings) {
      const key = identity(sighting);
      there.set(key, [...(there.get(key) ?? []), sighting]);
    }
    const strangers = sightings.filter((sighting) => !this.#entries.has(identity(sighting)));
    for (const [key, entry] of this.#entries) {
      const same = there.get(key);
      if (same !== undefined) {
        // A row that the builder wrote anew beside the withdrawn one may be in use.
        if (entry.withdrawn && same.every(({ use }) => use)) revived.push(same.at(-1)!);
        continue;
      }
      if (entry.withdrawn) continue;
      const now = strangers.find((stranger) => isNearly(stranger, entry.sighting));
      if (now === undefined) lost.push(entry);
      else changed.push({ was: entry, now });
    }
    return { lost, revived, changed };
  }

  /** Those whose line a file does not hold that cannot be read as a night. */
  missingLines(text: string): readonly Acknowledgement[] {
    const lines = new Set(text.split(/\r?\n|\r/));
    return [...this.#entries.values()].filter(({ line, withdrawn }) => !withdrawn && !lines.has(line));
  }
}

/** The same row with one thing corrected: two of time, place and readings agree. */
function isNearly(one: Sighting, other: Sighting): boolean {
  const agreements = [
    one.timeMs === other.timeMs,
    placeOf(one) === placeOf(other),
    readingsOf(one) === readingsOf(other),
  ];
  return agreements.filter(Boolean).length === 2;
}
