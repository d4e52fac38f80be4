import { readMountFile } from "../../files/night-folder.js";
import { readTextFile } from "../../files/text-file.js";
import { type ComparedModel, compareModels } from "../../keep/compare.js";
import { keptStanding, parseKeptModel } from "../../keep/keep.js";
import { compareReport } from "../../report/compare-report.js";
import { give } from "../answer.js";
import { mountPathFor } from "../night-input.js";
import { type FitCommandOptions, fitOf } from "./fit.js";

/** A night (`.csv`) is fitted, a kept model (`.json`) is read. */
function modelOf(path: string, options: FitCommandOptions): ComparedModel {
  if (path.toLowerCase().endsWith(".json")) {
    const mount = readMountFile(mountPathFor(path, options.mount));
    return keptStanding(parseKeptModel(readTextFile(path, "kept model"), path), mount);
  }
  return fitOf(path, options);
}

/** `polewright compare OLD NEW`. */
export async function compareCommand(
  older: string,
  newer: string,
  options: FitCommandOptions,
): Promise<void> {
  const comparison = compareModels(modelOf(older, options), modelOf(newer, options));
  await give(
    { json: { ...comparison }, reports: [compareReport(comparison, { older, newer })], sound: true },
    options,
  );
}
