import { readMountFile } from "../../files/night-folder.js";
import { readTextFile } from "../../files/text-file.js";
import { driftCommand as driftAnswer } from "../../plots/evening-commands.js";
import { give } from "../answer.js";
import { mountPathFor } from "../night-input.js";
import { type FitCommandOptions, fitOf } from "./fit.js";

export interface DriftCommandOptions extends FitCommandOptions {
  readonly night?: string;
}

/** `polewright drift DRIFTS.csv`. */
export async function driftCommand(driftPath: string, options: DriftCommandOptions): Promise<void> {
  const mount = readMountFile(mountPathFor(options.night ?? driftPath, options.mount));
  const fit = options.night === undefined ? null : fitOf(options.night, options);
  const text = readTextFile(driftPath, "file of drifts");
  const answer = driftAnswer({ mount, text, file: driftPath, fit });
  await give(
    { json: answer.json, reports: [answer.report], sound: true, figures: () => answer.figures },
    options,
  );
}
