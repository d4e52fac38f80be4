/** The sheet to print and take to the base. */
import type { TurnAdvice } from "../base/turn-advice.js";
import { PolewrightError } from "../errors.js";
import type { MountFit } from "../fit/fit-result.js";
import { jackSheet as plainJackSheet } from "../page/jack-sheet.js";
import type { WholePage } from "../page/page-text.js";
import { answered } from "./turns.js";

/**
 * One page to print and take to the base: the base from above, four cautions to tick, the steps to tick, and room for what
 * was really turned. `show` shows it.
 *
 * @param turns - from {@link jackTurns}
 * @param fit - the fit that they answer, where they did not come from {@link jackTurns} here
 * @throws PolewrightError `fit-missing` where it is not known what they answer
 * @example
 * ```ts
 * show(jackSheet(jackTurns(fit)));
 * ```
 */
export function jackSheet(turns: TurnAdvice, fit?: MountFit): WholePage {
  const of = fit ?? answered.get(turns);
  if (of === undefined) {
    throw new PolewrightError(
      "fit-missing",
      "These turns did not come from jackTurns here. Give their fit too.",
    );
  }
  return plainJackSheet(turns, of.mount);
}
