import { rounds } from "../../base/rounds.js";
import { parseTurned } from "../../base/turned-file.js";
import { PolewrightError } from "../../errors.js";
import { readTextFile } from "../../files/text-file.js";
import { roundsReport } from "../../report/rounds-report.js";
import { give } from "../answer.js";
import { fitOf } from "./fit.js";
import { type TurnsCommandOptions, turnOptions } from "./turns.js";

export interface RoundsCommandOptions extends TurnsCommandOptions {
  readonly turned: string;
}

/** `polewright rounds NIGHT1.csv NIGHT2.csv … --turned FILE`. */
export async function roundsCommand(nights: readonly string[], options: RoundsCommandOptions): Promise<void> {
  const fits = nights.map((night) => fitOf(night, options));
  const { mount } = fits[0]!;
  if (mount.base === null) {
    throw new PolewrightError("base-missing", 'The mount file has no "base", so there is nothing to turn.');
  }
  const turned = parseTurned(readTextFile(options.turned, "file of turns"), mount.base, options.turned);
  const result = rounds(fits, turned, turnOptions(options));
  await give(
    {
      json: { ...result },
      reports: [roundsReport(result, mount)],
      sound: fits.at(-1)!.sound,
      figures: async () => {
        const { roundsConverging, axisPointing } = await import("../../plots/plots.js");
        return [roundsConverging(fits), axisPointing(fits.at(-1)!, result.next)];
      },
    },
    options,
  );
}
