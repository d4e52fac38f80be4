import { type Fault, InputError, shown } from "../errors.js";
import type { Mount } from "../mount/mount.js";
import type { TermName } from "../mount/terms.js";
import { plannableTerms } from "../pointing/known-mount.js";
import { TIME_RANGE_MS } from "../sky/time.js";

/** What the stars are to teach: where the polar axis points, or one term. */
export type LearningGoal = "pole" | TermName;

/** How stars are chosen. Everything may be left out. */
export interface PlanOptions {
  /** How many stars; 10. */
  readonly stars?: number;
  /** What they are to teach; `pole`. */
  readonly toLearn?: LearningGoal;
  /** `walk` spares walking and slewing; `teach` takes the star that teaches most first. `walk`. */
  readonly order?: "walk" | "teach";
  /** From one sighting to the next, minutes; 4. */
  readonly minutesBetween?: number;
  /** The faintest star that is proposed, magnitudes; 3.5. */
  readonly faintest?: number;
  /** Least distance from the Moon, degrees; 8. */
  readonly moonDeg?: number;
  /** Least distance from the zenith, where a tube is awkward to aim and an observer cannot stand, degrees; 6. */
  readonly zenithDeg?: number;
  /** Least distance from the celestial pole, where the hour angle means little, degrees; 4. */
  readonly poleDeg?: number;
  /** Chosen stars stand at least so far apart while there are enough of them, degrees; 8. */
  readonly apartDeg?: number;
  /** How wide around a star another one invites a mistake, degrees; 2.5. */
  readonly neighbourDeg?: number;
  /** Stars may be sighted while the Sun is up (never within 30° of it); false. */
  readonly daylight?: boolean;
  /** How well each axis is to be known where the mount file has no base to turn, 1σ, arcminutes; 0.5. */
  readonly goalArcmin?: number;
}

/** The options with what was left out filled in. */
export type FullPlanOptions = Required<PlanOptions>;

export const planDefaults: FullPlanOptions = {
  stars: 10,
  toLearn: "pole",
  order: "walk",
  minutesBetween: 4,
  faintest: 3.5,
  moonDeg: 8,
  zenithDeg: 6,
  poleDeg: 4,
  apartDeg: 8,
  neighbourDeg: 2.5,
  daylight: false,
  goalArcmin: 0.5,
};

const ranges = {
  stars: [1, 60, "stars"],
  minutesBetween: [0.2, 60, "minutes"],
  faintest: [0, 7, "magnitudes"],
  moonDeg: [0, 60, "degrees"],
  zenithDeg: [0, 45, "degrees"],
  poleDeg: [0, 45, "degrees"],
  apartDeg: [0, 60, "degrees"],
  neighbourDeg: [0, 20, "degrees"],
  goalArcmin: [0.01, 60, "arcminutes"],
} as const;

/**
 * Checks the options and fills in what was left out.
 *
 * @throws {@link InputError} with every fault: `unknown-option`, `option-out-of-range`, `unknown-term`, `time-out-of-range`
 */
export function fullPlanOptions(options: PlanOptions, mount: Mount, timeMs: number): FullPlanOptions {
  const given = Object.fromEntries(Object.entries(options).filter(([, value]) => value !== undefined));
  const full: FullPlanOptions = { ...planDefaults, ...given };
  const faults: Fault[] = [];
  for (const key of Object.keys(given)) {
    if (key in planDefaults) continue;
    faults.push({
      code: "unknown-option",
      path: key,
      allowed: Object.keys(planDefaults).join(", "),
      message: "There is no such option.",
    });
  }
  for (const [key, [from, to, unit]] of Object.entries(ranges)) {
    const value = full[key as keyof typeof ranges];
    const whole = key !== "stars" || Number.isInteger(value);
    if (typeof value === "number" && value >= from && value <= to && whole) continue;
    faults.push({
      code: "option-out-of-range",
      path: key,
      found: shown(value),
      allowed: `${key === "stars" ? "a whole number" : "a number"} from ${from} to ${to}, ${unit}`,
      message: "This option is outside what is allowed.",
    });
  }
  if (full.order !== "walk" && full.order !== "teach") {
    faults.push({
      code: "option-out-of-range",
      path: "order",
      found: shown(full.order),
      allowed: "walk or teach",
      message: "There is no such order.",
    });
  }
  // Play is taught by pairs of sightings: see play-plan.ts.
  const play = mount.tolerances.backlash > 0 ? ["hourAngleBacklash", "declinationBacklash"] : [];
  const goals = ["pole", ...plannableTerms, ...play, ...mount.customTerms.map((term) => term.name)];
  if (!goals.includes(full.toLearn)) {
    faults.push({
      code: "unknown-term",
      path: "toLearn",
      found: shown(full.toLearn),
      allowed: goals.join(", "),
      message: "There is no such term to learn.",
    });
  }
  if (!(timeMs >= TIME_RANGE_MS[0] && timeMs < TIME_RANGE_MS[1] - 3 * 86_400_000)) {
    faults.push({
      code: "time-out-of-range",
      found: shown(timeMs),
      allowed: "a time from 1900 to 2100",
      message: "The plan's time is outside the years that are covered.",
    });
  }
  if (faults.length > 0) throw new InputError(faults);
  return full;
}
