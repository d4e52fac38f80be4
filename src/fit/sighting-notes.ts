/**
 * Notes on the circumstances of single sightings: few, low, near the Sun.
 */
import { DEGREE, TURN } from "../angles.js";
import type { ReducedNight } from "../night/reduce.js";
import { hourAngleVector } from "../sky/horizon-frame.js";
import { NO_AIR } from "../sky/observe.js";
import type { Site } from "../sky/site.js";
import type { ObservedDirection } from "../sky/star.js";
import { sunDirection } from "../sky/sun-and-moon.js";
import { DAY_MS } from "../sky/time.js";
import { separation, type Vector } from "../vectors.js";
import { ENOUGH_ALONE } from "./evidence.js";
import type { Note } from "./fit-result.js";
import { SEEN_FROM } from "./horizon-notes.js";
import { fixed } from "./note-words.js";

/** Lower than this refraction is uncertain by more than the sightings. */
const LOW = 10 * DEGREE;
/** No sighting within this of the Sun. */
export const SUN_LIMIT = 30 * DEGREE;

/** A quarter of a day: the Sun then moves by less than 0.13° in declination, and by 2′ against the mean Sun. */
const SUN_STEP_MS = 6 * 3_600_000;

/** Where the Sun stands at any moment of a night, unit vectors in the hour-angle frame, to about 0.1°. */
export function sunOver(site: Site): (timeMs: number) => Vector {
  const steps = new Map<number, ObservedDirection>();
  return (timeMs) => {
    const step = Math.round(timeMs / SUN_STEP_MS);
    let sun = steps.get(step);
    if (sun === undefined) {
      sun = sunDirection(step * SUN_STEP_MS, site, NO_AIR);
      steps.set(step, sun);
    }
    const hourAngle = sun.hourAngle + (TURN * (timeMs - step * SUN_STEP_MS)) / DAY_MS;
    return hourAngleVector({ hourAngle, declination: sun.declination });
  };
}

/** Notes on few, low and near-Sun sightings. */
export function circumstanceNotes(night: ReducedNight, used: Uint8Array): Note[] {
  const notes: Note[] = [];
  let count = 0;
  for (const flag of used) count += flag;
  if (count < ENOUGH_ALONE) {
    notes.push({
      code: "few-sightings",
      row: null,
      message: `Only ${count} ${count === 1 ? "sighting counts" : "sightings count"}. A misidentified star could not be seen among so few.`,
      remedy: `Sight ${ENOUGH_ALONE - count} more at least, well spread over the sky. A dozen distinguish most terms.`,
    });
  }
  const sunAt = sunOver(night.mount.site);
  for (let i = 0; i < night.count; i++) {
    const sighting = night.sightings[i]!;
    if (!sighting.use) continue;
    if (night.altitude[i]! < LOW && night.altitude[i]! >= SEEN_FROM) {
      notes.push({
        code: "low-star",
        row: sighting.row,
        message: `Row ${sighting.row} (${sighting.star}) stood at ${fixed(night.altitude[i]! / DEGREE, 1)}°: refraction is uncertain so low.`,
        remedy: "Prefer stars above 20°.",
      });
    }
    const star = hourAngleVector({ hourAngle: night.hourAngle[i]!, declination: night.declination[i]! });
    const distance = separation(star, sunAt(sighting.timeMs));
    if (distance < SUN_LIMIT) {
      notes.push({
        code: "near-sun",
        row: sighting.row,
        message: `Row ${sighting.row} (${sighting.star}) was ${(distance / DEGREE).toFixed(0)}° from the Sun.`,
        remedy:
          "Never sight or sweep within 30° of the Sun: it blinds at once and burns what is in the focus. If this star was not really there, the time or the date is wrong.",
      });
    }
  }
  return notes;
}
