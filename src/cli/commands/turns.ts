import { jackTurns } from "../../base/jack-turns.js";
import type { TurnOptions } from "../../base/turn-question.js";
import { fitReport } from "../../report/fit-report.js";
import type { Block, Report } from "../../report/report.js";
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
      reports: options.brief ? [brief(turnsReport(advice, fit))] : [turnsReport(advice, fit), fitReport(fit)],
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

/** The verdict, the cautions and the amounts; not why, and not every step. */
function brief(report: Report): Report {
  const kept: Block[] = [];
  let section = "";
  for (const block of report.blocks) {
    if (block.kind === "heading") section = block.text;
    if (section === "Why" || section === "In this order") continue;
    kept.push(block);
  }
  return { ...report, blocks: kept };
}
