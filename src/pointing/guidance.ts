/** What must be known with readings, lists and plans; as notes of a fit are, each with a code, a message and a remedy. */
import { SUN_CAUTION } from "./sun-safety.js";

/** What guidance says. */
export type GuidanceCode =
  | "sun-up"
  | "zeros-unknown"
  | "zeros-of-another-night"
  | "few-sightings"
  | "not-sound"
  | "side-beyond"
  | "side-not-said"
  | "twilight"
  | "few-stars"
  | "leaves-limits"
  | "both-sides";

/** One thing that must be known. */
export interface Guidance {
  readonly code: GuidanceCode;
  readonly message: string;
  readonly remedy: string;
}

const GRAVE: ReadonlySet<GuidanceCode> = new Set<GuidanceCode>([
  "sun-up",
  "zeros-of-another-night",
  "few-sightings",
  "not-sound",
]);

/** Whether it stands above what it warns of, as a caution. */
export function isGrave({ code }: Guidance): boolean {
  return GRAVE.has(code);
}

/** The Sun's caution, with what is left out because of it. */
export function sunGuidance(message = "The Sun is up."): Guidance {
  return { code: "sun-up", message, remedy: SUN_CAUTION };
}
