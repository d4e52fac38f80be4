import { jackTurns } from "../../base/jack-turns.js";
import type { TurnOptions } from "../../base/turn-question.js";
import { fitReport } from "../../report/fit-report.js";
import { turnsReport } from "../../report/turns-report.js";
import { give } from "../answer.js";
import { fitJson, turnsJson } from "../fit-json.js";
import { type FitCommandOptions, fitOf } from "./fit.js";

export interface TurnsCommandOptions extends FitCommandOptions {
  readonly azimuthBy?: string;
  readonly altitudeBy?: string;
  readonly aim?: string;
  readonly brief?: boolean;
}

/** The builder's choices, as the base's advice takes them; wrong words are refused there. */
export function turnOptions(options: TurnsCommandOptions): TurnOptions {
  return {
    ...(options.azimuthBy === undefined ? {} : { azimuthBy: options.azimuthBy }),
    ...(options.altitudeBy === undefined ? {} : { altitudeBy: options.altitudeBy }),
    ...(options.aim === undefined ? {} : { aim: options.aim }),
  } as TurnOptions;
}

/** `polewright turns NIGHT.csv`. */
export async function turnsCommand(nightPath: string, options: TurnsCommandOptions): Promise<void> {
  const fit = fitOf(nightPath, options);
  const advice = jackTurns(fit, turnOptions(options));
  await give(
    {
      json: { ...fitJson(fit), turns: turnsJson(advice) },
      reports: options.brief
        ? [turnsReport(advice, fit, { brief: true })]
        : [turnsReport(advice, fit), fitReport(fit)],
      sound: fit.sound,
      figures: async () => {
        const { axisPointing, baseFromAbove, residualAngles, residualSky } = await import(
          "../../plots/plots.js"
        );
        return [
          baseFromAbove(fit.mount, advice),
          axisPointing(fit, advice),
          residualSky(fit),
          residualAngles(fit),
        ];
      },
    },
    options,
  );
}
