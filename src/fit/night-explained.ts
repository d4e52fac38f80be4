import type { ClockVerdict } from "./clock.js";
import type { Explained } from "./empirical-terms.js";
import type { Workbench } from "./mount-problem.js";
import type { Outcome } from "./outcome.js";
import type { SettingsVerdict } from "./settings.js";

/** A night explained. */
export interface NightExplained extends Explained {
  /** The night, mended where its clock or longitude was wrong. */
  readonly bench: Workbench;
  /** Other settings, where only they fit. */
  readonly settings: SettingsVerdict | null;
  /** What is to be said of the clock, and how the night was explained with its times as written. */
  readonly clock: { readonly verdict: ClockVerdict; readonly asWritten: Outcome } | null;
}
