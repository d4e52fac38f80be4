import { writeFileSync } from "node:fs";
import { PolewrightError } from "../../errors.js";
import { keepModel, keptModelText } from "../../evening/keep.js";
import { type FitCommandOptions, fitOf } from "./fit.js";

export interface KeepCommandOptions extends FitCommandOptions {
  readonly out: string;
  readonly note?: string;
}

/** `polewright keep NIGHT.csv --out MODEL.json`. */
export function keepCommand(nightPath: string, options: KeepCommandOptions): void {
  const text = keptModelText(keepModel(fitOf(nightPath, options), options.note));
  try {
    writeFileSync(options.out, text, { flag: "wx" });
  } catch (problem) {
    throw new PolewrightError(
      "model-not-written",
      `The model cannot be written to ${options.out}: ${(problem as Error).message}. An older file is never overwritten: choose another name.`,
    );
  }
  process.stdout.write(`The model is kept in ${options.out}\n`);
}
