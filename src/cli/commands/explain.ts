import { InputError, shown } from "../../errors.js";
import { type TermName, termNames } from "../../mount/terms.js";
import { explain } from "../../report/explain.js";
import { type AnswerOptions, give } from "../answer.js";
import { type FitCommandOptions, fitOf } from "./fit.js";

/** `polewright explain TERM`. */
export async function explainCommand(
  name: string,
  options: AnswerOptions & FitCommandOptions & { readonly night?: string },
): Promise<void> {
  if (!(termNames as readonly string[]).includes(name)) {
    throw new InputError([
      {
        code: "unknown-term",
        found: shown(name),
        allowed: termNames.join(", "),
        message: "There is no such term.",
      },
    ]);
  }
  const fit = options.night === undefined ? undefined : fitOf(options.night, options);
  const report = explain(name as TermName, fit);
  await give({ json: { ...report }, reports: [report], sound: true }, options);
}
