import { shown } from "../../errors.js";
import type { MountFit } from "../../fit/fit-result.js";
import { fitMount } from "../../fit/mount-fit.js";
import { didYouMean } from "../../mount/did-you-mean.js";
import type { Mount } from "../../mount/mount.js";
import { type TermName, termNames } from "../../mount/terms.js";
import { fitReport } from "../../report/fit-report.js";
import { type AnswerOptions, give, WrongUsage } from "../answer.js";
import { fitJson } from "../fit-json.js";
import { readNightInput } from "../night-input.js";

/** Options of every command that fits a night. */
export interface FitCommandOptions extends AnswerOptions {
  readonly mount?: string;
  readonly terms?: string;
  readonly asEntered?: boolean;
  readonly trustClock?: boolean;
}

/** Fits the night of a file. */
export function fitOf(nightPath: string, options: FitCommandOptions): MountFit {
  const { mount, night } = readNightInput(nightPath, options.mount);
  const terms = options.terms === undefined ? undefined : termsFromOption(options.terms, mount);
  return fitMount(night, {
    ...(terms === undefined ? {} : { terms }),
    catches: !options.asEntered,
    trustClock: options.trustClock ?? false,
  });
}

/** The terms named in `--terms`. */
function termsFromOption(text: string, mount: Mount): TermName[] {
  const known: readonly string[] = [...termNames, ...mount.customTerms.map((term) => term.name)];
  const names = text
    .split(",")
    .map((name) => name.trim())
    .filter((name) => name !== "");
  const unknown = names.filter((name) => !known.includes(name));
  if (names.length > 0 && unknown.length === 0) return names as TermName[];
  const problems = unknown.map((name) => {
    const near = didYouMean(name, known);
    return `${shown(name)} is no term${near === null ? "" : ` (did you mean ${near}?)`}`;
  });
  throw new WrongUsage(
    `error: option --terms: ${problems.length === 0 ? "no term is named" : problems.join(", ")}. Terms are ${known.join(", ")}.`,
  );
}

/** `polewright fit NIGHT.csv`. */
export async function fitCommand(nightPath: string, options: FitCommandOptions): Promise<void> {
  const fit = fitOf(nightPath, options);
  await give(
    {
      json: fitJson(fit),
      reports: [fitReport(fit)],
      sound: fit.sound,
      figures: async () => {
        const { axisPointing, residualAngles, residualSky, termCorrelation } = await import(
          "../../plots/plots.js"
        );
        return [residualSky(fit), residualAngles(fit), axisPointing(fit), termCorrelation(fit)];
      },
    },
    options,
  );
}
