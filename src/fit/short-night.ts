/**
 * Short nights: every explanation is searched for, settings, terms and clock.
 */
import { clockVerdict } from "./clock.js";
import { type Explained, withCalledTermsInstead, withWiderTerms } from "./empirical-terms.js";
import type { Explanation } from "./explanation.js";
import type { Workbench } from "./mount-problem.js";
import type { NightExplained } from "./night-explained.js";
import type { Outcome } from "./outcome.js";
import { explainWithSettings } from "./settings.js";

/**
 * Explains a night: settings, further terms, clock, jumps, and sightings set aside.
 *
 * @param base - the explanation that the night begins with
 * @param trustClock - the clock is not doubted
 */
export function explainShortNight(bench: Workbench, base: Explanation, trustClock: boolean): NightExplained {
  const widened = (of: Workbench, outcome: Outcome): Explained =>
    base.priors ? withCalledTermsInstead(of, outcome) : { outcome, called: [] };
  const { plain, verdict, doubtful } = explainWithSettings(bench, base);
  if (verdict !== null) {
    return { bench, ...widened(bench, verdict.outcome), settings: verdict, clock: null };
  }
  const far: Explained =
    doubtful && base.priors ? withWiderTerms(bench, base, plain) : { outcome: plain, called: [] };
  const wider = widened(bench, far.outcome);
  const asWritten = { outcome: wider.outcome, called: [...far.called, ...wider.called] };
  const clock = trustClock ? null : clockVerdict(bench, base, asWritten, widened);
  if (clock === null) return { bench, ...asWritten, settings: null, clock: null };
  return {
    ...(clock.mended ?? { bench, ...asWritten }),
    settings: null,
    clock: { verdict: clock, asWritten: asWritten.outcome },
  };
}
