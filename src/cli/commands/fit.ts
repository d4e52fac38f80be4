import type { MountFit } from "../../fit/fit-result.js";
import { fitMount } from "../../fit/mount-fit.js";
import type { TermName } from "../../mount/terms.js";
import { fitReport } from "../../report/fit-report.js";
import { type AnswerOptions, give } from "../answer.js";
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
  const { night } = readNightInput(nightPath, options.mount);
  const terms = options.terms?.split(",").map((name) => name.trim() as TermName);
  return fitMount(night, {
    ...(terms === undefined ? {} : { terms }),
    catches: !options.asEntered,
    trustClock: options.trustClock ?? false,
  });
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
