import { writeFileSync } from "node:fs";
import { PolewrightError } from "../../errors.js";
import { writeProblem } from "../../files/output-file.js";
import { keepModel, keptModelText } from "../../keep/keep.js";
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
    const { code } = problem as NodeJS.ErrnoException;
    throw new PolewrightError(
      code === "EEXIST" ? "already-there" : "not-writable",
      `--out ${options.out}: ${
        code === "EEXIST"
          ? "a file stands there already, and a kept model is never written over: choose another name."
          : `the model could not be written. ${writeProblem(code, options.out, problem)}`
      }`,
    );
  }
  process.stdout.write(`The model is kept in ${options.out}\n`);
}
