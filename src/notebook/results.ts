/**
 * The library's main calls as notebooks use them: the same results, printing as their reports.
 */
import { jackTurns as plainJackTurns } from "../base/jack-turns.js";
import type { TurnAdvice } from "../base/turn-advice.js";
import type { TurnOptions } from "../base/turn-question.js";
import type { MountFit } from "../fit/fit-result.js";
import { type FitOptions, fitMount as plainFitMount } from "../fit/mount-fit.js";
import type { TermName } from "../mount/terms.js";
import type { Night } from "../night/night.js";
import { explain as plainExplain } from "../report/explain.js";
import { fitReport } from "../report/fit-report.js";
import type { Report } from "../report/report.js";
import { turnsReport } from "../report/turns-report.js";
import { printable } from "./printable.js";

/**
 * Fits a night: how the mount really stands. As a cell's last expression the result prints as its report.
 *
 * @param night - an opened night, or any mount with its sightings
 * @param options - by default every geometric term, held by tolerances, with everything doubtful caught
 * @throws InputError `unknown-term` for a term that the mount does not have
 * @example
 * ```ts
 * const fit = fitMount(openNight("data/first-light"));
 * fit.pole.altitude // { value: …, uncertainty: … }: arcminutes, too high positive
 * ```
 */
export function fitMount(night: Night, options: FitOptions = {}): MountFit {
  const fit = plainFitMount(night, options);
  return printable({ ...fit }, () => fitReport(fit));
}

/**
 * Turns the axis error of a fit into turns of jacks and bolts. As a cell's last expression it prints as its report.
 *
 * @param fit - from {@link fitMount}
 * @param options - which adjusters to use and which pole to aim at; weighed by itself otherwise
 * @throws PolewrightError `base-missing`, `adjuster-missing`, `option-unknown`
 */
export function jackTurns(fit: MountFit, options: TurnOptions = {}): TurnAdvice {
  const advice = plainJackTurns(fit, options);
  return printable({ ...advice }, () => turnsReport(advice, fit));
}

/**
 * What an error of the mount is, how it shows, and how to mend it. As a cell's last expression it prints as its report.
 *
 * @param name - a term's key
 * @param fit - with tonight's value, and the shim that would mend it
 * @throws InputError `unknown-term`
 * @example
 * ```ts
 * explain("cone", fit)
 * ```
 */
export function explain(name: TermName, fit?: MountFit): Report {
  const report = plainExplain(name, fit);
  return printable({ ...report }, () => report);
}
