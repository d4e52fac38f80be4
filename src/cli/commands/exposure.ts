import { jackTurns } from "../../base/jack-turns.js";
import { exposureCommand as exposureAnswer } from "../../plots/evening-commands.js";
import { fieldOfEyepiece } from "../../pointing/field.js";
import { parseTime } from "../../sky/time.js";
import { give } from "../answer.js";
import { type FitCommandOptions, fitOf } from "./fit.js";

export interface ExposureCommandOptions extends FitCommandOptions {
  readonly at?: string;
  readonly seconds?: number;
  readonly smear?: number;
  readonly field?: number;
  readonly guided?: boolean;
}

/** `polewright exposure NIGHT.csv [TARGET…]`. */
export async function exposureCommand(
  nightPath: string,
  targets: readonly string[],
  options: ExposureCommandOptions,
): Promise<void> {
  const fit = fitOf(nightPath, options);
  const answer = exposureAnswer({
    fit,
    targets,
    turns: fit.mount.base === null || !fit.sound ? null : jackTurns(fit),
    ...(options.at === undefined ? {} : { timeMs: parseTime(options.at) }),
    ...(options.seconds === undefined ? {} : { exposureS: options.seconds }),
    ...(options.smear === undefined ? {} : { smearLimit: options.smear }),
    ...(options.field === undefined ? {} : { field: fieldOfEyepiece(options.field) }),
    ...(options.guided === undefined ? {} : { guided: options.guided }),
  });
  await give(
    { json: answer.json, reports: [answer.report], sound: fit.sound, figures: () => answer.figures },
    options,
  );
}
