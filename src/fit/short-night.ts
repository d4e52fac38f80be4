/**
 * Short nights: every explanation is searched for, settings, terms and clock.
 */
import { clockVerdict } from "./clock.js";
import { type Explained, withCalledTermsInstead, withWiderTerms } from "./empirical-terms.js";
import type { Explanation } from "./explanation.js";
import type { Workbench } from "./mount-problem.js";
import type { NightExplained } from "./night-explained.js";
import { explainWithSettings } from "./settings.js";

/**
 * Explains a night: settings, further terms, clock, jumps, and sightings set aside.
 *
 * @param base - the explanation that the night begins with
 * @param trustClock - the clock is not doubted
 */
export function explainShortNight(bench: Workbench, base: Explanation, trustClock: boolean): NightExplained {
  const { plain, verdict, doubtful } = explainWithSettings(bench, base);
  if (verdict !== null) {
    const mended = withCalledTermsInstead(bench, { outcome: verdict.outcome, called: [] });
    return { bench, ...mended, settings: verdict, clock: null };
  }
  const usual: Explained = { outcome: plain, called: [] };
  const far = doubtful && base.priors ? withWiderTerms(bench, base, plain) : usual;
  const asWritten = withCalledTermsInstead(bench, far);
  const clock = trustClock ? null : clockVerdict(bench, base, asWritten);
  if (clock === null) return { bench, ...asWritten, settings: null, clock: null };
  return {
    ...(clock.mended ?? { bench, ...asWritten }),
    settings: null,
    clock: { verdict: clock, asWritten: asWritten.outcome },
  };
}
