import { shown } from "../../errors.js";
import { didYouMean } from "../../mount/did-you-mean.js";
import { type TermName, termNames } from "../../mount/terms.js";
import { explain } from "../../report/explain.js";
import { type AnswerOptions, give, WrongUsage } from "../answer.js";
import { type FitCommandOptions, fitOf } from "./fit.js";

/** `polewright explain TERM`. */
export async function explainCommand(
  name: string,
  options: AnswerOptions & FitCommandOptions & { readonly night?: string },
): Promise<void> {
  if (!(termNames as readonly string[]).includes(name)) {
    const near = didYouMean(name, termNames);
    throw new WrongUsage(
      `error: ${shown(name)} is no term${near === null ? "" : ` (did you mean ${near}?)`}. Terms are ${termNames.join(", ")}.`,
    );
  }
  const fit = options.night === undefined ? undefined : fitOf(options.night, options);
  const report = explain(name as TermName, fit);
  await give({ json: { ...report }, reports: [report], sound: true }, options);
}
